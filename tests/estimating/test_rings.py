"""One ring: against handbook tables of regular polygons, and its areas and joints against shapely."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from estimating.shape.rings import Ring
from tests.estimating import reference
from tests.estimating.sheets import modest


def ring(
    *, segments: int = 12, outer: float = 100.0, inner: float = 80.0, gap: float = 0.0, height: float = 20.0
) -> Ring:
    return Ring(
        number=1, band=0, segments=segments, gap=gap, outer_radius=outer, inner_radius=inner, height=height,
        layers=(1,), pattern=("ash",) * segments,
    )  # fmt: skip


# Regular polygons of side 1: area as printed at engineeringtoolbox.com/regular-polygons-area-d_1872.html (the area of
# 12 sides is 11.19615, printed cut off); one unit of the last printed digit is allowed.
PRINTED_AREA = {3: 0.4330, 4: 1.0, 5: 1.7205, 6: 2.5981, 8: 4.8284, 10: 7.6942, 12: 11.1961}


@pytest.mark.parametrize(("segments", "area"), PRINTED_AREA.items())
def test_a_disc_has_the_area_of_the_printed_polygon(segments: int, area: float) -> None:
    disc = ring(segments=segments, outer=137.0, inner=0.0)
    assert disc.area / disc.outer_edge**2 == pytest.approx(area, abs=1e-4)


# Miter, outer edge for radius 100, corner radius, least board width and short edge for 100 and 80 mm, of regular
# polygons: plain trigonometry (180/n; 2 r tan(180/n); r / cos(180/n); R - r cos(180/n); 2 r sin(180/n)), each to the
# digits a printed table gives, so half a unit of the last.
TABLE = {
    3: (60.0000, 346.4102, 200.0000, 60.0000, 138.5641),
    4: (45.0000, 200.0000, 141.4214, 43.4315, 113.1371),
    5: (36.0000, 145.3085, 123.6068, 35.2786, 94.0456),
    6: (30.0000, 115.4701, 115.4701, 30.7180, 80.0000),
    8: (22.5000, 82.8427, 108.2392, 26.0896, 61.2293),
    10: (18.0000, 64.9839, 105.1462, 23.9155, 49.4427),
    12: (15.0000, 53.5898, 103.5276, 22.7259, 41.4110),
    14: (12.8571, 45.6487, 102.5717, 22.0058, 35.6033),
    16: (11.2500, 39.7825, 101.9591, 21.5372, 31.2145),
    18: (10.0000, 35.2654, 101.5427, 21.2154, 27.7837),
    20: (9.0000, 31.6769, 101.2465, 20.9849, 25.0295),
    24: (7.5000, 26.3305, 100.8629, 20.6844, 20.8842),
    30: (6.0000, 21.0208, 100.5508, 20.4382, 16.7246),
    32: (5.6250, 19.6983, 100.4839, 20.3852, 15.6827),
    36: (5.0000, 17.4977, 100.3820, 20.3044, 13.9449),
    40: (4.5000, 15.7403, 100.3092, 20.2466, 12.5535),
    48: (3.7500, 13.1087, 100.2146, 20.1713, 10.4645),
}


@pytest.mark.parametrize(("segments", "row"), TABLE.items())
def test_a_ring_is_that_of_the_handbook_table(segments: int, row: tuple[float, ...]) -> None:
    one = ring(segments=segments)
    found = math.degrees(one.miter), one.outer_edge, one.corner_radius, one.strip_width, one.inner_edge
    assert found == pytest.approx(row, abs=0.5001e-4)


def test_eighteen_segments_are_sawn_at_ten_degrees() -> None:
    """Eighteen segments a layer are common practice, no source; a miter saw has a stop there."""
    assert math.degrees(ring(segments=18).miter) == pytest.approx(10.0, abs=1e-12)


def test_wedges_that_meet_at_the_centre_have_no_inner_edge() -> None:
    disc = ring(inner=0.0)
    assert (disc.inner_edge, disc.strip_width) == (0.0, 100.0)


some_rings = st.builds(
    lambda segments, outer, share, gap: ring(segments=segments, outer=outer, inner=outer * share, gap=gap),
    st.integers(3, 60),
    st.floats(10, 500),
    st.one_of(st.just(0.0), st.floats(0.05, 0.98)),
    st.sampled_from([0.0, 0.0, 0.05, 0.5, 0.9]),
)


def corners(one: Ring) -> list[tuple[float, float]]:
    """One segment, its middle on the x axis, from nothing but the miter and the two circles."""
    phi, outer, inner = one.miter, one.outer_radius / math.cos(one.miter), one.inner_radius
    polar = [(outer, -phi), (outer, phi), (inner, phi), (inner, -phi)][: 4 if inner else 3]
    return [(r * math.cos(a), r * math.sin(a)) for r, a in polar]


@modest
@given(some_rings)
def test_a_segment_is_the_trapezium_shapely_measures(one: Ring) -> None:
    points = corners(one)
    assert one.segment_area == pytest.approx(Polygon(points).area, rel=1e-9)
    assert one.outer_edge == pytest.approx(math.dist(points[0], points[1]), rel=1e-9)
    end = math.dist(points[1], points[2])
    assert one.end_joint_area == pytest.approx(end * one.height, rel=1e-9)
    if one.inner_radius:
        assert one.inner_edge == pytest.approx(math.dist(points[2], points[3]), rel=1e-9)
    wide = max(x for x, _ in points) - min(x for x, _ in points)
    assert one.strip_width == pytest.approx(wide, rel=1e-9)
    assert one.volume == pytest.approx(one.segments * Polygon(points).area * one.height, rel=1e-9)


@modest
@given(some_rings.filter(lambda one: one.gap == 0))
def test_the_turned_ring_lies_inside_its_blank_and_touches_it(one: Ring) -> None:
    """Outside circle within the flats, inside circle through the corners: what there is to turn is all wood."""
    blank = reference.face(
        {"segments": one.segments, "phi": one.miter, "outer": one.outer_radius, "inner": one.inner_radius},
        0.0,
    )
    circle = Point(0, 0).buffer(one.outer_radius, quad_segs=1024)
    turned = circle.difference(Point(0, 0).buffer(one.inner_radius * (1 + 1e-9), quad_segs=4 * one.segments))
    # shapely's circles are polygons inside the circle, its hole a polygon with corners where the ring's may lie:
    # what sticks out is then at most the sagitta of an arc of the hole, all the way round
    arcs = 16 * one.segments
    sagitta = one.inner_radius * (1 - math.cos(math.pi / arcs))
    assert turned.difference(blank).area <= 2 * math.pi * one.inner_radius * sagitta + 1e-6 * one.area
    slightly_larger = Point(0, 0).buffer(one.outer_radius * 1.01, quad_segs=1024)
    assert slightly_larger.difference(blank).area > 0


@modest
@given(some_rings)
def test_an_open_ring_has_the_share_of_wood_its_gap_leaves_in_angle_and_no_glued_ends(one: Ring) -> None:
    assert one.miter == pytest.approx(math.pi / one.segments * (1 - one.gap), rel=1e-12)
    assert one.end_joints == (0 if one.gap else one.segments)
