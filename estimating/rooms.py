"""Where a piece is made and where it will live: the air of a room, and a bench with what it has and its hours."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from itertools import pairwise

from estimating.errors import InvalidInput

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class Air:
    """A room's air: degrees C, and relative humidity in %."""

    temperature_c: float
    humidity: float


@dataclass(frozen=True, slots=True)
class Climate:
    """The air a piece is made in, and the air it will live in."""

    shop: Air
    client: Air


@dataclass(frozen=True)
class Bench:
    """What there is at a bench, and when it is open. `hours` are the stretches of each weekday, Monday first.

    `start` is minute 0. Where it has a time zone, hours are by that zone's clock and minutes are those that really
    pass: a cure that runs through a change of the clock is as long as it says. Work of more than `session_min` minutes
    is parted; a glue-up is not.
    Errors: InvalidInput at `bench...`.
    """

    start: datetime
    hours: Sequence[Sequence[tuple[time, time]]]
    days_off: frozenset[date] = frozenset()
    people: int = 1
    mandrels: int = 1
    jigs: int = 1
    presses: int = 1
    ring_clamps: int = 1
    session_min: float = 120.0

    def __post_init__(self) -> None:
        for name in ("people", "mandrels", "jigs", "presses", "ring_clamps"):
            least = 1 if name == "people" else 0
            if getattr(self, name) < least:
                raise InvalidInput(f"bench.{name}", f"must be {least} or more, got {getattr(self, name)}")
        if len(self.hours) != len(DAYS):
            raise InvalidInput("bench.hours", f"must have {len(DAYS)} days, got {len(self.hours)}")
        for day, stretches in zip(DAYS, self.hours, strict=True):
            _check_day(f"bench.hours.{day}", stretches)


def _check_day(place: str, stretches: Sequence[tuple[time, time]]) -> None:
    for at, (opens, closes) in enumerate(stretches):
        if opens >= closes:
            raise InvalidInput(
                f"{place}[{at}]", f"must close after it opens, got {opens:%H:%M} to {closes:%H:%M}"
            )
    for at, ((_, closes), (opens, _)) in enumerate(pairwise(stretches), start=1):
        if opens < closes:
            raise InvalidInput(
                f"{place}[{at}]", f"must open after {closes:%H:%M}, when the one before it closes"
            )
