"""The bench's one door: what a maker taps, done once however often it is sent."""

import datetime
import json
import uuid as uuids
from collections.abc import Callable, Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.db import transaction
from django.utils import timezone

from projects.models import BenchStep, BenchTap, Member, Studio
from projects.models.bench import StepState, TapAct
from projects.services import bench_taps
from projects.services.bench_changes import Chain, Doing, Refused, go_on, hold_bench, trusted
from projects.services.bench_undo import undo
from projects.services.bench_wrong import dates_after, wrong
from projects.services.saving import checked

MOST_PAYLOAD = 20_000

_ACTS: Mapping[str, Callable[[Doing], str]] = {
    TapAct.START: bench_taps.start,
    TapAct.END: bench_taps.end,
    TapAct.MIXED: bench_taps.mixed,
    TapAct.NOTE: bench_taps.note,
    TapAct.MEASURE: bench_taps.measure,
    TapAct.WRONG: wrong,
    TapAct.UNDO: undo,
}


def bench_tap(
    *,
    member: Member,
    uuid: uuids.UUID,
    act: str,
    step: BenchStep,
    at: datetime.datetime | None = None,
    payload: Mapping[str, Any] | None = None,
    photo: File | None = None,
) -> BenchTap:
    """Do what was tapped, and keep the tap; the same `uuid` again gives the tap as it was kept, and does nothing.

    `at` is when it was tapped, with its time zone; None for now. `payload` by `act`: end {"minutes"} or nothing,
    note {"text"}, photo {"text"} or nothing, measure {"height_mm", "run_out_mm"}, wrong {"kind", "note", "layers",
    "rings"}, undo {"uuid"} of the tap to take back or nothing for the member's last one on the step.
    The tap says in `accepted` whether it was done and in `outcome` what the maker is told; one that is refused is
    kept too, so that it need not be sent again. After "wrong" the calendar is planned anew, and `outcome` has the new
    date.
    Errors: ValidationError by field, with nothing kept, for what no later sending will mend: `step` of another studio,
    `at` in the future or too old, an unknown `act`, a payload that cannot be read, a `photo` that is none.
    """
    now = timezone.now()
    when = trusted(at, now)
    told = _readable(payload)
    with transaction.atomic():
        studio = hold_bench(member.studio_id)
        known: BenchTap | None = BenchTap.objects.for_studio(studio).filter(uuid=uuid).first()
        if known is not None:
            return known
        row = BenchStep.objects.for_studio(studio).select_related("commission").filter(pk=step.pk).first()
        if row is None:
            raise ValidationError({"step": "Choose a step of this studio."})
        tap = BenchTap(studio=studio, member=member, uuid=uuid, act=act, step=row, at=when, received_at=now)
        tap.payload = told
        checked(tap)
        _settle(studio, now)
        row.refresh_from_db()
        _do(Doing(tap, row), photo)
        checked(tap)
    if tap.accepted and act == TapAct.WRONG:
        tap.outcome = f"{tap.outcome} {dates_after(row.commission)}"
        checked(tap)
    return tap


def _do(doing: Doing, photo: File | None) -> None:
    tap = doing.tap
    try:
        with transaction.atomic():
            tap.outcome = bench_taps.photo(doing, photo) if tap.act == TapAct.PHOTO else _ACTS[tap.act](doing)
    except Refused as refusal:
        tap.accepted, tap.outcome, tap.changed = False, str(refusal), {}


def _readable(payload: Mapping[str, Any] | None) -> dict[str, Any]:
    told = dict(payload or {})
    try:
        size = len(json.dumps(told, allow_nan=False))
    except (TypeError, ValueError, RecursionError):
        raise ValidationError({"payload": "This cannot be read."}) from None
    if size > MOST_PAYLOAD:
        raise ValidationError({"payload": "This is too long."})
    return told


def settle(*, studio: Studio, now: datetime.datetime | None = None) -> None:
    """Bring the steps up to the clock: adhesive that has set or cured is done, and what is left alone next begins.

    Everything follows from stored times, so that it may be called at any time, and as often as one likes.
    """
    with transaction.atomic():
        _settle(hold_bench(studio), now or timezone.now())


def _settle(studio: Studio, now: datetime.datetime) -> None:
    steps = (
        BenchStep.objects.for_studio(studio).live().select_related("commission").order_by("position", "pk")
    )
    open_jobs = steps.exclude(kind="hands_on").filter(state__in=(StepState.WAITING, StepState.RUNNING))
    jobs: dict[int, list[BenchStep]] = {}
    for step in steps.filter(commission__in=open_jobs.values("commission")):
        jobs.setdefault(step.commission_id, []).append(step)
    for rows in jobs.values():
        for step, values in go_on(Chain(rows), now=now):
            for name, value in values.items():
                setattr(step, name, value)
            checked(step)
