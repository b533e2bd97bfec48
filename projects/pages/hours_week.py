"""The hours log as a week's sheet: days across, operations or commissions down, totals; and an entry's history."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.dateparse import parse_datetime

from projects.models import BenchStep, HoursChange, HoursEntry, Member, Studio
from projects.models.bench import StepKind, StepState
from projects.models.making import HoursAct
from projects.pages.hours_typed import clock_of, said_span
from projects.services.hours import as_kept

WEEK = datetime.timedelta(days=7)
DAY = datetime.timedelta(days=1)
EARLIEST, LATEST = datetime.date(1970, 1, 5), datetime.date(2199, 12, 30)
"""Weeks the sheet turns to, so that the one before and the one after are days as well."""

WAYS = {"operation": "by operation", "commission": "by commission"}


@dataclass(frozen=True)
class SheetRow:
    """A row: its name, minutes in words for each day, empty where there are none, and their sum."""

    name: str
    cells: list[tuple[str, str]]
    total: str


@dataclass(frozen=True)
class Sheet:
    """A week: its days, the rows, the sums of the days and of all."""

    days: list[datetime.date]
    rows: list[SheetRow]
    sums: SheetRow


def monday(day: datetime.date) -> datetime.date:
    """The Monday of a day's week, within what the sheet turns to."""
    clamped = min(max(day, EARLIEST), LATEST)
    return clamped - DAY * clamped.weekday()


def asked_monday(text: str, today: datetime.date) -> datetime.date:
    """The week that an address asks for by any of its days; this one where it names none."""
    try:
        return monday(datetime.date.fromisoformat(text))
    except ValueError:
        return monday(today)


def week_sheet(entries: Iterable[HoursEntry], first: datetime.date, *, way: str) -> Sheet:
    """The sheet of a week's entries, each on the day on which it began; what still runs is not in it yet."""
    days = [first + DAY * number for number in range(7)]
    minutes: defaultdict[str, defaultdict[datetime.date, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for entry in entries:
        if entry.minutes is not None:
            name = entry.operation if way == "operation" else entry.commission.title
            minutes[name][entry.worked_on] += entry.minutes
    sums: defaultdict[datetime.date, Decimal] = defaultdict(Decimal)
    for row in minutes.values():
        for day, spent in row.items():
            sums[day] += spent
    rows = [_row(name, minutes[name], days) for name in sorted(minutes, key=str.casefold)]
    return Sheet(days, rows, _row("all", sums, days))


def _row(name: str, minutes: Mapping[datetime.date, Decimal], days: Sequence[datetime.date]) -> SheetRow:
    cells = [(f"{day:%a}", said_span(minutes[day]) if day in minutes else "") for day in days]
    return SheetRow(name, cells, said_span(sum(minutes.values(), Decimal(0))))


@dataclass(frozen=True)
class Logged:
    """An entry as a list shows it: from when to when, empty where only the minutes are known, and how long."""

    entry: HoursEntry
    clock: str
    span: str


def logged(entry: HoursEntry, zone: ZoneInfo) -> Logged:
    """An entry as a list shows it."""
    begins, ends = clock_of(entry, zone)
    clock = f"{begins}–{ends}" if ends else f"since {begins}" if begins else ""
    return Logged(entry, clock, said_span(entry.minutes))


def running_step(member: Member) -> BenchStep | None:
    """The step that a member works on at the bench, which is then their clock."""
    steps = BenchStep.objects.for_studio(member.studio_id).select_related("commission")
    found: BenchStep | None = steps.filter(
        started_by=member, state=StepState.RUNNING, kind=StepKind.HANDS_ON
    ).first()
    return found


@dataclass(frozen=True)
class Told:
    """A change in words: when and by whom, what happened, and each field as `what: before → after`."""

    change: HoursChange
    lines: list[str]
    words: str


FIELDS = {
    "title": "commission",
    "operation": "operation",
    "worked_on": "day",
    "started_at": "from",
    "ended_at": "to",
    "minutes": "minutes",
    "quantity": "how many",
    "setups": "set-ups",
    "note": "note",
}


def history(studio: Studio, number: int, entry: HoursEntry | None) -> list[Told]:
    """What became of an entry, the latest first; `entry` as it is now, None once it is taken out."""
    zone = studio.bench.zone
    after = as_kept(entry) if entry is not None else None
    told = []
    found = HoursChange.objects.for_studio(studio).filter(entry_number=number)
    changes = list(found.select_related("by__user", "member__user"))
    for place, change in enumerate(changes):
        one = _told(change, after, zone)
        # What follows on the taking out is that it was put back.
        was_out = any(earlier.what == HoursAct.TAKEN_OUT for earlier in changes[place + 1 : place + 2])
        told.append(replace(one, words="put back") if was_out else one)
        after = change.before
    return told


def taken_out(studio: Studio, members: Iterable[Member], first: datetime.date) -> list[Told]:
    """What was taken out of a week's entries, the latest first."""
    gone = HoursChange.objects.for_studio(studio).filter(
        what=HoursAct.TAKEN_OUT, member__in=members, worked_on__gte=first, worked_on__lt=first + WEEK
    )
    zone = studio.bench.zone
    still = gone.exclude(entry_number__in=HoursEntry.objects.for_studio(studio).values("pk"))
    latest: dict[int, HoursChange] = {}
    for change in still.select_related("by__user", "member__user"):
        latest.setdefault(change.entry_number, change)
    return [_told(change, None, zone) for change in latest.values()]


def _told(change: HoursChange, after: Mapping[str, Any] | None, zone: ZoneInfo) -> Told:
    lines = []
    for name, head in FIELDS.items():
        was = _said(name, change.before.get(name), zone)
        if change.what == HoursAct.TAKEN_OUT or after is None:
            lines += [f"{head}: {was}"] if was else []
            continue
        now = _said(name, after.get(name), zone)
        if was != now:
            lines.append(f"{head}: {was or 'nothing'} → {now or 'nothing'}")
    return Told(change, lines, change.get_what_display())


def _said(name: str, value: Any, zone: ZoneInfo) -> str:
    if value is None:
        return ""
    if name in ("started_at", "ended_at"):
        at = parse_datetime(str(value))
        there = at.astimezone(zone) if at else None
        return f"{there.day} {there:%b} {there.hour}:{there:%M:%S}" if there else ""
    return str(value)
