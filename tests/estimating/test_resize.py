"""Resizing: profiles scaled, layers refitted to a new height, layers laid between two heights."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.piece import Allowance, Band
from estimating.shape.curves import mixed_curve
from estimating.shape.forms import Form
from estimating.shape.layers import lay_stack
from estimating.shape.resize import (
    BandHeight,
    Laid,
    lay_between,
    refit_layers,
    scale_profile,
    stack_height,
)
from tests.estimating.sheets import modest, round_to

POINTS = [(0, 30.0), (10, 45.0, True), (40, 50.0)]


# --- profiles -----------------------------------------------------------------------------------------------------


@modest
@given(st.floats(0.2, 5), st.floats(0.2, 5))
def test_a_scaled_profile_has_its_volume_times_the_factors(height: float, radius: float) -> None:
    """Cavalieri: a solid stretched along its axis by a and across it by b has a b^2 of its volume."""

    def volume(points: object) -> float:
        heights, radii, corners = np.array([(*p[:2], len(p) > 2 and p[2]) for p in points], dtype=float).T
        curve = mixed_curve(heights, radii, corners.astype(bool))
        return math.pi * float(curve.square_integral(heights[:1], heights[-1:])[0])

    outer, inner = scale_profile(POINTS, [(4, 0), (40, 44)], height_factor=height, radius_factor=radius)
    assert volume(outer) == pytest.approx(height * radius**2 * volume(POINTS), rel=1e-12)
    assert [point.corner for point in outer] == [False, True, False]
    assert inner == ((4 * height, 0, False), (40 * height, 44 * radius, False))


@pytest.mark.parametrize("factor", [0, -1, math.inf, math.nan])
def test_a_profile_is_not_scaled_to_nothing_or_without_end(factor: float) -> None:
    with pytest.raises(InvalidInput, match="height_factor: must be more than 0"):
        scale_profile(POINTS, (), height_factor=factor, radius_factor=1)
    with pytest.raises(InvalidInput, match="radius_factor: must be more than 0"):
        scale_profile(POINTS, (), height_factor=1, radius_factor=factor)


# --- layers refitted ----------------------------------------------------------------------------------------------


def stack_is_accepted(bands: tuple[BandHeight, ...], *, target: float, bond_line: float) -> bool:
    """Whether the stack's own rule lets these bands stand for a cylinder of that height."""
    laid = tuple(Band("", band.layers, band.thickness, 12, ("maple",)) for band in bands)
    heights = np.array([0.0, target])
    form = Form(mixed_curve(heights, np.array([40.0, 40.0]), np.zeros(2, bool)))
    try:
        lay_stack(form, bands=laid, allowance=Allowance(), bond_line=bond_line)
    except InvalidInput:
        return False
    return True


@st.composite
def stacks(draw: st.DrawFn, *, changes: tuple[str, ...] = ("either",)) -> list[BandHeight]:
    drawn = draw(
        st.lists(
            st.tuples(st.integers(1, 9), round_to(3, 25), st.sampled_from(changes)), min_size=1, max_size=5
        )
    )
    return [
        BandHeight(layers if kind == "either" else 1, thickness if kind != "nothing" else 0.6, kind)
        for layers, thickness, kind in drawn
    ]  # fmt: skip


@modest
@given(stacks(), st.floats(0.3, 4), st.sampled_from([0.0, 0.08, 0.1]))
def test_with_thickness_kept_the_new_counts_are_what_the_stack_accepts(
    bands: list[BandHeight], factor: float, bond_line: float
) -> None:
    target = stack_height(bands, bond_line=bond_line) * factor
    assume(target >= stack_height([BandHeight(1, b.thickness) for b in bands], bond_line=bond_line))
    fitted = refit_layers(bands, target=target, keep="thickness", bond_line=bond_line)
    assert stack_is_accepted(fitted, target=target, bond_line=bond_line)
    assert [band.thickness for band in fitted] == [band.thickness for band in bands]
    assert min(band.layers for band in fitted) >= 1


@modest
@given(
    stacks(changes=("either", "either", "thickness", "nothing")),
    st.floats(0.4, 4),
    st.sampled_from([0.0, 0.08, 0.15]),
)
def test_with_the_count_kept_the_new_thicknesses_are_what_the_stack_accepts(
    bands: list[BandHeight], factor: float, bond_line: float
) -> None:
    assume(any(band.changes != "nothing" for band in bands))
    fixed = [band for band in bands if band.changes == "nothing"]
    target = stack_height(bands, bond_line=bond_line) * factor
    assume(target > sum(b.thickness for b in fixed) + 0.15 * sum(b.layers for b in bands) + 2 * len(bands))
    fitted = refit_layers(bands, target=target, keep="count", bond_line=bond_line)
    assert stack_is_accepted(fitted, target=target, bond_line=bond_line)
    assert abs(stack_height(fitted, bond_line=bond_line) - target) <= 0.1 + 1e-9
    assert [band.layers for band in fitted] == [band.layers for band in bands]
    for old, new in zip(bands, fitted, strict=True):
        if old.changes == "nothing":
            assert new == old
    # one factor for all that may change, to the rounding of 0.01 mm
    factors = [(n.thickness / o.thickness, 0.01 / o.thickness) for o, n in zip(bands, fitted, strict=True)
               if o.changes != "nothing"]  # fmt: skip
    assert max(f - slack for f, slack in factors) <= min(f + slack for f, slack in factors)


@modest
@given(stacks(), st.integers(2, 4), st.sampled_from(["thickness", "count"]))
def test_a_stack_a_whole_number_of_times_as_tall_has_that_many_times_the_layers_or_the_thickness(
    bands: list[BandHeight], times: int, keep: str
) -> None:
    target = stack_height(bands, bond_line=0) * times
    fitted = refit_layers(bands, target=target, keep=keep, bond_line=0)
    for old, new in zip(bands, fitted, strict=True):
        if keep == "count":
            assert (new.layers, new.thickness) == (old.layers, pytest.approx(old.thickness * times))
        else:
            assert (new.layers, new.thickness) == (old.layers * times, old.thickness)


@modest
@given(stacks(), st.sampled_from([0.0, 0.1]), st.sampled_from(["thickness", "count"]))
def test_a_stack_that_fits_stays_as_it_is(bands: list[BandHeight], bond_line: float, keep: str) -> None:
    target = stack_height(bands, bond_line=bond_line)
    assert refit_layers(bands, target=target, keep=keep, bond_line=bond_line) == tuple(bands)


def test_counts_are_shared_by_largest_remainder() -> None:
    """30 layers of 1 mm in shares 15, 9, 6 brought to 17: shares 8.5, 5.1, 3.4, so the odd layer goes to the first."""
    bands = [BandHeight(15, 1.0), BandHeight(9, 1.0), BandHeight(6, 1.0)]
    fitted = refit_layers(bands, target=17, keep="thickness", bond_line=0)
    assert [band.layers for band in fitted] == [9, 5, 3]


def test_staves_and_discs_grow_by_thickness_and_veneer_not_at_all() -> None:
    bands = [BandHeight(1, 10, "thickness"), BandHeight(1, 0.6, "nothing"), BandHeight(4, 10)]
    target = 100.6
    fitted = refit_layers(bands, target=target, keep="thickness", bond_line=0)
    assert fitted == (BandHeight(1, 20, "thickness"), BandHeight(1, 0.6, "nothing"), BandHeight(8, 10))
    fitted = refit_layers(bands, target=target, keep="count", bond_line=0)
    assert fitted == (BandHeight(1, 20, "thickness"), BandHeight(1, 0.6, "nothing"), BandHeight(4, 20))
    only_staves = [BandHeight(1, 80, "thickness"), BandHeight(1, 0.6, "nothing")]
    fitted = refit_layers(only_staves, target=120.6, keep="thickness", bond_line=0)
    assert fitted == (BandHeight(1, 120, "thickness"), BandHeight(1, 0.6, "nothing"))


def test_staves_under_a_veneer_take_up_what_layers_leave() -> None:
    """The last layer is 0.6 mm, so the stack may stand over by less: the staves make up what whole layers cannot."""
    bands = [BandHeight(4, 10), BandHeight(1, 50, "thickness"), BandHeight(1, 0.6, "nothing")]
    target = 133.3
    fitted = refit_layers(bands, target=target, keep="thickness", bond_line=0)
    assert stack_is_accepted(fitted, target=target, bond_line=0)
    assert [band.thickness for band in fitted][::2] == [10, 0.6]


@pytest.mark.parametrize(
    ("bands", "target", "keep", "says"),
    [
        ([BandHeight(3, 10)] * 4, 25, "thickness", r"target: cannot be met .* one layer of each band is 40 mm"),
        ([BandHeight(2, 1), BandHeight(1, 3, "nothing")], 2, "count", "target: is no higher than what cannot change"),
        ([BandHeight(1, 0.6, "nothing")], 5, "count", "target: leaves layers too thin to count, or none"),
        ([BandHeight(2, 5)], 1e6, "thickness", "target: would need more than 5000 layers"),
        ([BandHeight(2, 5)], 0, "count", "target: must be more than 0 mm"),
        ([], 10, "count", "bands: must each have a layer"),
        ([BandHeight(0, 5)], 10, "count", "bands: must each have a layer"),
    ],
)  # fmt: skip
def test_a_height_that_cannot_be_met_is_refused_with_the_reason(
    bands: list[BandHeight], target: float, keep: str, says: str
) -> None:
    with pytest.raises(InvalidInput, match=says):
        refit_layers(bands, target=target, keep=keep, bond_line=0)


# --- layers between two heights -----------------------------------------------------------------------------------


@modest
@given(st.floats(0, 100), st.floats(0.5, 300), st.floats(1, 30), st.sampled_from([0.0, 0.1]))
def test_layers_laid_between_two_heights_fill_them(
    lower: float, room: float, thickness: float, bond_line: float
) -> None:
    upper = lower + room
    laid = lay_between(lower=lower, upper=upper, thickness=thickness, bond_line=bond_line)
    lines = (laid.count - 1) * bond_line
    assert laid.count * laid.exact_thickness + lines == pytest.approx(upper - lower, rel=1e-12)
    assert laid.count * thickness + lines + laid.leftover == pytest.approx(upper - lower, rel=1e-12)
    # no other count comes nearer
    for count in (laid.count - 1, laid.count + 1):
        other = upper - lower - count * thickness - (count - 1) * bond_line
        assert count == 0 or abs(laid.leftover) <= abs(other) + 1e-9


def test_three_layers_of_ten_between_20_and_52_leave_two_millimetres() -> None:
    assert lay_between(lower=20, upper=52, thickness=10, bond_line=0) == Laid(3, 10, 2, pytest.approx(32 / 3))


@pytest.mark.parametrize(
    ("lower", "upper", "thickness", "bond_line", "says"),
    [
        (10, 10, 5, 0, "upper: must be above 10 mm"),
        (0, math.inf, 5, 0, "upper: must be above"),
        (0, 10, 0, 0, "thickness: must be more than 0 mm"),
        (0, 10, math.nan, 0, "thickness: must be more than 0 mm"),
        (0, 10, 5, -1, "bond_line: must be 0 mm or more"),
        (0, 6, 0.1, 10, "bond_line: is so thick that the glue lines alone"),
        (0, 1e6, 1, 0, "thickness: would need more than 5000 layers"),
    ],
)
def test_what_no_layers_can_fill_is_refused(
    lower: float, upper: float, thickness: float, bond_line: float, says: str
) -> None:
    with pytest.raises(InvalidInput, match=says):
        lay_between(lower=lower, upper=upper, thickness=thickness, bond_line=bond_line)
