"""Whether the log tells set-ups and units apart, and how much of the standing minutes each then takes."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

LEAST_WEIGHT = 8.0
"""Jobs, faded ones in part, below which set-ups and units are not told apart."""

MOST_ERROR = 1 / 3
"""Standard error of either part, as a share of it, above which they are not told apart. Both are choices of ours."""


@dataclass(frozen=True, slots=True)
class Split:
    """By what the standing minutes a set-up and a unit are multiplied; `why_not` says why both are left as they are."""

    setup: float = 1.0
    unit: float = 1.0
    why_not: str = ""

    @property
    def is_apart(self) -> bool:
        """Whether the log told them apart."""
        return not self.why_not


@dataclass(frozen=True, slots=True)
class Part:
    """One job's standing minutes in set-ups and in units, its own minutes, and its weight."""

    setups: float
    units: float
    minutes: float
    weight: float


def split(jobs: Sequence[Part]) -> Split:
    """Set-up and unit factors by weighted least squares of minutes on standing minutes of both.

    Each job's minutes are divided by its standing minutes, since long jobs differ by more minutes than short ones.
    Only the proportion of the two is kept: they are scaled so that the jobs take their standing minutes in the
    (geometric) mean, and how slow the shop is as a whole stays with the rate's factor.
    Source: weighted least squares, any book on regression; standard errors from the inverse of the normal matrix.
    """
    if not any(job.setups for job in jobs) or not any(job.units for job in jobs):
        return Split(why_not="it has only one of the two")
    if sum(job.weight for job in jobs) < LEAST_WEIGHT:
        return Split(why_not=f"that takes jobs that count as {LEAST_WEIGHT:g} in all")
    factors, errors = _least_squares(jobs)
    if errors is None:
        return Split(why_not="every job had the same share of set-ups")
    if min(factors) <= 0 or max(error / one for error, one in zip(errors, factors, strict=True)) > MOST_ERROR:
        return Split(why_not="set-ups and quantities rose together, or too little")
    return _scaled(jobs, *factors)


def _least_squares(jobs: Sequence[Part]) -> tuple[tuple[float, float], tuple[float, float] | None]:
    """Factors of set-ups and of units, and their standard errors; None where they cannot be told apart at all."""
    rows = [
        (job.weight, job.setups / whole, job.units / whole, job.minutes / whole)
        for job in jobs
        if (whole := job.setups + job.units) > 0
    ]
    uu = sum(w * u * u for w, u, _, _ in rows)
    uv = sum(w * u * v for w, u, v, _ in rows)
    vv = sum(w * v * v for w, _, v, _ in rows)
    uz = sum(w * u * z for w, u, _, z in rows)
    vz = sum(w * v * z for w, _, v, z in rows)
    determinant = uu * vv - uv**2
    if determinant <= 1e-9 * uu * vv:
        return (1.0, 1.0), None
    setup, unit = (vv * uz - uv * vz) / determinant, (uu * vz - uv * uz) / determinant
    left = sum(w * (z - setup * u - unit * v) ** 2 for w, u, v, z in rows)
    variance = left / (sum(w for w, *_ in rows) - 2)
    errors = (sqrt(variance * vv / determinant), sqrt(variance * uu / determinant))
    return (setup, unit), errors


def _scaled(jobs: Sequence[Part], setup: float, unit: float) -> Split:
    """The two factors in their proportion, the jobs' standing minutes kept in the weighted geometric mean."""
    total = sum(job.weight for job in jobs)
    shift = sum(
        job.weight * log((setup * job.setups + unit * job.units) / (job.setups + job.units)) for job in jobs
    )
    level = exp(shift / total)
    return Split(setup / level, unit / level)
