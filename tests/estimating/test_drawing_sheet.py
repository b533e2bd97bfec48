"""The drawing as a sheet: dimensions, bands, words, room, and what it may never do to the page it stands on."""

import re
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimating.picture.drawing import draw_ring
from estimating.picture.svg import UNKNOWN_WOOD, joint_colour, shaded
from estimating.piece import Allowance, Band, Inside
from estimating.quantities import format_length
from estimating.wood.species import published_species
from tests.estimating.drawn import (
    COLOURS,
    PIECES,
    SVG,
    cone,
    draw_elevation,
    draw_piece,
    draw_section,
    of_class,
    open_bowl,
    parsed,
    piece,
    points_of,
    vase,
)

SHEETS = (draw_piece, draw_elevation, draw_section)


def texts(root: ElementTree.Element) -> list[str]:
    return ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]


def dimensions(root: ElementTree.Element) -> dict[str, str]:
    found = {}
    for group in of_class(root, "dw-dimension"):
        found[group.get("data-dimension", "")] = "".join(group.find(f"{SVG}text").itertext())
    return found


def test_dimensions_are_those_of_the_form_in_the_shops_units() -> None:
    of = vase()
    form = of["form"]
    assert dimensions(parsed(draw_piece(**of))) == {
        "rim": "Ø 112",
        "foot": "Ø 80",
        "largest": f"Ø {format_length(form.largest_diameter)}",
        "height": "120",
    }
    assert form.largest_diameter == pytest.approx(140, abs=0.05)
    in_inches = dimensions(parsed(draw_piece(**of, unit="in", inches="fraction")))
    assert in_inches["height"] == "4 23/32"  # 120 mm are 4.7244 in, 302.36 of 64ths
    assert dimensions(parsed(draw_piece(**of, unit="in", inches="decimal")))["height"] == "4.724"


def test_a_dimension_line_is_as_long_as_what_it_measures() -> None:
    of = vase()
    measured = {"rim": 112, "foot": 80, "largest": of["form"].largest_diameter, "height": 120}
    for group in of_class(parsed(draw_piece(**of)), "dw-dimension"):
        line = next(points_of(group.find(f"{SVG}path").get("d", "")))
        length = np.hypot(*np.subtract(line[0], line[-1]))
        assert length == pytest.approx(measured[group.get("data-dimension", "")], abs=0.02)


def test_a_diameter_is_given_once_where_foot_or_rim_are_the_widest() -> None:
    cylinder = piece(outer=[(0, 40), (50, 40)], bands=[Band("b", 5, 10, 12, ("maple",))])
    assert set(dimensions(parsed(draw_piece(**cylinder)))) == {"largest", "height"}
    assert set(dimensions(parsed(draw_piece(**cone())))) == {"largest", "height"}
    assert set(dimensions(parsed(draw_piece(**open_bowl())))) == {"foot", "largest", "height"}


def test_each_band_is_named_with_what_it_is_made_of() -> None:
    said = texts(parsed(draw_piece(**vase())))
    assert "foot 1 × 14, 12 segments" in said
    assert "swirl 36 × 2.8, 24 segments" in said
    assert "rim 1 × 6, 18 segments" in said


def test_many_small_bands_keep_their_order_and_do_not_overlap() -> None:
    bands = [Band(f"band {n}", 1, 2, 12, ("maple",)) for n in range(40)]
    root = parsed(draw_piece(**piece(outer=[(0, 40), (80, 60)], bands=bands)))
    labels = list(of_class(root, "dw-bands")[0].iter(f"{SVG}text"))
    assert [re.match(r"band \d+", "".join(label.itertext()))[0] for label in labels] == [
        b.name for b in bands[::-1]
    ]
    rows = np.array([float(label.get("y")) for label in labels])
    assert np.all(np.diff(rows) >= float(labels[0].get("font-size")))
    assert_all_inside(root)


def test_more_bands_than_can_be_named_keep_their_brackets_and_the_sheet_its_size() -> None:
    bands = [Band(f"band {n}", 1, 0.5, 3, ("maple",)) for n in range(400)]
    root = parsed(draw_piece(**piece(outer=[(0, 40), (200, 60)], bands=bands)))
    (group,) = of_class(root, "dw-bands")
    assert len(list(group)) == 400
    assert list(group.iter(f"{SVG}text")) == []
    assert float(root.get("viewBox").split()[3]) < 1.5 * 200
    assert_all_inside(root)


def assert_all_inside(root: ElementTree.Element) -> None:
    x, y, width, height = map(float, root.get("viewBox").split())
    for path in root.iter(f"{SVG}path"):
        if "A" in path.get("d", ""):
            continue
        for points in points_of(path.get("d", "")):
            xs, ys = zip(*points, strict=True)
            assert x <= min(xs) <= max(xs) <= x + width
            assert y <= min(ys) <= max(ys) <= y + height
    for text in root.iter(f"{SVG}text"):
        assert x <= float(text.get("x")) <= x + width
        assert y + float(text.get("font-size")) * 0.5 <= float(text.get("y")) <= y + height


@pytest.mark.parametrize("draw", SHEETS)
@pytest.mark.parametrize("name", PIECES)
def test_nothing_is_drawn_off_the_sheet(name: str, draw: Any) -> None:
    assert_all_inside(parsed(draw(**PIECES[name](), with_dimensions=True)))


@given(name=st.text(max_size=60), title=st.text(max_size=60))
@settings(max_examples=150, deadline=None)
def test_any_text_stays_text(name: str, title: str) -> None:
    of = piece(outer=[(0, 40), (10, 40)], bands=[Band(name, 1, 10, 12, ("maple",))])
    root = parsed(draw_piece(**of, title=title))
    plain = parsed(
        draw_piece(**piece(outer=[(0, 40), (10, 40)], bands=[Band("b", 1, 10, 12, ("maple",))]), title="t")
    )
    tags = [e.tag for e in root.iter() if e.tag != f"{SVG}title"]
    assert tags == [e.tag for e in plain.iter() if e.tag != f"{SVG}title"]


def test_markup_in_names_is_shown_as_it_was_typed() -> None:
    of = piece(outer=[(0, 40), (10, 40)], bands=[Band("<b>&\"'", 1, 10, 12, ("maple",))])
    drawing = draw_piece(**of, title="<script>alert(1)</script>\x00\x1b")
    root = parsed(drawing)
    assert "<script" not in drawing
    assert root.find(f"{SVG}title").text == "<script>alert(1)</script>"
    assert any(said.startswith("<b>&\"'") for said in texts(root))


@pytest.mark.parametrize("colour", ['red"/><script/>', "url(#x)", "#12345", "", "javascript:1"])
def test_only_a_colour_can_stand_where_a_colour_stands(colour: str) -> None:
    of = cone() | {"colours": {"maple": colour}}
    fills = {e.get("fill") for e in parsed(draw_piece(**of)).iter()}
    assert fills <= {None, "none", "currentColor", UNKNOWN_WOOD}


def test_the_colours_of_wood_stand_on_wood_alone() -> None:
    of = open_bowl()
    root = parsed(draw_piece(**of))
    layers = {id(part) for layer in of_class(root, "dw-layer") for part in layer.iter()}
    woods = set(COLOURS.values()) | {shaded(c, 0.3) for c in COLOURS.values()}
    for part in root.iter():
        if id(part) in layers:
            assert part.get("fill") in woods | {"none", None}
        else:
            assert part.get("fill") in {"none", "currentColor", None}
            assert part.get("stroke") in {"none", "currentColor", None}


def test_joints_contrast_with_every_published_wood_in_black_and_white() -> None:
    def grey(colour: str) -> float:
        return sum(w * int(colour[a : a + 2], 16) for w, a in ((0.299, 1), (0.587, 3), (0.114, 5))) / 255

    for wood in published_species().values():
        assert abs(grey(wood.colour) - grey(joint_colour(wood.colour))) > 0.2, wood.key


@pytest.mark.parametrize("draw", SHEETS)
def test_a_drawing_has_a_text_alternative_of_its_own(draw: Any) -> None:
    root = parsed(draw(**vase(), title="Rising vase", prefix="first"))
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert root.get("role") == "img"
    assert root.get("aria-labelledby").split() == ids == ["first-title", "first-desc"]
    assert root.find(f"{SVG}title").text == "Rising vase"
    said = root.find(f"{SVG}desc").text
    assert "120 mm high" in said
    assert "38 layers" in said
    assert "swirl, 36 layers of 24 segments, maple and walnut and cherry" in said


def test_layers_and_rings_can_be_found_on_the_drawing() -> None:
    of = vase()
    root = parsed(draw_piece(**of))
    for view in ("dw-elevation", "dw-section"):
        marks = [
            (int(e.get("data-layer")), int(e.get("data-ring")))
            for e in of_class(of_class(root, view)[0], "dw-layer")
        ]
        assert marks == [(n + 1, of["rings"][of["ring_of_layer"][n]].number) for n in range(38)]
        assert all(n in of["rings"][ring - 1].layers for n, ring in marks)


@pytest.mark.parametrize("draw", SHEETS)
def test_the_same_piece_gives_the_same_bytes(draw: Any) -> None:
    assert draw(**vase()) == draw(**vase())


def test_full_size_prints_a_millimetre_as_a_millimetre() -> None:
    root = parsed(draw_piece(**vase(), full_size=True))
    _, _, width, height = root.get("viewBox").split()
    assert (root.get("width"), root.get("height")) == (f"{width}mm", f"{height}mm")
    assert parsed(draw_piece(**vase())).get("width") is None


EDGES: dict[str, dict[str, Any]] = {
    "three segments": cone(3),
    "360 segments": cone(360),
    "a rounded tip": piece(
        outer=[(0, 0), (10, 25), (30, 0)], curve="smooth", bands=[Band("b", 3, 10, 6, ("maple",))]
    ),
    "a tube": piece(
        outer=[(0, 30), (40, 32)],
        inside=Inside("curve", inner=((0, 20), (40, 22))),
        bands=[Band("b", 4, 10, 12, ("maple",))],
    ),
    "one layer": piece(outer=[(0, 30), (10, 30)], bands=[Band("", 1, 10, 12, ("maple",))]),
    "a layer wholly turned away": piece(
        outer=[(0, 30), (10, 30)], allowance=Allowance(top=10), bands=[Band("b", 2, 10, 12, ("maple",))]
    ),
    "a very small piece": piece(outer=[(0, 0.2), (0.5, 0.3)], bands=[Band("b", 1, 0.5, 12, ("maple",))]),
    "a very wide piece": piece(outer=[(0, 5000), (10, 5000)], bands=[Band("b", 1, 10, 12, ("maple",))]),
    "all gaps": piece(outer=[(0, 30), (10, 30)], bands=[Band("b", 1, 10, 4, ("maple",), gap=0.9)]),
}


@pytest.mark.parametrize("draw", SHEETS)
@pytest.mark.parametrize("edge", EDGES)
def test_every_kind_of_piece_can_be_drawn(edge: str, draw: Any) -> None:
    drawing = draw(**EDGES[edge], with_dimensions=True)
    root = parsed(drawing)
    assert not re.search(r"\b(nan|inf)\b|[\d]e[-+]?\d", re.sub(r"<(title|desc).*?</\1>", "", drawing))
    assert_all_inside(root)


def test_a_layer_that_is_turned_away_is_not_drawn_but_its_blank_is() -> None:
    root = parsed(draw_piece(**EDGES["a layer wholly turned away"]))
    assert {e.get("data-layer") for e in of_class(root, "dw-layer")} == {"1"}
    (steps,) = points_of(of_class(root, "dw-blanks")[0].get("d", ""))
    assert min(y for _, y in steps) == -10


def test_sixty_layers_of_24_segments_make_a_small_drawing_of_few_paths() -> None:
    of = piece(
        outer=[(0, 50), (60, 90), (120, 60), (180, 70)],
        curve="smooth",
        inside=Inside("wall", wall=6, floor=9),
        bands=[Band("b", 60, 3, 24, ("maple", "walnut"), (0.5,))],
    )
    drawing = draw_piece(**of)
    assert len(drawing) < 120_000
    per_layer = [
        len(list(e.iter(f"{SVG}path")))
        for e in of_class(of_class(parsed(drawing), "dw-elevation")[0], "dw-layer")
    ]
    assert max(per_layer) == 2


def test_rings_and_pieces_can_share_a_page() -> None:
    of = vase()
    together = draw_piece(**of, prefix="a") + draw_ring(of["rings"][0], colours=COLOURS, prefix="b")
    ids = re.findall(r' id="([^"]+)"', together)
    assert len(ids) == len(set(ids)) == 4
