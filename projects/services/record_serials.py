"""Serial numbers by the studio's own scheme, each given out once and none left out."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q, QuerySet

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

    One that another piece has already is passed over, since it is taken, also by a piece taken out of the log.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("A number is given out with the piece that has it, or not at all.")
    scheme = _held(studio)
    series = scheme.series(year)
    number = int(scheme.counts.get(series, 0)) + 1
    while True:
        serial = serial_of(scheme.pattern, year=year, number=number)
        if not _alike(studio, serial).exists():
            break
        number += 1
    scheme.counts = {**scheme.counts, series: number}
    checked(scheme)
    return serial


def serial_free(record: PieceRecord) -> None:
    """Refuse a number of the maker's own that another piece has but for capitals: on two labels they are one.

    The very same is the model's to refuse. Two that were both there before stay as they are, in an archive too: no rule
    of the table says so. Within the transaction that writes the piece. Errors: ValidationError at `serial`.
    """
    _held(record.studio)
    others = _alike(record.studio, record.serial).exclude(pk=record.pk).values_list("serial", flat=True)
    if (other := others.first()) is not None and other != record.serial:
        raise ValidationError(
            {"serial": f"The studio already has a piece {other}, and capitals make no other number."}
        )


def _alike(studio: Studio, serial: str) -> "QuerySet[PieceRecord]":
    """The pieces of a number, whatever its capitals, those taken out of the log too."""
    # SQLite knows the capitals of plain letters alone: others are asked for as small letters and as capitals.
    ways = Q(serial__iexact=serial) | Q(serial__iexact=serial.lower()) | Q(serial__iexact=serial.upper())
    return PieceRecord.everything.for_studio(studio).filter(ways)


class Serials:
    """The numbers of many pieces, one after the other as `serial_next` gives them; kept once, by `keep`.

    Within the transaction that writes the pieces.
    """

    def __init__(self, studio: Studio) -> None:
        self._studio = studio
        self._scheme: SerialScheme | None = None
        there = PieceRecord.everything.for_studio(studio).values_list("serial", flat=True)
        self._taken = {serial.casefold() for serial in there}

    def take(self, serial: str) -> bool:
        """Note a number that a piece has of its own; False where another has it, whatever its capitals."""
        if serial.casefold() in self._taken:
            return False
        self._taken.add(serial.casefold())
        return True

    def next(self, year: int) -> str:
        """The next number of a year that no piece has."""
        scheme = self._scheme = self._scheme or _held(self._studio)
        series = scheme.series(year)
        number = int(scheme.counts.get(series, 0)) + 1
        while not self.take(serial := serial_of(scheme.pattern, year=year, number=number)):
            number += 1
        scheme.counts = {**scheme.counts, series: number}
        return serial

    def keep(self) -> None:
        """Save how far the numbers have come."""
        if self._scheme is not None:
            checked(self._scheme)


def _held(studio: Studio) -> SerialScheme:
    """The studio's scheme, which nobody else counts on until the transaction ends."""
    SerialScheme.objects.get_or_create(studio=studio)
    scheme: SerialScheme = SerialScheme.objects.select_for_update().get(studio=studio)
    return scheme
