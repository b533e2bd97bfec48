"""Where a piece is: its places are only added to, and the last of them that stands is where it is."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from projects.models import Member, PieceRecord, Place
from projects.models.records import PlaceKind
from projects.record_search import words_kept
from projects.services.saving import changed, checked

NEEDS_HOLDER = (PlaceKind.CONSIGNED, PlaceKind.LENT)
TAKEN_BACK = "This entry was taken back already."


def standing_places(record: PieceRecord) -> list[Place]:
    """The places that stand, by their days: neither taken back nor what takes another back."""
    places = Place.objects.for_studio(record.studio_id).filter(record=record, takes_back__isnull=True)
    return list(places.filter(taken_back_by__isnull=True).select_related("client").order_by("since", "pk"))


def place_add(*, record: PieceRecord, member: Member | None = None, **values: Any) -> Place:
    """Say where a piece went. Errors: ValidationError keyed by field."""
    with transaction.atomic():
        current = _held(record)
        place = changed(Place(record=current, member=member), values)
        if place.kind in NEEDS_HOLDER and not place.holder:
            raise ValidationError({"client": "Say who has it."})
        checked(place)
        _follow(current, record)
        return place


def place_take_back(*, place: Place, member: Member | None = None) -> Place:
    """Take an entry back that was wrong: it stays in the history, and counts no more.

    Errors: ValidationError where it does not stand, or is the only one that does.
    """
    with transaction.atomic():
        current = _held(place.record)
        standing = standing_places(current)
        if place not in standing:
            raise ValidationError(TAKEN_BACK)
        if len(standing) == 1:
            raise ValidationError("A piece is somewhere. Say first where it is, then take this back.")
        back = checked(
            Place(
                record=current,
                kind=place.kind,
                since=place.since,
                client=place.client,
                words=place.words,
                takes_back=place,
                member=member,
            )
        )
        _follow(current, place.record)
        return back


def _held(record: PieceRecord) -> PieceRecord:
    found: PieceRecord = PieceRecord.objects.select_for_update(of=("self",)).get(pk=record.pk)
    return found


def _follow(current: PieceRecord, asked: PieceRecord) -> None:
    """Write the last place onto the record, where lists and filters find it."""
    last = standing_places(current)[-1]
    for row in (current, asked):
        row.place, row.place_since, row.place_words = last.kind, last.since, last.holder
    current.save(update_fields=["place", "place_since", "place_words", "updated_at"])
    words_kept(current)
