"""The buyer's care sheet of a finished piece: what it is and is made of, how it is looked after, and in what air."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from projects.models import Commission, PieceRecord
from projects.models.climate import Room
from projects.papers import of_piece, words
from projects.papers.clauses import settled_clauses
from projects.papers.terms import STANDARD_CARE, Clause, clauses
from projects.quote_state import accepted_quote

LABEL_FIRST = (
    "What the label and the data sheet of its finish say of food and water comes first: ask the studio. "
    "Unless they say otherwise, keep food, drink and standing water off it."
)
FINISH_UNKNOWN = (
    "Its finish is not written down here: ask the studio what the label says of food and water. "
    "Until you know, keep food, drink and standing water off it."
)
SOAKED = "Soaking, a dishwasher or a microwave oven can warp or split the wood"
"""Standing sentences of every sheet. Common practice, no source."""

MOVES = "Drier air shrinks wood and damper air swells it: let it change rooms slowly where the air is very different."
"""That it shrinks and swells: Wood Handbook (FPL-GTR-282, 2021) ch. 4. The advice is common practice, no source."""


def care_pdf(record: PieceRecord, *, letterhead: Mapping[str, Any]) -> bytes:
    """The care sheet, from the record, its commission and the letterhead as they are now; same rows, same bytes."""
    return of_piece.print_piece_paper(
        "care.html",
        care_context(record, letterhead=letterhead),
        letterhead=letterhead,
        made_at=record.updated_at,
    )


def care_context(record: PieceRecord, *, letterhead: Mapping[str, Any]) -> dict[str, Any]:
    """All that it says; what nobody wrote down is left out."""
    finish = of_piece.finish(record)
    return {
        "head": "Care sheet",
        "number": record.serial,
        "title": record.title,
        "picture": of_piece.pictures_of([record], longest=of_piece.CERTIFICATE_PX).get(record.pk),
        "facts": of_piece.said_facts(
            (("Number", record.serial), ("Year", str(record.year or "")), ("Finish", finish))
        ),
        "woods": list(record.woods.all()),
        "care": care_of(record),
        "food_and_water": food_and_water(finish=finish, glued=bool(record.segments)),
        "air": list(air_of(record.commission, letterhead=letterhead)) if record.commission else [],
    }


def care_of(record: PieceRecord) -> list[Clause]:
    """The record's own words, else the studio's usual ones, else ours."""
    own = (record.care, record.studio.care, STANDARD_CARE)
    return clauses(next(text for text in own if text.strip()))


def food_and_water(*, finish: str, glued: bool) -> str:
    """The usual caution, which gives way to the finish's label; a word on joints where there are some."""
    joints = " and open its glued joints" if glued else ""
    return f"{LABEL_FIRST if finish else FINISH_UNKNOWN} {SOAKED}{joints}, whatever the finish."


def air_of(job: Commission, *, letterhead: Mapping[str, Any]) -> Iterator[str]:
    """The air it was made for, as its commission knows it, in sentences; none where it knows nothing.

    The shop's air is that of the estimate that was accepted, since the shop's settings may have changed; the range for
    its joints is there where the accepted terms have it, as a studio may have written its own.
    """
    event = accepted[1] if (accepted := accepted_quote(job)) else None
    frozen = (event.option or event.quote).sheet.get("climate", {}) if event else {}
    made_in = Decimal(str(frozen["shop"]["humidity"])) if frozen else None
    said = list(_room(job.room, made_in, letterhead)) if job.room else []
    if event and (span := _agreed_span(event.quote.terms, event.quote.letterhead)):
        said.append(f"The terms agreed for it name a room kept between {span} humidity for its glued joints.")
    if said:
        yield from (*said, MOVES)


def _room(room: Room, made_in: Decimal | None, letterhead: Mapping[str, Any]) -> Iterator[str]:
    """The room as it was said for its commission: that of the season furthest from the shop's air."""
    there = words.percent(room.humidity / 100)
    warm = _temperature(room.temperature_c, letterhead)
    where = f"It was made for a room of about {warm} and {there} relative humidity"
    if made_in is None:
        yield f"{where}."
    elif abs(made_in - room.humidity) < 1:
        yield f"{where}, about as in the workshop."
    else:
        low, high = sorted((made_in, room.humidity))
        yield f"{where} in the season furthest from the workshop’s {words.percent(made_in / 100)}."
        yield f"So the air it was made for is from {_plain(low)} to {words.percent(high / 100)} relative humidity."


def _temperature(celsius: Decimal, letterhead: Mapping[str, Any]) -> str:
    """Degrees C, and F beside them where the studio works in inches."""
    said = f"{_plain(celsius)}{words.NBSP}°C"
    if of_piece.units(letterhead)[0] != "in":
        return said
    return f"{said} ({celsius * 9 / 5 + 32:.0f}{words.NBSP}°F)"


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"


def _agreed_span(terms: str, frozen_letterhead: Mapping[str, Any]) -> str:
    """The humidity that accepted terms name for the joints, `40 and 55 %`; empty where they name none."""
    usual = frozen_letterhead.get("usual") or {}
    settled = [clause for clause in settled_clauses(usual, {}) if clause.head == "Joints."]
    if not settled or settled[0] not in clauses(terms):
        return ""
    return f"{usual['warranty_humidity_low']} and {usual['warranty_humidity_high']}{words.NBSP}%"
