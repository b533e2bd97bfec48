"""Logging the time that work takes."""

import datetime
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from projects.models import Commission, HoursEntry, Member, StandingRate
from projects.services.saving import changed, checked


def hours_log(*, commission: Commission, member: Member, operation: str, **values: Any) -> HoursEntry:
    """Log time worked: `minutes`, or `started_at` and `ended_at` from which they follow.

    Errors: ValidationError keyed by field, among them an operation the shop has no rate for.
    """
    entry = changed(HoursEntry(commission=commission, member=member), {"operation": operation, **values})
    return _saved(entry)


def hours_start(*, commission: Commission, member: Member, operation: str) -> HoursEntry:
    """Start a member's clock; refused while another of theirs runs."""
    return hours_log(commission=commission, member=member, operation=operation, started_at=timezone.now())


def hours_stop(*, entry: HoursEntry, **values: Any) -> HoursEntry:
    """Stop a running clock and log the minutes."""
    if entry.minutes is not None:
        raise ValidationError("This clock has been stopped already.")
    return _saved(changed(entry, {"ended_at": timezone.now(), **values}))


def hours_update(*, entry: HoursEntry, **values: Any) -> HoursEntry:
    """Mend a logged entry."""
    if {"started_at", "ended_at"} & values.keys():
        values.setdefault("minutes", None)
    return _saved(changed(entry, values))


def hours_delete(*, entry: HoursEntry) -> None:
    """Take an entry out of the log."""
    entry.delete()


def _saved(entry: HoursEntry) -> HoursEntry:
    with transaction.atomic():
        studio = entry.commission.studio_id
        if not StandingRate.objects.for_studio(studio).filter(operation=entry.operation).exists():
            raise ValidationError(
                {"operation": "The shop has no rate for this operation. Add it there first."}
            )
        if entry.minutes is None and entry.started_at and entry.ended_at:
            entry.minutes = _minutes(entry.ended_at - entry.started_at)
        return checked(entry)


def _minutes(span: datetime.timedelta) -> Decimal:
    if span < datetime.timedelta(0):
        raise ValidationError({"ended_at": "Work must not end before it starts."})
    seconds = Decimal(span // datetime.timedelta(seconds=1))
    return (seconds / 60).quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
