"""The inside of a wall: against its own definition searched densely, and against shapes whose inside is known."""

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.interpolate import PchipInterpolator
from shapely.geometry import LineString

from estimating.errors import InvalidInput
from estimating.piece import FormSheet, Inside
from estimating.shape.curves import Curve, mixed_curve
from estimating.shape.forms import Form, build_form
from estimating.shape.walls import wall_curve
from tests.estimating.sheets import modest
from tests.estimating.test_curves import curve_through, points

STEPS = 20_001


def going_on(given_points: list[tuple[float, float]], kind: str, heights: np.ndarray) -> np.ndarray:
    """The outside, carried straight on past both ends: scipy's curve and plain interpolation."""
    z, r = np.array(given_points, dtype=float).T
    if kind == "smooth" and len(z) > 2:
        curve = PchipInterpolator(z, r)
        inside, first, last = curve(np.clip(heights, z[0], z[-1])), *curve.derivative()(z[[0, -1]])
    else:
        inside = np.interp(heights, z, r)
        first, last = (r[1] - r[0]) / (z[1] - z[0]), (r[-1] - r[-2]) / (z[-1] - z[-2])
    return inside + first * np.minimum(heights - z[0], 0) + last * np.maximum(heights - z[-1], 0)


def by_definition(given_points: list[tuple[float, float]], kind: str, wall: float, height: float) -> float:
    """max(0, min over z' of r_o(z') - sqrt(wall^2 - (z - z')^2)) over a dense comb of angles."""
    angles = np.linspace(-math.pi / 2, math.pi / 2, STEPS)
    there = height + wall * np.sin(angles)
    return max(0.0, float(np.min(going_on(given_points, kind, there) - wall * np.cos(angles))))


def comb_error(given_points: list[tuple[float, float]], wall: float) -> float:
    """How far the least tooth of the comb may lie above the true minimum.

    Between teeth the function moves by at most (steepest slope + 1) x wall x half a step of the angle, so that is a
    bound everywhere, corners included.
    """
    z, r = np.array(given_points).T
    steepest = 3 * float(
        np.max(np.abs(np.diff(r) / np.diff(z)))
    )  # a monotone cubic is at most 3 chords steep
    return (steepest + 1) * wall * math.pi / STEPS / 2 + 1e-9 * max(1.0, r.max())


@modest
@given(points(), st.sampled_from(["straight", "smooth"]), st.floats(0.5, 30))
def test_the_inside_of_a_wall_is_what_its_definition_says(
    given_points: list[tuple[float, float]], kind: str, wall: float
) -> None:
    outer = curve_through(given_points, kind=kind)
    opening = outer.bottom + 0.1 * (outer.top - outer.bottom)
    inside = wall_curve(outer, wall=wall, opening=opening)
    error = comb_error(given_points, wall)
    for height in np.linspace(opening, outer.top, 41):
        true = by_definition(given_points, kind, wall, float(height))
        found = float(inside.radius(np.array([height]))[0])
        # never above the comb (which is never below the truth), never more under it than a tooth
        assert true - error <= found <= true + 1e-9 * max(1.0, float(outer.at_breaks.max()))


@modest
@given(points(), st.sets(st.integers(1, 8), min_size=1), st.floats(0.5, 30))
def test_a_wall_goes_round_corners_as_its_definition_says(
    given_points: list[tuple[float, float]], corners: set[int], wall: float
) -> None:
    z, r = np.array(given_points, dtype=float).T
    outer = mixed_curve(z, r, np.isin(np.arange(len(z)), list(corners)))
    opening = outer.bottom + 0.1 * (outer.top - outer.bottom)
    inside = wall_curve(outer, wall=wall, opening=opening)
    error = comb_error(given_points, wall)
    angles = np.linspace(-math.pi / 2, math.pi / 2, STEPS)
    ends = outer.slope(np.array([outer.bottom, outer.top]))
    for height in np.linspace(opening, outer.top, 41):
        there = height + wall * np.sin(angles)
        outside = outer.radius(there) + ends[0] * np.minimum(there - outer.bottom, 0)
        outside = outside + ends[1] * np.maximum(there - outer.top, 0)
        true = max(0.0, float(np.min(outside - wall * np.cos(angles))))
        found = float(inside.radius(np.array([height]))[0])
        assert true - error <= found <= true + 1e-9 * max(1.0, float(outer.at_breaks.max()))


def test_a_cylinder_of_a_wall_is_a_cylinder_to_the_very_rim() -> None:
    inside = wall_curve(curve_through([(0, 50), (80, 50)], kind="straight"), wall=6, opening=10)
    assert inside.radius(np.array([10.0, 40.0, 79.0, 80.0])) == pytest.approx([44.0] * 4, abs=1e-10)


@pytest.mark.parametrize("kind", ["straight", "smooth"])
def test_a_cone_is_moved_in_by_the_wall_over_the_cosine_of_its_slope(kind: str) -> None:
    """Rising 40 over 30 (a 3-4-5 triangle): 6 mm square to the side are 6 x 5/3 = 10 mm level."""
    inside = wall_curve(curve_through([(0, 60), (30, 100)], kind=kind), wall=6, opening=0)
    # to the rim and to the very bottom, for the outside goes straight on past both
    assert inside.radius(np.array([0.0, 15.0, 30.0])) == pytest.approx([50.0, 70.0, 90.0], abs=1e-9)


def test_the_inside_of_a_fine_polygon_of_a_sphere_is_near_a_smaller_sphere() -> None:
    angles = np.linspace(-1.2, 1.2, 241)
    outer = curve_through([(100 * math.sin(a), 100 * math.cos(a)) for a in angles], kind="straight")
    inside = wall_curve(outer, wall=8, opening=-60)
    for height in (-60.0, -20.0, 0.0, 33.0, 60.0):
        # chords of 0.01 rad stand 100 (1 - cos 0.005) = 0.00125 mm inside the circle
        assert float(inside.radius(np.array([height]))[0]) == pytest.approx(
            math.sqrt(92**2 - height**2), abs=0.002
        )


def test_the_inside_of_a_wall_lies_on_the_offset_curve_that_shapely_draws() -> None:
    given_points = [(0.0, 40.0), (25.0, 70.0), (50.0, 62.0), (90.0, 95.0)]
    outer = curve_through(given_points, kind="straight")
    inside = wall_curve(outer, wall=7, opening=10)
    z = np.linspace(-30, 120, 1501)
    line = LineString([*zip(z, going_on(given_points, "straight", z), strict=True)])
    for height in np.linspace(12, 90, 27):
        radius = float(inside.radius(np.array([height]))[0])
        # every point of the inside is exactly one wall from the outside, none nearer
        assert line.distance(_point(float(height), radius)) == pytest.approx(7, abs=1e-8)


def _point(height: float, radius: float) -> Any:
    from shapely.geometry import Point

    return Point(height, radius)


@modest
@given(points(), st.sampled_from(["straight", "smooth"]), st.floats(1, 12), st.floats(0.05, 0.6))
def test_the_volume_of_a_walled_form_is_that_of_scipy_quadrature(
    given_points: list[tuple[float, float]], kind: str, wall: float, floor_share: float
) -> None:
    outer = curve_through(given_points, kind=kind)
    floor = floor_share * (outer.top - outer.bottom)
    form = Form(outer, wall_curve(outer, wall=wall, opening=outer.bottom + floor))
    lower, upper = np.array([outer.bottom]), np.array([outer.top])
    found = float(form.turned_volume(lower, upper)[0])
    # The inside itself is held to its definition above; here its integral is.  Quadrature over kinks of unknown
    # place is good to what it was asked for, 1e-7 of the volume.
    # Cut in 64, or quad may step over a kink of the whole and call itself satisfied.
    cuts = np.linspace(outer.bottom + floor, outer.top, 65)
    hollow = sum(
        quad(
            lambda z: float(form.inner_radius(np.array([z]))[0]) ** 2,
            low,
            high,
            epsabs=1e-9 * max(found, 1.0),
        )[0]
        for low, high in pairwise(cuts)
    )
    solid = sum(
        quad(lambda z: at_outer(outer, z) ** 2, low, high, epsrel=1e-12)[0]
        for low, high in zip(outer.breaks[:-1], outer.breaks[1:], strict=True)
    )
    assert found == pytest.approx(math.pi * (solid - hollow), rel=1e-6, abs=1e-3)
    assert 0 <= found <= math.pi * solid * (1 + 1e-12)


def at_outer(outer: Curve, height: float) -> float:
    return float(outer.radius(np.array([height]))[0])


def test_a_tube_of_a_wall_has_the_volume_and_surfaces_of_a_tube() -> None:
    """Cylinder 100 across and 80 high, wall 6, floor 9: printed formulas of the cylinder."""
    form = build_form(FormSheet(((0.0, 50.0), (80.0, 50.0)), "straight", Inside("wall", wall=6.0, floor=9.0)))
    assert form.volume == pytest.approx(math.pi * (50**2 * 80 - 44**2 * 71), rel=1e-9)
    assert form.outer_surface == pytest.approx(2 * math.pi * 50 * 80, rel=1e-12)
    assert form.inner_surface == pytest.approx(2 * math.pi * 44 * 71 + math.pi * 44**2, rel=1e-9)


@pytest.mark.parametrize("kind", ["straight", "smooth"])
def test_surfaces_of_a_walled_cone_are_those_of_its_frustums(kind: str) -> None:
    form = build_form(
        FormSheet(((0.0, 60.0), (30.0, 100.0)), kind, Inside("wall", wall=6.0, floor=15.0))  # type: ignore[arg-type]
    )
    # inside from radius 70 at 15 to 90 at 30: slant 25; and its floor
    assert form.inner_surface == pytest.approx(math.pi * (160 * 25 + 70**2), rel=1e-9)
    assert form.volume == pytest.approx(
        math.pi * (30 / 3 * (60**2 + 6000 + 100**2) - 15 / 3 * (70**2 + 6300 + 90**2)), rel=1e-9
    )


def test_a_wall_too_thick_for_a_hollow_is_refused() -> None:
    with pytest.raises(InvalidInput, match=r"form\.inside\.wall: is so thick that no hollow is left"):
        build_form(FormSheet(((0.0, 50.0), (80.0, 50.0)), "straight", Inside("wall", wall=50.0, floor=9.0)))


def test_a_hollow_that_shows_for_a_millimetre_only_is_not_missed() -> None:
    """A rim that falls 121 mm over 2 leaves a hollow about a millimetre high near the foot."""
    given_points = [(1.0, 97.0), (12.625, 137.0), (14.625, 16.0)]
    inside = wall_curve(curve_through(given_points, kind="smooth"), wall=11.5625, opening=2.3625)
    true = by_definition(given_points, "smooth", 11.5625, 3.2821875)
    assert true > 0.5
    found = float(inside.radius(np.array([3.2821875]))[0])
    assert found == pytest.approx(true, abs=comb_error(given_points, 11.5625))


def test_a_hollow_may_close_and_open_again() -> None:
    """A waist thinner than two walls: solid there, hollow above and below."""
    form = build_form(
        FormSheet(((0.0, 40.0), (40.0, 5.0), (80.0, 40.0)), "straight", Inside("wall", wall=8.0, floor=5.0))
    )
    at_waist, above = form.inner_radius(np.array([40.0, 79.0]))
    assert at_waist == 0
    assert above > 20
