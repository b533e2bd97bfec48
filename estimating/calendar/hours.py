"""When somebody is at the bench, in minutes from its start; and those minutes back into dates."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from estimating.rooms import Bench

__all__ = ["Bench", "minute_of", "moment", "windows"]

_MINUTE = timedelta(minutes=1)


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
                yield datetime.combine(day, opens, tzinfo=zone), _closing(day, closes, zone)


def _closing(day: date, closes: time, zone: tzinfo | None) -> datetime:
    """When a stretch ends: the last moment of a day is midnight."""
    if closes == time.max:
        return datetime.combine(day + timedelta(days=1), time.min, tzinfo=zone)
    return datetime.combine(day, closes, tzinfo=zone)


def _clock(at: datetime) -> datetime:
    """By the one clock that never changes: two times of a zone would be taken apart as the wall shows them."""
    return at if at.tzinfo is None else at.astimezone(UTC)
