"""What the clock alone does at the bench: adhesive sets and cures, wood rests, finish dries, what follows begins."""

import datetime
from collections.abc import Iterator
from typing import Any

from django.db import transaction
from django.utils import timezone

from projects.calendar_rows import Chain
from projects.models import BenchStep, Studio
from projects.models.bench import StepKind, StepState
from projects.services.bench_changes import hold_bench
from projects.services.saving import checked


def settle(*, studio: Studio, now: datetime.datetime | None = None) -> None:
    """Bring the steps up to the clock: adhesive that has set or cured is done, and what is left alone next begins.

    Everything follows from stored times, so that it may be called at any time, and as often as one likes.
    """
    with transaction.atomic():
        settle_held(hold_bench(studio), now or timezone.now())


def settle_held(studio: Studio, now: datetime.datetime) -> None:
    """The same with the bench held already."""
    steps = (
        BenchStep.objects.for_studio(studio).live().select_related("commission").order_by("position", "pk")
    )
    open_jobs = steps.exclude(kind=StepKind.HANDS_ON).filter(state__in=(StepState.WAITING, StepState.RUNNING))
    jobs: dict[int, list[BenchStep]] = {}
    for step in steps.filter(commission__in=open_jobs.values("commission")):
        jobs.setdefault(step.commission_id, []).append(step)
    for rows in jobs.values():
        for step, values in go_on(Chain(rows), now=now):
            for name, value in values.items():
                setattr(step, name, value)
            checked(step)


def go_on(chain: Chain, *, now: datetime.datetime) -> Iterator[tuple[BenchStep, dict[str, Any]]]:
    """What the clock alone does to the steps: those left alone end by their minutes, and the next of them begin.

    Yields each step with the fields to set, which the caller sets before it asks for the next.
    """
    moved = True
    while moved:
        moved = False
        for step in chain.steps:
            values = _by_the_clock(chain, step, now)
            if values:
                moved = True
                yield step, values


def _by_the_clock(chain: Chain, step: BenchStep, now: datetime.datetime) -> dict[str, Any]:
    if not step.is_passive:
        return {}
    if step.state == StepState.RUNNING and step.ends_at is not None and step.ends_at <= now:
        return {"state": StepState.DONE, "ended_at": step.ends_at}
    if step.state != StepState.WAITING or step.attended:
        return {}
    before = chain.before(step)
    ends = [one.ended_at for one in before if one.state == StepState.DONE and one.ended_at is not None]
    if not before or len(ends) < len(before) or max(ends) > now:
        return {}
    return {"state": StepState.RUNNING, "started_at": max(ends)}
