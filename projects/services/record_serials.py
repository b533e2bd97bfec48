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

    One that another piece has already is passed over, since it is taken, also by a piece taken out of the log.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("A number is given out with the piece that has it, or not at all.")
    scheme = _held(studio)
    series = scheme.series(year)
    number = int(scheme.counts.get(series, 0)) + 1
    while True:
        serial = serial_of(scheme.pattern, year=year, number=number)
        if not PieceRecord.everything.for_studio(studio).filter(serial=serial).exists():
            break
        number += 1
    scheme.counts = {**scheme.counts, series: number}
    checked(scheme)
    return serial


class Serials:
    """The numbers of many pieces, one after the other as `serial_next` gives them; kept once, by `keep`.

    Within the transaction that writes the pieces.
    """

    def __init__(self, studio: Studio) -> None:
        self._studio = studio
        self._scheme: SerialScheme | None = None
        self._taken = set(PieceRecord.everything.for_studio(studio).values_list("serial", flat=True))

    def take(self, serial: str) -> bool:
        """Note a number that a piece has of its own; False where another has it."""
        if serial in self._taken:
            return False
        self._taken.add(serial)
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
