"""Bores, plugs, laminates, holds and several parts as drawn, held against areas found by other means."""

from typing import Any

import numpy as np
import pytest
from shapely import Polygon
from shapely.ops import unary_union

from estimating.estimate import Estimate, estimate
from estimating.picture.drawing import draw_elevation, draw_piece, draw_section
from estimating.picture.ring_plan import draw_ring
from estimating.picture.subject import subjects_of
from estimating.sheet import read_sheet
from tests.estimating.drawn import COLOURS, SVG, layer_paths, of_class, parsed, polygons
from tests.estimating.kinds import WALL, ZIGZAG, Json, built, cut, disc, in_parts, part, staves

SOLID = {"kind": "solid"}


def made(sheet: Json) -> Estimate:
    return estimate(read_sheet(sheet))


def subjects(sheet: Json) -> dict[str, Any]:
    found = made(sheet)
    read = found.sheet
    given = {"colours": COLOURS, "laminates": read.laminates, "shop": read.shop}
    return {"subjects": subjects_of(found.shapes, **given)}


def areas(root: Any, name: str) -> list[float]:
    return [sum(shape.area for shape in polygons(path)) for path in of_class(root, name)]


def straight(*bands: Json, **changes: Any) -> Json:
    """A cylinder 100 mm across with a wall of 8 and a floor of 12 mm, and no allowance."""
    height = sum(band["layers"] * band["thickness"] for band in bands)
    form = {"outer": [[0, 50], [height, 50]], "inside": dict(WALL)}
    none = {"outside": 0, "inside": 0, "top": 0, "bottom": 0}
    return built(*bands, form=form, **{"allowance": none, **changes})


def test_an_open_bore_is_a_hole_through_the_floor_and_the_elevation_does_not_show_it() -> None:
    bored, whole = (straight(cut(thickness=12, **bore), cut()) for bore in ({"bore": 20}, {}))
    drawn = [path for n, path in layer_paths(parsed(draw_section(**subjects(bored))), "dw-section") if n == 1]
    assert [polygons(path)[0].area for path in drawn] == pytest.approx([40 * 12] * 2, abs=0.1)
    assert [polygons(path)[0].bounds for path in drawn] == [(-50, 10, -10, 22), (10, 10, 50, 22)]

    def front(sheet: Json) -> list[str | None]:
        return [p.get("d") for _, p in layer_paths(parsed(draw_elevation(**subjects(sheet))), "dw-elevation")]

    assert front(bored) == front(whole)


def test_a_plug_fills_its_bore_in_its_own_wood() -> None:
    root = parsed(draw_section(**subjects(straight(cut(thickness=12, bore=20, plug="walnut"), cut()))))
    plugs = of_class(root, "dw-plug")
    assert [path.get("fill") for path in plugs] == [COLOURS["walnut"]] * 2
    filled = unary_union([shape for path in plugs for shape in polygons(path)])
    assert filled.bounds == (-10, 10, 10, 22)
    assert filled.area == pytest.approx(20 * 12)


def laminated(**changes: Any) -> Json:
    return straight(
        cut(thickness=12), cut(woods=["zig"], thickness=20, **changes), cut(), laminates={"zig": ZIGZAG}
    )


def wood_on_face(x: float, y: float, mirrored: bool, *, thick: float) -> str:
    """By counting along the panel: at 45 degrees the distance across the strips from the panel's middle."""
    across = ((-x if mirrored else x) + y - thick / 2) / np.sqrt(2) + 76 / 2
    return "maple" if across < 30 else "walnut" if across < 36 else "cherry"


@pytest.mark.parametrize("offset", [0, 0.3])
def test_each_wood_of_a_zigzag_shows_as_large_as_counting_points_of_the_surface_finds_it(
    offset: float,
) -> None:
    sheet = laminated(offset=offset)
    found = made(sheet)
    shape = found.shapes[0]
    ring, angle = shape.rings[1], float(shape.stack.angle[1])
    assert ring.laminated
    drawn = dict.fromkeys(("maple", "walnut", "cherry"), 0.0)
    by_colour = {COLOURS[wood]: wood for wood in drawn}
    for n, path in layer_paths(parsed(draw_elevation(**subjects(sheet))), "dw-elevation"):
        if n == 2:
            drawn[by_colour[path.get("fill")]] += sum(p.area for p in polygons(path))
    across, up = np.meshgrid((np.arange(800) + 0.5) / 8 - 50, (np.arange(160) + 0.5) / 8)
    pitches = (np.arcsin(across / 50) - angle) / (2 * np.pi / 12)
    place = np.round(pitches)
    x = 50 * np.sin((pitches - place) * 2 * np.pi / 12)
    y = up + (ring.height - 20) / 2
    counted = dict.fromkeys(drawn, 0.0)
    for x_, y_, place_ in zip(x.ravel(), y.ravel(), place.ravel(), strict=True):
        counted[wood_on_face(x_, y_, place_ % 2 == 1, thick=ring.height)] += 1 / 64
    assert drawn == pytest.approx(counted, abs=0.01 * 2000)
    assert min(counted.values()) > 100


@pytest.mark.parametrize("offset", [0, 0.3, 0.5])
def test_the_strips_in_the_section_fill_the_cut_of_their_segment_and_no_more(offset: float) -> None:
    root = parsed(draw_section(**subjects(laminated(offset=offset))))
    strips = [shape for path in of_class(root, "dw-strip") for shape in polygons(path)]
    whole = unary_union([p for n, path in layer_paths(root, "dw-section") if n == 2 for p in polygons(path)])
    joined = unary_union([shape.buffer(0) for shape in strips])
    assert joined.symmetric_difference(whole.buffer(0)).area < 0.02 * whole.area


def test_the_strips_of_a_ring_from_above_fill_its_segments() -> None:
    found = made(laminated())
    ring = found.rings[1]
    root = parsed(draw_ring(ring, colours=COLOURS, laminates=found.sheet.laminates))
    (group,) = of_class(root, "dw-segments")
    shapes: list[Polygon] = [p for path in group.iter(f"{SVG}path") for p in polygons(path)]
    assert sum(p.area for p in shapes) == pytest.approx(
        ring.segments * np.tan(np.pi / 12) * (ring.outer_apothem**2 - ring.inner_apothem**2), rel=1e-3
    )
    assert unary_union(shapes).area == pytest.approx(sum(p.area for p in shapes), rel=1e-3)


def jar() -> Json:
    body = straight(cut(thickness=12), cut(layers=4, thickness=12))
    form = {"outer": [[0, 41], [8, 41], [8.01, 52], [20, 52]], "curve": "straight", "inside": SOLID}
    none = {"outside": 0, "inside": 0, "top": 0, "bottom": 0}
    lid = built(disc(thickness=20), form=form, allowance=none)
    return in_parts(
        part("body", body, close_at=[36]),
        part("lid", lid, sits={"in": "body", "flange": 8, "clearance": 0.5}),
    )


def test_a_lid_stands_in_its_rim_with_its_flange_cut_inside_the_wall() -> None:
    root = parsed(draw_section(**subjects(jar())))
    right = [(n, p) for n, path in layer_paths(root, "dw-section") for p in polygons(path) if p.bounds[2] > 1]
    (lid,) = [shape for n, shape in right if n == 6]
    wall = unary_union([shape for n, shape in right if n < 6])
    assert lid.bounds == pytest.approx((0, 0, 52, 20), abs=0.01)
    assert wall.bounds == pytest.approx((0, 12, 50, 72), abs=0.01)
    assert lid.intersection(wall).area < 0.1
    assert lid.intersection(Polygon([(0, 12), (50, 12), (50, 20), (0, 20)])).area == pytest.approx(
        41 * 8, abs=1
    )


def test_the_rim_is_drawn_over_the_flange_it_hides() -> None:
    layers = [n for n, _ in layer_paths(parsed(draw_elevation(**subjects(jar()))), "dw-elevation")]
    assert layers[0] == 6
    assert set(layers[1:]) == {1, 2, 3, 4, 5}


def test_the_assembled_piece_has_its_own_height_and_names_each_parts_bands() -> None:
    root = parsed(draw_piece(**subjects(jar())))
    (height,) = [g for g in of_class(root, "dw-dimension") if g.get("data-dimension") == "height"]
    assert "".join(height.find(f"{SVG}text").itertext()) == "72"
    (bands,) = of_class(root, "dw-bands")
    names = [text.find(f"{SVG}tspan").text for text in bands.iter(f"{SVG}text")]
    assert [name.split(":")[0] for name in names] == ["lid", "body", "body"]


def test_a_closing_is_a_line_through_the_wall_at_its_height_and_says_so() -> None:
    root = parsed(draw_section(**subjects(jar())))
    for path in of_class(root, "dw-closing"):
        assert path.get("d") in {"M42,36 50,36", "M-42,36 -50,36"}
    assert len(of_class(root, "dw-closing")) == 2
    assert [t.text for t in root.iter(f"{SVG}text") if t.text == "closed here"] == ["closed here"]


@pytest.mark.parametrize(("by", "span"), [("tenon", (3, 9)), ("waste_block", (3, 9)), ("recess", (-6, 0))])
def test_a_hold_is_dashed_at_the_foot_as_deep_as_it_is(by: str, span: tuple[float, float]) -> None:
    sheet = straight(cut(thickness=12), cut(), holding={"by": by, "depth": 6, "parting": 3})
    below = {"tenon": 9, "recess": 0, "waste_block": 3}[by]
    sheet["allowance"].pop("bottom")
    sheet["form"]["outer"][1][0] = 22 - below
    sheet["form"]["inside"]["floor"] = 7
    root = parsed(draw_section(**subjects(sheet)))
    (hold,) = of_class(root, "dw-hold")
    (shape,) = polygons(hold.find(f"{SVG}path"))
    foot = 22 - below
    assert (shape.bounds[1] - foot, shape.bounds[3] - foot) == pytest.approx(span)
    left, top, width, height = map(float, root.get("viewBox").split())
    assert left < shape.bounds[0]
    assert shape.bounds[2] < left + width
    assert shape.bounds[3] < top + height


def test_the_plan_of_leaning_staves_gives_both_angles_and_the_narrow_end() -> None:
    found = made(built(disc(), staves()))
    ring = found.rings[1]
    root = parsed(draw_ring(ring, colours=COLOURS))
    (saw,) = of_class(root, "dw-saw")
    assert "".join(saw.itertext()) == f"saw {np.degrees(ring.miter):.3f}°, tilt {np.degrees(ring.tilt):.3f}°"
    (narrow,) = of_class(root, "dw-narrow")
    inner, outer = sorted(shape.area for path in narrow for shape in polygons(path))
    for area, apothem in zip((outer, inner), min(ring.face(False), ring.face(True)), strict=True):
        assert area == pytest.approx(16 * np.tan(np.pi / 16) * apothem**2, rel=1e-3)


@pytest.mark.parametrize("offset", [0.2, 0.3])
def test_each_wood_in_the_section_is_as_large_as_counting_points_of_the_cut_finds_it(offset: float) -> None:
    sheet = laminated(offset=offset)
    found = made(sheet)
    ring, angle = found.rings[1], float(found.shapes[0].stack.angle[1])
    drawn, counted = {}, {}
    for path in of_class(parsed(draw_section(**subjects(sheet))), "dw-strip"):
        for shape in polygons(path):
            key = (np.sign(shape.centroid.x), path.get("fill"))
            drawn[key] = drawn.get(key, 0.0) + shape.area
    radii, up = np.meshgrid(42 + (np.arange(160) + 0.5) / 20, (np.arange(400) + 0.5) / 20)
    for side in (1, -1):
        pitches = (side * np.pi / 2 - angle) / (2 * np.pi / 12)
        place = round(pitches)
        x = radii * np.sin((pitches - place) * 2 * np.pi / 12)
        for x_, y_ in zip(x.ravel(), (up + (ring.height - 20) / 2).ravel(), strict=True):
            key = (side, COLOURS[wood_on_face(x_, y_, place % 2 == 1, thick=ring.height)])
            counted[key] = counted.get(key, 0.0) + 1 / 400
    assert drawn == pytest.approx(counted, abs=0.6)


def test_each_slice_of_a_laminated_ring_shows_its_own_part_of_the_rings_height() -> None:
    band = cut(layers=3, thickness=4, made="sliced", woods=["zig"], ring_height=40)
    sheet = straight(cut(thickness=12), band, cut(), laminates={"zig": ZIGZAG})
    found = made(sheet)
    shape, shop = found.shapes[0], found.sheet.shop
    ring = shape.rings[1]
    assert ring.layers == (2, 3, 4)
    each = 4 + shop.slice_kerf + shop.slice_sanding
    drawn: dict[tuple[int, str | None], float] = {}
    for n, path in layer_paths(parsed(draw_elevation(**subjects(sheet))), "dw-elevation"):
        if n in ring.layers:
            key = (n, path.get("fill"))
            drawn[key] = drawn.get(key, 0.0) + sum(p.area for p in polygons(path))
    counted: dict[tuple[int, str | None], float] = {}
    across, up = np.meshgrid((np.arange(800) + 0.5) / 8 - 50, (np.arange(32) + 0.5) / 8)
    for k, n in enumerate(ring.layers):
        pitches = (np.arcsin(across / 50) - float(shape.stack.angle[n - 1])) / (2 * np.pi / 12)
        place = np.round(pitches)
        x = 50 * np.sin((pitches - place) * 2 * np.pi / 12)
        y = up + shop.flatten + k * each
        for x_, y_, place_ in zip(x.ravel(), y.ravel(), place.ravel(), strict=True):
            key = (n, COLOURS[wood_on_face(x_, y_, place_ % 2 == 1, thick=ring.height)])
            counted[key] = counted.get(key, 0.0) + 1 / 64
    assert drawn == pytest.approx(counted, abs=4)
