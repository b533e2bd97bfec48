"""What travels with a piece: its condition report, signed at both ends, and its packing note."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from estimating.price.carriage import pack
from projects.models import PieceRecord
from projects.models.records import PlaceKind
from projects.papers import of_piece, words
from projects.papers.certificate import count_of
from projects.pricing_data import pricing_of
from projects.templatetags.turnery import about_percent, money

LOOKED_AT = (
    *("Rim", "Outside", "Inside", "Foot and underside", "Glued joints", "Finish", "Signature and number"),
    "Packing",
)
"""What is looked at on a turned piece. Common practice, no source."""


def condition_pdf(record: PieceRecord, *, letterhead: Mapping[str, Any]) -> bytes:
    """A condition report to be filled in by hand as the piece leaves and as it arrives; same record, same bytes."""
    context = {
        "head": "Condition report",
        "number": record.serial,
        "title": record.title,
        "picture": of_piece.pictures_of([record], longest=of_piece.LIST_PX).get(record.pk),
        "facts": of_piece.said_facts(
            (
                ("Number", record.serial),
                ("Finished", of_piece.finished(record)),
                ("Size", of_piece.sized(record, letterhead)),
                ("Weight", of_piece.weight(record, letterhead)),
                ("Finish", of_piece.finish(record)),
                ("Going to", _holder(record)),
            )
        ),
        "woods": list(record.woods.all()),
        "looked_at": LOOKED_AT,
    }
    return of_piece.print_piece_paper(
        "condition.html", context, letterhead=letterhead, made_at=record.updated_at
    )


def packing_pdf(
    record: PieceRecord, *, letterhead: Mapping[str, Any], species: Sequence[Mapping[str, Any]]
) -> bytes:
    """A packing note: box, masses, value, what customs are told, and the species. Same record and shelf, same bytes.

    `species` are the woods of the studio's shelf as `frozen_species` has them. What is not known is a line to write on.
    """
    context = {
        "head": "Packing note",
        "number": record.serial,
        "title": record.title,
        "facts": list(packing_facts(record, letterhead=letterhead)),
        "species": list(_species(record, species)),
    }
    return of_piece.print_piece_paper(
        "packing.html", context, letterhead=letterhead, made_at=record.updated_at
    )


def packing_facts(record: PieceRecord, *, letterhead: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Head and words of each fact; empty words are to be written in by hand."""
    box, gross = _packed(record, letterhead)
    yield "Going to", _holder(record)
    yield "Contents", f"One piece, {of_piece.sized(record, letterhead)}".removesuffix(", ")
    yield "Net mass", of_piece.weight(record, letterhead)
    yield "Box, outside", box
    yield "Gross mass", gross
    yield "Value", of_piece.priced(record)
    yield "Insured for", _insured(record)
    yield "For customs", _customs(record)
    yield "Tariff number", ""
    yield "Made in", ""


def _packed(record: PieceRecord, letterhead: Mapping[str, Any]) -> tuple[str, str]:
    """The box and its gross mass as the studio's settings of carriage make them; empty where a measure is missing."""
    sides = (record.height_shown, record.diameter_shown, record.mass_shown)
    known = [float(side) for side in sides if side is not None]
    if len(known) < len(sides):
        return "", ""
    height, diameter, grams = known
    pricing = pricing_of(record.studio, adhesive=None, commission=record.commission)
    box = pack(height=height, diameter=diameter, piece_kg=grams / 1000, pricing=pricing)
    unit, inches = of_piece.units(letterhead)
    wide, tall = (words.length(side, unit=unit, inches=inches) for side in (box.width, box.height))
    return f"{wide} × {wide} × {tall}{words.NBSP}{unit}", words.mass(box.gross_kg * 1000, unit=unit)


def _insured(record: PieceRecord) -> str:
    """As agreed for its commission, where that is of one piece."""
    job = record.commission
    if job is None or job.insured_value is None or count_of(job) > 1:
        return ""
    return f"{money(job.insured_value, record.currency)}, before tax"


def _customs(record: PieceRecord) -> str:
    """What it is, in plain words for who has never seen one."""
    named = record.form or "piece"
    woods = ", ".join(wood.botanical or wood.name for wood in record.woods.all())
    made = "glued up from segments and turned on a lathe" if record.segments else "turned on a lathe"
    year = f", {record.year}" if record.year else ""
    return f"Wooden {named}, {made} by the sender{year}; one piece{f'. Wood: {woods}' if woods else ''}."


def _species(record: PieceRecord, shelf: Sequence[Mapping[str, Any]]) -> Iterator[dict[str, str]]:
    """Every wood by both names, its share, where it grew and what a list of protected species says of it."""
    known = {wood["key"]: wood for wood in shelf}
    for wood in record.woods.all():
        row = known.get(wood.key, {})
        yield {
            "name": wood.name,
            "botanical": wood.botanical,
            "share": about_percent(wood.share) if wood.share else "",
            "origin": row.get("origin", ""),
            "protected": row.get("protected_note", ""),
        }


def _holder(record: PieceRecord) -> str:
    return "" if record.place == PlaceKind.STUDIO else record.place_words
