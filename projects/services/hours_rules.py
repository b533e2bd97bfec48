"""What the hours log refuses: time worked twice, in the future, too long at one go, or more than a day has."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from decimal import ROUND_HALF_UP, Decimal
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.db.models import Q

from projects.models import BenchStep, HoursEntry
from projects.models.bench import StepKind, StepState

LONGEST = datetime.timedelta(hours=16)
"""Nobody works longer at one go; a clock that shows more was forgotten."""

MINUTE = datetime.timedelta(minutes=1)
DAY = datetime.timedelta(days=1)
NEAR = 2 * DAY
"""An entry of at most `LONGEST` meets none whose day is further off."""

_CENT = Decimal("0.01")
Times = tuple[datetime.datetime, datetime.datetime | None]


def minutes_of(span: datetime.timedelta) -> Decimal:
    """A span in minutes, to the hundredth."""
    return (Decimal(span // datetime.timedelta(seconds=1)) / 60).quantize(_CENT, rounding=ROUND_HALF_UP)


def said_minutes(minutes: Decimal) -> str:
    """Minutes as people say them: `1 h 5 min`."""
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest} min" if hours else f"{rest} min"


def near(entries: Iterable[HoursEntry]) -> list[HoursEntry]:
    """What the entries might meet in the log: their members' entries of the days about, and all that runs.

    A step that runs at the bench stands among them as an entry that has no id and no end.
    """
    new = list(entries)
    members = {entry.member_id for entry in new}
    days = [entry.worked_on for entry in new]
    about = Q(worked_on__gte=min(days) - NEAR, worked_on__lte=max(days) + NEAR) | Q(minutes__isnull=True)
    logged = HoursEntry.objects.filter(about, member__in=members).select_related("commission", "member__user")
    steps = BenchStep.objects.filter(
        started_by__in=members, state=StepState.RUNNING, kind=StepKind.HANDS_ON
    ).select_related("commission", "started_by__user")
    return [*logged, *(_as_entry(step) for step in steps)]


def _as_entry(step: BenchStep) -> HoursEntry:
    assert step.started_at is not None, "it runs"
    return HoursEntry(
        commission=step.commission,
        member=step.started_by,
        operation=step.name,
        started_at=step.started_at,
        worked_on=step.started_at.date(),
    )


class Log:
    """Entries by member and day, so that many new ones are looked at against those about them only."""

    def __init__(self, entries: Iterable[HoursEntry]) -> None:
        self._running: list[HoursEntry] = []
        self._days: defaultdict[tuple[int, datetime.date], list[HoursEntry]] = defaultdict(list)
        for entry in entries:
            self.add(entry)

    def add(self, entry: HoursEntry) -> None:
        """Put an entry among them."""
        if entry.is_running:
            self._running.append(entry)
        else:
            self._days[entry.member_id, entry.worked_on].append(entry)

    def about(self, entry: HoursEntry) -> list[HoursEntry]:
        """What an entry might meet."""
        days = [entry.worked_on + DAY * number for number in range(-NEAR.days, NEAR.days + 1)]
        return [*self._running, *(other for day in days for other in self._days[entry.member_id, day])]


def apart(entry: HoursEntry, others: Iterable[HoursEntry]) -> list[HoursEntry]:
    """The others of the same member that an entry must not meet: not itself, nor what shares its stretch of time."""
    return [
        other
        for other in others
        if other.member_id == entry.member_id
        and (other.pk is None or other.pk != entry.pk)
        and (entry.stretch is None or other.stretch != entry.stretch)
    ]


def times_of(entry: HoursEntry) -> Times | None:
    """From when to when: the end is None while it runs; None for an entry of minutes alone."""
    if entry.started_at is None or (entry.ended_at is None and entry.minutes is not None):
        return None
    return entry.started_at, entry.ended_at


def met(entry: HoursEntry, others: Iterable[HoursEntry]) -> HoursEntry | None:
    """The first of the others whose time an entry overlaps; to touch is not to overlap."""
    mine = times_of(entry)
    if mine is None:
        return None
    for other in apart(entry, others):
        theirs = times_of(other)
        if theirs and _before(theirs[0], mine[1]) and _before(mine[0], theirs[1]):
            return other
    return None


def _before(start: datetime.datetime, end: datetime.datetime | None) -> bool:
    return end is None or start < end


def snap(entry: HoursEntry, others: Iterable[HoursEntry]) -> None:
    """Begin an entry typed to the minute where another of the same minute ends, which has seconds as clocks have."""
    start = entry.started_at
    if start is None or start.second or start.microsecond:
        return
    ends = [other.ended_at for other in apart(entry, others) if other.is_timed and other.ended_at]
    latest = max((end for end in ends if start < end < start + MINUTE), default=None)
    if latest is None or (entry.ended_at is not None and latest > entry.ended_at):
        return
    entry.started_at = latest
    if entry.ended_at is not None and entry.minutes == minutes_of(entry.ended_at - start):
        entry.minutes = minutes_of(entry.ended_at - latest)


def refuse_impossible(
    entry: HoursEntry, others: Sequence[HoursEntry], *, zone: ZoneInfo, now: datetime.datetime
) -> None:
    """Refuse time that cannot have been worked, the `others` being what `near` finds.

    Errors: ValidationError keyed by field; one for an overlap names the other entry.
    """
    _refuse_future(entry, zone, now)
    _refuse_length(entry)
    if other := met(entry, others):
        raise ValidationError({"started_at": f"This overlaps with {named(other, zone)}."})
    _refuse_full_day(entry, others, zone)


def _refuse_future(entry: HoursEntry, zone: ZoneInfo, now: datetime.datetime) -> None:
    if entry.started_at and entry.ended_at and entry.ended_at < entry.started_at:
        raise ValidationError({"ended_at": "Work must not end before it starts."})
    for field in ("started_at", "ended_at"):
        moment = getattr(entry, field)
        if moment is not None and moment > now:
            raise ValidationError({field: f"This lies in the future: it is {_clock(now, zone)} now."})
    if entry.worked_on > now.astimezone(zone).date():
        raise ValidationError({"worked_on": "This day lies in the future."})


def _refuse_length(entry: HoursEntry) -> None:
    words = f"At most {LONGEST // datetime.timedelta(hours=1)} hours at one go."
    if entry.started_at and entry.ended_at:
        span = entry.ended_at - entry.started_at
        if span > LONGEST:
            raise ValidationError(
                {"ended_at": f"{words} From then to then is {said_minutes(minutes_of(span))}."}
            )
        off = abs(minutes_of(span) - entry.minutes) if entry.minutes is not None else Decimal(0)
        if entry.stretch is None and off > 1:
            said = said_minutes(minutes_of(span))
            raise ValidationError(
                {"minutes": f"From begin to end is {said}. Give the times or the minutes, not both."}
            )
    elif entry.minutes is not None and entry.minutes > minutes_of(LONGEST):
        raise ValidationError({"minutes": words})


def _refuse_full_day(entry: HoursEntry, others: Sequence[HoursEntry], zone: ZoneInfo) -> None:
    """Refuse what would make a day of the member's longer than it is, which is 23 or 25 hours when clocks change."""
    mine = dict(by_day(entry, zone))
    total: defaultdict[datetime.date, Decimal] = defaultdict(Decimal, mine)
    most: dict[datetime.date, tuple[Decimal, HoursEntry]] = {}
    for other in others:
        if other.member_id != entry.member_id or (other.pk is not None and other.pk == entry.pk):
            continue
        for day, minutes in by_day(other, zone):
            total[day] += minutes
            if day not in most or minutes > most[day][0]:
                most[day] = (minutes, other)
    for day, minutes in mine.items():
        # Shares of a stretch are rounded to the hundredth each.
        if minutes and total[day] > minutes_of(_day_length(day, zone)) + 1:
            told = f"{said_day(day)} would have {said_minutes(total[day])} of work"
            with_it = f", with {named(most[day][1], zone)}" if day in most else ""
            field = "ended_at" if entry.is_timed else "minutes"
            raise ValidationError({field: f"{told}{with_it}."})


def by_day(entry: HoursEntry, zone: ZoneInfo) -> Iterator[tuple[datetime.date, Decimal]]:
    """Minutes of an entry by the day they fall on: one that goes past midnight is parted there."""
    if entry.minutes is None:
        return
    if not (entry.started_at and entry.ended_at and entry.ended_at > entry.started_at):
        yield entry.worked_on, entry.minutes
        return
    span, start = entry.ended_at - entry.started_at, entry.started_at
    while start < entry.ended_at:
        day = start.astimezone(zone).date()
        end = min(entry.ended_at, _midnight(day + DAY, zone))
        yield day, entry.minutes * Decimal((end - start) / span)
        start = end


def _midnight(day: datetime.date, zone: ZoneInfo) -> datetime.datetime:
    return datetime.datetime.combine(day, datetime.time(), zone).astimezone(datetime.UTC)


def _day_length(day: datetime.date, zone: ZoneInfo) -> datetime.timedelta:
    return _midnight(day + DAY, zone) - _midnight(day, zone)


def named(entry: HoursEntry, zone: ZoneInfo) -> str:
    """An entry in words: `“sand” for Bowl, 3 March 2027, 9:00 to 10:00`."""
    words = f"“{entry.operation}” for {entry.commission.title}, "
    times = times_of(entry)
    if times is None:
        return f"{words}{said_day(entry.worked_on)}, {said_minutes(entry.minutes or Decimal(0))}"
    start, end = times
    words += f"{said_day(start.astimezone(zone).date())}, "
    if end is None:
        return f"{words}running since {_clock(start, zone)}"
    return f"{words}{_clock(start, zone)} to {_clock(end, zone)}"


def _clock(at: datetime.datetime, zone: ZoneInfo) -> str:
    there = at.astimezone(zone)
    return f"{there.hour}:{there:%M}"


def said_day(day: datetime.date) -> str:
    """A day in words: `3 March 2027`."""
    return f"{day.day} {day:%B} {day.year}"
