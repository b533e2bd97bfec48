"""Rooms and their air: where the piece is made, and where it will live. Degrees C, and relative humidity in %."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Protocol

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from estimating.wood.climate import HUMIDITIES, TEMPERATURES
from projects.models.fields import decimal_field, within

BOTH_OR_NEITHER = (
    "Give the room's temperature and its humidity, or neither: one says nothing without the other."
)


@dataclass(frozen=True, slots=True)
class Room:
    """The air of a room: degrees C, and relative humidity in %."""

    temperature_c: Decimal
    humidity: Decimal

    def as_sheet(self) -> dict[str, float]:
        """As the piece sheet has it."""
        return {"temperature_c": float(self.temperature_c), "humidity": float(self.humidity)}


@dataclass(frozen=True, slots=True)
class UsualRoom:
    """A room as one meets it, to choose from while nobody has measured. Common practice, no source."""

    words: str
    room: Room


def _usual(words: str, temperature_c: int, humidity: int) -> UsualRoom:
    return UsualRoom(words, Room(Decimal(temperature_c), Decimal(humidity)))


USUAL_ROOMS: Mapping[str, UsualRoom] = {
    "heated_winter": _usual("heated house in winter", 21, 28),
    "dry_heated": _usual("dry, strongly heated flat", 23, 20),
    "museum": _usual("museum or gallery with controlled air", 21, 50),
    "mild": _usual("house with mild weather all year", 20, 55),
    "summer": _usual("humid summer house, windows open", 24, 70),
    "cooled": _usual("air-conditioned house in summer", 23, 45),
}


class HasRoom(Protocol):
    """A record with a room of its own, or none."""

    room_temperature_c: Decimal | None
    room_humidity: Decimal | None


def temperature_field(name: str, **options: Any) -> models.DecimalField:
    """A temperature of the table of equilibrium moistures."""
    low, high = TEMPERATURES
    return decimal_field(name, digits=5, places=1, low=low, high=high, **options)


def humidity_field(name: str, **options: Any) -> models.DecimalField:
    """A relative humidity of that table, %."""
    low, high = HUMIDITIES
    return decimal_field(name, digits=4, places=1, low=low, high=high, **options)


def room_rules(table: str) -> list[models.CheckConstraint]:
    """The database's own hold on a room: within the table, and both figures or neither."""
    names = ("room_temperature_c", "room_humidity")
    neither = Q(**{f"{name}__isnull": True for name in names})
    both = Q(**{f"{name}__isnull": False for name in names})
    return [
        within(table, names[0], low=TEMPERATURES[0], high=TEMPERATURES[1], null=True),
        within(table, names[1], low=HUMIDITIES[0], high=HUMIDITIES[1], null=True),
        models.CheckConstraint(
            name=f"{table}_room_whole",
            condition=neither | both,
            violation_error_message=BOTH_OR_NEITHER,
        ),
    ]


def check_room(record: HasRoom) -> dict[str, str]:
    """What is wrong with a record's room, at the figure that is missing; empty where it is whole."""
    missing = [name for name in ("room_temperature_c", "room_humidity") if getattr(record, name) is None]
    return {missing[0]: BOTH_OR_NEITHER} if len(missing) == 1 else {}


def own_room(record: HasRoom) -> Room | None:
    """A record's own room; None where it has none, or half of one."""
    if record.room_temperature_c is None or record.room_humidity is None:
        return None
    return Room(record.room_temperature_c, record.room_humidity)


def refuse_half_a_room(record: HasRoom) -> None:
    """Refuse one figure without the other.

    Errors: ValidationError at the figure that is missing.
    """
    if wrong := check_room(record):
        raise ValidationError(wrong)
