"""A catalogue of chosen pieces for a gallery: a list of them all, then two or three a page with their pictures."""

import datetime
from collections.abc import Mapping, Sequence
from typing import Any

from projects.models import PieceRecord
from projects.models.records import PlaceKind
from projects.papers import of_piece, words

MOST_WOODS = 8
_GONE = {PlaceKind.SOLD: "sold", PlaceKind.GIVEN: "not for sale"}


def catalogue_pdf(
    records: Sequence[PieceRecord],
    *,
    letterhead: Mapping[str, Any],
    title: str,
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
