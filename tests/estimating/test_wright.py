"""Wright's curve against a printed table, and its fit against curves that are known."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.estimate import estimate
from estimating.sheet import read_sheet
from estimating.work.wright import Lot, average, average_of, exponent, fit, total
from estimating.workshop import standing_workshop
from tests.estimating.sheets import bowl, modest

# A management-accounting text, p. 324 (online.flipbuilder.com/bmcx/vksq, page 330): first unit 100 h, 80 %.
TABLE = [(1, 100, 100), (2, 80, 160), (4, 64, 256), (8, 51.2, 409.6), (16, 40.96, 655.36)]


@pytest.mark.parametrize(("count", "mean", "together"), TABLE)
def test_the_printed_table_of_an_80_per_cent_curve(count: int, mean: float, together: float) -> None:
    assert 100 * average(count, rate=0.8) == pytest.approx(mean, rel=1e-12)
    assert 100 * total(count, rate=0.8) == pytest.approx(together, rel=1e-12)


def test_pieces_9_to_16_take_what_the_table_s_own_totals_leave() -> None:
    """The text prints 254.76 for them, a misprint: its totals leave 655.36 - 409.6, its average 30.72 x 8."""
    assert 100 * average_of(8, rate=0.8, made_before=8) * 8 == pytest.approx(245.76, rel=1e-12)
    assert 100 * average_of(8, rate=0.8, made_before=8) == pytest.approx(30.72, rel=1e-12)


@pytest.mark.parametrize(
    ("rate", "b"),
    [(0.95, -0.0740), (0.90, -0.1520), (0.85, -0.2345), (0.80, -0.3219), (0.75, -0.4150), (0.70, -0.5146)],
)
def test_exponents_are_the_logarithm_of_the_rate_to_the_base_2(rate: float, b: float) -> None:
    assert exponent(rate) == pytest.approx(b, abs=5e-5)  # four decimals are given


@modest
@given(st.floats(0.6, 1.0), st.integers(1, 200))
def test_a_doubling_multiplies_the_average_by_the_rate(rate: float, count: int) -> None:
    assert average(2 * count, rate=rate) == pytest.approx(rate * average(count, rate=rate), rel=1e-9)


@modest
@given(st.floats(0.6, 1.0), st.lists(st.integers(1, 9), min_size=2, max_size=6), st.floats(10, 1000))
def test_lots_one_after_the_other_are_fitted_by_the_curve_they_came_from(
    rate: float, lots: list[int], first: float
) -> None:
    made, design = 0, []
    for pieces in lots:
        design.append(Lot(pieces, first * pieces * average_of(pieces, rate=rate, made_before=made)))
        made += pieces
    curve = fit([design, [Lot(1, 50.0)]])
    assert curve is not None
    assert curve.rate == pytest.approx(rate, rel=1e-9)
    assert (curve.designs, curve.lots) == (1, len(lots))


def test_two_designs_are_fitted_as_numpy_s_least_squares_has_it() -> None:
    """One slope and an intercept each, as a design matrix."""
    designs = [[Lot(1, 100), Lot(1, 70), Lot(2, 150)], [Lot(2, 900), Lot(3, 1000)]]
    rows, wanted = [], []
    for number, design in enumerate(designs):
        count = minutes = 0.0
        for lot in design:
            count, minutes = count + lot.pieces, minutes + lot.minutes
            rows.append([math.log(count), number == 0, number == 1])
            wanted.append(math.log(minutes / count))
    slope = np.linalg.lstsq(np.array(rows, dtype=float), np.array(wanted), rcond=None)[0][0]
    curve = fit(designs)
    assert curve is not None
    assert curve.exponent == pytest.approx(slope, rel=1e-9)


def test_designs_made_once_say_nothing() -> None:
    assert fit([]) is None
    assert fit([[Lot(3, 600)], [Lot(1, 0), Lot(1, 5)]]) is None


@pytest.mark.parametrize("rate", [0, -0.8, 1.6, float("nan")])
def test_a_rate_that_is_none_is_refused(rate: float) -> None:
    with pytest.raises(InvalidInput):
        average(2, rate=rate)


def test_no_pieces_are_refused() -> None:
    with pytest.raises(InvalidInput):
        average_of(0, rate=0.9)


def test_a_set_of_six_takes_its_units_at_the_average_of_six_pieces() -> None:
    """A 90 % curve: 6 pieces of 6 h take 4.5695 h each (derived from the formula). Set-ups and drawings stay."""
    shop = standing_workshop()
    sheet = read_sheet(bowl(quantity=6))
    plain = {one.name: one for one in estimate(sheet, shop).labour.operations}
    repeated = {one.name: one for one in estimate(sheet, replace(shop, repeat_rate=0.9)).labour.operations}
    for name, one in plain.items():
        share = 1 if name in ("design and drawings", "set miter and prove with a test ring") else 4.5695 / 6
        assert repeated[name].minutes_per_unit == pytest.approx(share * one.minutes_per_unit, rel=1e-4), name
        assert repeated[name].setup_minutes == one.setup_minutes


def test_one_piece_is_not_repeated() -> None:
    shop, sheet = standing_workshop(), read_sheet(bowl())
    repeated = estimate(sheet, replace(shop, repeat_rate=0.8)).labour
    assert repeated == estimate(sheet, shop).labour
