"""Minutes of work: log-normals against scipy, their sum against a simulation, counts against a piece on paper."""

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from estimating.work.labour import CORRELATION, Z_80, StandingRate, add_up, standing_rates, time_operation
from estimating.work.operations import MOUNTINGS
from tests.estimating.sheets import answer, bowl, changed, modest


def rate(*, setup: float = 10.0, each: float = 2.0, spread: float = 0.4) -> StandingRate:
    return StandingRate("saw", "cutting", setup, "setting", each, "cut", spread)


def test_the_quantile_is_that_of_the_normal_table() -> None:
    assert pytest.approx(stats.norm.ppf(0.9), abs=1e-15) == Z_80
    assert round(Z_80, 3) == 1.282  # as any printed table of the normal distribution has it


def test_the_median_is_setup_times_set_up_and_rate_times_quantity() -> None:
    assert time_operation(rate(), setups=3, quantity=12).median == 3 * 10 + 2 * 12


@modest
@given(st.floats(0.01, 1.5), st.floats(0.1, 500))
def test_an_operation_is_the_log_normal_of_scipy(spread: float, median: float) -> None:
    done = time_operation(rate(setup=0, each=median, spread=spread), setups=0, quantity=1)
    scipys = stats.lognorm(s=spread, scale=median)
    assert done.mean == pytest.approx(scipys.mean(), rel=1e-12)
    assert (done.low, done.high) == pytest.approx((scipys.ppf(0.1), scipys.ppf(0.9)), rel=1e-12)


def test_a_sum_has_the_mean_and_variance_of_correlated_operations() -> None:
    done = [time_operation(rate(spread=s), setups=1, quantity=q) for s, q in ((0.3, 5), (0.5, 40), (0.4, 11))]
    total = add_up(done)
    means = np.array([d.mean for d in done])
    deviations = means * np.sqrt(np.exp(np.array([d.spread for d in done]) ** 2) - 1)
    correlations = np.where(np.eye(3) == 1, 1.0, 0.3)
    variance = deviations @ correlations @ deviations
    sigma = math.sqrt(math.log(1 + variance / means.sum() ** 2))
    fitted = stats.lognorm(s=sigma, scale=means.sum() * math.exp(-(sigma**2) / 2))
    assert total.mean == pytest.approx(means.sum(), rel=1e-12)
    assert (fitted.mean(), fitted.var()) == pytest.approx((means.sum(), variance), rel=1e-12)
    expected = fitted.median(), fitted.ppf(0.1), fitted.ppf(0.9)
    assert (total.median, total.low, total.high) == pytest.approx(expected, rel=1e-12)


def test_the_fitted_sum_is_that_of_a_simulation() -> None:
    """200,000 jobs of 20 correlated operations. Normal scores are given the correlation that makes the minutes' own
    0.3; the fitted log-normal then agrees to the simulation's noise and to the fit's own few parts in a hundred."""
    random = np.random.default_rng(20_240_601)
    spreads = random.uniform(0.25, 0.5, 20)
    medians = random.uniform(20, 150, 20)
    common, own = random.standard_normal((200_000, 1)), random.standard_normal((200_000, 20))
    # for log-normals of equal spread s: rho = (exp(r s^2) - 1) / (exp(s^2) - 1), here at the mean spread
    s2 = float(np.mean(spreads**2))
    r = math.log1p(CORRELATION * math.expm1(s2)) / s2
    jobs = (medians * np.exp(spreads * (math.sqrt(r) * common + math.sqrt(1 - r) * own))).sum(axis=1)
    total = add_up(
        time_operation(rate(setup=0, each=float(m), spread=float(s)), setups=0, quantity=1)
        for m, s in zip(medians, spreads, strict=True)
    )
    assert total.mean == pytest.approx(jobs.mean(), rel=0.003)
    found = total.median, total.low, total.high
    assert found == pytest.approx(np.quantile(jobs, [0.5, 0.1, 0.9]), rel=0.015)


def test_the_range_of_a_sum_is_narrower_than_the_sum_of_ranges() -> None:
    done = [time_operation(rate(), setups=1, quantity=20) for _ in range(10)]
    total = add_up(done)
    assert total.high < sum(d.high for d in done)
    assert total.low > sum(d.low for d in done)
    assert total.median > sum(d.median for d in done)  # a sum of skewed times is less skewed


def test_no_work_takes_no_time() -> None:
    nothing = add_up([])
    assert (nothing.mean, nothing.median, nothing.low, nothing.high) == (0, 0, 0, 0)


def test_the_standing_rates_are_a_table_with_a_source_on_every_row() -> None:
    rates = standing_rates()
    assert len(rates) >= 25
    for one in rates.values():
        assert one.source == "common practice, no source"
        assert one.setup_minutes >= 0
        assert one.minutes_per_unit > 0
        assert 0.2 <= one.spread <= 0.6


# --- how often each operation is done ----------------------------------------------------------------------------


def counts(sheet: Any) -> dict[str, tuple[float, float]]:
    return {o["name"]: (o["setups"], o["quantity"]) for o in answer(sheet)["labour"]["operations"]}


def test_operations_of_a_bowl_are_those_counted_on_paper() -> None:
    """Four rings of 12, three of them in two woods; all cut; one run of four layers."""
    found = counts(bowl())
    assert found["design and drawings"] == (1, 4)
    assert found["set miter and prove with a test ring"] == (0, 1)
    assert found["crosscut segments"][1] == 48
    assert found["clean, sort and lay out segments"] == (4, 48)
    assert found["glue ring"] == (4, 48)
    assert found["true half rings and join"] == (0, 4)
    assert found["flatten ring face"] == (2, 8)
    assert found["coat, stack and align layers"] == (1, 4)
    assert found["clamp, clean squeeze-out, check"] == (0, 1)
    assert found["mount on lathe (waste block, faceplate, chuck)"] == (0, MOUNTINGS)
    assert found["finish foot, sign and number"] == (0, 1)
    assert found["photograph, record, pack, paperwork"] == (1, 1)
    assert not {"saw layer from thick ring", "sand slice, both faces", "turn inside"} & set(found)


def test_operations_of_a_sliced_band_are_those_counted_on_paper() -> None:
    """Side: three layers out of one thick ring, held: one face trued on it, two on the foot."""
    sheet = bowl()
    sheet["bands"][1] |= {"made": "sliced", "ring_height": 60}
    found = counts(sheet)
    assert found["mount and true thick ring for slicing"] == (0, 1)
    assert found["saw layer from thick ring"] == (1, 3)
    assert found["sand slice, both faces"] == (1, 3)
    assert found["flatten ring face"][1] == 2 + 1
    assert found["crosscut segments"][1] == 24
    sheet["shop"] |= {
        "slice_hold": 0,
        "extra_ring": 1e9,
    }  # still one ring, though kerfs take more than flattening
    assert counts(sheet)["flatten ring face"][1] == 2 + 2


def test_three_pieces_are_drawn_once_and_made_three_times() -> None:
    one, three = counts(bowl()), counts(bowl(quantity=3))
    assert three["design and drawings"] == one["design and drawings"]
    for name in ("glue ring", "true half rings and join", "coat, stack and align layers", "turn outside"):
        assert three[name] == (pytest.approx(3 * one[name][0]), pytest.approx(3 * one[name][1]))
    assert three["set miter and prove with a test ring"] == one["set miter and prove with a test ring"]


def test_turning_and_finishing_are_counted_by_the_surface_in_square_decimetres() -> None:
    sheet = changed(bowl(), ["form", "inside"], {"kind": "wall", "wall": 6, "floor": 9})
    form, found = answer(sheet)["form"], counts(sheet)
    outer, inner = form["outer_surface"] / 10_000, form["inner_surface"] / 10_000
    assert found["turn outside"] == (1, pytest.approx(outer))
    assert found["turn inside"] == (1, pytest.approx(inner))
    assert found["sand through the grits"] == (1, pytest.approx(outer + inner))
    assert found["apply finish coat and rub down"] == (
        5,
        pytest.approx(5 * (outer + inner)),
    )  # five coats are usual


def test_ripping_is_counted_by_the_metres_in_the_plan() -> None:
    found = answer(bowl())
    strips = [strip for board in found["cutting"]["boards"] for strip in board["strips"]]
    (rip,) = [o for o in found["labour"]["operations"] if o["name"] == "rip strips"]
    assert rip["quantity"] == pytest.approx(sum(strip["length"] for strip in strips) / 1000)
    # Nothing here is so near that one setting serves two: the widths differ by millimetres.
    widths = sorted({round(strip["rip_width"], 3) for strip in strips})
    assert all(wider - width > 1 for width, wider in pairwise(widths))
    assert rip["setups"] == len(widths)


def test_open_rings_are_not_glued_up() -> None:
    found = counts(changed(changed(bowl(), ["bands", 0, "gap"], 0.1), ["bands", 1, "gap"], 0.1))
    assert not {"glue ring", "true half rings and join"} & set(found)


def test_order_of_the_operations_is_that_of_the_work() -> None:
    order = list(standing_rates())
    names = [o["name"] for o in answer(bowl())["labour"]["operations"]]
    assert all(order.index(one) < order.index(other) for one, other in pairwise(names))
