"""The wall of a finished form: parallel walls have the thickness asked for, others what shapely measures."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from estimating.piece import FormSheet, Inside
from estimating.shape.forms import build_form
from estimating.shape.thickness import level_thickness, wall_thickness
from tests.estimating.sheets import modest, round_to


@pytest.mark.parametrize("run", [-30, 0, 20, 60, 200, 400])
def test_a_wall_of_one_thickness_has_it_however_steep(run: float) -> None:
    outer = ((0.0, 450.0), (40.0, 450.0 + run))
    form = build_form(FormSheet(outer=outer, inside=Inside("wall", wall=5.0, floor=8.0)))
    assert wall_thickness(form, np.linspace(18, 25, 9)) == pytest.approx(5.0, rel=1e-3)


@modest
@given(st.lists(round_to(30, 90), min_size=4, max_size=4), st.lists(round_to(4, 28), min_size=4, max_size=4))
def test_the_shortest_way_through_a_wall_is_the_distance_shapely_finds(
    outer: list[float], inner: list[float]
) -> None:
    heights = [0.0, 15.0, 40.0, 60.0]
    outside, inside = list(zip(heights, outer, strict=True)), list(zip(heights, inner, strict=True))
    form = build_form(FormSheet(outer=tuple(outside), inside=Inside("curve", inner=tuple(inside))))
    at = np.array([5.0, 20.0, 33.3, 58.0])
    found = wall_thickness(form, at)
    for height, thickness in zip(at.tolist(), found.tolist(), strict=True):
        ends = [shapely.Point(height, float(np.interp(height, heights, radii))) for radii in (outer, inner)]
        ways = [ends[0].distance(shapely.LineString(inside)), ends[1].distance(shapely.LineString(outside))]
        assert thickness == pytest.approx(min(ways), rel=2e-3)


def test_there_is_no_wall_below_the_hollow_nor_in_a_solid_piece() -> None:
    hollow = build_form(FormSheet(outer=((0, 40), (40, 40)), inside=Inside("wall", wall=5, floor=10)))
    assert np.isinf(wall_thickness(hollow, np.array([9.9, 41.0]))).all()
    assert wall_thickness(hollow, np.array([10.0, 40.0])) == pytest.approx(5.0)
    assert np.isinf(wall_thickness(build_form(FormSheet(outer=((0, 40), (40, 40)))), np.array([20.0]))).all()


def test_level_a_sloping_wall_is_thicker_by_its_slope() -> None:
    """Slope 3 in 4: the level way through 5 mm is 5 / cos(36.87 degrees) = 6.25 mm."""
    form = build_form(FormSheet(outer=((0, 50), (40, 80)), inside=Inside("wall", wall=5, floor=5)))
    assert level_thickness(form, 30.0) == pytest.approx(6.25, abs=1e-6)
