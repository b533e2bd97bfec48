"""A calendar sought further in a process of its own: effort after effort, each answer kept at once."""

import logging
import secrets
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from projects.calendar import inputs_of
from projects.models import CalendarPlan, Studio
from projects.models.calendar import EFFORTS
from projects.services.bench_changes import hold_bench
from projects.services.bench_clock import settle
from projects.services.calendar import calendar_plan, keep
from projects.services.saving import checked

log = logging.getLogger(__name__)


def calendar_begin(*, studio: Studio) -> CalendarPlan:
    """Claim the planning of everything anew, for `search_start` to do behind the page: `first_answer`.

    A search that has fallen silent is taken over. Errors: ValidationError where one runs.
    """
    with transaction.atomic():
        hold_bench(studio)
        plan, _ = CalendarPlan.objects.get_or_create(studio=studio)
        if plan.is_running:
            raise ValidationError("It is being planned already.")
        plan.runner, plan.beat_at = secrets.token_hex(16), timezone.now()
        return checked(plan)


def first_answer(*, studio: Studio, runner: str) -> None:
    """Plan anew as the plan's `runner`, no further than the first answer; why it could not be stands in `trouble`."""
    _searched(studio, runner, lambda: beat(studio, runner) and calendar_plan(studio=studio))


def calendar_seek(*, studio: Studio) -> CalendarPlan:
    """Claim a longer search, which `search_start` starts. A search that has fallen silent is taken over.

    Errors: ValidationError where one runs, where nothing is planned yet, or the plan is proven the best.
    """
    with transaction.atomic():
        hold_bench(studio)
        plan = CalendarPlan.objects.for_studio(studio).first()
        if plan is None or plan.planned_at is None:
            raise ValidationError("Plan first.")
        if plan.is_running:
            raise ValidationError("A search runs already.")
        if plan.proven:
            raise ValidationError("This plan is proven the earliest.")
        plan.runner, plan.beat_at = secrets.token_hex(16), timezone.now()
        return checked(plan)


def search_start(calendar: CalendarPlan, *, anew: bool = False) -> None:
    """Start what was claimed, in a process of its own that outlives this request: `first_answer` where it is `anew`."""
    if not calendar.runner:
        return
    manage = Path(settings.BASE_DIR) / "manage.py"
    command = ["plan_calendar", str(calendar.studio_id), "--runner", calendar.runner]
    subprocess.Popen(
        [sys.executable, str(manage), *command, *(["--anew"] if anew else [])],
        cwd=settings.BASE_DIR,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        start_new_session=True,
    )


def search_stop(*, studio: Studio) -> None:
    """Give up the search that runs; its process ends at its next sign, and what it found is kept."""
    CalendarPlan.objects.for_studio(studio).update(runner="")


def search(*, studio: Studio, runner: str) -> None:
    """Seek further as the plan's `runner`, until it is proven, all efforts are tried, or someone stops it."""

    def seek() -> None:
        for effort in EFFORTS[1:]:
            if not beat(studio, runner):
                return
            now = timezone.now()
            settle(studio=studio, now=now)
            inputs = inputs_of(studio, now=now)
            found = inputs.planned(effort=effort)
            if not beat(studio, runner):
                return
            if keep(studio, inputs, found, effort=effort).proven:
                return

    _searched(studio, runner, seek)


def _searched(studio: Studio, runner: str, work: Callable[[], object]) -> None:
    """Do the work as the plan's runner; whatever comes of it, the claim is given up and what went wrong is said."""
    try:
        work()
    except ValidationError as refusal:
        _mine(studio, runner).update(trouble=" ".join(refusal.messages))
    except Exception:
        log.exception("The search for the calendar of studio %s broke off", studio.pk)
        _mine(studio, runner).update(trouble="The search broke off. The plan found before stands.")
        raise
    finally:
        _mine(studio, runner).update(runner="")


def beat(studio: Studio, runner: str) -> bool:
    """Sign that the search lives. Whether it is still this runner's."""
    return bool(runner) and bool(_mine(studio, runner).update(beat_at=timezone.now()))


def _mine(studio: Studio, runner: str):  # type: ignore[no-untyped-def]
    return CalendarPlan.objects.for_studio(studio).filter(runner=runner).exclude(runner="")
