"""The log of finished pieces: a record drafted from its commission or written by hand, changed, and kept findable."""

import datetime
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from projects.models import (
    Commission,
    Member,
    PieceRecord,
    RecordChange,
    RecordCoat,
    RecordDrawing,
    RecordWood,
    SavedSearch,
    Studio,
    TakenLine,
    Wood,
)
from projects.models.commissions import Stage
from projects.models.records import PlaceKind
from projects.models.studio import ClientKind
from projects.rates import MADE
from projects.record_search import words_kept
from projects.services import record_photos
from projects.services.record_known import Known, copies_of, estimate_of, known_of, pieces_of
from projects.services.record_places import held, place_add
from projects.services.record_serials import serial_free, serial_next
from projects.services.record_taken import lines_kept, lines_of
from projects.services.saving import changed, checked, gather

MOST_WOODS = 40
MOST_COATS = 40
MOST_SEARCHES = 50
WRITTEN = "written into the log"
COPIED = ("designed_height", "designed_diameter", "designed_mass_g")


@dataclass(frozen=True, slots=True)
class WoodSaid:
    """A wood by its key or name, and its share of the piece where that is known."""

    name: str
    share: Decimal | None = None


@dataclass(frozen=True, slots=True)
class CoatSaid:
    """A coat of finish, and the day it was put on where that is known."""

    name: str
    put_on: datetime.date | None = None


def record_finish(*, commission: Commission, member: Member | None = None) -> PieceRecord:
    """Draft the record of a commission's next piece from all that is known of it; photos from the bench come along.

    Errors: ValidationError where it is not finished, or every piece is in the log.
    """
    if commission.stage not in MADE:
        raise ValidationError("The log is for finished pieces: move the commission to finished first.")
    piece = _next_piece(commission)
    # Worked out before anything is locked: an estimate can take a second that no one else should wait for.
    known = known_of(commission, piece=piece)
    with transaction.atomic():
        held = Commission.objects.select_for_update().get(pk=commission.pk)
        if _next_piece(held) != piece:
            raise ValidationError("Somebody has just written this piece into the log.")
        record = _new(held.studio, {"commission": commission, "piece": piece, "design": commission.design})
        record.known = known.copies
        for name in COPIED:
            setattr(record, name, known.values.pop(name, None))
        changed(record, known.values)
        record.serial = serial_next(studio=held.studio, year=known.values["made_on"].year)
        checked(record)
        _drafted(record, known)
        _placed(record, commission, member)
        _noted(record, member, WRITTEN)
        words_kept(record)
    record_photos.bench_photos_taken(record=record, member=member)
    return record


def _new(studio: Studio, fixed: Mapping[str, Any]) -> PieceRecord:
    record = PieceRecord(studio=studio, currency=studio.currency)
    for name, value in fixed.items():
        setattr(record, name, value)
    return record


def _next_piece(commission: Commission) -> int:
    """The number of the first piece that is not in the log."""
    mine = PieceRecord.objects.for_studio(commission.studio_id).filter(commission=commission)
    there = set(mine.values_list("piece", flat=True))
    for piece in range(1, pieces_of(commission) + 1):
        if piece not in there:
            return piece
    raise ValidationError("Every piece of this commission is in the log already.")


def _drafted(record: PieceRecord, known: Known) -> None:
    for position, wood in enumerate(known.woods, start=1):
        checked(RecordWood(record=record, position=position, **wood))
    for position, coat in enumerate(known.coats, start=1):
        checked(RecordCoat(record=record, position=position, **coat))
    if known.drawing:
        checked(RecordDrawing(record=record, svg=known.drawing))
    lines_kept(record, known.lines)


def _placed(record: PieceRecord, commission: Commission, member: Member | None) -> None:
    """In the studio; and with the client where it was delivered, as the commission's terms have it."""
    place_add(record=record, member=member, kind=PlaceKind.STUDIO, since=record.made_on)
    if commission.stage == Stage.FINISHED:
        return
    is_out = commission.client.kind == ClientKind.GALLERY and commission.gallery_mode == "consignment"
    kind = PlaceKind.CONSIGNED if is_out else PlaceKind.SOLD
    place_add(record=record, member=member, kind=kind, client=commission.client, price=record.price)


def record_create(
    *,
    studio: Studio,
    member: Member | None = None,
    serial: str = "",
    woods: Sequence[WoodSaid] = (),
    coats: Sequence[CoatSaid] = (),
    place: Mapping[str, Any] | None = None,
    **values: Any,
) -> PieceRecord:
    """Write an old piece into the log. Without a serial number it gets the next of its year, or of this one.

    `place` is as `place_add` takes it; without one it is in the studio.
    """
    with transaction.atomic():
        record = changed(_new(studio, {}), {**values, "serial": serial.strip() or "?"})
        if serial.strip():
            gather([("", record.full_clean), ("", lambda: serial_free(record))])
        else:
            record.full_clean(exclude=("serial",))
            record.serial = serial_next(studio=studio, year=record.year or timezone.localdate().year)
        checked(record)
        gather(
            [
                ("", lambda: said_at("woods", _woods_kept, record, woods)),
                ("", lambda: said_at("coats", _coats_kept, record, coats)),
                ("place", lambda: place_add(record=record, member=member, **(place or here(record)))),
            ]
        )
        _noted(record, member, WRITTEN)
        words_kept(record)
        return record


def here(record: PieceRecord) -> dict[str, Any]:
    """In the studio since it was made; where only the year is known, since its end, so that a sale comes after."""
    today = timezone.localdate()
    end_of_year = datetime.date(record.year, 12, 31) if record.year else today
    return {"kind": PlaceKind.STUDIO, "since": record.made_on or min(end_of_year, today)}


def record_update(
    *,
    record: PieceRecord,
    member: Member | None = None,
    woods: Sequence[WoodSaid] | None = None,
    coats: Sequence[CoatSaid] | None = None,
    **values: Any,
) -> PieceRecord:
    """Change a record; what it was before goes into its history."""
    with transaction.atomic():
        current = held(record)
        before = {name: _plain(getattr(current, name)) for name in values}
        current = changed(current, values)
        if "serial" in before and current.serial != before["serial"]:
            gather([("", current.full_clean), ("", lambda: serial_free(current))])
        saved = checked(current)
        was = {name: value for name, value in before.items() if value != _plain(getattr(saved, name))}
        if woods is not None and (old := said_at("woods", _woods_kept, saved, woods)):
            was["woods"] = old
        if coats is not None and (old := said_at("coats", _coats_kept, saved, coats)):
            was["coats"] = old
        if was:
            _noted(saved, member, f"changed: {', '.join(_named(name) for name in was)}", was)
        words_kept(saved)
        return saved


def _named(name: str) -> str:
    names = {field.name: str(field.verbose_name) for field in PieceRecord._meta.concrete_fields}
    return names.get(name, name)


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return format(value.normalize(), "f")
    return value.isoformat() if isinstance(value, datetime.date) else value


def _noted(
    record: PieceRecord, member: Member | None, what: str, before: Mapping[str, Any] | None = None
) -> None:
    checked(RecordChange(record=record, member=member, what=what[:200], before=dict(before or {})))


def said_at(
    place: str, keep: Callable[..., list[Any]], record: PieceRecord, rows: Sequence[Any]
) -> list[Any]:
    """What keeping rows gives back, all that it refuses put at one place."""
    try:
        return keep(record, rows)
    except ValidationError as refusal:
        raise ValidationError({place: refusal.messages}) from None


def _woods_kept(record: PieceRecord, woods: Sequence[WoodSaid]) -> list[Any]:
    """Write the woods in their order; what they were, empty where nothing changes."""
    old = list(record.woods.all())
    rows = woods_said(record, woods, own=own_woods(record.studio_id), old=old)
    was = [[row.name, _plain(row.share)] for row in old]
    if was == [[row.name, _plain(row.share)] for row in rows]:
        return []
    record.woods.all().delete()
    for row in rows:
        checked(row)
    return was or [["", None]]


def own_woods(studio_id: int) -> dict[str, Wood]:
    """A studio's woods by their keys and by their names in small letters."""
    own: dict[str, Wood] = {}
    for wood in Wood.objects.for_studio(studio_id):
        own[wood.key], own[wood.name.lower()] = wood, wood
    return own


def woods_said(
    record: PieceRecord, woods: Sequence[WoodSaid], *, own: Mapping[str, Wood], old: Sequence[RecordWood] = ()
) -> list[RecordWood]:
    """The rows of a record's woods in their order, unsaved. Errors: ValidationError for what cannot be together."""
    if len(woods) > MOST_WOODS:
        raise ValidationError(f"At most {MOST_WOODS} woods.")
    if sum((wood.share or Decimal(0) for wood in woods), Decimal(0)) > Decimal("1.005"):
        raise ValidationError("The shares come to more than 100 %.")
    rows = _known_woods(record, old, woods, own)
    names = [row.name.lower() for row in rows]
    if len(set(names)) < len(names):
        raise ValidationError("A wood is there twice.")
    return rows


def _known_woods(
    record: PieceRecord, old: Iterable[RecordWood], woods: Iterable[WoodSaid], own: Mapping[str, Wood]
) -> list[RecordWood]:
    """The rows to be: by name as they were on the record, else as the studio's wood of that name or key is."""
    kept = {row.name.lower(): row for row in old}
    rows = []
    for position, said in enumerate(woods, start=1):
        name = said.name.strip()
        like: Any = kept.get(name.lower()) or own.get(name.lower())
        row = RecordWood(record=record, position=position, name=like.name if like else name, share=said.share)
        if like:
            row.key, row.botanical, row.colour = like.key, like.botanical, like.colour
        rows.append(row)
    return rows


def _coats_kept(record: PieceRecord, coats: Sequence[CoatSaid]) -> list[Any]:
    """Write the coats in their order; what they were, empty where nothing changes."""
    rows = coats_said(record, coats)
    was = [[row.name, _plain(row.put_on)] for row in record.coats.all()]
    if was == [[coat.name, _plain(coat.put_on)] for coat in rows]:
        return []
    record.coats.all().delete()
    for row in rows:
        checked(row)
    return was or [["", None]]


def coats_said(record: PieceRecord, coats: Sequence[CoatSaid]) -> list[RecordCoat]:
    """The rows of a record's coats in their order, unsaved. Errors: ValidationError for what cannot be."""
    if len(coats) > MOST_COATS:
        raise ValidationError(f"At most {MOST_COATS} coats.")
    today = timezone.localdate()
    if any(coat.put_on and coat.put_on > today for coat in coats):
        raise ValidationError("A coat cannot be put on a day that is yet to come.")
    return [
        RecordCoat(record=record, position=position, name=coat.name, put_on=coat.put_on)
        for position, coat in enumerate(coats, start=1)
    ]


def figures_again(*, record: PieceRecord, member: Member | None = None) -> PieceRecord:
    """Copy the commission's rows and what it took once more, as after hours logged late. Words stay as they are.

    Errors: ValidationError for a piece of no commission.
    """
    commission = record.commission
    if commission is None:
        raise ValidationError("This piece is of no commission.")
    lines = lines_of(commission, estimate_of(commission))
    copies = copies_of(commission, piece=record.piece)
    with transaction.atomic():
        current = held(record)
        was = {} if current.known == copies else {"known": current.known}
        current.known = copies
        checked(current)
        lines_kept(current, lines)
        words_kept(current)
        _noted(current, member, "figures taken again", was)
        return current


def reasons_give(*, record: PieceRecord, reasons: Mapping[int, str], member: Member | None = None) -> None:
    """Say why what was taken and what was estimated are apart, by the line's key. Unknown keys change nothing."""
    with transaction.atomic():
        held(record)
        given = []
        for line in TakenLine.objects.for_studio(record.studio_id).filter(record=record, pk__in=reasons):
            reason = reasons[line.pk].strip()
            if reason != line.reason:
                line.reason = reason
                checked(line)
                given.append(line.name)
        if given:
            _noted(record, member, f"reasons: {', '.join(given)}")


def search_save(*, studio: Studio, name: str, query: str) -> SavedSearch:
    """Keep a search under a name; under one that is there already it takes the other's place."""
    with transaction.atomic():
        Studio.objects.select_for_update().get(pk=studio.pk)
        searches = SavedSearch.objects.for_studio(studio)
        kept = searches.filter(name=name.strip()).first() or SavedSearch(studio=studio)
        if kept._state.adding and searches.count() >= MOST_SEARCHES:
            raise ValidationError(f"{MOST_SEARCHES} searches are kept. Take one out first.")
        return checked(changed(kept, {"name": name.strip(), "query": query}))


def search_delete(*, search: SavedSearch) -> None:
    """Take a saved search out."""
    search.delete()
