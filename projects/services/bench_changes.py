"""What one tap changes, kept beside it so that it can be taken back; and when it was."""

import datetime
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils import timezone

from projects.models import BenchStep, BenchTap, Studio
from projects.services.saving import checked


class Refused(Exception):
    """A tap that cannot be done, with what the maker is told. It is kept all the same, as refused."""


@dataclass
class Doing:
    """A tap while it is done: the member's, at the moment it was tapped, about one step."""

    tap: BenchTap
    step: BenchStep

    @property
    def at(self) -> datetime.datetime:
        """When it was tapped."""
        return self.tap.at

    def change(self, step: BenchStep, **values: Any) -> None:
        """Set fields of a step, check and save it, and note what they were."""
        kept = self.tap.changed.setdefault("steps", {}).setdefault(str(step.pk), {"before": {}, "after": {}})
        for name, value in values.items():
            kept["before"].setdefault(name, as_json(getattr(step, name)))
            setattr(step, name, value)
            kept["after"][name] = as_json(value)
        checked(step)

    def made(self, what: str, record: models.Model) -> None:
        """Note a record that the tap has made."""
        self.tap.changed.setdefault(what, []).append(record.pk)


def as_json(value: Any) -> Any:
    """A field's value as the tap keeps it: moments as text, records by their keys."""
    if isinstance(value, models.Model):
        return value.pk
    if isinstance(value, datetime.datetime):
        # As the database gives it back, which keeps microseconds.
        return DjangoJSONEncoder().default(value.astimezone(datetime.UTC)) if value.tzinfo else None
    return value


def hold_bench(studio: Studio | int) -> Studio:
    """The studio's row, locked: taps and plans of a studio come one after the other. Within a transaction."""
    key = studio if isinstance(studio, int) else studio.pk
    return Studio.objects.select_for_update().get(pk=key)


def trusted(at: datetime.datetime | None, now: datetime.datetime) -> datetime.datetime:
    """When something was tapped, by the maker's clock. Errors: ValidationError at `at` for what cannot be."""
    if at is None:
        return now
    if timezone.is_naive(at):
        raise ValidationError({"at": "Give the time with its time zone."})
    if at > now + AHEAD:
        raise ValidationError({"at": "This lies in the future. Set the clock of the device."})
    if at < now - OLDEST:
        raise ValidationError({"at": f"This lies more than {OLDEST.days} days back."})
    return min(at, now)


AHEAD = datetime.timedelta(minutes=5)
"""A device's clock may be so far ahead; what is tapped then is taken as tapped now."""

OLDEST = datetime.timedelta(days=30)
