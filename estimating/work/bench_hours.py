"""When somebody is at the bench, in minutes from its start; and those minutes back into dates."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

from estimating.errors import InvalidInput

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")

_MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Bench:
    """What there is at a bench, and when it is open. `hours` are the stretches of each weekday, Monday first.

    `start` is minute 0. Where it has a time zone, hours are by that zone's clock and minutes are those that really
    pass: a cure that runs through a change of the clock is as long as it says.
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


def minute_of(bench: Bench, at: datetime) -> int:
    """The whole minutes that have passed at `at` since the bench's start; below 0 before it.

    >>> bench = Bench(datetime(2027, 3, 1, 8), [[(time(8), time(12))]] + [[]] * 6)
    >>> minute_of(bench, datetime(2027, 3, 2, 8))
    1440
    """
    return (_clock(at) - _clock(bench.start)) // _MINUTE


def moment(bench: Bench, minute: int) -> datetime:
    """The date and time of a minute, by the clock of the bench's start.

    >>> bench = Bench(datetime(2027, 3, 1, 8), [[(time(8), time(12))]] + [[]] * 6)
    >>> moment(bench, 1440)
    datetime.datetime(2027, 3, 2, 8, 0)
    """
    found = _clock(bench.start) + minute * _MINUTE
    return found if bench.start.tzinfo is None else found.astimezone(bench.start.tzinfo)


def windows(bench: Bench, horizon_days: int) -> list[tuple[int, int]]:
    """The stretches in which somebody is there, as minutes (from, to), from the start on for so many days of the date.

    >>> bench = Bench(datetime(2027, 3, 1, 9), [[(time(8), time(12)), (time(13), time(17))]] + [[]] * 6)
    >>> windows(bench, 8)
    [(0, 180), (240, 480), (10020, 10260), (10320, 10560)]
    """
    found: list[tuple[int, int]] = []
    for opens, closes in _stretches(bench, horizon_days):
        first, last = max(0, minute_of(bench, opens)), minute_of(bench, closes)
        if first < last:
            found.append((first, last))
    return found


def _stretches(bench: Bench, days: int) -> Iterator[tuple[datetime, datetime]]:
    zone = bench.start.tzinfo
    for ahead in range(days):
        day = bench.start.date() + timedelta(days=ahead)
        if day not in bench.days_off:
            for opens, closes in bench.hours[day.weekday()]:
                yield datetime.combine(day, opens, tzinfo=zone), datetime.combine(day, closes, tzinfo=zone)


def _clock(at: datetime) -> datetime:
    """By the one clock that never changes: two times of a zone would be taken apart as the wall shows them."""
    return at if at.tzinfo is None else at.astimezone(UTC)
