"""The calendar in words: when each job is done, against what was promised; its steps day by day; its picture."""

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from projects.calendar import AT_THE_BENCH
from projects.models import BenchStep, CalendarPlan, Commission, JobDates, Studio
from projects.models.bench import StepKind, StepState
from projects.pages.calendar_days import Wall, said_count, said_day, said_span, short_day

LOOKED_BACK = datetime.timedelta(days=2)
"""How long a step that is done stays on the page."""

_STATES = {StepState.DONE: "done", StepState.RUNNING: "under way"}


@dataclass(frozen=True, slots=True)
class Placed:
    """A step where it stands: as it was where it has begun, else as it is planned."""

    step: BenchStep
    start: datetime.datetime
    end: datetime.datetime


@dataclass(frozen=True)
class JobRow:
    """One commission on the calendar. `tone` is late, close or good; days are the bench's."""

    job: Commission
    mark: str
    done_at: datetime.datetime
    finish: datetime.date
    likely: datetime.date
    words: str
    tone: str
    minutes: int


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of a day's list: something done by hand, for one job or for several at once."""

    time: str
    until: str
    words: str
    marks: tuple[str, ...]
    jobs: int
    state: str


@dataclass
class DayRows:
    """A day with the work that begins on it; `reason` where the bench is closed.

    `alone` says what is left alone from that day on: how many times of each kind, and when the last is over.
    """

    day: datetime.date
    reason: str = ""
    entries: list[Entry] = field(default_factory=list)
    minutes: int = 0
    alone: str = ""

    @property
    def over(self) -> bool:
        """Whether all its work is done."""
        return all(entry.state == "done" for entry in self.entries)


def mark_of(number: int) -> str:
    """The short mark of a job, counted from 0: A, B, ... Z, A2, ..."""
    letter = chr(ord("A") + number % 26)
    return letter if number < 26 else f"{letter}{number // 26 + 1}"


def jobs_planned(studio: Studio) -> list[Commission]:
    """What the calendar is for, by promised date: agreed or being made."""
    rows = Commission.objects.for_studio(studio).filter(stage__in=AT_THE_BENCH)
    return list(rows.job_list().select_related("client", "design", "dates"))


def dates_of(job: Commission) -> JobDates | None:
    """When the calendar says a job is done; None where it does not."""
    return getattr(job, "dates", None)


def placed_steps(studio: Studio, now: datetime.datetime) -> list[Placed]:
    """The steps of all that is planned, in order of their starts; those done lately are among them."""
    rows = BenchStep.objects.for_studio(studio).live().by_time().defer("card")
    kept = rows.filter(commission__stage__in=AT_THE_BENCH).exclude(ended_at__lt=now - LOOKED_BACK)
    found = []
    for step in kept:
        start, end = step.started_at or step.planned_start, step.ends_at or step.planned_end
        if start is None or end is None:
            continue
        if step.state == StepState.RUNNING and step.kind == StepKind.HANDS_ON:
            end = max(end, now)
        found.append(Placed(step, start, end))
    return sorted(found, key=lambda placed: (placed.start, placed.end, placed.step.position))


def job_row(job: Commission, dates: JobDates, wall: Wall, *, mark: str, steps: Sequence[Placed]) -> JobRow:
    """A job's dates, in words against its promise."""
    finish, likely = wall.day(dates.finish), wall.day(dates.likely)
    words, tone = verdict(finish=finish, likely=likely, promised=job.promised_on)
    minutes = sum(
        placed.step.minutes
        for placed in steps
        if placed.step.commission_id == job.pk
        and placed.step.kind == StepKind.HANDS_ON
        and placed.step.state == StepState.WAITING
    )
    return JobRow(job, mark, dates.finish, finish, likely, words, tone, minutes)


def verdict(
    *, finish: datetime.date, likely: datetime.date, promised: datetime.date | None
) -> tuple[str, str]:
    """What the dates mean for a promise, and how that is marked: late, close or good."""
    if promised is None:
        return "no date promised yet", ""
    if finish > promised:
        return f"late by {said_count((finish - promised).days, 'day')} at the earliest", "late"
    if likely > promised:
        over = said_count((likely - promised).days, "day")
        return f"in time if all goes well; {over} late at the 80 % date", "close"
    hand = (promised - likely).days
    return (
        "in time, with no day in hand" if hand == 0 else f"in time, {said_count(hand, 'day')} in hand"
    ), "good"


def plan_words(plan: CalendarPlan) -> str:
    """How good the plan is, never better than it is known to be."""
    if plan.finish is None:
        return ""
    if plan.proven:
        return "No plan with these steps and hours has all of it done earlier: that is proven."
    if plan.bound is None:
        return "How near it is to the earliest possible is not known yet."
    gap = plan.finish - plan.bound
    return f"It is not proven the best: another could be earlier, but by {said_span(gap)} at the most."


def days_listed(
    steps: Sequence[Placed], wall: Wall, marks: dict[int, str], closed: dict[datetime.date, str]
) -> list[DayRows]:
    """The steps day by day; one doing that serves several jobs is one line."""
    days: dict[datetime.date, DayRows] = {}
    alone: dict[datetime.date, list[Placed]] = defaultdict(list)
    for doing in _doings(steps):
        day = wall.day(doing[0].start)
        row = days.setdefault(day, DayRows(day, closed.get(day, "")))
        if doing[0].step.is_passive:
            alone[day] += doing
        else:
            row.entries.append(_entry(doing, wall, marks))
            row.minutes += sum(placed.step.minutes for placed in doing)
    for day, placed in alone.items():
        days[day].alone = _alone_words(placed, wall)
    return [days[day] for day in sorted(days)]


def _alone_words(steps: Sequence[Placed], wall: Wall) -> str:
    """`3 setting, 3 curing; the last is over on Tue 2 Mar, 7:30`."""
    kinds = Counter(StepKind(placed.step.kind).label for placed in steps)
    counted = ", ".join(f"{count} {kind}" for kind, count in kinds.items())
    end = max(placed.end for placed in steps)
    last = f"{short_day(wall.day(end))}, {wall.time(end)}"
    return f"{counted}; {'over' if len(steps) == 1 else 'the last is over'} on {last}"


def _doings(steps: Iterable[Placed]) -> list[list[Placed]]:
    """Steps of several jobs with one joint key together, the others each by itself; in order of their starts."""
    joint: dict[tuple[str, int], list[Placed]] = defaultdict(list)
    found: list[list[Placed]] = []
    for placed in steps:
        if not placed.step.joint_key:
            found.append([placed])
            continue
        doing = joint[placed.step.joint_key, placed.step.run]
        if not doing:
            found.append(doing)
        doing.append(placed)
    return found


def _entry(doing: Sequence[Placed], wall: Wall, marks: dict[int, str]) -> Entry:
    start, end = min(placed.start for placed in doing), max(placed.end for placed in doing)
    jobs = dict.fromkeys(placed.step.commission_id for placed in doing)
    return Entry(
        time=wall.time(start),
        until=wall.time(end) if wall.day(start) == wall.day(end) else short_day(wall.day(end)),
        words=doing[0].step.name,
        marks=tuple(marks.get(job, "") for job in jobs),
        jobs=len(jobs),
        state=_STATES.get(StepState(doing[0].step.state), ""),
    )


def answer_words(rows: Sequence[JobRow], today: datetime.date) -> tuple[str, str]:
    """When all of it is done: at the earliest, and with 80 % confidence, as days in words."""
    finish, likely = max(row.finish for row in rows), max(row.likely for row in rows)
    return said_day(finish, near=today), said_day(likely, near=today)


NEVER_OPEN = "The bench is never open. Set its hours first."
"""As the planner refuses it."""

NAMED = 2
"""Jobs that an answer names one by one; more are counted."""


def toned_words(rows: Sequence[JobRow], tone: str, counted: str) -> str:
    """Which jobs are late, or close to it: each with its days, or how many where there are more than two."""
    found = [row for row in rows if row.tone == tone]
    if len(found) > NAMED:
        return f"{len(found)} are {counted}."
    return " ".join(f"{row.job.title} is {row.words}." for row in found)


def holding_up(studio: Studio, jobs: Sequence[Commission], plan: CalendarPlan | None) -> list[str]:
    """What keeps the calendar from planning all of it, in words."""
    undrawn = [f"{job.title} has no design yet." for job in jobs if job.design_id is None]
    trouble = plan.trouble if plan is not None else ""
    for words in undrawn:
        trouble = trouble.replace(words, "")
    closed = [] if studio.bench_hours.exists() else [NEVER_OPEN]
    return [*closed, *undrawn, *(words for words in [trouble.replace(NEVER_OPEN, "").strip()] if words)]
