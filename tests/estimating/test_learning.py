"""Learned rates against numerical integration by scipy.stats, against regression by numpy, and by simulation."""

from dataclasses import replace
from math import exp, inf, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from estimating.errors import InvalidInput
from estimating.work.labour import Z_80, StandingRate, standing_rates, time_operation
from estimating.work.learning import OUTLIER, JobLog, Method, learn, replayed, teaches
from estimating.work.learning_fit import LEAST_SPREAD, Belief, prior, sums_of, updated
from tests.estimating.sheets import modest
from tests.estimating.simulated_shops import simulate

RATE = StandingRate("saw", "cutting", 10.0, "setting", 2.0, "cut", 0.4)
METHOD = Method()


def job(times: float, *, setups: float = 1, quantity: float = 20, day: float = 0.0, name: str = "") -> JobLog:
    """A job that took so many times what the standing rate says."""
    return JobLog(times * (10 * setups + 2 * quantity), setups, quantity, day, name)


# --- the update against a second method ---------------------------------------------------------------------------


def integrated(before: Belief, observed: list[float]) -> tuple[float, float]:
    """The 10th and 90th percentile of what comes next, by integrating prior x likelihood over mean and variance.

    scipy.stats has the prior (normal given an inverse gamma) and the likelihood; nothing here is conjugate.
    """
    shape = before.freedom / 2
    gamma = stats.invgamma(shape, scale=shape * before.scale**2)
    mu = np.linspace(-3, 3, 801)[:, None]
    tau = np.linspace(log(0.0005), log(5), 801)[None, :]  # of the logarithm of the variance
    sd = np.exp(tau / 2)
    posterior = gamma.logpdf(np.exp(tau)) + tau
    posterior = posterior + stats.norm.logpdf(mu, before.centre, sd / np.sqrt(before.weight))
    for value in observed:
        posterior = posterior + stats.norm.logpdf(value, mu, sd)
    density = np.exp(posterior - posterior.max())
    whole = integrate.trapezoid(integrate.trapezoid(density, tau[0], axis=1), mu[:, 0])

    def below(value: float) -> float:
        share = density * stats.norm.cdf(value, mu, sd)
        return float(integrate.trapezoid(integrate.trapezoid(share, tau[0], axis=1), mu[:, 0]) / whole)

    low, high = (optimize.brentq(lambda x, p=p: below(x) - p, -4, 4, xtol=1e-9) for p in (0.1, 0.9))
    return low, high


@pytest.mark.parametrize(
    "observed", [[], [0.5], [0.3, -0.1, 0.45], [0.6, 0.5, 0.7, 0.4, 0.65, 0.9, 0.2]], ids=len
)
def test_the_next_range_is_that_of_a_numerical_integration(observed: list[float]) -> None:
    before = prior(spread=0.4, weight=4)
    after = updated(before, sums_of((value, 1.0) for value in observed))
    ends = after.centre - Z_80 * after.spread, after.centre + Z_80 * after.spread
    # The grid of 801 x 801 is good to a few parts in 10,000.
    assert ends == pytest.approx(integrated(before, observed), abs=1e-3)


def test_a_learned_rate_has_the_integrated_range_in_minutes() -> None:
    times = [1.4, 1.1, 1.7, 1.3]
    rate = learn(RATE, [job(t) for t in times], method=METHOD, today=0).rate
    low, high = integrated(prior(spread=0.4, weight=4), [log(t) for t in times])
    estimate = time_operation(rate, setups=2, quantity=30)
    assert (estimate.low, estimate.high) == pytest.approx((80 * exp(low), 80 * exp(high)), rel=2e-3)


@modest
@given(st.floats(0.06, 1.5), st.floats(0.5, 50))
def test_before_any_entry_the_range_is_the_standing_one(spread: float, weight: float) -> None:
    assert prior(spread=spread, weight=weight).spread == pytest.approx(spread, rel=1e-9)
    standing = replace(RATE, spread=spread)
    assert learn(standing, [], method=Method(standing_weight=weight), today=0).rate is standing


@modest
@given(st.lists(st.floats(-2, 2), min_size=1, max_size=8), st.lists(st.floats(-2, 2), min_size=1, max_size=8))
def test_two_updates_are_one(first: list[float], second: list[float]) -> None:
    before = prior(spread=0.4, weight=4)
    seen = [sums_of((x, 1.0) for x in xs) for xs in (first, second)]
    twice, once = updated(updated(before, seen[0]), seen[1]), updated(before, seen[0] + seen[1])
    assert (twice.centre, twice.weight, twice.freedom, twice.scale) == pytest.approx(
        (once.centre, once.weight, once.freedom, once.scale), rel=1e-6, abs=1e-9
    )


@modest
@given(st.floats(0.3, 3))
def test_many_alike_bring_the_rate_to_what_they_say(times: float) -> None:
    learned = learn(RATE, [job(times)] * 2000, method=METHOD, today=0)
    assert learned.factor == pytest.approx(times, rel=0.01)
    assert learned.rate.minutes_per_unit == pytest.approx(2 * times, rel=0.01)


@modest
@given(st.lists(st.floats(0.4, 2.5), min_size=1, max_size=9))
def test_the_factor_lies_between_the_standing_rate_and_the_log(times: list[float]) -> None:
    factor = learn(RATE, [job(t) for t in times], method=METHOD, today=0).factor
    assert min(1.0, *times) - 1e-9 <= factor <= max(1.0, *times) + 1e-9


def test_a_standing_rate_without_spread_can_still_learn() -> None:
    learned = learn(replace(RATE, spread=0.0), [job(1.5), job(1.3)], method=METHOD, today=0)
    assert learned.rate.spread > LEAST_SPREAD


# --- fading --------------------------------------------------------------------------------------------------------


def test_a_job_counts_half_after_a_half_life_and_two_halves_are_one() -> None:
    assert METHOD.weight(age=365) == pytest.approx(0.5)
    old = learn(RATE, [job(1.3), job(1.3)], method=METHOD, today=365)
    assert old.weight == pytest.approx(1.0)
    assert old.factor == pytest.approx(learn(RATE, [job(1.3)], method=METHOD, today=0).factor)


def test_what_is_new_outweighs_what_is_old() -> None:
    slow_then_quick = [job(1.5, day=0), job(0.8, day=1000)]
    quick_then_slow = [job(0.8, day=0), job(1.5, day=1000)]
    first, second = (
        learn(RATE, jobs, method=METHOD, today=1000) for jobs in (slow_then_quick, quick_then_slow)
    )
    assert first.factor < 1 < second.factor


# --- outliers ------------------------------------------------------------------------------------------------------

USUAL = [0.9, 1.05, 1.1, 0.95, 1.0, 1.15, 0.92, 1.03]


def test_a_clock_that_was_forgotten_is_shown_and_counts_less_but_counts() -> None:
    learned = learn(RATE, [*(job(t) for t in USUAL), job(15.0, name="night")], method=METHOD, today=0)
    (outlier,) = learned.outliers
    assert outlier.job.name == "night"
    assert outlier.score > OUTLIER
    assert outlier.weight == pytest.approx((OUTLIER / outlier.score) ** 2)
    assert 0 < outlier.weight < 1
    full = updated(prior(spread=0.4, weight=4), sums_of((log(t), 1.0) for t in [*USUAL, 15.0]))
    without = learn(RATE, [job(t) for t in USUAL], method=METHOD, today=0)
    assert without.factor < learned.factor < exp(full.centre)


def test_a_score_is_the_normal_score_of_the_student_t() -> None:
    belief = Belief(centre=0.2, weight=5, freedom=7, scale=0.3)
    t = stats.t(7, loc=0.2, scale=belief.next_scale)
    for value in (-1.0, 0.1, 0.2, 0.9, 2.0):
        assert belief.score(value) == pytest.approx(stats.norm.ppf(t.cdf(value)), rel=1e-9, abs=1e-12)


def test_usual_jobs_are_no_outliers() -> None:
    learned = learn(RATE, [job(t) for t in USUAL], method=METHOD, today=0)
    assert learned.outliers == ()
    assert learned.weight == len(USUAL)


# --- how well it did -----------------------------------------------------------------------------------------------


def test_each_job_is_replayed_from_those_that_ended_before_it() -> None:
    jobs = [job(1.0, day=0), job(1.2, day=1), job(9.0, day=2), job(1.1, day=3)]
    record = replayed(RATE, jobs[::-1], method=METHOD)
    assert (record.jobs, record.within) == (4, 3)
    ratios = []
    for number, one in enumerate(jobs):
        then = learn(RATE, jobs[:number], method=METHOD, today=one.day).rate
        ratios.append(one.minutes / time_operation(then, setups=one.setups, quantity=one.quantity).median)
    assert record.coverage == 0.75
    assert record.bias == pytest.approx(stats.gmean(ratios))


def test_nothing_logged_is_no_record() -> None:
    record = replayed(RATE, [], method=METHOD)
    assert (record.coverage, record.bias) == (None, None)


# --- calibration ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("entries", "every"), [(1, 5), (5, 5), (20, 9)])
def test_ranges_of_80_per_cent_hold_76_to_84_of_2000_simulated_jobs(entries: int, every: int) -> None:
    """Some operations here, all in tests/bench/bench_learning.py; one standard error of chance is 0.9 per cent."""
    rates = list(standing_rates().values())[2::every]
    found = simulate(rates, entries=entries, jobs=2000, seed=20_260_301)
    assert 0.76 <= found.of_operations <= 0.84
    assert 0.76 <= found.of_jobs <= 0.84


def test_ranges_that_ignored_the_log_would_not_hold_so_well(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the calibration is for: the fitted normal without the doubt about its own figures holds too few."""
    monkeypatch.setattr(Belief, "spread", property(lambda self: 0.75 * self.scale))
    rates = list(standing_rates().values())[2::5]
    assert simulate(rates, entries=5, jobs=400, seed=1).of_operations < 0.76


# --- refusals ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "values", [{"standing_weight": 0}, {"half_life_days": -1}, {"half_life_days": float("nan")}]
)
def test_a_method_that_is_none_is_refused(values: dict[str, float]) -> None:
    with pytest.raises(InvalidInput):
        Method(**values)


@pytest.mark.parametrize("wrong", [JobLog(0, 1, 5, 0), JobLog(30, 0, 0, 0), JobLog(-inf, 1, 1, 0)])
def test_a_job_that_teaches_nothing_is_refused_by_its_number(wrong: JobLog) -> None:
    assert not teaches(RATE, wrong)
    with pytest.raises(InvalidInput, match=r"jobs\[1\]"):
        learn(RATE, [job(1.0), wrong], method=METHOD, today=0)
