"""The calendar planned, sought further and kept; a job's promise taken over from it."""

import datetime

from projects.models import CalendarPlan, Commission, Studio


def calendar_plan(*, studio: Studio, now: datetime.datetime | None = None, effort: int = 0) -> CalendarPlan:
    """Plan everything that is agreed or being made, around what has happened, and keep the plan with its dates.

    At effort 0 the answer comes in seconds; the higher ones are for `calendar_seek`. Jobs that cannot be worked out
    are left out and named in `trouble`. What is running or done is not moved. Nobody waits for the solver with the
    database held: of two who plan at once, what was gathered later stands, whole.
    Errors: ValidationError where the bench is never open.
    """
    raise NotImplementedError


def calendar_seek(*, studio: Studio) -> CalendarPlan:
    """Claim a longer search; `search_start` starts it. Errors: ValidationError where one runs, or nothing is planned."""
    raise NotImplementedError


def search_start(calendar: CalendarPlan) -> None:
    """Start the search that was claimed, in a process of its own that outlives this request."""
    raise NotImplementedError


def calendar_changes(calendar: CalendarPlan) -> list[str]:
    """What has changed since the plan was made, in words: designs, bench, hours, days off, jobs come or gone."""
    raise NotImplementedError


def promise_take(*, commission: Commission, likely: bool = True) -> Commission:
    """Promise a commission for the day the calendar gives: the likely one, else the earliest.

    Errors: ValidationError where the calendar has no date for it.
    """
    raise NotImplementedError
