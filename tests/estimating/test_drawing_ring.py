"""The plan of a ring, taken apart again and held against the ring's own figures and a handbook's."""

import re
from math import atan2, cos, degrees, pi, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point
from shapely.ops import unary_union

from estimating.picture.drawing import draw_ring, turned_radii
from estimating.picture.ring_plan import saw_angle
from estimating.shape.rings import Ring
from tests.estimating.drawn import COLOURS, SVG, of_class, open_bowl, parsed, polygons, vase


def ring(
    segments: int, *, gap: float = 0.0, inner: float = 70.0, woods: tuple[str, ...] = ("maple",)
) -> Ring:
    return Ring(7, 0, segments, gap, 90.0, inner, 20.0, (1,), woods * (segments // len(woods)))


def segments_of(drawing: str) -> list:
    (group,) = of_class(parsed(drawing), "dw-segments")
    return [(path.get("fill"), patch) for path in group.iter(f"{SVG}path") for patch in polygons(path)]


@given(
    segments=st.integers(1, 40).map(lambda n: 3 * n),
    gap=st.sampled_from([0.0, 0.1, 0.5]),
    inner=st.sampled_from([0.0, 10.0, 85.0]),
)
def test_the_segments_drawn_are_as_large_as_the_rings(segments: int, gap: float, inner: float) -> None:
    of = ring(segments, gap=gap, inner=inner, woods=("maple", "walnut", "cherry"))
    drawn = segments_of(draw_ring(of, colours=COLOURS))
    rounding = sum(patch.length for _, patch in drawn) * 0.005
    assert len(drawn) == segments
    assert sum(patch.area for _, patch in drawn) == pytest.approx(of.area, abs=rounding)
    assert unary_union([patch.buffer(-0.01) for _, patch in drawn]).area == pytest.approx(
        of.area, abs=rounding + sum(patch.length for _, patch in drawn) * 0.02
    )
    for wood, count in of.wood_counts.items():
        assert sum(fill == COLOURS[wood] for fill, _ in drawn) == count


def test_woods_follow_each_other_anticlockwise_from_the_top() -> None:
    of = ring(12, woods=("maple", "walnut", "cherry"))
    for fill, patch in segments_of(draw_ring(of, colours=COLOURS)):
        x, y = patch.centroid.coords[0]
        place = round(degrees(atan2(-x, -y)) / 30) % 12
        assert fill == COLOURS[of.pattern[place]]


def test_turned_circles_lie_within_the_wood() -> None:
    of = vase()
    for which in of["rings"]:
        turned = turned_radii(of["form"], of["stack"], [layer - 1 for layer in which.layers])
        root = parsed(draw_ring(which, colours=COLOURS, turned=turned))
        radii = sorted(float(circle.get("r")) for circle in of_class(root, "dw-turned"))
        assert radii == pytest.approx(sorted(r for r in turned if r > 0), abs=0.005)
        wood = unary_union(
            [patch.buffer(0.02) for _, patch in segments_of(draw_ring(which, colours=COLOURS))]
        )
        band = Point(0, 0).buffer(max(radii), 256)
        if len(radii) == 2:
            band = band.difference(Point(0, 0).buffer(min(radii), 256))
        assert band.difference(wood).area < 1e-6 * band.area


# Machinery's Handbook, table of miter angles by number of sides: 180 / n degrees. From memory.
@pytest.mark.parametrize(
    ("segments", "printed"),
    [(3, "60°"), (6, "30°"), (8, "22.5°"), (12, "15°"), (18, "10°"), (24, "7.5°"), (32, "5.625°")],
)
def test_the_saws_angle_is_the_handbooks(segments: int, printed: str) -> None:
    assert saw_angle(ring(segments)) == printed
    root = parsed(draw_ring(ring(segments), colours=COLOURS))
    assert f"saw {printed}" in ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]


def test_the_angle_drawn_is_the_angle_written() -> None:
    (group,) = of_class(parsed(draw_ring(ring(12), colours=COLOURS)), "dw-saw")
    start_x, start_y, end_x, end_y = map(
        float, re.findall(r"-?[\d.]+", group.find(f"{SVG}path").get("d"))[:4]
    )
    assert degrees(atan2(start_x, -start_y)) == pytest.approx(15, abs=0.02)
    assert degrees(atan2(end_x, -end_y)) == pytest.approx(15, abs=0.02)


def test_the_witness_mark_crosses_the_outer_edge_in_the_middle_of_segment_1() -> None:
    of = ring(12)
    (mark,) = of_class(parsed(draw_ring(of, colours=COLOURS)), "dw-witness")
    x, upper, lower = map(float, re.findall(r"-?[\d.]+", mark.get("d")))
    assert x == 0
    assert upper < -of.outer_apothem < lower


def test_gaps_leave_ground_between_segments() -> None:
    of = open_bowl()["rings"][3]
    drawn = segments_of(draw_ring(of, colours=COLOURS))
    wood = unary_union([patch for _, patch in drawn])
    pitch = radians(360 / of.segments)
    middle = (of.outer_apothem + of.inner_apothem) / 2
    for place in range(of.segments):
        angle = (place + 0.5) * pitch
        assert not wood.contains(Point(middle * cos(angle + pi / 2), -middle * cos(angle)))


def test_a_plan_says_what_it_shows() -> None:
    said = parsed(draw_ring(ring(12, woods=("maple", "walnut")), colours=COLOURS)).find(f"{SVG}desc").text
    assert "12 segments: 6 maple, 6 walnut" in said
    assert "saw set to 15°" in said


def test_everything_of_the_plan_lies_on_its_sheet() -> None:
    for segments in (3, 24, 360):
        root = parsed(draw_ring(ring(segments), colours=COLOURS))
        x, y, width, height = map(float, root.get("viewBox").split())
        for _, patch in segments_of(draw_ring(ring(segments), colours=COLOURS)):
            x0, y0, x1, y1 = patch.bounds
            assert x <= x0
            assert x1 <= x + width
            assert y <= y0
            assert y1 <= y + height
        for text in root.iter(f"{SVG}text"):
            assert y + 0.7 * float(text.get("font-size")) <= float(text.get("y")) <= y + height
