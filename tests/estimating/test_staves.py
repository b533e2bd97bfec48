"""Staves that lean: angles against a printed chart, and the ring against solids."""

import math
from typing import Any

import manifold3d
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.shape.staves import StaveRing, compound_miter, cover, lean
from tests.estimating.sheets import modest

# Owner's manual of a compound mitre saw, chart "Cutting compound miters", p. 24: pitch of the side (its tilt up from
# the bench), number of sides, miter, bevel; degrees, as printed. The chart's row for 25 degrees and 7 sides is left
# out: its miter is misprinted (23.56, where its neighbours in the row and column lead to 23.58).
CHART = [
    (5, 4, 44.89, 3.53), (5, 6, 29.91, 2.50), (5, 8, 22.42, 1.91), (5, 10, 17.94, 1.54),
    (15, 4, 44.01, 10.55), (15, 6, 29.15, 7.44), (15, 8, 21.81, 5.68), (15, 10, 17.42, 4.59),
    (20, 4, 43.22, 14.00), (20, 6, 28.48, 9.85), (20, 8, 21.27, 7.52), (20, 10, 16.98, 6.07),
    (30, 4, 40.89, 20.70), (30, 6, 26.57, 14.48), (30, 8, 19.73, 11.03), (30, 10, 15.72, 8.89),
    (45, 4, 35.26, 30.00), (45, 6, 22.21, 20.70), (45, 8, 16.32, 15.70), (45, 10, 12.94, 12.62),
    (50, 4, 32.73, 32.80), (50, 6, 20.36, 22.52), (50, 8, 14.91, 17.05), (50, 10, 11.80, 13.69),
]  # fmt: skip


@pytest.mark.parametrize(("pitch", "sides", "miter", "bevel"), CHART)
def test_the_angles_are_those_of_the_printed_chart(
    pitch: float, sides: int, miter: float, bevel: float
) -> None:
    found = compound_miter(staves=sides, flare=math.radians(90 - pitch))
    # 0.006: half a unit of the last printed digit, and the chart rounds a few halves the other way
    assert [math.degrees(angle) for angle in found] == pytest.approx([miter, bevel], abs=0.006)


def test_the_published_examples_come_out() -> None:
    """Four sides at 45 degrees: workshop article "Miter formula"; six at 30 degrees: a how-to article."""
    four = compound_miter(staves=4, flare=math.radians(45))
    assert [math.degrees(angle) for angle in four] == pytest.approx([35.26, 30.00], abs=0.005)
    six = compound_miter(staves=6, flare=math.radians(60))
    assert [math.degrees(angle) for angle in six] == pytest.approx([26.565, 14.478], abs=0.0005)


@pytest.mark.parametrize("staves", [3, 8, 24])
def test_upright_staves_are_only_tilted_and_a_flat_frame_is_only_mitered(staves: int) -> None:
    assert compound_miter(staves=staves, flare=0.0) == pytest.approx((0.0, math.pi / staves))
    assert compound_miter(staves=staves, flare=math.pi / 2) == pytest.approx((math.pi / staves, 0.0))


def test_upright_staves_are_the_ring_of_a_regular_polygon() -> None:
    ring = StaveRing(
        staves=12, flare=0.0, height=20.0, bottom=100.0, wall=100.0 - 80.0 * math.cos(math.pi / 12)
    )
    # n tan(pi/n) (R^2 - r^2 cos^2(pi/n)) h for R = 100, r = 80, h = 20: plain trigonometry, to the digits shown
    assert ring.volume == pytest.approx(259078.0618, abs=1e-4)
    assert ring.rip_width == ring.narrow_width == pytest.approx(53.5898, abs=1e-4)
    assert ring.board_thickness == pytest.approx(22.7259, abs=1e-4)
    assert ring.tip_width == pytest.approx(41.4110, abs=1e-4)
    assert ring.corner_radius == pytest.approx(103.5276, abs=1e-4)
    assert (ring.slant_length, ring.blank_length, ring.end_bevel) == (20.0, 20.0, 0.0)


def test_a_wall_that_leans_three_in_four_is_measured_with_a_3_4_5_triangle() -> None:
    ring = StaveRing(staves=8, flare=math.atan(3 / 4), height=80.0, bottom=60.0, wall=20.0)
    assert ring.top == pytest.approx(120.0)
    assert ring.slant_length == pytest.approx(100.0)
    assert ring.board_thickness == pytest.approx(16.0)
    assert ring.blank_length == pytest.approx(112.0)  # 100 + 16 x 3/4
    assert ring.apothems(40.0) == pytest.approx((90.0, 70.0))
    assert ring.wide == ring.top
    assert ring.blank_volume == pytest.approx(8 * 16 * 112 * 240 * math.tan(math.pi / 8))


some_rings = st.builds(
    lambda staves, bottom, top, height, share: StaveRing(
        staves=staves,
        flare=lean(bottom=bottom, top=top, height=height),
        height=height,
        bottom=bottom,
        wall=share * min(bottom, top),
    ),
    st.integers(3, 40),
    st.floats(20, 200),
    st.floats(20, 200),
    st.floats(15, 300),
    st.floats(0.05, 0.95),
)


def corners(ring: StaveRing, stave: int) -> np.ndarray:
    """The eight corners of a stave from its planes: level ends, radial sides, the two faces; (end, face, side)."""
    found = []
    for z in (0.0, ring.height):
        for apothem in (
            ring.bottom + z * math.tan(ring.flare),
            ring.bottom + z * math.tan(ring.flare) - ring.wall,
        ):
            for side in (-1, 1):
                angle = (2 * stave + side) * math.pi / ring.staves
                radius = apothem / math.cos(math.pi / ring.staves)
                found.append((radius * math.cos(angle), radius * math.sin(angle), z))
    return np.array(found)


def solid(ring: StaveRing, stave: int) -> Any:
    return manifold3d.Manifold.hull_points(corners(ring, stave))


@modest
@given(some_rings)
def test_the_wood_in_the_ring_is_what_the_solid_staves_hold(ring: StaveRing) -> None:
    volume = sum(solid(ring, stave).volume() for stave in range(ring.staves))
    assert ring.volume == pytest.approx(volume, rel=1e-9)
    assert ring.blank_volume > ring.volume


@modest
@given(some_rings)
def test_neighbours_share_a_face_and_no_wood(ring: StaveRing) -> None:
    one, two = solid(ring, 0), solid(ring, 1)
    assert (one ^ two).volume() <= 1e-9 * one.volume()
    assert face_between(one, ring) == pytest.approx(ring.joint_area, rel=1e-6)
    assert face_between(two, ring) == pytest.approx(ring.joint_area, rel=1e-6)


def face_between(solid: Any, ring: StaveRing) -> float:
    """Area of a solid's triangles in the plane through the axis between the first two staves."""
    mesh = solid.to_mesh64()
    points, angle = np.array(mesh.vert_properties), math.pi / ring.staves
    away = points[:, 1] * math.cos(angle) - points[:, 0] * math.sin(angle)
    triangles = points[mesh.tri_verts[(np.abs(away) < 1e-6)[mesh.tri_verts].all(axis=1)]]
    sides = triangles[:, 1:] - triangles[:, :1]
    return float(np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1).sum() / 2)


def unit(vector: np.ndarray) -> np.ndarray:
    found: np.ndarray = vector / np.linalg.norm(vector)
    return found


@modest
@given(some_rings)
def test_the_edges_lie_at_miter_and_tilt_to_the_outer_face(ring: StaveRing) -> None:
    low_left, low_right, low_in, _, high_left, high_right = corners(ring, 0)[:6]
    face = unit(np.cross(low_right - low_left, high_left - low_left))
    edge = unit(np.cross(high_left - low_left, low_in - low_left))
    # both normals point out of the stave (the middle of the ring is on the far side of each), so that the angle
    # through the wood is the straight angle less the angle between them
    middle = corners(ring, 0).mean(axis=0)
    face, edge = (n if n @ (low_left - middle) > 0 else -n for n in (face, edge))
    through = math.pi - math.acos(face @ edge)
    assert through == pytest.approx(math.pi / 2 - ring.tilt, abs=1e-9)
    along = unit((high_left + high_right) / 2 - (low_left + low_right) / 2)
    side = unit(high_left - low_left)
    assert math.atan2(float(np.linalg.norm(np.cross(along, side))), along @ side) == pytest.approx(
        ring.miter, abs=1e-9
    )


@modest
@given(some_rings)
def test_a_stave_comes_out_of_a_board_of_the_sizes_given_and_of_none_smaller(ring: StaveRing) -> None:
    """Its corners measured along the slant, across it and through it."""
    points = corners(ring, 0)
    along = np.array([math.sin(ring.flare), 0.0, math.cos(ring.flare)])
    through = np.array([math.cos(ring.flare), 0.0, -math.sin(ring.flare)])
    assert np.ptp(points @ along) == pytest.approx(ring.blank_length, rel=1e-9)
    assert np.ptp(points @ through) == pytest.approx(ring.board_thickness, rel=1e-9)
    assert np.ptp(points[:, 1]) == pytest.approx(ring.rip_width, rel=1e-9)
    low, high = points[1, 1] - points[0, 1], points[5, 1] - points[4, 1]
    assert sorted((low, high)) == pytest.approx([ring.narrow_width, ring.rip_width], rel=1e-9)
    assert ring.widths(0.0)[0] == pytest.approx(low, rel=1e-9)
    inner = points[3, 1] - points[2, 1], points[7, 1] - points[6, 1]
    assert ring.tip_width == pytest.approx(min(inner), rel=1e-9)
    assert np.linalg.norm(points[:, :2], axis=1).max() == pytest.approx(ring.corner_radius, rel=1e-9)
    assert np.linalg.norm(points[4] + points[5] - points[0] - points[1]) / 2 == pytest.approx(
        ring.slant_length
    )


@modest
@given(some_rings, st.floats(0, 1))
def test_a_level_cut_through_the_solids_has_the_area_given(ring: StaveRing, share: float) -> None:
    z = (0.01 + 0.98 * share) * ring.height
    area = solid(ring, 0).slice(z).area() * ring.staves
    assert ring.end_area(z) == pytest.approx(area, rel=1e-6)


@modest
@given(
    st.integers(3, 24),
    st.lists(st.tuples(st.floats(40, 90), st.floats(2, 25)), min_size=2, max_size=12),
    st.floats(-0.3, 0.3),
)
def test_the_wall_covers_outside_and_inside_everywhere_and_touches_both(
    staves: int, walls: list[tuple[float, float]], flare: float
) -> None:
    heights = np.linspace(0, 60.0, len(walls))
    outer = np.array([radius for radius, _ in walls])
    inner = outer - np.array([wall for _, wall in walls])
    try:
        ring = cover(heights=heights, outer=outer, inner=inner, staves=staves, flare=flare, height=60.0)
    except InvalidInput:
        assume(False)
    flats = np.array([ring.apothems(z) for z in heights])
    beyond = flats[:, 0] - outer
    within = inner - flats[:, 1] / math.cos(math.pi / staves)
    assert beyond.min() == pytest.approx(0.0, abs=1e-9)
    assert within.min() == pytest.approx(0.0, abs=1e-9)
    assert ring.narrow - ring.wall >= -1e-9


def test_a_straight_flaring_wall_is_covered_with_no_more_than_the_corners_ask() -> None:
    heights = np.array([0.0, 50.0])
    ring = cover(
        heights=heights, outer=np.array([50.0, 70.0]), inner=np.array([40.0, 60.0]), staves=12,
        flare=lean(bottom=50.0, top=70.0, height=50.0), height=50.0,
    )  # fmt: skip
    assert (ring.bottom, ring.top) == pytest.approx((50.0, 70.0))
    # the widest end asks for most: its corners are 60 (1 - cos 15) further in, the line then runs parallel
    assert ring.wall == pytest.approx(70.0 - 60.0 * math.cos(math.pi / 12))


def test_upright_staves_may_meet_at_the_axis() -> None:
    ring = cover(
        heights=np.array([0.0, 30.0]), outer=np.array([40.0, 40.0]), inner=np.array([0.0, 20.0]), staves=8,
        flare=0.0, height=30.0,
    )  # fmt: skip
    assert (ring.wall, ring.tip_width) == (40.0, 0.0)


@pytest.mark.parametrize(
    ("outer", "inner", "says"),
    [
        ([40.0, 60.0], [0.0, 50.0], None),
        (
            [40.0, 60.0],
            [30.0, 0.0],
            "solid within their height, so they would cross the axis at their lower end",
        ),
        (
            [60.0, 40.0],
            [0.0, 30.0],
            "solid within their height, so they would cross the axis at their upper end",
        ),
        (
            [40.0, 90.0],
            [5.0, 6.0],
            "too far off their slope, so they would cross the axis at their lower end",
        ),
    ],
)
def test_staves_that_would_cross_the_axis_are_refused(
    outer: list[float], inner: list[float], says: str | None
) -> None:
    def covered() -> StaveRing:
        return cover(
            heights=np.array([0.0, 30.0]), outer=np.array(outer), inner=np.array(inner), staves=8,
            flare=lean(bottom=outer[0], top=outer[1], height=30.0), height=30.0, place="bands[1].",
        )  # fmt: skip

    if says is None:  # solid at the narrow end only: the tips just meet there
        assert covered().tip_width == pytest.approx(0.0, abs=1e-9)
    else:
        with pytest.raises(InvalidInput, match=rf"bands\[1\]\.made: .*{says}"):
            covered()
