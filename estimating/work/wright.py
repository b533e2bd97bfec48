"""The learning curve of repeat pieces after Wright: the cumulative average time falls at a fixed rate each doubling."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from math import log

import numpy as np

from estimating.errors import InvalidInput
from estimating.work.labour import StandingRate

ONCE_A_JOB = frozenset({"design and drawings", "set miter and prove with a test ring"})
"""Operations that are done once for all pieces of a job: nothing in them is repeated."""


def exponent(rate: float) -> float:
    """b of Y = a X^b: ln(rate) / ln 2, the rate being what a doubling of the output multiplies the average by.

    Errors: InvalidInput for a rate that is not above 0 and at most 1.5.
    """
    if not 0 < rate <= 1.5:
        raise InvalidInput("rate", "must be above 0 and at most 1.5")
    return log(rate) / log(2)


def average(count: float, *, rate: float) -> float:
    """Cumulative average of the first `count` pieces, in times of the first piece.

    Source: T. P. Wright, Factors Affecting the Cost of Airplanes, J. Aeronautical Sciences 3 (1936) 122-128: Y = a X^b
    with Y the cumulative AVERAGE of X pieces, not the time of the X-th (which is Crawford's reading).
    """
    if not count > 0:
        raise InvalidInput("count", "must be above 0")
    return float(count ** exponent(rate))


def total(count: float, *, rate: float) -> float:
    """All of the first `count` pieces together, in times of the first piece; 0 for none."""
    return count * average(count, rate=rate) if count else 0.0


def average_of(count: int, *, rate: float, made_before: int = 0) -> float:
    """Average of `count` pieces made after `made_before` others, in times of the first piece."""
    if count < 1 or made_before < 0:
        raise InvalidInput("count", "must be at least 1, with none or more made before")
    return (total(made_before + count, rate=rate) - total(made_before, rate=rate)) / count


def repeated(rate: StandingRate, *, pieces: int, repeat_rate: float) -> StandingRate:
    """An operation's rate in a set of like pieces: its units at their average; set-ups, counted once a set, stay."""
    if pieces == 1 or rate.operation in ONCE_A_JOB:
        return rate
    share = average_of(pieces, rate=repeat_rate)
    return replace(rate, minutes_per_unit=rate.minutes_per_unit * share)


@dataclass(frozen=True, slots=True)
class Lot:
    """Pieces of one design made at one time, and the minutes they took together."""

    pieces: int
    minutes: float


@dataclass(frozen=True, slots=True)
class Curve:
    """A fitted curve: its exponent and rate, and from how many designs and lots."""

    exponent: float
    designs: int
    lots: int

    @property
    def rate(self) -> float:
        return float(2**self.exponent)


def fit(designs: Sequence[Sequence[Lot]]) -> Curve | None:
    """One exponent for all designs, each with a first piece of its own; None where none was made again.

    Least squares of the logarithm of the cumulative average on that of the cumulative count, both from their design's
    own mean. Source: Wright's curve is a straight line on paper with logarithmic scales (as above).
    """
    xx = xy = 0.0
    used = lots = 0
    for design in designs:
        if len(design) < 2 or any(lot.pieces < 1 or lot.minutes <= 0 for lot in design):
            continue
        counts = np.array(list(accumulate(lot.pieces for lot in design)), dtype=float)
        minutes = np.array(list(accumulate(lot.minutes for lot in design)))
        x, y = np.log(counts), np.log(minutes / counts)
        xx += float(((x - x.mean()) ** 2).sum())
        xy += float(((x - x.mean()) * (y - y.mean())).sum())
        used, lots = used + 1, lots + len(design)
    return Curve(xy / xx, used, lots) if used else None
