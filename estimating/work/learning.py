"""A shop's own rates from its hours log: the standing rate as prior, each logged job as an observation."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import exp, log

from estimating.errors import InvalidInput
from estimating.work.labour import Z_80, StandingRate, time_operation
from estimating.work.learning_fit import Belief, Sums, prior, sums_of, updated
from estimating.work.learning_split import Part, Split, split

OUTLIER = 3.0
"""Standard scores: what lies farther out is shown, and counts by (3 / score) squared. A choice of ours."""

REPLAYED = 30
"""How many of the last jobs are estimated again from what was logged before each."""


@dataclass(frozen=True, slots=True)
class Method:
    """How much the log is trusted: how many jobs the standing rate is worth, in how many days a job counts half.

    Both usual values are choices of ours; the calibration in the tests holds them.
    """

    standing_weight: float = 4.0
    half_life_days: float = 365.0

    def __post_init__(self) -> None:
        if not self.standing_weight > 0:
            raise InvalidInput("standing_weight", "must be above 0")
        if not self.half_life_days > 0:
            raise InvalidInput("half_life_days", "must be above 0")

    def weight(self, *, age: float) -> float:
        """What a job counts `age` days after: one half after a half-life."""
        return float(0.5 ** (max(0.0, age) / self.half_life_days))


@dataclass(frozen=True, slots=True)
class JobLog:
    """What one job took of one operation: minutes in all, set-ups, quantity, its last day as a number, and its name."""

    minutes: float
    setups: float
    quantity: float
    day: float
    name: str = ""
    entries: int = 1


@dataclass(frozen=True, slots=True)
class Weighed:
    """A job as it taught: how far out it lay of what the others say, and what it counted in the end."""

    job: JobLog
    score: float
    weight: float

    @property
    def is_outlier(self) -> bool:
        return abs(self.score) > OUTLIER


@dataclass(frozen=True)
class Learned:
    """One operation's rate as learned. `factor` is how many times the standing median the shop takes."""

    standing: StandingRate
    rate: StandingRate
    jobs: tuple[Weighed, ...]
    split: Split
    belief: Belief
    weight: float = 0.0

    @property
    def factor(self) -> float:
        return exp(self.belief.centre)

    @property
    def low(self) -> float:
        """The low end of the next job's 80 % range, in times of its median."""
        return exp(-Z_80 * self.rate.spread)

    @property
    def high(self) -> float:
        """The high end of it."""
        return exp(Z_80 * self.rate.spread)

    @property
    def entries(self) -> int:
        return sum(one.job.entries for one in self.jobs)

    @cached_property
    def outliers(self) -> tuple[Weighed, ...]:
        return tuple(one for one in self.jobs if one.is_outlier)


def teaches(standing: StandingRate, job: JobLog) -> bool:
    """Whether a job can be held against the rate: it took time, and the rate says how much of something it was."""
    return job.minutes > 0 and _standing_minutes(standing, job) > 0


def learn(standing: StandingRate, jobs: Sequence[JobLog], *, method: Method, today: float) -> Learned:
    """The rate after what jobs logged; with none, the standing rate itself. `today` is what ages are counted from.

    With m = set-up x set-ups + rate x quantity, the standing median of a job, log(minutes / m) ~ N(mu, sigma^2). The
    standing rate is a normal-inverse-gamma prior of mu = 0 worth `standing_weight` jobs, so scaled that a job's 80 %
    range before any entry is the one that the standing spread says. Each job is one observation, whatever number of
    entries it has, since the spread is that between jobs; its weight is 0.5^(age / half-life), and less for an outlier.
    The learned rate is the standing one times exp(mean of mu); its spread gives the 80 % range of the Student t that
    the next job follows, so that the doubt about mu and sigma is in it. Source: `learning_fit.updated`; minutes of
    skilled work as log-normal: `labour.time_operation`. Errors: InvalidInput for a job that teaches nothing.
    """
    for number, job in enumerate(jobs):
        if not teaches(standing, job):
            raise InvalidInput(f"jobs[{number}]", "needs minutes, and how many")
    before = prior(spread=standing.spread, weight=method.standing_weight)
    if not jobs:
        return Learned(standing, standing, (), Split(why_not="nothing is logged"), before)
    faded = [method.weight(age=today - job.day) for job in jobs]
    weighed = _weighed(standing, jobs, faded, before)
    parts = [
        Part(
            setups=standing.setup_minutes * one.job.setups,
            units=standing.minutes_per_unit * one.job.quantity,
            minutes=one.job.minutes,
            weight=one.weight,
        )
        for one in weighed
    ]
    told = split(parts)
    shape = _shaped(standing, told)
    if told.is_apart:
        weighed = _weighed(shape, jobs, faded, before)
    seen = sums_of((_residual(shape, one.job), one.weight) for one in weighed)
    after = updated(before, seen, spent=1.0 if told.is_apart else 0.0)
    return Learned(standing, _scaled(shape, after, len(jobs)), weighed, told, after, seen.weight)


def _weighed(
    shape: StandingRate, jobs: Sequence[JobLog], faded: Sequence[float], before: Belief
) -> tuple[Weighed, ...]:
    """Each job scored by what the prior and all others say of it, and counted less where it lies far out."""
    observed = [(_residual(shape, job), weight) for job, weight in zip(jobs, faded, strict=True)]
    total = sums_of(observed)
    weighed = []
    for job, (residual, weight) in zip(jobs, observed, strict=True):
        others = total - Sums(weight, weight * residual, weight * residual**2)
        score = updated(before, others).score(residual)
        kept = weight * min(1.0, (OUTLIER / abs(score)) ** 2) if score else weight
        weighed.append(Weighed(job, score, kept))
    return tuple(weighed)


def _standing_minutes(rate: StandingRate, job: JobLog) -> float:
    return rate.setup_minutes * job.setups + rate.minutes_per_unit * job.quantity


def _residual(rate: StandingRate, job: JobLog) -> float:
    return log(job.minutes / _standing_minutes(rate, job))


def _shaped(standing: StandingRate, told: Split) -> StandingRate:
    return replace(
        standing,
        setup_minutes=standing.setup_minutes * told.setup,
        minutes_per_unit=standing.minutes_per_unit * told.unit,
    )


def _scaled(shape: StandingRate, belief: Belief, jobs: int) -> StandingRate:
    factor = exp(belief.centre)
    return replace(
        shape,
        setup_minutes=shape.setup_minutes * factor,
        minutes_per_unit=shape.minutes_per_unit * factor,
        spread=belief.spread,
        source=f"hours log, {jobs} job{'s' if jobs > 1 else ''}",
    )


@dataclass(frozen=True, slots=True)
class Record:
    """How well the method did: jobs estimated from what was logged before each, and the minutes that they took.

    `coverage` is the share within the 80 % range, `bias` how many times the estimated median they took, in the
    geometric mean. Both are None where there is no job.
    """

    jobs: int = 0
    within: int = 0
    log_ratio: float = 0.0

    @property
    def coverage(self) -> float | None:
        return self.within / self.jobs if self.jobs else None

    @property
    def bias(self) -> float | None:
        return exp(self.log_ratio / self.jobs) if self.jobs else None

    def __add__(self, other: "Record") -> "Record":
        return Record(self.jobs + other.jobs, self.within + other.within, self.log_ratio + other.log_ratio)


def replayed(standing: StandingRate, jobs: Sequence[JobLog], *, method: Method) -> Record:
    """How well each of the last jobs would have been estimated the day it ended, from the jobs that ended before it."""
    in_order = sorted(jobs, key=lambda job: (job.day, job.name))
    record = Record()
    for number in range(max(0, len(in_order) - REPLAYED), len(in_order)):
        job = in_order[number]
        then = learn(standing, in_order[:number], method=method, today=job.day).rate
        estimate = time_operation(then, setups=job.setups, quantity=job.quantity)
        inside = estimate.low <= job.minutes <= estimate.high
        record += Record(1, int(inside), log(job.minutes / estimate.median))
    return record
