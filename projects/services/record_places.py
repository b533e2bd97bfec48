"""Where a piece is: its places are only added to, and the last of them that stands is where it is."""

import datetime
from itertools import groupby
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet

from projects.consigned import due_back_of
from projects.models import Member, PieceRecord, Place, PlacePayment, Studio
from projects.models.places import RETURNS
from projects.record_search import words_kept
from projects.services.saving import changed, checked

OUT = "This piece was taken out of the log. Put it back first."
TAKEN_BACK = "This entry was taken back already."
PAID = "What was paid to you for this sale is written down. Take that back first."


def standing_places(record: PieceRecord) -> list[Place]:
    """The places that stand, by their days: neither taken back nor what takes another back."""
    places = Place.objects.for_studio(record.studio_id).filter(record=record, takes_back__isnull=True)
    return list(places.filter(taken_back_by__isnull=True).select_related("client").order_by("since", "pk"))


def late_back(studio: Studio, *, today: datetime.date) -> QuerySet[PieceRecord]:
    """Pieces that should be back and are not, the longest late first."""
    found: QuerySet[PieceRecord] = PieceRecord.objects.for_studio(studio).filter(due_back__lt=today)
    return found.only("title", "place", "place_words", "due_back").order_by("due_back", "pk")


def place_add(*, record: PieceRecord, member: Member | None = None, **values: Any) -> Place:
    """Say where a piece went. Errors: ValidationError keyed by field."""
    with transaction.atomic():
        current = held(record)
        place = changed(Place(record=current, member=member), values)
        if place.kind in RETURNS and not place.holder:
            raise ValidationError({"client": "Say who has it."})
        checked(place)
        _follow(current, record)
        return place


def place_take_back(*, place: Place, member: Member | None = None) -> Place:
    """Take an entry back that was wrong: it stays in the history, and counts no more.

    Errors: ValidationError where it does not stand, is the only one that does, or is a sale that was paid for.
    """
    with transaction.atomic():
        current = held(place.record)
        standing = standing_places(current)
        if place not in standing:
            raise ValidationError(TAKEN_BACK)
        if len(standing) == 1:
            raise ValidationError("A piece is somewhere. Say first where it is, then take this back.")
        if PlacePayment.objects.filter(place=place, takes_back=None, taken_back_by=None).exists():
            raise ValidationError(PAID)
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


def held(record: PieceRecord) -> PieceRecord:
    """The record's row, locked: what happens to it comes one after the other.

    Errors: ValidationError where it was taken out of the log meanwhile.
    """
    found: PieceRecord | None = (
        PieceRecord.objects.select_for_update(of=("self",)).filter(pk=record.pk).first()
    )
    if found is None:
        raise ValidationError(OUT)
    return found


def _with_whom(place: Place) -> tuple[str, Any]:
    return place.kind, place.client_id or place.words


def _follow(current: PieceRecord, asked: PieceRecord) -> None:
    """Write the last place onto the record, where lists and filters find it."""
    standing = standing_places(current)
    stays = [list(stay) for _, stay in groupby(standing, _with_whom)]
    last = standing[-1]
    for row in (current, asked):
        row.place, row.place_since, row.place_words = last.kind, last.since, last.holder
        row.due_back = due_back_of(stays[-1])
    current.save(update_fields=["place", "place_since", "place_words", "due_back", "updated_at"])
    words_kept(current)
