"""What the answer says of time at the bench: each glue-up's minutes, and the schedule where the sheet has a bench."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from estimating.calendar.jobs import CalendarTask
from estimating.estimate import Estimate
from estimating.glue.label import times_at
from estimating.steps.stacks import TAKING_DOWN
from estimating.steps.step import MACHINES, PERSON
from estimating.work.glue_work import hands_on_minutes


def answer_glue_ups(estimate: Estimate) -> list[dict[str, Any]]:
    """Every glue-up of one piece; minutes, those of setting, pressing and curing at the bench's temperature."""
    minutes = hands_on_minutes(estimate.job, estimate.labour)
    times = times_at(estimate.sheet.shop, estimate.sheet.label)
    return [
        {
            "number": glue_up.number,
            "kind": glue_up.kind,
            "rings": list(glue_up.rings),
            "layers": list(glue_up.layers),
            "joins": list(glue_up.joins),
            "after": list(glue_up.after),
            "held": glue_up.held,
            "from_rim": glue_up.from_rim,
            "hands_on": minutes[glue_up.number],
            "set": times.set,
            "set_most": times.set_most,
            "press": 0.0 if glue_up.held == "ring_clamp" else times.press,
            "cure": times.cure,
        }
        for glue_up in estimate.glue_ups
    ]


def answer_schedule(estimate: Estimate) -> dict[str, Any]:
    """The schedule, where the sheet has a bench; else nothing. Times as ISO 8601 has them, to the minute."""
    schedule = estimate.schedule
    if schedule is None:
        return {}
    (job,) = schedule.jobs
    numbers = {task.step.key: number for number, task in enumerate(schedule.tasks, start=1)}
    return {
        "schedule": {
            "start": schedule.start.isoformat(),
            "finish": schedule.finish.isoformat(),
            "likely": job.likely.isoformat(),
            "bound": schedule.bound.isoformat(),
            "proven": schedule.proven,
            "visits": schedule.visits,
            "tasks": [_task(task, numbers) for task in schedule.tasks],
        }
    }


def _task(task: CalendarTask, numbers: dict[str, int]) -> dict[str, Any]:
    step = task.step
    trues = any(share.operation == TAKING_DOWN for share in step.shares)  # when all of its glue-up is over
    return {
        "number": numbers[step.key],
        "key": step.key,
        "name": step.name,
        "kind": step.kind,
        "piece": step.piece or None,
        "part": step.part,
        "glue_up": None if trues else step.glue_up,
        "start": task.start.isoformat(),
        "end": task.end.isoformat(),
        "minutes": step.minutes,
        "uses": [name for name, _ in step.uses if name != PERSON and name not in MACHINES],
        "after": sorted(numbers[key] for key in step.after),
    }


def report_schedule(estimate: Estimate) -> Iterator[str]:
    """The schedule as lines of the report: the answer first, then a line a task."""
    schedule = estimate.schedule
    if schedule is None:
        return
    proof = (
        "no plan is done earlier" if schedule.proven else f"none is done before {_written(schedule.bound)}"
    )
    yield (
        f"CALENDAR: done {_written(schedule.finish)} at the earliest ({proof}), by {_written(schedule.jobs[0].likely)} "
        f"four times in five; {schedule.visits} stretches at the bench"
    )
    for task in schedule.tasks:
        by_hand = "" if task.step.is_hands_on else "  "
        yield f"{_written(task.start)} to {_written(task.end)}  {by_hand}{task.step.name}"


def _written(at: datetime) -> str:
    """A date and a time as they are written in lists, with the day of the week.

    >>> _written(datetime(2027, 3, 1, 8))
    'Mon 2027-03-01 08:00'
    """
    day = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")[at.weekday()]
    return f"{day} {at:%Y-%m-%d %H:%M}"
