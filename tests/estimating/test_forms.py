"""Forms: radii to cover, volumes and surfaces of whole pieces, and insides that cannot be."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.piece import CurveKind, FormSheet, Inside, Point
from estimating.shape.forms import Form, build_form
from tests.estimating.sheets import modest

CYLINDER: tuple[Point, ...] = ((0.0, 50.0), (80.0, 50.0))


def form(outer: tuple[Point, ...], *, inner: tuple[Point, ...] = (), curve: CurveKind = "straight") -> Form:
    return build_form(FormSheet(outer, curve, Inside("curve", inner=inner) if inner else Inside()))


def spans(*pairs: tuple[float, float]) -> tuple[np.ndarray, np.ndarray]:
    lower, upper = np.array(pairs).T
    return lower, upper


def test_a_solid_form_has_no_inside() -> None:
    piece = form(CYLINDER)
    assert piece.volume == pytest.approx(math.pi * 2500 * 80, rel=1e-13)
    assert piece.inner_surface == 0
    assert piece.inner_cover(*spans((0, 10), (10, 80))).tolist() == [0, 0]
    assert (piece.height, piece.largest_diameter) == (80, 100)


def test_a_cylinder_with_a_conical_hollow_is_their_difference() -> None:
    piece = form(CYLINDER, inner=((20.0, 0.0), (80.0, 45.0)))
    assert piece.volume == pytest.approx(math.pi * (2500 * 80 - 45**2 * 60 / 3), rel=1e-13)
    assert piece.inner_surface == pytest.approx(math.pi * 45 * 75, rel=1e-13)  # 45, 60, 75: a 3-4-5 triangle


def test_the_inner_surface_counts_the_floor_once_and_a_hole_through_has_none() -> None:
    cup = form(CYLINDER, inner=((20.0, 40.0), (80.0, 40.0)))
    assert cup.inner_surface == pytest.approx(2 * math.pi * 40 * 60 + math.pi * 1600, rel=1e-13)
    tube = form(CYLINDER, inner=((0.0, 40.0), (80.0, 40.0)))
    assert tube.inner_surface == pytest.approx(2 * math.pi * 40 * 80, rel=1e-13)
    assert tube.volume == pytest.approx(math.pi * (2500 - 1600) * 80, rel=1e-13)


def test_radii_to_cover_take_the_extreme_inside_the_span() -> None:
    """A belly at 40 and a narrow place in the hollow at 30, both inside one layer."""
    piece = form(((0.0, 30.0), (40.0, 60.0), (80.0, 30.0)), inner=((10.0, 25.0), (30.0, 5.0), (80.0, 25.0)))
    lower, upper = spans((20, 60), (10, 20), (30, 40))
    assert piece.outer_cover(lower, upper).tolist() == [60, 45, 60]
    assert piece.inner_cover(lower, upper) == pytest.approx([5, 15, 5])


def test_a_layer_that_dips_below_the_floor_is_solid_and_one_that_starts_there_is_not() -> None:
    piece = form(CYLINDER, inner=((20.0, 40.0), (80.0, 42.0)))
    cover = piece.inner_cover(*spans((10, 20), (19.9, 30), (20, 30), (20 - 1e-7, 30), (70, 80)))
    assert cover[:2].tolist() == [0, 0]
    assert cover[2:] == pytest.approx(
        [40, 40, 40 + 2 * 50 / 60]
    )  # heights nearer than 1e-6 mm are one height


def test_beyond_the_form_radii_are_those_of_the_nearer_end_and_nothing_is_turned() -> None:
    tube = form(((10.0, 50.0), (80.0, 60.0)), inner=((10.0, 40.0), (80.0, 45.0)))
    lower, upper = spans((0, 9), (81, 90))
    assert tube.outer_cover(lower, upper).tolist() == [50, 60]
    assert tube.inner_cover(lower, upper).tolist() == [40, 45]
    assert tube.turned_volume(lower, upper).tolist() == [0, 0]


@modest
@given(st.lists(st.floats(0, 80), min_size=1, max_size=6), st.sampled_from(["straight", "smooth"]))
def test_layers_of_any_heights_have_the_volume_of_the_whole(cuts: list[float], curve: CurveKind) -> None:
    piece = form(
        ((0.0, 40.0), (30.0, 70.0), (80.0, 50.0)),
        inner=((12.0, 0.0), (50.0, 55.0), (80.0, 44.0)),
        curve=curve,
    )
    edges = np.array([-3.0, *sorted(cuts), 83.0])
    parts = piece.turned_volume(edges[:-1], edges[1:])
    assert float(parts.sum()) == pytest.approx(piece.volume, rel=1e-12)
    assert parts.min() >= -1e-7


REFUSED = {
    "ends below the rim": (((10.0, 30.0), (70.0, 40.0)), r"inner\[1\]\[0\]: the inside must end at the rim"),
    "ends above the rim": (((10.0, 30.0), (90.0, 40.0)), r"inner\[1\]\[0\]: the inside must end at the rim"),
    "starts below the foot": (
        ((-1.0, 30.0), (80.0, 40.0)),
        r"inner\[0\]\[0\]: the inside must not start below",
    ),
    "meets the outside": (((10.0, 30.0), (80.0, 50.0)), r"inner\[1\]\[1\]: the inside breaks through"),
    "breaks through halfway": (
        ((10.0, 30.0), (40.0, 60.0), (80.0, 30.0)),
        r"inner\[1\]\[1\].*at height 40 mm",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
@pytest.mark.parametrize("curve", ["straight", "smooth"])
def test_an_inside_that_cannot_be_is_refused_at_its_point(name: str, curve: CurveKind) -> None:
    inner, message = REFUSED[name]
    with pytest.raises(InvalidInput, match=message):
        form(CYLINDER, inner=inner, curve=curve)


def test_an_inside_that_breaks_through_between_its_points_is_refused() -> None:
    """Within the outside at all its own points, but the outside has a waist between them."""
    with pytest.raises(InvalidInput, match="breaks through the outside at height 40 mm"):
        form(((0.0, 50.0), (40.0, 20.0), (80.0, 50.0)), inner=((10.0, 30.0), (80.0, 30.0)))


def test_a_floor_as_high_as_the_form_is_refused() -> None:
    with pytest.raises(
        InvalidInput, match=r"form\.inside\.floor: must be less than the form's height, 80 mm"
    ):
        build_form(FormSheet(CYLINDER, "straight", Inside("wall", wall=5.0, floor=80.0)))
