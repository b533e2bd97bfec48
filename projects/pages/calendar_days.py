"""Days as the studio's wall shows them: when the bench is open, why it is closed, and dates and spans in words."""

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from zoneinfo import ZoneInfo

from projects.calendar import public_holidays
from projects.models import BenchSettings, DayOff, Studio
from projects.pages.bench_hours_forms import said_time, week_of
from projects.services.bench_hours import Stretch

MINUTE = datetime.timedelta(minutes=1)


@dataclass(frozen=True)
class OpenDays:
    """The bench's hours by weekday, and the days on which it is closed all the same, with why."""

    week: dict[int, list[Stretch]]
    closed: dict[datetime.date, str]

    def is_open(self, day: datetime.date) -> bool:
        """Whether anybody is planned to work on a day."""
        return bool(self.week[day.weekday()]) and day not in self.closed

    def stretches(self, first: datetime.date, last: datetime.date) -> Iterator[tuple[float, float]]:
        """Bench hours from the first to the last day, in days since midnight of the first."""
        for number in range((last - first).days + 1):
            day = first + datetime.timedelta(days=number)
            if day in self.closed:
                continue
            for opens, closes in self.week[day.weekday()]:
                yield number + _share(opens), number + _share(closes)


def _share(at: datetime.time) -> float:
    return (at.hour * 60 + at.minute + at.second / 60) / 1440


def open_days(studio: Studio, first: datetime.date, last: datetime.date) -> OpenDays:
    """When the bench is open between two days."""
    closed = dict(holidays_between(studio.bench, first, last))
    for row in DayOff.objects.for_studio(studio).filter(first__lte=last, last__gte=first):
        for number in range((min(row.last, last) - max(row.first, first)).days + 1):
            closed[max(row.first, first) + datetime.timedelta(days=number)] = row.reason or "day off"
    return OpenDays(week_of(studio), closed)


def holidays_between(
    bench: BenchSettings, first: datetime.date, last: datetime.date
) -> list[tuple[datetime.date, str]]:
    """The public holidays that the bench keeps, with their names."""
    found = public_holidays(bench, years=range(first.year, last.year + 1))
    return sorted((day, name) for day, name in found.items() if first <= day <= last)


@dataclass(frozen=True, slots=True)
class Wall:
    """The clock on the wall of the bench."""

    zone: ZoneInfo

    def day(self, at: datetime.datetime) -> datetime.date:
        """The day it is there."""
        return at.astimezone(self.zone).date()

    def time(self, at: datetime.datetime) -> str:
        """The time it is there: `8:05`."""
        return said_time(at.astimezone(self.zone).time())

    def days_since(self, first: datetime.date, at: datetime.datetime) -> float:
        """Days since midnight of a day, by the clock: a night in which clocks change is drawn as long as another."""
        there = at.astimezone(self.zone)
        return (there.date() - first).days + _share(there.time())


def said_day(day: datetime.date, *, near: datetime.date | None = None) -> str:
    """A date in words: `Friday 9 April`, with its year unless that is the same as of a day `near`."""
    words = f"{day:%A} {day.day} {day:%B}"
    return words if near is not None and day.year == near.year else f"{words} {day.year}"


def short_day(day: datetime.date) -> str:
    """A date for a narrow place: `Fri 9 Apr`."""
    return f"{day:%a} {day.day} {day:%b}"


def said_count(count: int, one: str, many: str = "") -> str:
    """`1 day`, `3 days`."""
    return f"{count} {one if count == 1 else many or f'{one}s'}"


def said_span(span: datetime.timedelta) -> str:
    """How long in words, never less than it is: minutes, then hours, then days."""
    minutes = ceil(span / MINUTE)
    if minutes < 90:
        return said_count(minutes, "minute")
    if minutes < 48 * 60:
        return said_count(ceil(minutes / 60), "hour")
    return said_count(ceil(minutes / 1440), "day")


def last_of(days: Sequence[datetime.date], *, usual: datetime.date) -> datetime.date:
    """The last of these days, or the usual one."""
    return max([*days, usual])
