"""Set-ups and units told apart: against numpy's regression, and left alone where the log does not tell."""

import numpy as np
import pytest

from estimating.work.labour import StandingRate
from estimating.work.learning import JobLog, Method, learn
from estimating.work.learning_split import LEAST_WEIGHT, Part, split

RATE = StandingRate("saw", "cutting", 10.0, "setting", 2.0, "cut", 0.4)
VARIED = [(1, 40), (6, 10), (2, 60), (8, 5), (3, 30), (5, 12), (1, 80), (9, 20), (4, 4), (2, 25)]


def logged(
    *, setup: float, unit: float, noise: float = 0.0, counts: list[tuple[int, int]] = VARIED
) -> list[JobLog]:
    draw = np.random.default_rng(5)
    return [
        JobLog((setup * s + unit * q) * float(np.exp(noise * draw.standard_normal())), s, q, 0.0)
        for s, q in counts
    ]


def parts(jobs: list[JobLog]) -> list[Part]:
    return [Part(10 * one.setups, 2 * one.quantity, one.minutes, 1.0) for one in jobs]


def test_figures_without_noise_are_found_exactly_and_their_level_goes_to_the_factor() -> None:
    jobs = logged(setup=25, unit=1.5)
    told = split(parts(jobs))
    assert told.is_apart
    assert told.setup / told.unit == pytest.approx((25 / 10) / (1.5 / 2), rel=1e-9)
    learned = learn(RATE, jobs * 300, method=Method(), today=0)
    assert learned.rate.setup_minutes == pytest.approx(25, rel=0.01)
    assert learned.rate.minutes_per_unit == pytest.approx(1.5, rel=0.01)


def test_the_proportion_is_that_of_numpy_s_weighted_least_squares() -> None:
    jobs = logged(setup=18, unit=1.7, noise=0.15)
    rows = np.array([[10 * one.setups, 2 * one.quantity] for one in jobs])
    standing = rows.sum(axis=1)
    fitted, *_ = np.linalg.lstsq(
        rows / standing[:, None], np.array([one.minutes for one in jobs]) / standing, rcond=None
    )
    told = split(parts(jobs))
    assert told.is_apart
    assert told.setup / told.unit == pytest.approx(fitted[0] / fitted[1], rel=1e-9)


def test_the_jobs_keep_their_standing_minutes_in_the_geometric_mean() -> None:
    jobs = parts(logged(setup=18, unit=1.7, noise=0.15))
    told = split(jobs)
    ratios = [(told.setup * one.setups + told.unit * one.units) / (one.setups + one.units) for one in jobs]
    assert float(np.mean(np.log(ratios))) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    ("jobs", "why"),
    [
        (logged(setup=20, unit=2)[: int(LEAST_WEIGHT) - 1], "count as 8 in all"),
        (logged(setup=20, unit=2, counts=[(n, 10 * n) for n in range(1, 12)]), "same share"),
        (
            logged(setup=20, unit=2, noise=0.4, counts=[(n, 10 * n + n % 2) for n in range(1, 12)]),
            "rose together",
        ),
        (logged(setup=0.0, unit=2, noise=0.1), "rose together, or too little"),
    ],
    ids=["few", "alike", "nearly alike", "no set-up seen"],
)
def test_where_the_log_does_not_tell_both_parts_are_scaled_alike(jobs: list[JobLog], why: str) -> None:
    learned = learn(RATE, jobs, method=Method(), today=0)
    assert why in learned.split.why_not
    assert learned.rate.setup_minutes / learned.rate.minutes_per_unit == pytest.approx(10 / 2)


def test_an_operation_without_a_set_up_has_nothing_to_part() -> None:
    assert "only one" in split([Part(0, 20, 25, 1.0)] * 20).why_not


def test_a_split_costs_a_degree_of_freedom() -> None:
    jobs = logged(setup=25, unit=1.5, noise=0.1)
    assert learn(RATE, jobs, method=Method(), today=0).belief.freedom == pytest.approx(4 + len(jobs) - 1)
