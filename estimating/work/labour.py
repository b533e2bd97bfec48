"""Minutes of work: a rate and its spread for each operation, and the log-normal sum of a job."""

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from math import exp, expm1, log1p, sqrt
from pathlib import Path

TABLE = Path(__file__).parent.parent / "tables" / "operations.csv"


@dataclass(frozen=True, slots=True)
class StandingRate:
    """What an operation takes: minutes a set-up and minutes a unit (medians), log-normal spread sigma."""

    operation: str
    stage: str
    setup_minutes: float
    setup_per: str
    minutes_per_unit: float
    unit: str
    spread: float
    source: str = ""
    note: str = ""


@cache
def standing_rates() -> Mapping[str, StandingRate]:
    """The standing rates of tables/operations.csv by operation."""
    with TABLE.open(encoding="utf-8", newline="") as table:
        return {row["operation"]: _rate(row) for row in csv.DictReader(table)}


def _rate(row: Mapping[str, str]) -> StandingRate:
    return StandingRate(
        operation=row["operation"],
        stage=row["stage"],
        setup_minutes=float(row["setup_minutes"]),
        setup_per=row["setup_per"],
        minutes_per_unit=float(row["minutes_per_unit"]),
        unit=row["unit"],
        spread=float(row["spread"]),
        source=row["source"],
        note=row["note"],
    )


CORRELATION = 0.3
"""How much the operations of one job run slow or quick together; a setting of the method, common practice."""

Z_80 = 1.2815515655446004
"""Standard normal quantile of 0.9: 80 % of a normal lies within it on either side. Held against scipy in the tests."""


@dataclass(frozen=True, slots=True)
class OperationTime:
    """One operation of the job: how often, and its minutes: log-normal, `low` to `high` holding 80 %."""

    name: str
    stage: str
    setups: float
    quantity: float
    unit: str
    setup_minutes: float
    minutes_per_unit: float
    median: float
    mean: float
    low: float
    high: float
    spread: float


@dataclass(frozen=True, slots=True)
class Labour:
    """The job's minutes, all operations together."""

    operations: tuple[OperationTime, ...]
    mean: float
    median: float
    low: float
    high: float

    @property
    def mean_hours(self) -> float:
        return self.mean / 60


def time_operation(rate: StandingRate, *, setups: float, quantity: float) -> OperationTime:
    """Minutes of an operation: set-up x times + rate x quantity is the median of a log-normal.

    Source: the mean of a log-normal is its median x exp(sigma^2 / 2) (Aitchison & Brown, The Lognormal Distribution,
    1957, section 2.3; from memory).
    """
    median = rate.setup_minutes * setups + rate.minutes_per_unit * quantity
    return OperationTime(
        name=rate.operation,
        stage=rate.stage,
        setups=setups,
        quantity=quantity,
        unit=rate.unit,
        setup_minutes=rate.setup_minutes,
        minutes_per_unit=rate.minutes_per_unit,
        median=median,
        mean=median * exp(rate.spread**2 / 2),
        low=median * exp(-Z_80 * rate.spread),
        high=median * exp(Z_80 * rate.spread),
        spread=rate.spread,
    )


def add_up(operations: Iterable[OperationTime]) -> Labour:
    """The sum of the operations: the sum of the means, a variance with a common correlation, one log-normal.

    Medians and ends of ranges are never added: the log-normal with that mean and variance gives them.
    Source: moment matching, Fenton, IRE Trans. Commun. Syst. 8 (1960) 57-67 (from memory).
    """
    done = tuple(operations)
    mean = sum(operation.mean for operation in done)
    if mean == 0:
        return Labour(done, 0.0, 0.0, 0.0, 0.0)
    deviations = [operation.mean * sqrt(expm1(operation.spread**2)) for operation in done]
    own = sum(deviation**2 for deviation in deviations)
    variance = (1 - CORRELATION) * own + CORRELATION * sum(deviations) ** 2
    sigma = sqrt(log1p(variance / mean**2))
    median = mean * exp(-(sigma**2) / 2)
    return Labour(done, mean, median, median * exp(-Z_80 * sigma), median * exp(Z_80 * sigma))
