"""A catalogue of chosen pieces for a gallery: a list of them all, then two or three a page with their pictures."""

import datetime
import re
from collections.abc import Mapping, Sequence
from typing import Any

from projects.models import PieceRecord, RecordPhoto
from projects.models.records import PlaceKind
from projects.papers import of_piece, words

MOST_WOODS = 8
PARAGRAPHS = re.compile(r"\s*\n\s*\n\s*")
_GLANCE_PX = 64
"""Longest side that tells whether a photo can be read: an eighth of it is all that is decoded."""
_GONE = {PlaceKind.SOLD: "sold", PlaceKind.GIVEN: "not for sale"}


def catalogue_pdf(
    records: Sequence[PieceRecord],
    *,
    letterhead: Mapping[str, Any],
    title: str,
    introduction: str = "",
    with_prices: bool,
    a_page: int,
    on: datetime.date,
) -> bytes:
    """The catalogue, in the order given; `a_page` is 2 or 3. Same records on the same day, same bytes.

    One piece alone has no list before it. Records without their woods and coats at hand cost two queries each.
    """
    currency = letterhead["currency"]
    context = {
        "head": "Catalogue",
        "title": title,
        "introduction": [text for text in PARAGRAPHS.split(introduction.strip()) if text],
        "dated": words.day(on),
        "count": words.counted(len(records), "piece", "pieces"),
        "currency": words.currency(currency, on) if with_prices else "",
        "with_prices": with_prices,
        "a_page": a_page,
        "entries": entries(records, letterhead=letterhead, with_prices=with_prices),
    }
    made_at = max(record.updated_at for record in records)
    return of_piece.print_piece_paper(
        "catalogue.html", context, letterhead=letterhead, made_at=made_at, may_close=False
    )


def entries(
    records: Sequence[PieceRecord], *, letterhead: Mapping[str, Any], with_prices: bool
) -> list[dict[str, Any]]:
    """What is said of each piece. One that is gone has no price: a list is of what can be bought."""
    pictures = of_piece.pictures_of(records, longest=of_piece.LIST_PX)
    return [
        {
            "serial": record.serial,
            "title": record.title,
            "year": str(record.year or ""),
            "size": of_piece.sized(record, letterhead),
            "price": _price(record) if with_prices else "",
            "picture": pictures.get(record.pk),
            "woods": list(record.woods.all())[:MOST_WOODS],
            "more_woods": len(record.woods.all()) > MOST_WOODS,
            "facts": of_piece.said_facts(
                (
                    ("Number", record.serial),
                    ("Year", str(record.year or "")),
                    ("Size", of_piece.sized(record, letterhead)),
                    ("Segments", f"{record.segments:,}" if record.segments else ""),
                    ("Finish", of_piece.finish(record)),
                )
            ),
        }
        for record in records
    ]


def _price(record: PieceRecord) -> str:
    return _GONE.get(PlaceKind(record.place)) or of_piece.priced(record) or "on request"


def without_photo(records: Sequence[PieceRecord]) -> dict[int, str]:
    """What to say of each piece that is printed without its photo, by its key; nothing of the others."""
    there = of_piece.pictures_of(records, longest=_GLANCE_PX)
    has_photo = set(
        RecordPhoto.objects.filter(record__in=[record.pk for record in records], chosen=True).values_list(
            "record", flat=True
        )
    )
    said = {}
    for record in records:
        picture = there.get(record.pk)
        if picture is not None and not picture.drawn:
            continue
        lost = (
            "Its photo is missing or cannot be read: it" if record.pk in has_photo else "It has no photo: it"
        )
        how = "is printed with its drawing" if picture else "is printed without a picture"
        said[record.pk] = f"{lost} {how}."
    return said
