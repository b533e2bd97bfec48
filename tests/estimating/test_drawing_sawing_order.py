"""The thick ring on its holder: heights of every slice by hand, and the drawing taken apart again."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, box
from shapely.ops import unary_union

from estimating.picture.sawing_order import KEEP_ORDER, Cut, draw_sawing_order, sawing_order
from estimating.piece import Band, ShopSettings
from estimating.shape.rings import Ring
from estimating.shape.slicing import ring_height
from tests.estimating.drawn import COLOURS, SVG, of_class, parsed, points_of, polygons
from tests.estimating.sheets import modest

HELD = ShopSettings(flatten=0.5, slice_hold=8.0, slice_sanding=0.5, slice_kerf=1.2)
FREE = ShopSettings(flatten=0.5, slice_hold=0.0, slice_sanding=0.5, slice_kerf=1.2)


def thick_ring(
    layers: tuple[int, ...] = (2, 5, 9), *, shop: ShopSettings = HELD, segments: int = 12, gap: float = 0.0
) -> Ring:
    band = Band("", 40, 2.5, segments, ("maple",), made="sliced", ring_height=500.0)
    height = ring_height(band, shop=shop, place="").of(len(layers))
    woods = ("maple", "walnut", "cherry") * (segments // 3)
    return Ring(4, 0, segments, gap, 90.0, 70.0, height, layers, woods)


def test_slices_stand_where_the_sum_of_what_lies_below_puts_them() -> None:
    """8 held, then kerf 1.2 and slice 2.5 + 0.5 three times over, 0.5 trued off: 8 + 3 (1.2 + 3) + 0.5 = 21.1."""
    ring = thick_ring()
    assert ring.height == pytest.approx(21.1, abs=1e-12)
    cuts = sawing_order(ring, thickness=2.5, shop=HELD)
    assert [(cut.order, cut.layer) for cut in cuts] == [(1, 2), (2, 5), (3, 9)]
    assert [cut.from_height for cut in cuts] == pytest.approx([17.6, 13.4, 9.2], abs=1e-9)
    assert [cut.to_height for cut in cuts] == pytest.approx([20.6, 16.4, 12.2], abs=1e-9)


def test_with_nothing_held_the_last_slice_stands_on_its_trued_face() -> None:
    cuts = sawing_order(thick_ring((3, 4), shop=FREE), thickness=2.5, shop=FREE)
    # from below: 0.5 trued, 3, kerf 1.2, 3, 0.5 trued
    assert [cut.from_height for cut in cuts] == pytest.approx([4.7, 0.5], abs=1e-9)
    assert cuts[0].to_height == pytest.approx(7.7, abs=1e-9)


@modest
@given(
    st.integers(1, 40), st.floats(1, 9), st.sampled_from([0.0, 3.0, 8.0]), st.floats(0.5, 3), st.floats(0, 1)
)
def test_slices_kerfs_hold_and_truing_fill_the_ring(
    count: int, thickness: float, hold: float, kerf: float, sanding: float
) -> None:
    shop = ShopSettings(flatten=0.7, slice_hold=hold, slice_kerf=kerf, slice_sanding=sanding)
    band = Band("", count, thickness, 12, ("maple",), made="sliced", ring_height=1000.0)
    height = ring_height(band, shop=shop, place="").of(count)
    ring = Ring(1, 0, 12, 0.0, 90.0, 70.0, height, tuple(range(1, count + 1)), ("maple",) * 12)
    cuts = sawing_order(ring, thickness=thickness, shop=shop)
    assert cuts[0].to_height == pytest.approx(height - 0.7, abs=1e-9)
    assert cuts[-1].from_height == pytest.approx(hold + kerf if hold else 0.7, abs=1e-9)
    for above, below in pairwise(cuts):
        assert above.from_height - below.to_height == pytest.approx(kerf, abs=1e-9)
        assert below.layer > above.layer
    assert all(cut.to_height - cut.from_height == pytest.approx(thickness + sanding) for cut in cuts)


def drawn(ring: Ring, shop: ShopSettings = HELD, **settings: str) -> str:
    return draw_sawing_order(ring, thickness=2.5, shop=shop, colours=COLOURS, **settings)  # type: ignore[arg-type]


@pytest.mark.parametrize(("shop", "kerfs"), [(HELD, 3), (FREE, 2)])
def test_kerfs_are_drawn_between_the_slices_and_nowhere_else(shop: ShopSettings, kerfs: int) -> None:
    ring = thick_ring(shop=shop)
    cuts = sawing_order(ring, thickness=2.5, shop=shop)
    found = of_class(parsed(drawn(ring, shop)), "dw-kerf")
    assert len(found) == kerfs
    for cut, kerf in zip(cuts, found, strict=False):
        _, upper, _, lower = unary_union(polygons(kerf)).bounds
        assert (-upper, -lower) == pytest.approx((cut.from_height, cut.from_height - 1.2), abs=0.01)


@pytest.mark.parametrize("segments", [3, 6, 12, 24])
def test_the_flats_that_face_the_viewer_cover_the_ring_from_edge_to_edge(segments: int) -> None:
    """A closed convex outline: the flats in front leave nothing open between the outermost corners."""
    ring = thick_ring(segments=segments)
    (wood,) = of_class(parsed(drawn(ring)), "dw-wood")
    flats = {int(path.get("data-segment", "0")): polygons(path)[0] for path in wood.iter(f"{SVG}path")}
    whole = unary_union([flat.buffer(0.01, cap_style="flat") for flat in flats.values()])
    left, _, right, _ = whole.bounds
    assert whole.area == pytest.approx((right - left) * (ring.height + 0.02), rel=1e-3)
    assert flats[1].centroid.x == pytest.approx(0.0, abs=0.01)
    assert flats[1].bounds[2] - flats[1].bounds[0] == pytest.approx(ring.outer_edge, abs=0.02)
    if segments > 6:
        assert flats[2].centroid.x > 0 > flats[segments].centroid.x


def test_the_witness_line_crosses_every_slice_and_the_held_part_at_a_place_of_its_own_on_segment_1() -> None:
    ring = thick_ring(tuple(range(1, 8)))
    (line,) = of_class(parsed(drawn(ring)), "dw-witness")
    (points,) = points_of(line.get("d", ""))
    mark = LineString(points)
    assert abs(mark.centroid.x) < 0.01
    assert max(abs(x) for x, _ in points) < ring.outer_edge / 2
    assert sorted(y for _, y in points) == pytest.approx([-ring.height, 0.0], abs=0.01)
    reach = [
        mark.intersection(box(-90, -cut.to_height, 90, -cut.from_height)).bounds
        for cut in sawing_order(ring, thickness=2.5, shop=HELD)
    ]
    for (_, _, ends, _), (begins, _, _, _) in pairwise(reach):
        assert ends < begins  # no two slices show the line at one place


def test_slices_are_named_in_the_order_of_sawing_with_the_saws_height() -> None:
    words = ["".join(text.itertext()) for text in parsed(drawn(thick_ring())).iter(f"{SVG}text")]
    assert [word for word in words if "layer" in word] == [
        "1: layer 2 at 17.6",
        "2: layer 5 at 13.4",
        "3: layer 9 at 9.2",
    ]
    assert "held 8" in words
    free = [
        "".join(text.itertext()) for text in parsed(drawn(thick_ring(shop=FREE), FREE)).iter(f"{SVG}text")
    ]
    assert "3: layer 9 what is left" in free
    assert not any(word.startswith("held") for word in free)


def test_a_drawing_says_what_it_shows_and_how_order_is_kept() -> None:
    said = parsed(drawn(thick_ring(), unit="in")).find(f"{SVG}desc").text  # type: ignore[union-attr]
    assert "1 layer 2; 2 layer 5; 3 layer 9" in said  # type: ignore[operator]
    assert KEEP_ORDER in said  # type: ignore[operator]


@pytest.mark.parametrize("layers", [1, 7, 40])
@pytest.mark.parametrize("gap", [0.0, 0.3])
def test_everything_lies_on_its_sheet(layers: int, gap: float) -> None:
    root = parsed(drawn(thick_ring(tuple(range(1, layers + 1)), gap=gap)))
    x, y, width, height = map(float, root.get("viewBox", "").split())
    for path in root.iter(f"{SVG}path"):
        for points in points_of(path.get("d", "")):
            assert all(x <= px <= x + width and y <= py <= y + height for px, py in points)
    for text in root.iter(f"{SVG}text"):
        assert y <= float(text.get("y", "0")) <= y + height
        assert x <= float(text.get("x", "0")) <= x + width


def test_names_from_strangers_are_escaped_and_change_no_cut() -> None:
    """Nothing of a name reaches the drawing as markup; a wood that is unknown is grey."""
    ring = Ring(1, 0, 3, 0.0, 50.0, 30.0, 12.7, (1,), ("<b>", "maple", "maple"))
    assert sawing_order(ring, thickness=2.5, shop=HELD) == (Cut(1, 1, 9.2, 12.2),)
    assert "<b>" not in drawn(ring, title="<script>")
    assert "<script>" not in drawn(ring, title="<script>")
