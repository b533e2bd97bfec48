"""Shops made up for the calibration of learned rates: each slower or quicker than common practice in its own way."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, expm1, log1p, sqrt

import numpy as np

from estimating.work.labour import CORRELATION, OperationTime, StandingRate, add_up, time_operation
from estimating.work.learning import JobLog, Method, learn

SHOP_SPREAD = 0.25
"""Sigma of a shop's own pace at an operation: two shops in three work within a quarter of common practice."""

JOB_SPREAD = (0.6, 1.1)
"""How a shop's jobs differ among themselves, in times of the standing spread, drawn evenly: not as in the method."""


@dataclass
class Coverage:
    """How many of the ranges held what came: of operations, and of whole jobs."""

    operations: int = 0
    operations_held: int = 0
    jobs: int = 0
    jobs_held: int = 0

    @property
    def of_operations(self) -> float:
        return self.operations_held / self.operations

    @property
    def of_jobs(self) -> float:
        return self.jobs_held / self.jobs


def simulate(rates: Sequence[StandingRate], *, entries: int, jobs: int, seed: int) -> Coverage:
    """`jobs` shops, each with `entries` logged jobs to learn from and one more to be estimated.

    The operations of a job run slow together with the correlation that the sum assumes; everything else is drawn.
    """
    draw, found = np.random.default_rng(seed), Coverage()
    for _ in range(jobs):
        together = draw.standard_normal(entries + 1)
        estimates: list[OperationTime] = []
        took = 0.0
        for rate in rates:
            logged = _logged(rate, together, draw)
            learned = learn(rate, logged[:-1], method=Method(), today=entries).rate
            last = logged[-1]
            estimates.append(time_operation(learned, setups=last.setups, quantity=last.quantity))
            found.operations += 1
            found.operations_held += estimates[-1].low <= last.minutes <= estimates[-1].high
            took += last.minutes
        whole = add_up(estimates)
        found.jobs += 1
        found.jobs_held += whole.low <= took <= whole.high
    return found


def _logged(rate: StandingRate, together: np.ndarray, draw: np.random.Generator) -> list[JobLog]:
    pace = draw.normal(0, SHOP_SPREAD)
    sigma = rate.spread * draw.uniform(*JOB_SPREAD)
    r = (
        log1p(CORRELATION * expm1(sigma**2)) / sigma**2
    )  # of the logarithms, so that the minutes have CORRELATION
    logged = []
    for day, common in enumerate(together):
        setups, quantity = int(draw.integers(1, 6)), int(draw.integers(2, 60))
        noise = sigma * (sqrt(r) * common + sqrt(1 - r) * draw.standard_normal())
        median = rate.setup_minutes * setups + rate.minutes_per_unit * quantity
        logged.append(JobLog(median * exp(pace + noise), setups, quantity, float(day)))
    return logged
