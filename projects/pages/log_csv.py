"""The log as CSV, written, and read back with every error placed: how old pieces come in."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import MAXYEAR, MINYEAR, date
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.models import Client, PieceRecord, Studio
from projects.models.fields import plain_text
from projects.models.records import PlaceKind
from projects.pages.csv_files import (
    Column,
    CsvError,
    armed,
    read_heads,
    read_lines,
    refuse_long,
    too_many,
    with_point,
    written,
)
from projects.pages.fields import MoneyField, read_length, typed_length
from projects.pages.piece_forms import (
    GRAMS,
    read_coats,
    read_day,
    read_mass,
    read_woods,
    written_coats,
    written_woods,
)
from projects.wording import in_shop_units

COLUMNS = {
    "serial number": "serial",
    "title": "title",
    "finished on": "made_on",
    "year": "year",
    "form": "form",
    "woods": "woods",
    "height": "height",
    "diameter": "diameter",
    "mass": "mass_g",
    "segments": "segments",
    "finish": "coats",
    "price": "price",
    "where it is": "place",
    "since": "since",
    "with": "with",
    "to be back by": "due_back",
    "failures": "failures",
    "repairs": "repairs",
    "lessons": "lessons",
}
"""A column's head, and the record's field."""

HEADS = {name: head for head, name in COLUMNS.items()}
# Where the services refuse in a place that has no column of its own.
PLACES = {
    "place.kind": "place",
    "place.since": "since",
    "place.due_back": "due_back",
    "place.client": "with",
    "place.words": "with",
}
MEASURED = ("height", "diameter")
FREE_TEXT = ("serial", "title", "form", "with", "failures", "repairs", "lessons")


@dataclass(slots=True)
class ReadLog:
    """A file as it was read: a row of values each line, the lines they stand on, and all that is wrong."""

    rows: list[dict[str, Any]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    errors: list[CsvError] = field(default_factory=list)

    def refuse(self, refusal: ValidationError, studio: Studio) -> None:
        """Put what the service refuses at its line and column: `[3].title`."""
        if not hasattr(refusal, "error_dict"):
            self.errors += [CsvError(0, "", words) for words in refusal.messages]
            return
        for place, messages in refusal.message_dict.items():
            number, _, name = place.removeprefix("[").partition("]")
            name = name.removeprefix(".")
            column = HEADS.get(PLACES.get(name, name.partition(".")[0]), "")
            line = self.lines[int(number)] if number.isdigit() else 0
            self.errors.append(CsvError(line, column, in_shop_units(" ".join(messages), studio)))


def written_log(pieces: Iterable[PieceRecord], studio: Studio) -> str:
    """Pieces as CSV, lengths in the studio's unit."""
    units = {**dict.fromkeys(MEASURED, studio.length_unit), "mass_g": "g", "price": studio.currency}
    heads = [f"{head} ({units[name]})" if name in units else head for head, name in COLUMNS.items()]
    return written(heads, (_cells(piece, studio) for piece in pieces))


def _cells(piece: PieceRecord, studio: Studio) -> list[str]:
    # With its unit, since a spreadsheet takes 3/4 for a day in April.
    unit = " in" if studio.length_unit == "in" else ""
    sides = [
        "" if side is None else f"{typed_length(side, studio)}{unit}"
        for side in (piece.height_shown, piece.diameter_shown)
    ]
    return [
        piece.serial,
        piece.title,
        piece.made_on.isoformat() if piece.made_on else "",
        str(piece.year or ""),
        piece.form,
        written_woods(piece.woods.all(), parted_by="; "),
        *sides,
        _number(piece.mass_shown),
        str(piece.segments or ""),
        written_coats(piece.coats.all(), parted_by="; "),
        _number(piece.price),
        piece.get_place_display(),
        piece.place_since.isoformat() if piece.place_since else "",
        piece.place_words,
        piece.due_back.isoformat() if piece.due_back else "",
        piece.failures,
        piece.repairs,
        piece.lessons,
    ]


def _number(value: Decimal | None) -> str:
    return "" if value is None else plain_text(value)


def read_log(text: str, studio: Studio) -> ReadLog:
    """What a CSV says of pieces, parted by commas or semicolons; nothing is saved.

    Lengths without a unit are in that of the column's head, else in the studio's.
    """
    found = ReadLog()
    lines = read_lines(text, COLUMNS, found.errors)
    if not lines:
        return found
    heads = read_heads(lines[0][1], COLUMNS, found.errors)
    units = {column.name: _units(column, studio, found) for column in heads}
    if "title" not in units:
        found.errors.append(CsvError(1, "", "This column is missing: title."))
    if found.errors or too_many(lines, "pieces", found.errors):
        return found
    clients = {client.name.lower(): client for client in Client.objects.for_studio(studio)}
    for number, cells in lines[1:]:
        values = _read_row(number, cells, heads, units, found)
        found.rows.append(_as_written(values, clients))
        found.lines.append(number)
    return found


def _units(column: Column, studio: Studio, found: ReadLog) -> Any:
    """In whose units a column is: a studio for lengths and money, the unit's sign for masses."""
    unit = column.unit.lower()
    if column.name in MEASURED and unit:
        if unit in ("mm", "in"):
            return Studio(length_unit=unit, inch_style=studio.inch_style)
        words = "Lengths are in mm or in: write height (mm) or height (in)."
        found.errors.append(CsvError(1, column.head, words))
    if column.name == "mass_g":
        if unit in ("", *GRAMS):
            return unit or "g"
        found.errors.append(CsvError(1, column.head, f"Masses are in {', '.join(GRAMS)}."))
    if column.name == "price" and unit and unit.upper() != studio.currency:
        words = f"The prices are in {column.unit}, but the studio's are in {studio.currency}."
        found.errors.append(CsvError(1, column.head, words))
    return studio


def _read_row(
    line: int, cells: Sequence[str], heads: Sequence[Column], units: Mapping[str, Any], found: ReadLog
) -> dict[str, Any]:
    values: dict[str, Any] = {}
    refuse_long(line, cells, heads, found.errors)
    for column, cell in zip(heads, cells, strict=False):
        text = armed(cell).strip()
        if not column.name or not text:
            continue
        try:
            values[column.name] = _value(column.name, text, units[column.name])
        except ValueError as refusal:
            found.errors.append(CsvError(line, HEADS[column.name], str(refusal)))
        except ValidationError as refusal:
            found.errors.append(CsvError(line, HEADS[column.name], " ".join(refusal.messages)))
    return values


def _value(name: str, text: str, units: Any) -> Any:
    """A cell's value. Errors: ValueError with a sentence; ValidationError of an amount."""
    if name in FREE_TEXT:
        return text
    match name:
        case "woods":
            return read_woods(text)
        case "coats":
            return read_coats(text)
        case "made_on" | "since" | "due_back":
            return read_day(text)
        case "mass_g":
            return read_mass(text, unit=units)
        case "price":
            return MoneyField(currency=units.currency, max_digits=14, decimal_places=4).clean(
                with_point(text)
            )
        case "place":
            return _place(text)
        case "year" | "segments":
            if not (text.isascii() and text.isdigit() and len(text) < 8):
                raise ValueError("Write a whole number.")
            return int(text)
    return Decimal(str(read_length(with_point(text), units)))


def _place(text: str) -> str:
    for value, label in PlaceKind.choices:
        if text.lower() in (value, label):
            return value
    raise ValueError(f"Write one of: {', '.join(map(str, PlaceKind.labels))}.")


def _end_of(year: int | None) -> date:
    """The last day of a year, or today where that is sooner or no year is known."""
    today = timezone.localdate()
    return min(date(year, 12, 31), today) if year and MINYEAR <= year <= MAXYEAR else today


def _as_written(values: dict[str, Any], clients: Mapping[str, Client]) -> dict[str, Any]:
    """A row as the service takes it: where the piece is in one value."""
    values.setdefault("title", "")  # which the service asks for, in its own words
    kind, since, holder, due_back = (
        values.pop(name, None) for name in ("place", "since", "with", "due_back")
    )
    if kind or since or holder or due_back:
        since = since or values.get("made_on") or _end_of(values.get("year"))
        place = {
            "kind": kind or PlaceKind.STUDIO,
            "since": since,
            "words": holder or "",
            "due_back": due_back,
        }
        if holder and (client := clients.get(holder.lower())):
            place |= {"client": client, "words": ""}
        values["place"] = place
    return values
