"""Serial numbers by the studio's own scheme, each given out once and none left out."""

from typing import Any

from django.db import transaction

from projects.models import PieceRecord, SerialScheme, Studio
from projects.models.serials import serial_of
from projects.services.saving import changed, checked


def scheme_of(studio: Studio) -> SerialScheme:
    """The studio's scheme; the usual one where it has said nothing."""
    kept: SerialScheme | None = SerialScheme.objects.for_studio(studio).first()
    return kept or SerialScheme(studio=studio)


def scheme_update(*, studio: Studio, **values: Any) -> SerialScheme:
    """Change the pattern. Numbers given out stay as they are; those to come count on within the pattern's series."""
    with transaction.atomic():
        return checked(changed(_held(studio), values))


def serial_next(*, studio: Studio, year: int) -> str:
    """The next serial number of a year, counted on; within the transaction that writes the piece that has it.

    One that an old piece has already is passed over, since it is taken.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("A number is given out with the piece that has it, or not at all.")
    scheme = _held(studio)
    series = scheme.series(year)
    number = int(scheme.counts.get(series, 0)) + 1
    while True:
        serial = serial_of(scheme.pattern, year=year, number=number)
        if not PieceRecord.objects.for_studio(studio).filter(serial=serial).exists():
            break
        number += 1
    scheme.counts = {**scheme.counts, series: number}
    checked(scheme)
    return serial


def _held(studio: Studio) -> SerialScheme:
    """The studio's scheme, which nobody else counts on until the transaction ends."""
    SerialScheme.objects.get_or_create(studio=studio)
    scheme: SerialScheme = SerialScheme.objects.select_for_update().get(studio=studio)
    return scheme
