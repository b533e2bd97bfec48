"""The proof of the saw: small errors against rings put together by coordinates, limits, and refusals."""

from itertools import pairwise
from math import acos, atan2, cos, degrees, hypot, pi, radians, sin, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from estimating.errors import InvalidInput
from estimating.wood.saw_proof import close_enough, dish, last_joint, square_enough, trued_halves
from tests.estimating.sheets import modest

Array = NDArray[np.float64]

RINGS = st.tuples(
    st.sampled_from([4, 6, 8, 12, 16, 24, 36]), st.floats(20, 120), st.floats(0.05, 0.6), st.floats(-0.2, 0.2)
)


def trapezium(outer_edge: float, width: float, left: float, right: float) -> Array:
    """Corners (4, 2), longer edge on top: outer left, outer right, inner right, inner left."""
    half = outer_edge / 2
    return np.array(
        [[-half, 0], [half, 0], [half - width * tan(right), -width], [-half + width * tan(left), -width]]
    )


def chained(segments: int, outer_edge: float, width: float, cut: float) -> list[Array]:
    """Segments laid face to face, each moved on by the one before alone: no centre is told."""
    piece = trapezium(outer_edge, width, cut, cut)
    laid = [piece]
    for _ in range(segments - 1):
        # The right face of the last is where the left face of the next goes, outer corner on outer corner.
        at, towards = laid[-1][1], laid[-1][2] - laid[-1][1]
        own = piece[3] - piece[0]
        turn = atan2(towards[1], towards[0]) - atan2(own[1], own[0])
        turned = np.array([[cos(turn), -sin(turn)], [sin(turn), cos(turn)]])
        laid.append((piece - piece[0]) @ turned.T + at)
    return laid


def between(first: Array, second: Array) -> float:
    return acos(min(1.0, float(first @ second) / (hypot(*first) * hypot(*second))))


@modest
@given(RINGS)
def test_the_last_joint_opens_as_a_ring_laid_piece_by_piece_does(
    ring: tuple[int, float, float, float],
) -> None:
    segments, apothem, share, off = ring
    miter, error = pi / segments, radians(off)
    edge, width = 2 * apothem * tan(miter), share * apothem
    laid = chained(segments, edge, width, miter - error)
    first, last = laid[0], laid[-1]
    opening = last_joint(segments=segments, outer_edge=edge, width=width, error=error, miter=miter)
    # acos loses half its digits near 0, so the angle is held to 1e-6.
    assert abs(opening.angle) == pytest.approx(between(first[3] - first[0], last[2] - last[1]), abs=1e-6)
    assert abs(opening.outside) == pytest.approx(hypot(*(first[0] - last[1])), abs=1e-6)
    assert abs(opening.inside) == pytest.approx(hypot(*(first[3] - last[2])), abs=1e-6)
    assert (opening.angle > 0) == (error > 0)


def test_a_tenth_of_a_degree_opens_the_last_of_twelve_joints_by_2_4_degrees() -> None:
    # 2 n e = 2 x 12 x 0.1 degrees.
    opening = last_joint(segments=12, outer_edge=50, width=20, error=radians(0.1), miter=radians(15))
    assert degrees(opening.angle) == pytest.approx(2.4)


@modest
@given(RINGS)
def test_halves_trued_on_one_plane_lose_what_is_cut_off_their_coordinates(
    ring: tuple[int, float, float, float],
) -> None:
    from shapely import Polygon, affinity, box
    from shapely.ops import unary_union

    segments, apothem, share, off = ring
    miter, error = pi / segments, radians(off)
    edge, width = 2 * apothem * tan(miter), share * apothem
    laid = chained(segments // 2, edge, width, miter - error)
    half = unary_union([Polygon(piece).buffer(1e-7) for piece in laid])
    # The two outer end corners on a level line, the half above it.
    ends = np.array([laid[0][0], laid[-1][1]])
    turn = -degrees(atan2(*(ends[1] - ends[0])[::-1]))
    level = [affinity.rotate(Polygon(piece), turn, origin=(0, 0)) for piece in laid]
    corners = np.array([level[0].exterior.coords[0], level[-1].exterior.coords[1]])
    inner = np.array([level[0].exterior.coords[3], level[-1].exterior.coords[2]])
    up = 1 if level[len(level) // 2].centroid.y > corners[0, 1] else -1
    outer_y, inner_y = up * corners[:, 1], up * inner[:, 1]
    assert outer_y[0] == pytest.approx(outer_y[1], abs=1e-6)
    plane = max(outer_y[0], inner_y[0])
    found = trued_halves(segments=segments, outer_edge=edge, width=width, error=error, miter=miter)
    assert found.straightedge == pytest.approx(abs(outer_y[0] - inner_y[0]), abs=1e-6)
    assert found.off_each == pytest.approx(plane - min(outer_y[0], inner_y[0]), abs=1e-6)
    # How tall what is left stands above the plane, against half of what a true ring of such radius measures there:
    # its segments stand round one centre, which two of their end faces point to.
    kept = half.intersection(box(*half.bounds))
    centre = centre_of(level)
    assert found.short == pytest.approx(2 * (plane - up * centre[1]), abs=1e-5)
    assert kept.area <= half.area + 1e-9


def centre_of(level: list[object]) -> tuple[float, float]:
    """Where the lines of two end faces cross."""
    lines = []
    for piece, (a, b) in ((level[0], (0, 3)), (level[-1], (1, 2))):
        corners = piece.exterior.coords  # type: ignore[attr-defined]
        lines.append((np.array(corners[a]), np.array(corners[b]) - np.array(corners[a])))
    (p, u), (q, v) = lines
    if abs(u[0] * v[1] - u[1] * v[0]) < 1e-12:  # the faces lie on one line: no error
        return float(p[0] + q[0]) / 2, float(p[1])
    along = np.linalg.solve(np.array([u, -v]).T, q - p)[0]
    x, y = p + along * u
    return float(x), float(y)


@modest
@given(st.sampled_from([3, 4, 6, 12, 24]), st.floats(5, 60), st.floats(0.02, 2.0))
def test_a_leaning_blade_dishes_a_ring_cut_by_turning_the_strip_over(
    segments: int, width: float, off: float
) -> None:
    miter, lean = pi / segments, radians(off)
    blade = np.array([cos(miter) * cos(lean), sin(miter) * cos(lean), sin(lean)])  # the normal of its plane
    over = np.diag([1.0, -1.0, -1.0])  # the strip turned over about its length
    right, left = blade, -(over @ blade)
    axis = np.cross(left, right)
    axis /= np.linalg.norm(axis)
    # The outer and inner edge of the segment's flat face, `width` apart, along the ring's axis.
    rise = abs(float(axis @ np.array([0.0, width, 0.0])))
    found = dish(width=width, miter=miter, out_of_square=lean)
    assert found.height == pytest.approx(rise, rel=1e-9)
    assert found.height == pytest.approx(
        width * lean / sin(miter), rel=0.01 * (1 + (lean / sin(miter)) ** 2 * 60)
    )


def test_a_segment_cut_from_both_sides_of_the_saw_leaves_the_ring_flat() -> None:
    miter, lean = radians(15), radians(1)
    right = np.array([cos(miter) * cos(lean), sin(miter) * cos(lean), sin(lean)])
    left = -np.array([cos(miter) * cos(lean), -sin(miter) * cos(lean), sin(lean)])
    # Turned about an upright axis by the segment's angle, the one face is the other seen from behind.
    turn = 2 * miter
    about = np.array([[cos(turn), -sin(turn), 0], [sin(turn), cos(turn), 0], [0, 0, 1]])
    ways = [about @ left, about.T @ left]
    assert min(float(np.linalg.norm(way + right)) for way in ways) == pytest.approx(0, abs=1e-12)


def test_a_true_saw_opens_and_dishes_nothing() -> None:
    opening = last_joint(segments=12, outer_edge=50, width=20, error=0, miter=pi / 12)
    halves = trued_halves(segments=12, outer_edge=50, width=20, error=0, miter=pi / 12)
    assert (opening.angle, opening.outside, opening.inside) == (0, 0, 0)
    assert (halves.straightedge, halves.off_each, halves.short) == (0, 0, 0)
    assert dish(width=20, miter=pi / 12, out_of_square=0).height == 0


def test_small_errors_go_by_the_rules_of_thumb() -> None:
    # 2 n e R outside and w d / sin(phi): the first terms of the sines and tangents.
    error, miter = radians(0.01), pi / 12
    opening = last_joint(segments=12, outer_edge=50, width=20, error=error, miter=miter)
    assert opening.outside == pytest.approx(2 * 12 * error * 50 / (2 * sin(miter)), rel=1e-3)
    assert dish(width=20, miter=miter, out_of_square=error).height == pytest.approx(
        20 * error / sin(miter), rel=1e-5
    )


@modest
@given(st.sampled_from([6, 12, 24]), st.floats(5, 60), st.floats(0.05, 2))
def test_the_widest_error_that_is_close_enough_is_just_that(segments: int, width: float, gap: float) -> None:
    miter = pi / segments
    lean = square_enough(width=width, miter=miter, flatten=min(gap, width / 2))
    assert (
        dish(width=width, miter=miter, out_of_square=min(lean, pi / 4 - 1e-9)).height
        <= min(gap, width / 2) + 1e-6
    )
    error = close_enough(segments=segments, outer_edge=40, gap=gap, miter=miter)
    opening = last_joint(segments=segments, outer_edge=40, width=0, error=error, miter=miter)
    assert opening.outside == pytest.approx(gap, rel=1e-6)


def test_openings_grow_with_the_error_on_both_sides() -> None:
    sizes = [
        last_joint(segments=12, outer_edge=50, width=20, error=radians(tenth / 10), miter=pi / 12).outside
        for tenth in range(-5, 6)
    ]
    assert all(before < after for before, after in pairwise(sizes))


@pytest.mark.parametrize(
    ("place", "changes"),
    [
        ("segments", {"segments": 2}),
        ("outer_edge", {"outer_edge": 0.0}),
        ("width", {"width": -1.0}),
        ("miter", {"miter": 0.0}),
        ("miter", {"miter": 0.3}),
        ("error", {"error": 0.2}),
        ("error", {"error": float("nan")}),
    ],
)
def test_figures_that_make_no_ring_are_refused_at_their_place(place: str, changes: dict[str, float]) -> None:
    figures = {"segments": 12, "outer_edge": 50.0, "width": 20.0, "error": 0.001, "miter": pi / 12, **changes}
    with pytest.raises(InvalidInput) as refused:
        last_joint(**figures)  # type: ignore[arg-type]
    assert refused.value.place == place


def test_odd_and_open_rings_have_no_halves_to_true() -> None:
    with pytest.raises(InvalidInput, match="no halves"):
        trued_halves(segments=9, outer_edge=50, width=20, error=0.001, miter=pi / 9)
    with pytest.raises(InvalidInput, match="open gaps"):
        trued_halves(segments=12, outer_edge=50, width=20, error=0.001, miter=0.9 * pi / 12)


@pytest.mark.parametrize("wrong", [{"width": 0.0}, {"miter": 0.0}, {"out_of_square": 1.0}])
def test_a_dish_of_nothing_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(InvalidInput) as refused:
        dish(**{"width": 20.0, "miter": 0.26, "out_of_square": 0.01, **wrong})
    assert refused.value.place in wrong
