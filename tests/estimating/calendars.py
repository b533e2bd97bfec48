"""Calendars for the tests: jobs made from sheets, a bench, and a check of all rules that no scheduler had a hand in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, time, timedelta
from functools import cache
from typing import Any

from estimating.calendar.jobs import Calendar, CalendarJob, CalendarTask
from estimating.estimate import Estimate, estimate
from estimating.rooms import Bench
from estimating.sheet import read_sheet
from estimating.steps.of_job import steps_of
from estimating.steps.step import MACHINES, Step
from tests.estimating.sheets import Json, bowl

MONDAY = datetime(2027, 3, 1, 8, tzinfo=UTC)
DAY = ((time(8), time(12)), (time(13), time(17)))
WEEK = (DAY,) * 5 + ((), ())


def bench(**changes: Any) -> Bench:
    """A bench that is open on weekdays, mornings and afternoons, with one of everything and four ring clamps."""
    return Bench(**{"start": MONDAY, "hours": WEEK, "ring_clamps": 4, **changes})


def estimated(sheet: Json) -> Estimate:
    return estimate(read_sheet(sheet))


def steps(sheet: Json, *, session: float = 120.0) -> tuple[Step, ...]:
    found = estimated(sheet)
    return steps_of(found.job, found.labour, session=session)


@cache
def bowl_steps() -> tuple[Step, ...]:
    return steps(bowl())


def job(name: str = "bowl", sheet: Json | None = None, **changes: Any) -> CalendarJob:
    return CalendarJob(name, bowl_steps() if sheet is None else steps(sheet), **changes)


def by_key(calendar: Calendar, name: str = "bowl") -> dict[str, CalendarTask]:
    return {task.step.key: task for task in calendar.tasks if task.job == name}


def minutes(one: datetime, other: datetime) -> float:
    """Minutes that really pass."""
    if one.tzinfo is not None:
        one, other = one.astimezone(UTC), other.astimezone(UTC)
    return (other - one).total_seconds() / 60


def check(calendar: Calendar, jobs: Sequence[CalendarJob], at: Bench) -> None:
    """Everything that is planned keeps every rule; `at.start` is now."""
    for one in jobs:
        check_job(calendar, one)
    for task in calendar.tasks:
        if not task.running:
            assert task.start >= at.start or not task.step.is_hands_on
            check_hours(task, at)
    capacities = {
        "person": at.people, "mandrel": at.mandrels, "jig": at.jigs, "press": at.presses,
        "ring_clamp": at.ring_clamps, "saw": 1, "fence": 1, "planer": 1,
    }  # fmt: skip
    shared = any(
        task.joint for task in calendar.tasks
    )  # a setting that serves several is on for all of them at once
    for resource, most in capacities.items():
        if shared and resource in MACHINES:
            continue
        check_resource(resource, most, taken(calendar, resource))
    assert calendar.finish == max(times.finish for times in calendar.jobs)
    assert calendar.bound <= calendar.finish
    assert all(times.likely >= times.finish for times in calendar.jobs)


def check_job(calendar: Calendar, one: CalendarJob) -> None:
    """Every step that is not over is there once, after what it waits for, and as long as it takes."""
    tasks = by_key(calendar, one.name)
    known = {step.key for step in one.steps}
    assert set(tasks) <= known
    assert {step.key for step in one.steps if step.is_hands_on} <= set(tasks) | set(one.happened)
    off = 0.0
    for step in one.steps:
        task = tasks.get(step.key)
        if task is None:
            continue
        for key in step.after:
            if key in tasks:
                assert tasks[key].end <= task.start, (key, step.key)
        if step.at_once_after in tasks:
            assert tasks[step.at_once_after].end == task.start
        took = minutes(task.start, task.end)
        if step.is_hands_on and not task.running:
            off += took - task.step.minutes
            assert abs(off) < 1 or task.step.minutes < 1
        elif not task.running:
            assert 0 <= took - step.minutes < 1


def check_hours(task: CalendarTask, at: Bench) -> None:
    """Hands-on work lies in one stretch of bench hours; what somebody has to begin is begun in one."""
    day = task.start.date()
    hours = at.hours[day.weekday()] if day not in at.days_off else ()
    inside = [
        (opens, closes)
        for opens, closes in hours
        if opens <= task.start.time().replace(tzinfo=None) <= closes
    ]
    if task.step.attended:
        assert inside, task.step.key
    if task.step.is_hands_on:
        assert task.end.date() == day
        assert any(task.end.time().replace(tzinfo=None) <= closes for _, closes in inside), task.step.key


def taken(calendar: Calendar, resource: str) -> list[tuple[datetime, datetime, int]]:
    """From when to when how many of a resource are taken, holds from their first step to their last as one."""
    found = []
    for name in {task.job for task in calendar.tasks}:
        tasks = by_key(calendar, name)
        for key, task in tasks.items():
            held = next((one for one in task.step.holds if one.resource == resource), None)
            count = dict(task.step.uses).get(resource, 0)
            if held and held.until in tasks:
                until = tasks[held.until]
                found.append((task.start, until.end if held.to_end else until.start, 1))
            elif count and not _within_a_hold(tasks, key, resource):
                found.append((task.start, task.end, count))
    return found


def _within_a_hold(tasks: Mapping[str, CalendarTask], key: str, resource: str) -> bool:
    """Whether a hold on the resource goes over this task, so that it is not to be counted twice."""
    for first in tasks.values():
        for held in first.step.holds:
            if held.resource == resource and held.until in tasks:
                until = tasks[held.until]
                end = until.end if held.to_end else until.start
                if first.start <= tasks[key].start and tasks[key].end <= end:
                    return True
    return False


def check_resource(resource: str, most: int, spans: Iterable[tuple[datetime, datetime, int]]) -> None:
    """At no minute is more taken than there is."""
    spans = list(spans)
    for moment, _, _ in spans:
        at_once = sum(count for start, end, count in spans if start <= moment < end)
        assert at_once <= most, (resource, moment, at_once)


def past(hours: float) -> datetime:
    """So many hours after the bench's start."""
    return MONDAY + timedelta(hours=hours)


def on(day: int, hour: int, minute: int = 0) -> datetime:
    """An hour of March."""
    return datetime(2027, 3, day, hour, minute, tzinfo=UTC)
