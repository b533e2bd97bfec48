"""When a commission would be done if it were agreed now, beside all that is on the bench; nothing of it is kept."""

import datetime
from dataclasses import replace
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.calendar import AT_THE_BENCH, JobInputs, estimated, inputs_of, steps_of_job
from projects.calendar_rows import fill
from projects.models import BenchStep, Commission

if TYPE_CHECKING:
    from estimating.calendar.jobs import JobTimes


def asked_times(*, commission: Commission, now: datetime.datetime | None = None) -> "JobTimes":
    """The times it would have, as the first answer of the planner gives them.

    Errors: ValidationError for one that stands on the calendar already, that has no design or cannot be worked out,
    and where the bench is never open.
    """
    if commission.stage in AT_THE_BENCH:
        raise ValidationError(f"{commission.title} stands on the calendar already.")
    studio = commission.studio
    inputs = inputs_of(studio, now=now or timezone.now())
    steps = steps_of_job(estimated(commission), session=studio.bench.session_min)
    rows = tuple(fill(BenchStep(commission=commission, key=step.key), step) for step in steps)
    asked = JobInputs(commission, rows, "", frozenset())
    calendar = replace(inputs, jobs=(*inputs.jobs, asked)).planned(effort=0)
    if calendar is None:
        raise ValidationError("Nothing could be planned.")
    return calendar.job(asked.name)
