"""Writing down what the moisture meter read."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from projects.models import Commission, Member, MoistureReading
from projects.services.saving import changed, checked

MOST_READINGS = 200
"""Readings of one commission that are kept: more than any piece has boards, and the page stays short."""


def reading_add(*, commission: Commission, member: Member, **values: Any) -> MoistureReading:
    """Write a reading down.

    Errors: ValidationError keyed by field, among them a day that is yet to come.
    """
    reading = changed(MoistureReading(commission=commission, member=member), values)
    with transaction.atomic():
        if commission.readings.count() >= MOST_READINGS:
            raise ValidationError(f"{MOST_READINGS} readings are kept. Take old ones out first.")
        if reading.read_on and reading.read_on > timezone.localdate():
            raise ValidationError({"read_on": "This day is yet to come."})
        return checked(reading)


def reading_delete(*, reading: MoistureReading) -> None:
    """Take a reading out."""
    reading.delete()
