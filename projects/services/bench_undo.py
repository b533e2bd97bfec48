"""A tap taken back: the steps are as they were, and the hours, notes and measures that it made are gone."""

import uuid as uuids
from typing import Any

from django.core.exceptions import ValidationError

from projects.models import AdhesiveLot, AsBuilt, BenchStep, BenchTap, HoursEntry, Mishap, StepNote
from projects.models.bench import StepState, TapAct
from projects.services.bench_changes import Doing, Refused, as_json
from projects.services.hours_bench import taken_back
from projects.services.saving import checked

_MADE: dict[str, type[Any]] = {
    "hours": HoursEntry,
    "as_built": AsBuilt,
    "mishaps": Mishap,
    "notes": StepNote,
    "lots": AdhesiveLot,
}
_FIELDS = {field.name: field for field in BenchStep._meta.concrete_fields}
_GONE_ON = "Work has gone on since. It cannot be taken back."


def undo(doing: Doing) -> str:
    """Take back the tap that `uuid` names, else the member's last one on the step.

    Refused once a step is no longer as the tap left it, or work on what it had planned again has begun.
    """
    tap = _to_take_back(doing)
    kept: dict[str, Any] = tap.changed.get("steps", {})
    steps = {
        str(step.pk): step for step in BenchStep.objects.select_related("commission").filter(pk__in=kept)
    }
    again = list(BenchStep.objects.filter(pk__in=tap.changed.get("again", [])))
    if any(step.state not in (StepState.WAITING, StepState.DROPPED) for step in again):
        raise Refused(_GONE_ON)
    for key, change in kept.items():
        step = steps.get(key)
        if step is None or not _as_left(step, change["after"]):
            raise Refused(_GONE_ON)
    for key, change in kept.items():
        _put_back(steps[key], change["before"])
    BenchStep.objects.filter(pk__in=[step.pk for step in again]).update(state=StepState.DROPPED)
    _take_out(tap)
    tap.undone_by = doing.tap
    checked(tap)
    if tap.changed.get("replan"):
        doing.tap.changed["replan"] = True
    return f"Taken back: {tap.get_act_display()}."


def _to_take_back(doing: Doing) -> BenchTap:
    own = BenchTap.objects.for_studio(doing.tap.studio).filter(
        member=doing.tap.member, step=doing.step, accepted=True, undone_by=None
    )
    own = own.exclude(pk=doing.tap.pk).exclude(act=TapAct.UNDO)
    if given := doing.tap.payload.get("uuid"):
        try:
            own = own.filter(uuid=uuids.UUID(str(given)))
        except ValueError:
            raise ValidationError({"uuid": "This names no tap."}) from None
    tap: BenchTap | None = own.order_by("-received_at", "-pk").first()
    if tap is None:
        raise Refused("There is nothing to take back.")
    return tap


def _as_left(step: BenchStep, after: dict[str, Any]) -> bool:
    """Whether a step is as the tap left it; what the clock alone has ended since is taken back with it."""
    now = {name: as_json(getattr(step, name)) for name in after}
    if step.is_passive and step.state == StepState.DONE and after.get("state") == StepState.RUNNING:
        now["state"] = StepState.RUNNING
    return all(now[name] == value for name, value in after.items())


def _put_back(step: BenchStep, before: dict[str, Any]) -> None:
    for name, value in before.items():
        field = _FIELDS[name]
        setattr(step, field.attname, field.to_python(value))
    if step.state in (StepState.WAITING, StepState.DROPPED):
        step.started_at = step.ended_at = step.mixed_at = None
    elif step.state == StepState.RUNNING:
        step.ended_at = None
    checked(step)


def _take_out(tap: BenchTap) -> None:
    for what, model in _MADE.items():
        for record in model.objects.filter(pk__in=tap.changed.get(what, [])):
            if isinstance(record, HoursEntry):
                taken_back(entry=record, by=tap.member)
                continue
            photo = getattr(record, "photo", None)
            record.delete()
            if photo:
                photo.delete(save=False)
