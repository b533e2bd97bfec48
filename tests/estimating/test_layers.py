"""The stack: heights, bond lines, offsets, and layers that do not add up to the form."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.piece import Allowance, Band, FormSheet
from estimating.shape.forms import build_form
from estimating.shape.layers import Stack, lay_stack, stands_over
from tests.estimating.sheets import modest


def band(layers: int, thickness: float, *, segments: int = 12, offsets: tuple[float, ...] = (0.0,)) -> Band:
    return Band("", layers, thickness, segments, ("ash",), offsets=offsets)


def stack(
    *bands: Band,
    height: float = 40.0,
    bottom: float = 0.0,
    allowance: Allowance | None = None,
    bond: float = 0.0,
) -> Stack:
    form = build_form(FormSheet(((bottom, 50.0), (bottom + height, 50.0))))
    return lay_stack(form, bands=bands, allowance=allowance or Allowance(), bond_line=bond)


def degrees(laid: Stack) -> list[float]:
    return [round(math.degrees(angle), 9) for angle in laid.angle]


def test_the_stack_starts_at_the_foot_less_its_allowance() -> None:
    laid = stack(band(4, 11), bottom=100, allowance=Allowance(bottom=3, top=1))
    assert laid.bottom.tolist() == [97, 108, 119, 130]
    assert laid.height == 44


def test_a_layer_starts_one_bond_line_above_the_one_below() -> None:
    laid = stack(band(2, 10), band(2, 9.9), bond=0.08)
    assert laid.bottom == pytest.approx([0, 10.08, 20.16, 30.14], abs=1e-12)


def test_half_a_segment_again_and_again_turns_steadily() -> None:
    """A half-segment offset is common practice, no source."""
    assert degrees(stack(band(4, 10, offsets=(0.5,)))) == [0, 15, 30, 45]


def test_half_a_segment_to_and_fro_is_brickwork() -> None:
    """The list starts with the band, so its first offset is the foot's, which is turned on nothing."""
    assert degrees(stack(band(4, 10, offsets=(0.5, -0.5)))) == [0, -15, 0, -15]


def test_an_offset_is_in_segments_of_the_layer_that_is_turned() -> None:
    laid = stack(band(2, 10, segments=12, offsets=(0.5,)), band(2, 10, segments=24, offsets=(0.5,)))
    assert degrees(laid) == [0, 15, 22.5, 30]


def test_a_list_of_offsets_starts_afresh_in_each_band_and_repeats() -> None:
    one = band(3, 5, offsets=(1, 2))
    assert degrees(stack(one, band(5, 5, offsets=(0.1, 0.2)))) == [0, 60, 90, 93, 99, 102, 108, 111]


def test_angles_add_up_beyond_a_whole_turn() -> None:
    assert degrees(stack(band(4, 10, offsets=(8,)))) == [0, 240, 480, 720]


@modest
@given(st.integers(1, 60), st.floats(0.5, 20), st.floats(0, 0.3), st.floats(0, 5), st.floats(0, 5))
def test_layers_and_lines_fill_the_height_without_a_rest(
    layers: int, thickness: float, bond: float, top: float, bottom: float
) -> None:
    height = layers * thickness + (layers - 1) * bond - top - bottom
    if height < 1:
        return
    laid = stack(
        band(layers, thickness), height=height, bond=bond, allowance=Allowance(top=top, bottom=bottom)
    )
    gaps = laid.bottom[1:] - laid.top[:-1]
    assert gaps == pytest.approx(np.full(layers - 1, bond), abs=1e-9)
    form = build_form(FormSheet(((0.0, 50.0), (height, 50.0))))
    assert stands_over(form, laid, allowance=Allowance(top=top)) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(("height", "fits"), [(40.1, True), (40.2, False), (30.1, True), (30.0, False)])
def test_a_stack_may_miss_a_tenth_below_and_not_a_layer_above(height: float, fits: bool) -> None:
    if fits:
        stack(band(4, 10), height=height)
    else:
        with pytest.raises(InvalidInput, match=r"^bands: the stack is 40 mm tall"):
            stack(band(4, 10), height=height)


@modest
@given(st.integers(1, 40), st.floats(2, 12), st.integers(1, 40), st.floats(2, 12), st.floats(30, 400))
def test_the_counts_that_a_refusal_offers_do_fit(
    one: int, thin: float, other: int, thick: float, height: float
) -> None:
    bands = [band(one, thin), band(other, thick)]
    try:
        stack(*bands, height=height)
    except InvalidInput as refusal:
        offers = refusal.reason
    else:
        return
    for number in (0, 1):
        if f" of bands[{number}] " not in offers:
            continue
        count = int(offers.split(f" of bands[{number}] ")[0].split()[-1])
        mended = [band(count, b.thickness) if k == number else b for k, b in enumerate(bands)]
        stack(*mended, height=height)


def test_where_no_count_fits_the_refusal_says_so() -> None:
    with pytest.raises(InvalidInput, match="no count of one band alone would fit"):
        stack(band(1, 100), band(1, 5), height=41)
