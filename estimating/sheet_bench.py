"""The section of the piece sheet that says when somebody is at the bench, from when on, and what the bench has."""

import re
from collections.abc import Callable
from datetime import date, datetime, time
from typing import TypeVar

from estimating.errors import InvalidInput
from estimating.piece import ShopSettings
from estimating.reading import Section, check_list, check_text
from estimating.rooms import DAYS, Bench

MOST_THINGS = 1000
MOST_STRETCHES = 24
MOST_DAYS_OFF = 5000
YEARS = (1900, 2900)
"""Years a calendar may start in: as far as dates of a few years later can be reckoned for certain."""

_Hours = tuple[tuple[time, time], ...]
_Found = TypeVar("_Found")

_START = 'must be a date and time such as "2027-03-01T08:00"'
_TIME = 'must be a time such as "08:00", or "24:00" for the end of the day'
_DATE = 'must be a date such as "2027-03-05"'


def read_bench(top: Section, shop: ShopSettings) -> Bench | None:
    """The bench of the sheet; None where it has none. `shop` has its ring clamps."""
    section = top.section("bench")
    if section is None:
        return None
    before = len(section.errors)
    start = _read_start(section)
    hours = _read_hours(section)
    items = section.items("days_off", required=False, most=MOST_DAYS_OFF)
    days_off = [_read(item, place, section.errors, _date, _DATE) for place, item in items]
    counts = {
        name: section.integer(name, 1, low=1 if name == "people" else 0, high=MOST_THINGS)
        for name in ("mandrels", "jigs", "presses", "people")
    }
    session = section.number("session_min", 120.0, low=15, high=1440)
    section.close()
    if len(section.errors) > before or start is None:
        return None
    return Bench(
        start=start,
        hours=hours,
        days_off=frozenset(day for day in days_off if day is not None),
        ring_clamps=shop.ring_clamps,
        session_min=session,
        **counts,
    )


def _read_start(section: Section) -> datetime | None:
    if not section.has("start"):
        section.refuse_missing("start")
        return None
    found = _read(section.raw("start"), section.at("start"), section.errors, _moment, _START)
    if found is not None and not YEARS[0] <= found.year <= YEARS[1]:
        section.refuse("start", f"must lie in the years {YEARS[0]} to {YEARS[1]}")
    return found


def _read_hours(section: Section) -> tuple[_Hours, ...]:
    """The stretches of every weekday, Monday first, each of them after the one before."""
    before = len(section.errors)
    hours = section.section("hours", required=True)
    if hours is None:
        return ((),) * len(DAYS)
    week = tuple(_read_day(hours, day) for day in DAYS)
    hours.close()
    if not any(week) and len(hours.errors) == before:
        section.refuse(
            "hours", 'must have a stretch on one day at least, such as "mon": [["08:00", "12:00"]]'
        )
    return week


def _read_day(hours: Section, day: str) -> _Hours:
    found: list[tuple[time, time]] = []
    for place, item in hours.items(day, required=False, most=MOST_STRETCHES):
        before = len(hours.errors)
        ends = check_list(item, place, hours.errors, least=2, most=2)
        times = [_read(end, at, hours.errors, _time, _TIME) for at, end in ends]
        if len(hours.errors) > before or len(times) < 2:
            continue
        opens, closes = times
        assert opens is not None
        assert closes is not None
        if not opens < closes:
            reason = f"must close after it opens, not {opens:%H:%M} to {closes:%H:%M}"
            hours.errors.append(InvalidInput(place, reason))
        elif found and opens < found[-1][1]:
            reason = f"must open at {found[-1][1]:%H:%M} or later, when the stretch before it closes"
            hours.errors.append(InvalidInput(place, reason))
        else:
            found.append((opens, closes))
    return tuple(found)


def _read(
    value: object, place: str, errors: list[InvalidInput], read: Callable[[str], _Found], right: str
) -> _Found | None:
    """What the text says, or None and an error with what would be right."""
    before = len(errors)
    text = check_text(value, place, errors)
    if len(errors) > before:
        return None
    try:
        return read(text.strip())
    except (ValueError, OverflowError):
        errors.append(InvalidInput(place, right))
        return None


def _moment(text: str) -> datetime:
    if not re.match(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d", text, re.ASCII):
        raise ValueError
    return datetime.fromisoformat(text).replace(second=0, microsecond=0)


def _date(text: str) -> date:
    if not re.fullmatch(r"\d{4}-\d\d-\d\d", text, re.ASCII):
        raise ValueError
    return date.fromisoformat(text)


def _time(text: str) -> time:
    if text == "24:00":
        return time.max
    if not re.fullmatch(r"\d\d:\d\d", text, re.ASCII):
        raise ValueError
    return time.fromisoformat(text)
