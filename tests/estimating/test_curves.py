"""Curves: against scipy's interpolator, printed solids, Pappus and quadrature."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.interpolate import PchipInterpolator

from estimating.shape.curves import Curve, mixed_curve, smooth_curve, straight_curve
from tests.estimating.sheets import modest


def curve_through(points: list[tuple[float, float]], *, kind: str) -> Curve:
    heights, radii = np.array(points, dtype=float).T
    return straight_curve(heights, radii) if kind == "straight" else smooth_curve(heights, radii)


def at(curve: Curve, height: float) -> float:
    return float(curve.radius(np.array([height]))[0])


@st.composite
def points(draw: st.DrawFn) -> list[tuple[float, float]]:
    count = draw(st.integers(2, 8))
    steps = draw(st.lists(st.floats(0.5, 40), min_size=count, max_size=count))
    radii = draw(st.lists(st.floats(0, 200).map(lambda r: round(r, 1)), min_size=count, max_size=count))
    return list(zip(np.cumsum(steps).tolist(), radii, strict=True))


@modest
@given(points())
def test_a_smooth_curve_is_the_one_of_scipy(given_points: list[tuple[float, float]]) -> None:
    heights, radii = np.array(given_points).T
    curve, scipys = smooth_curve(heights, radii), PchipInterpolator(heights, radii)
    where = np.linspace(heights[0], heights[-1], 501)
    # both are cubics in double precision: 1e-12 of the largest radius is some thousand roundings
    assert curve.radius(where) == pytest.approx(scipys(where), abs=1e-12 * max(200.0, radii.max()))
    slopes = scipys.derivative()(where)
    assert curve.slope(where) == pytest.approx(slopes, rel=1e-9, abs=1e-9 * (1 + np.abs(slopes).max()))


@modest
@given(points())
def test_a_smooth_curve_never_leaves_the_span_of_neighbouring_points(
    given_points: list[tuple[float, float]],
) -> None:
    curve = curve_through(given_points, kind="smooth")
    for (low, at_low), (high, at_high) in pairwise(given_points):
        radii = curve.radius(np.linspace(low, high, 101))
        assert radii.min() >= min(at_low, at_high) - 1e-9
        assert radii.max() <= max(at_low, at_high) + 1e-9


@modest
@given(points(), st.sampled_from(["straight", "smooth"]), st.floats(-20, 350), st.floats(0, 60))
def test_extremes_over_a_span_are_those_of_a_dense_comb(
    given_points: list[tuple[float, float]], kind: str, low: float, length: float
) -> None:
    curve = curve_through(given_points, kind=kind)
    comb = curve.radius(np.linspace(low, low + length, 4001))
    largest = float(curve.largest(np.array([low]), np.array([low + length]))[0])
    smallest = float(curve.smallest(np.array([low]), np.array([low + length]))[0])
    steepest = (
        max(abs(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(given_points)) * 3
    )  # the cubic's limit
    tooth = steepest * length / 4000 + 1e-9  # a peak may hide between two teeth of the comb
    assert comb.max() - 1e-9 <= largest <= comb.max() + tooth
    assert comb.min() - tooth <= smallest <= comb.min() + 1e-9


def test_beyond_its_ends_a_curve_keeps_the_radius_of_the_nearer_end() -> None:
    curve = curve_through([(10, 30), (20, 50)], kind="smooth")
    assert (at(curve, -5), at(curve, 10), at(curve, 20), at(curve, 99)) == (30, 30, 50, 50)


def test_two_points_make_a_straight_line_of_either_kind() -> None:
    for kind in ("straight", "smooth"):
        assert at(curve_through([(0, 10), (40, 30)], kind=kind), 10) == pytest.approx(15, rel=1e-14)


# --- corners in a smooth curve ---------------------------------------------------------------------------------


@st.composite
def points_with_corners(draw: st.DrawFn) -> tuple[list[tuple[float, float]], list[bool]]:
    drawn = draw(points())
    return drawn, draw(st.lists(st.booleans(), min_size=len(drawn), max_size=len(drawn)))


def runs_of(given_points: list[tuple[float, float]], corners: list[bool]) -> list[list[tuple[float, float]]]:
    """The points between one corner and the next, both included."""
    last = len(given_points) - 1
    ends = [0, *(n for n in range(1, last) if corners[n]), last]
    return [given_points[a : b + 1] for a, b in pairwise(ends)]


@modest
@given(points_with_corners())
def test_between_two_corners_a_mixed_curve_is_the_one_of_scipy(
    given_: tuple[list[tuple[float, float]], list[bool]],
) -> None:
    given_points, corners = given_
    heights, radii = np.array(given_points).T
    curve = mixed_curve(heights, radii, np.array(corners))
    for run in runs_of(given_points, corners):
        run_heights, run_radii = np.array(run).T
        scipys = PchipInterpolator(run_heights, run_radii)
        where = np.linspace(run_heights[0], run_heights[-1], 201)
        # double precision, as for the smooth curve above
        assert curve.radius(where) == pytest.approx(scipys(where), abs=1e-12 * max(200.0, radii.max()))
        inside = where[1:-1]  # at a corner there are two slopes
        slopes = scipys.derivative()(inside)
        assert curve.slope(inside) == pytest.approx(slopes, rel=1e-9, abs=1e-9 * (1 + np.abs(slopes).max()))


@modest
@given(points_with_corners())
def test_a_mixed_curve_passes_through_its_points_and_never_turns_between_them(
    given_: tuple[list[tuple[float, float]], list[bool]],
) -> None:
    given_points, corners = given_
    heights, radii = np.array(given_points).T
    curve = mixed_curve(heights, radii, np.array(corners))
    assert curve.radius(heights) == pytest.approx(radii, abs=1e-10)
    for (low, at_low), (high, at_high) in pairwise(given_points):
        between = curve.radius(np.linspace(low, high, 101))
        assert min(at_low, at_high) - 1e-9 <= between.min()
        assert between.max() <= max(at_low, at_high) + 1e-9
        steps = np.diff(between) * (1 if at_high >= at_low else -1)
        assert steps.min() >= -1e-9


@modest
@given(points())
def test_all_corners_are_a_polyline_and_none_a_smooth_curve(given_points: list[tuple[float, float]]) -> None:
    heights, radii = np.array(given_points).T
    where = np.linspace(heights[0] - 1, heights[-1] + 1, 401)
    every, none = np.ones(len(heights), bool), np.zeros(len(heights), bool)
    polyline = mixed_curve(heights, radii, every)
    assert polyline.is_straight
    assert polyline.radius(where) == pytest.approx(straight_curve(heights, radii).radius(where), abs=0)
    smooth = smooth_curve(heights, radii).radius(where)
    assert mixed_curve(heights, radii, none).radius(where) == pytest.approx(smooth, abs=1e-12)


def test_what_the_first_and_the_last_point_say_of_corners_changes_nothing() -> None:
    heights, radii = np.array([0.0, 10, 20, 30]), np.array([30.0, 50, 45, 20])
    where = np.linspace(0, 30, 101)
    without = mixed_curve(heights, radii, np.array([False, True, False, False]))
    with_ends = mixed_curve(heights, radii, np.array([True, True, False, True]))
    assert np.array_equal(without.radius(where), with_ends.radius(where))


def test_a_corner_breaks_a_curve_that_would_be_smooth_there() -> None:
    """A valley: smooth it is level at its lowest point (Fritsch-Butland), as a corner it keeps its two sides."""
    heights, radii = np.array([0.0, 10, 20]), np.array([40.0, 20, 40])
    lowest = np.array([10.0])
    assert float(mixed_curve(heights, radii, np.zeros(3, bool)).slope(lowest)[0]) == pytest.approx(
        0, abs=1e-12
    )
    cornered = mixed_curve(heights, radii, np.array([False, True, False]))
    assert float(cornered.slope(lowest)[0]) == pytest.approx(2)
    assert float(cornered.slope(lowest - 1e-6)[0]) == pytest.approx(-2)


# --- volumes and surfaces -------------------------------------------------------------------------------------

# Formulas of the cylinder, cone and frustum as any handbook prints them.
PRINTED = {
    "cylinder": ([(0, 30), (50, 30)], math.pi * 900 * 50, 2 * math.pi * 30 * 50),
    "cone": ([(0, 30), (40, 0)], math.pi * 900 * 40 / 3, math.pi * 30 * 50),  # a 3-4-5 triangle: slant 50
    "frustum": (
        [(0, 60), (80, 0.0 + 120)],
        math.pi * 80 / 3 * (60**2 + 60 * 120 + 120**2),
        math.pi * 180 * 100,
    ),
}


@pytest.mark.parametrize("name", PRINTED)
def test_straight_solids_have_their_printed_volume_and_surface(name: str) -> None:
    given_points, volume, surface = PRINTED[name]
    curve = curve_through(given_points, kind="straight")
    ends = np.array([curve.bottom]), np.array([curve.top])
    assert math.pi * float(curve.square_integral(*ends)[0]) == pytest.approx(volume, rel=1e-13)
    assert curve.surface() == pytest.approx(surface, rel=1e-13)


@modest
@given(points(), st.sampled_from(["straight", "smooth"]))
def test_volume_and_surface_are_those_of_scipy_quadrature(
    given_points: list[tuple[float, float]], kind: str
) -> None:
    curve = curve_through(given_points, kind=kind)
    heights, radii = np.array(given_points).T
    if kind == "smooth" and len(heights) > 2:
        radius = PchipInterpolator(heights, radii)
        slope = radius.derivative()
    else:
        radius = lambda z: np.interp(z, heights, radii)  # noqa: E731
        slope = None
    volume = surface = 0.0
    for low, high in pairwise(heights):
        chord = float((radius(high) - radius(low)) / (high - low))

        def ring(z: float, chord: float = chord) -> float:
            return float(radius(z) * math.hypot(1, slope(z) if slope else chord))

        volume += quad(lambda z: radius(z) ** 2, low, high, epsabs=0, epsrel=1e-12, limit=200)[0]
        surface += quad(ring, low, high, epsabs=1e-9, epsrel=1e-10, limit=100)[0]
    found = float(curve.square_integral(heights[:1], heights[-1:])[0])
    assert found == pytest.approx(volume, rel=1e-9, abs=1e-9)
    assert curve.surface() == pytest.approx(2 * math.pi * surface, rel=1e-9, abs=1e-6)


@modest
@given(points())
def test_volume_and_surface_of_a_polyline_are_those_of_pappus(
    given_points: list[tuple[float, float]],
) -> None:
    """Area times the path of its centroid, length times the path of its middle (Pappus of Alexandria)."""
    curve = curve_through(given_points, kind="straight")
    volume = surface = 0.0
    for (low, a), (high, b) in pairwise(given_points):
        area = (a + b) / 2 * (high - low)
        centroid = (
            (a * a + a * b + b * b) / (3 * (a + b)) if a + b else 0.0
        )  # of a trapezium, from its base line
        volume += 2 * math.pi * centroid * area
        surface += 2 * math.pi * (a + b) / 2 * math.hypot(high - low, b - a)
    ends = np.array([curve.bottom]), np.array([curve.top])
    assert math.pi * float(curve.square_integral(*ends)[0]) == pytest.approx(volume, rel=1e-9, abs=1e-9)
    assert curve.surface() == pytest.approx(surface, rel=1e-12)


@modest
@given(points(), st.sampled_from(["straight", "smooth"]), st.floats(0, 300), st.floats(0, 1), st.floats(0, 1))
def test_a_span_is_the_sum_of_its_parts_and_nothing_lies_beyond_the_ends(
    given_points: list[tuple[float, float]], kind: str, length: float, one: float, other: float
) -> None:
    curve = curve_through(given_points, kind=kind)
    low, high = curve.bottom - 10, curve.bottom + length
    cuts = [low, *sorted((low + one * (high - low), low + other * (high - low))), high]
    parts = curve.square_integral(np.array(cuts[:-1]), np.array(cuts[1:]))
    whole = float(curve.square_integral(np.array([low]), np.array([high]))[0])
    assert float(parts.sum()) == pytest.approx(whole, rel=1e-9, abs=1e-6)
    assert parts.min() >= -1e-6
    assert float(curve.square_integral(np.array([curve.top]), np.array([curve.top + 50]))[0]) == 0
