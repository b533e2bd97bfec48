"""What the papers of finished pieces share: pictures, sizes, woods and finish, from the record as the log has it."""

import base64
import datetime
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.db.models.fields.files import FieldFile

from projects.models import PieceRecord, RecordDrawing, RecordPhoto
from projects.papers import words
from projects.papers.bench_book import with_column_heads
from projects.papers.parties import studio_lines
from projects.papers.printing import print_paper
from projects.papers.sizes import paper_of
from projects.redrawing import whole_alone
from projects.templatetags.turnery import money

CERTIFICATE_PX = 1700
"""Longest side of a picture across the page: 300 to the inch at 144 mm."""
LIST_PX = 1000

_JPEG_QUALITY = 88
_UNREADABLE = (OSError, SyntaxError, ValueError, TypeError, EOFError)


@dataclass(frozen=True)
class Picture:
    """A picture as an address that carries it, and what it shows for those who cannot see it."""

    address: str
    alternative: str
    caption: str = ""
    drawn: bool = False


def pictures_of(records: Sequence[PieceRecord], *, longest: int) -> dict[int, Picture]:
    """The chosen photo of each piece, else its drawing, by the record's key; none where it has neither.

    `longest` is the side, in pixels, that a photo is brought down to. Two queries.
    """
    titles = {record.pk: record for record in records}
    found: dict[int, Picture] = {}
    for photo in RecordPhoto.objects.filter(record__in=titles, chosen=True):
        if content := _scaled(photo.shown, longest):
            shows = photo.caption or f"Photo of {titles[photo.record_id].title}"
            found[photo.record_id] = Picture(_address("jpeg", content), shows)
    without = [pk for pk in titles if pk not in found]
    for drawing in RecordDrawing.objects.filter(record__in=without):
        shows = f"Drawing of {titles[drawing.record_id].title}: left half as turned, right half in section."
        found[drawing.record_id] = Picture(
            _address("svg+xml", drawing.svg.encode()),
            shows,
            caption="As designed: left half as turned, right half in section.",
            drawn=True,
        )
    return found


def _address(kind: str, content: bytes) -> str:
    return f"data:image/{kind};base64,{base64.b64encode(content).decode()}"


def _scaled(file: FieldFile, longest: int) -> bytes:
    """A photo as JPEG no larger than it is printed; nothing where the file is gone, cut short or is none."""
    from PIL import Image  # brought in where there is a photo alone

    if not file:
        return b""
    try:
        with whole_alone(), file.open("rb") as stored, Image.open(stored, formats=["JPEG"]) as photo:
            photo.draft("RGB", (longest, longest))
            photo.thumbnail((longest, longest))
            out = io.BytesIO()
            photo.convert("RGB").save(out, "JPEG", quality=_JPEG_QUALITY)
            return out.getvalue()
    except (*_UNREADABLE, Image.DecompressionBombError):
        return b""


def sized(record: PieceRecord, letterhead: Mapping[str, Any]) -> str:
    """Height and diameter as measured, else as designed: `90 mm high, 210 mm across`; what is unknown is left out."""
    unit, inches = units(letterhead)
    sides = ((record.height_shown, "high"), (record.diameter_shown, "across"))
    return ", ".join(
        f"{words.length(float(mm), unit=unit, inches=inches)} {unit}".replace(" ", words.NBSP) + f" {which}"
        for mm, which in sides
        if mm is not None
    )


def weight(record: PieceRecord, letterhead: Mapping[str, Any]) -> str:
    """About what it weighs, as measured, else as designed; empty where neither is known."""
    grams = record.mass_shown
    return "" if grams is None else words.mass(float(grams), unit=units(letterhead)[0])


def units(letterhead: Mapping[str, Any]) -> tuple[str, str]:
    """The studio's unit of length and how it writes inches."""
    return letterhead.get("length_unit") or "mm", letterhead.get("inch_style") or "fraction"


def finish(record: PieceRecord) -> str:
    """Its coats in their order: `Tung oil, two coats; wax, one coat`."""
    said = [
        f"{name}, {words.spelled(count)} {'coat' if count == 1 else 'coats'}"
        for name, count in (
            (name, len(list(coats))) for name, coats in groupby(record.coats.all(), lambda coat: coat.name)
        )
    ]
    together = "; ".join(said)
    return together[:1].upper() + together[1:]


def priced(record: PieceRecord) -> str:
    """Its price with its currency's sign; empty where it has none."""
    return "" if record.price is None else money(record.price, record.currency)


def finished(record: PieceRecord) -> str:
    """The day it was finished, else its year; empty where neither is known."""
    return words.day(record.made_on) if record.made_on else str(record.year or "")


def said_facts(facts: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Facts with something to say."""
    return [(name, said) for name, said in facts if said]


def print_piece_paper(
    template: str,
    context: Mapping[str, Any],
    *,
    letterhead: Mapping[str, Any],
    made_at: datetime.datetime,
    may_close: bool = True,
) -> bytes:
    """A paper of the log under the studio's letterhead, on its usual size of sheet.

    `context` has `head`, `number`, `title` and what the template asks for. Same records, same bytes.
    """
    sheet = paper_of(unit=units(letterhead)[0], currency=letterhead.get("currency", ""))
    around = {"paper": sheet, "letterhead": letterhead, "contact": studio_lines(letterhead)}
    return with_column_heads(
        print_paper(
            f"papers/{template}",
            {**around, **context},
            style="piece_papers.css",
            made_at=made_at,
            may_close=may_close,
        )
    )
