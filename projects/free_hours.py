"""The bench's hours that are still free before a day: when it is open, less what is planned for other commissions."""

import datetime
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db.models import Sum

from projects import models
from projects.calendar import bench_of
from projects.models.bench import StepKind, StepState

LONGEST_AHEAD = 3 * 366
"""Holidays are known so far ahead, days."""


@dataclass(frozen=True, slots=True)
class FreeHours:
    """Hours from now until the end of a day: those the bench is open, by its people, and those that are planned."""

    open: float
    planned: float

    @property
    def free(self) -> float:
        """What is left of them, never less than nothing."""
        return max(0.0, self.open - self.planned)


def free_hours(
    studio: models.Studio, *, until: datetime.date, now: datetime.datetime, besides: models.Commission
) -> FreeHours | None:
    """Free hours until the end of a day, the work of one commission not counted; None where the bench has no hours.

    A step that begins by then counts whole. Work that no calendar has planned yet is not known, so not counted.
    """
    # Imported here since the calendar's arithmetic is asked for on this page alone.
    from estimating.calendar.hours import minute_of, windows

    here = now.astimezone(studio.bench.zone)
    try:
        bench = bench_of(studio, now=here)
    except ValidationError:
        return None
    days = min((until - here.date()).days + 1, LONGEST_AHEAD)
    start = minute_of(bench, here)
    minutes = sum(max(0, last - max(first, start)) for first, last in windows(bench, max(days, 0)))
    end = datetime.datetime.combine(until + datetime.timedelta(days=1), datetime.time(), tzinfo=here.tzinfo)
    planned = (
        models.BenchStep.objects.for_studio(studio)
        .filter(kind=StepKind.HANDS_ON, planned_start__lt=end)
        .filter(state__in=(StepState.WAITING, StepState.RUNNING))
        .exclude(commission=besides)
        .aggregate(spent=Sum("minutes"))["spent"]
    )
    return FreeHours(open=minutes * bench.people / 60, planned=(planned or 0) / 60)
