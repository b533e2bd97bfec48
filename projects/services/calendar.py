"""The calendar planned and kept; a job's promise taken over from it. Sought further in `calendar_search`."""

import datetime
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from estimating.calendar.promise import promise_day
from projects.calendar import AT_THE_BENCH, Inputs, JobInputs, changes, days_off, inputs_of, marks_now
from projects.calendar_rows import put_work
from projects.models import BenchHours, BenchStep, CalendarPlan, Commission, JobDates, Studio
from projects.models.bench import StepState
from projects.services.bench_changes import hold_bench
from projects.services.bench_clock import settle
from projects.services.commissions import commission_update
from projects.services.saving import checked

if TYPE_CHECKING:
    from estimating.calendar.jobs import Calendar, CalendarTask


def calendar_plan(*, studio: Studio, now: datetime.datetime | None = None, effort: int = 0) -> CalendarPlan:
    """Plan everything that is agreed or being made, around what has happened, and keep the plan with its dates.

    At effort 0 the answer comes in seconds; the higher ones are for a search in a process of its own. Jobs that cannot
    be worked out are left out and named in `trouble`. What is running or done is not moved. Nobody waits for the solver
    with the database held: of two who plan at once, what was gathered later stands, whole.
    Errors: ValidationError where the bench is never open, or nothing can be planned on it.
    """
    moment = now or timezone.now()
    settle(studio=studio, now=moment)
    inputs = inputs_of(studio, now=moment)
    found = inputs.planned(effort=effort)
    return keep(studio, inputs, found, effort=effort)


def keep(studio: Studio, inputs: Inputs, found: "Calendar | None", *, effort: int) -> CalendarPlan:
    """Write a plan down, unless one was written meanwhile that was gathered later."""
    with transaction.atomic():
        hold_bench(studio)
        plan, _ = CalendarPlan.objects.get_or_create(studio=studio)
        if plan.planned_at is not None and plan.planned_at > inputs.now:
            return plan
        _write_steps(studio, inputs, found)
        _write_dates(studio, inputs, found)
        plan.planned_at = inputs.now
        plan.finish = plan.bound = plan.bound_minutes = plan.visits = None
        plan.proven = False
        if found is not None:
            plan.finish, plan.bound = found.finish, min(found.bound, found.finish)
            plan.bound_minutes = max(0, int((plan.bound - inputs.now).total_seconds() // 60))
            plan.proven, plan.visits = found.proven, found.visits
        plan.effort, plan.marks = effort, dict(inputs.marks)
        plan.trouble = " ".join(inputs.left_out)
        return checked(plan)


def _write_steps(studio: Studio, inputs: Inputs, found: "Calendar | None") -> None:
    """The steps of all jobs as rows. Those that somebody has begun since they were gathered keep what has happened."""
    tasks: dict[str, list[CalendarTask]] = {}
    for task in found.tasks if found is not None else ():
        tasks.setdefault(task.job, []).append(task)
    for job in inputs.jobs:
        _write_job(job, tasks.get(job.name, []))
    _drop(BenchStep.objects.for_studio(studio).exclude(commission__stage__in=AT_THE_BENCH))


def _write_job(job: JobInputs, tasks: "Iterable[CalendarTask]") -> None:
    there = dict(BenchStep.objects.filter(commission=job.commission).values_list("pk", "state"))
    for task in tasks:
        row = job.by_name[task.step.key]
        row.planned_start, row.planned_end = task.start, task.end
        row.joint_key = task.joint[:160]
        if row.state == StepState.WAITING:
            put_work(row, task.step)
    new = [row for row in job.rows if row.pk is None]
    BenchStep.objects.bulk_create(_sound(new))
    waiting = [row for row in job.rows if row.state == StepState.WAITING and there.get(row.pk) in _OPEN]
    BenchStep.objects.bulk_update(_sound(waiting), _PLANNED, batch_size=100)
    _drop(BenchStep.objects.filter(pk__in=job.gathered - {row.pk for row in job.rows}))


_OPEN = (StepState.WAITING, StepState.DROPPED)
_PLANNED = (
    *("name", "kind", "position", "piece", "part", "glue_up", "rings", "layers", "shares", "minutes", "uses"),
    *(
        "after",
        "at_once_after",
        "attended",
        "planning",
        "joint_key",
        "planned_start",
        "planned_end",
        "card",
        "state",
    ),
)


def _sound(rows: "list[BenchStep]") -> "list[BenchStep]":
    """Rows checked as their model says, without asking the database for each: the lock holds others off."""
    for row in rows:
        row.full_clean(exclude={"commission"}, validate_unique=False, validate_constraints=False)
    return rows


def _drop(steps: Any) -> None:
    """Steps that wait and that nobody asks for any more."""
    steps.filter(state=StepState.WAITING).update(
        state=StepState.DROPPED, planned_start=None, planned_end=None
    )


def _write_dates(studio: Studio, inputs: Inputs, found: "Calendar | None") -> None:
    JobDates.objects.for_studio(studio).exclude(
        commission__in=[job.commission.pk for job in inputs.jobs]
    ).delete()
    if found is None:
        return
    for times in found.jobs:
        commission = next(job.commission for job in inputs.jobs if job.name == times.name)
        dates = JobDates.objects.filter(commission=commission).first() or JobDates(commission=commission)
        dates.finish, dates.likely = times.finish, max(times.likely, times.finish)
        dates.planned_at = inputs.now
        checked(dates)


def calendar_changes(calendar: CalendarPlan) -> list[str]:
    """What has changed since the plan was made, in words: designs, bench, hours, days off, jobs come or gone."""
    studio = calendar.studio
    titles = dict(Commission.objects.for_studio(studio).values_list("pk", "title"))
    try:
        now = marks_now(studio)
    except ValidationError as refusal:
        return list(refusal.messages)
    return changes(calendar.marks, now, {str(key): title for key, title in titles.items()})


def promise_take(*, commission: Commission, buffer: float = 0.0) -> Commission:
    """Promise a commission for the day that the calendar gives with 80 % confidence, and a share of the time in hand.

    The day is one on which the bench is open. Errors: ValidationError where the calendar has no date for it.
    """
    day = promised_day(commission, buffer=buffer)
    if day is None:
        raise ValidationError("The calendar has no date for this. Plan first.")
    return commission_update(commission=commission, promised_on=day)


def promised_day(commission: Commission, *, buffer: float = 0.0) -> datetime.date | None:
    """The day that `promise_take` would promise; None where the calendar has no date."""
    dates = JobDates.objects.filter(commission=commission).first()
    if dates is None:
        return None
    return day_to_promise(commission.studio, planned_at=dates.planned_at, likely=dates.likely, buffer=buffer)


def day_to_promise(
    studio: Studio, *, planned_at: datetime.datetime, likely: datetime.datetime, buffer: float
) -> datetime.date:
    """The day to promise for a job that is likely done by then, on which the studio's bench is open."""
    zone = studio.bench.zone
    planned_on = planned_at.astimezone(zone).date()
    off = days_off(studio, first=planned_on)
    weekdays = set(BenchHours.objects.for_studio(studio).values_list("weekday", flat=True))
    return promise_day(
        planned_on=planned_on,
        likely=max(planned_on, likely.astimezone(zone).date()),
        buffer=buffer,
        is_open=lambda day: day.weekday() in weekdays and day not in off,
    )
