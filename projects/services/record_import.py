"""Many old pieces into the log at once: the same rows as one by one, at a few questions for all of them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DataError, IntegrityError, transaction
from django.utils import timezone

from projects.consigned import due_back_of
from projects.models import Member, PieceRecord, Place, RecordChange, RecordCoat, RecordWood, Studio, Wood
from projects.models.places import RETURNS
from projects.record_search import words_kept_many
from projects.services.record_serials import Serials
from projects.services.records import (
    WRITTEN,
    CoatSaid,
    WoodSaid,
    coats_said,
    here,
    own_woods,
    said_at,
    woods_said,
)
from projects.services.saving import M, changed, gather, held_to

# What is of the studio's own making, and need not be asked of the database row by row.
_OWN = frozenset(
    {"studio", "record", "member", "commission", "design", "taken_out_by", "client", "takes_back"}
)
_TAKEN = "The studio already has a piece of this serial number."


def records_create(
    *, studio: Studio, rows: Iterable[Mapping[str, Any]], member: Member | None = None
) -> list[PieceRecord]:
    """Write old pieces into the log, all or none, each as `record_create` would.

    Errors: ValidationError with the places `[0].title` ...
    """
    rows = list(rows)
    try:
        return _written(studio, member, rows, asking=False)
    except (ValidationError, IntegrityError, DataError):
        # Something is wrong: asked of every row, all of it is said, and where.
        pass
    try:
        return _written(studio, member, rows, asking=True)
    except (IntegrityError, DataError):
        raise ValidationError("The database refused this. Nothing was saved; try again.") from None


def _written(
    studio: Studio, member: Member | None, rows: Iterable[Mapping[str, Any]], *, asking: bool
) -> list[PieceRecord]:
    with transaction.atomic():
        importing = _Import(studio, member, asking)
        gather((f"[{number}]", partial(importing.read, row)) for number, row in enumerate(rows))
        importing.write()
    return importing.records


def records_tried(
    *, studio: Studio, rows: Iterable[Mapping[str, Any]], member: Member | None = None
) -> list[PieceRecord]:
    """Old pieces as `records_create` would write them, refused as it would refuse them; nothing of it stays."""
    with transaction.atomic():
        made = records_create(studio=studio, rows=rows, member=member)
        transaction.set_rollback(True)
    return made


@dataclass(slots=True)
class _Import:
    """Rows on their way in: checked one by one, then written kind by kind."""

    studio: Studio
    member: Member | None
    asking: bool
    records: list[PieceRecord] = field(default_factory=list)
    woods: list[RecordWood] = field(default_factory=list)
    coats: list[RecordCoat] = field(default_factory=list)
    places: list[Place] = field(default_factory=list)
    own: dict[str, Wood] = field(default_factory=dict)
    serials: Serials = field(init=False)

    def __post_init__(self) -> None:
        self.own = own_woods(self.studio.pk)
        self.serials = Serials(self.studio)

    def read(self, row: Mapping[str, Any]) -> None:
        """Check a row and what belongs to it. Errors: ValidationError keyed by field."""
        values = dict(row)
        woods: Sequence[WoodSaid] = values.pop("woods", ())
        coats: Sequence[CoatSaid] = values.pop("coats", ())
        place: Mapping[str, Any] | None = values.pop("place", None)
        record = self._record(values)
        gather(
            [
                ("", lambda: self.woods.extend(said_at("woods", self._woods, record, woods))),
                ("", lambda: self.coats.extend(said_at("coats", self._coats, record, coats))),
                ("place", lambda: self.places.append(self._place(record, place or here(record)))),
            ]
        )
        self.records.append(record)

    def _record(self, values: dict[str, Any]) -> PieceRecord:
        serial = str(values.pop("serial", "")).strip()
        record = PieceRecord(studio=self.studio, currency=self.studio.currency)
        changed(record, {**values, "serial": serial or "?"})
        # Its number comes last, by the year that the check has set.
        self._held_to(record, *(() if serial else ("serial",)))
        if not serial:
            record.serial = self.serials.next(record.year or timezone.localdate().year)
        elif not self.serials.take(serial):
            raise ValidationError({"serial": _TAKEN})
        return record

    def _woods(self, record: PieceRecord, woods: Sequence[WoodSaid]) -> list[RecordWood]:
        return [self._held_to(row) for row in woods_said(record, woods, own=self.own)]

    def _coats(self, record: PieceRecord, coats: Sequence[CoatSaid]) -> list[RecordCoat]:
        return [self._held_to(row) for row in coats_said(record, coats)]

    def _held_to(self, row: M, *known: str) -> M:
        return held_to(row, known={*_OWN, *known}, asking=self.asking)

    def _place(self, record: PieceRecord, values: Mapping[str, Any]) -> Place:
        place = changed(Place(record=record, member=self.member), values)
        if place.kind in RETURNS and not place.holder:
            raise ValidationError({"client": "Say who has it."})
        if place.client is not None and place.client.studio_id != self.studio.pk:
            raise ValidationError({"client": "Choose a client of this studio."})
        self._held_to(place)
        record.place, record.place_since, record.place_words = place.kind, place.since, place.holder
        record.due_back = due_back_of([place])
        return place

    def write(self) -> None:
        """All rows of a kind at once, and the words that they are found by."""
        self.serials.keep()
        PieceRecord.objects.bulk_create(self.records, batch_size=200)
        for rows in (self.woods, self.coats, self.places):
            for row in rows:
                row.record_id = row.record.pk
        RecordWood.objects.bulk_create(self.woods, batch_size=500)
        RecordCoat.objects.bulk_create(self.coats, batch_size=500)
        Place.objects.bulk_create(self.places, batch_size=500)
        said = [RecordChange(record=record, member=self.member, what=WRITTEN) for record in self.records]
        RecordChange.objects.bulk_create(said, batch_size=500)
        there = PieceRecord.objects.filter(pk__in=[record.pk for record in self.records])
        words_kept_many(there.prefetch_related("woods", "coats", "places__client"))
