"""What a calendar is asked and what it answers: jobs with their steps, what has happened of them, and when is what."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from estimating.steps.step import Step


@dataclass(frozen=True, slots=True)
class Happened:
    """A step that has been begun, and ended where `end` is known."""

    start: datetime
    end: datetime | None = None


@dataclass(frozen=True)
class CalendarJob:
    """One job on the bench. `name` tells it apart from the others; `due` is when it is to be done.

    `happened` is what has been begun or done, by the key of its step; `spreads` the log-normal spread of each
    operation, that of the standing rates where it says none.
    """

    name: str
    steps: tuple[Step, ...]
    due: datetime | None = None
    happened: Mapping[str, Happened] = field(default_factory=dict)
    spreads: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CalendarTask:
    """A step on the calendar, of what is still to be done or running.

    `step` has the minutes and shares that are this job's own where a set-up or a mix serves several; `with_jobs` names
    the others that `joint` is common to: their tasks follow one another on a machine that stays as it is set.
    """

    job: str
    step: Step
    start: datetime
    end: datetime
    running: bool = False
    joint: str = ""
    with_jobs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class JobTimes:
    """When a job begins what is left of it and ends; `likely` is the end that it keeps four times in five.

    `late` is by how many minutes the end lies past what was due.
    """

    name: str
    start: datetime
    finish: datetime
    likely: datetime
    late: int = 0


@dataclass(frozen=True)
class Calendar:
    """Everything in its time. The last job cannot be done before `bound`; `proven`: no plan is better than this one.

    `tasks` are in order of their starts. `visits` counts the stretches of bench hours in which somebody is needed.
    """

    start: datetime
    finish: datetime
    bound: datetime
    proven: bool
    tasks: tuple[CalendarTask, ...]
    jobs: tuple[JobTimes, ...]
    visits: int

    def job(self, name: str) -> JobTimes:
        """The times of one job."""
        return next(times for times in self.jobs if times.name == name)
