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

from projects.models import BenchStep, BenchTap, Member
from projects.models.bench import TapAct
from projects.services import bench_lots, bench_taps
from projects.services.bench_changes import Doing, Refused, hold_bench, trusted
from projects.services.bench_clock import settle, settle_held
from projects.services.bench_undo import undo
from projects.services.bench_wrong import Cost, dates_after, reckon, wrong
from projects.services.saving import checked

__all__ = ["bench_tap", "settle"]

MOST_PAYLOAD = 20_000

_ACTS: Mapping[str, Callable[[Doing], str]] = {
    TapAct.START: bench_taps.start,
    TapAct.END: bench_taps.end,
    TapAct.MIXED: bench_taps.mixed,
    TapAct.NOTE: bench_taps.note,
    TapAct.MEASURE: bench_taps.measure,
    TapAct.LOT: bench_lots.lot,
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
    "rings"}, lot {"lots"}, undo {"uuid"} of the tap to take back or nothing for the member's last one on the step.
    The tap says in `accepted` whether it was done and in `outcome` what the maker is told; one that is refused is
    kept too, so that it need not be sent again. After "wrong" the calendar is planned anew, and `outcome` has the new
    date.
    Errors: ValidationError by field, with nothing kept, for what no later sending will mend: `step` of another studio,
    `at` in the future or too old, an unknown `act`, a payload that cannot be read, a `photo` that is none.
    """
    now = timezone.now()
    when = trusted(at, now)
    told = _readable(payload)
    cost = _reckoned(member, uuid, act, step, told)
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
        settle_held(studio, now)
        row.refresh_from_db()
        _do(Doing(tap, row), photo, cost)
        checked(tap)
    if tap.accepted and tap.changed.get("replan"):
        tap.outcome = f"{tap.outcome} {dates_after(row.commission)}"
        checked(tap)
    return tap


def _reckoned(
    member: Member, uuid: uuids.UUID, act: str, step: BenchStep, payload: Mapping[str, Any]
) -> Cost | None:
    """What a mishap costs, worked out before the bench is held, unless the tap is known or nothing went wrong."""
    if act != TapAct.WRONG or BenchTap.objects.for_studio(member.studio_id).filter(uuid=uuid).exists():
        return None
    mine = BenchStep.objects.for_studio(member.studio_id).select_related("commission__studio__bench")
    row = mine.filter(pk=step.pk).first()
    return None if row is None else reckon(row, payload)


def _do(doing: Doing, photo: File | None, cost: Cost | None) -> None:
    tap = doing.tap
    try:
        with transaction.atomic():
            if tap.act == TapAct.PHOTO:
                tap.outcome = bench_taps.photo(doing, photo)
            elif tap.act == TapAct.WRONG:
                assert cost is not None, "reckoned before, since the step is the studio's"
                tap.outcome = wrong(doing, cost)
            else:
                tap.outcome = _ACTS[tap.act](doing)
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
