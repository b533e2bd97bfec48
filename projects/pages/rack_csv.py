"""The rack as CSV, written and read back with every error placed."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.exceptions import ValidationError

from projects.models import Board, Studio, Wood
from projects.models.fields import plain_text
from projects.models.rack import BoughtBy, Nominal, Surface
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
from projects.pages.fields import read_length, typed_length
from projects.pages.rack_fields import read_defects, written_defects
from projects.services.rack import board_planned
from projects.wording import in_shop_units

COLUMNS = {
    "wood": "wood",
    "how many": "count",
    "length": "length",
    "width": "width",
    "thickness": "thickness",
    "surface": "surface",
    "sold as": "nominal",
    "price": "price",
    "bought by": "bought_by",
    "defects": "defects",
    "where it lies": "place",
    "note": "note",
}
"""A column's head, and the board's field."""

HEADS = {name: head for head, name in COLUMNS.items()} | {"price_per_unit": "price"}
NEEDED = ("wood", "length", "width")
MEASURED = ("length", "width", "thickness", "defects")
FREE_TEXT = ("place", "note")


@dataclass(slots=True)
class ReadRack:
    """A file as it was read: a row of values each line, boards planned from them, and all that is wrong."""

    rows: list[dict[str, Any]] = field(default_factory=list)
    boards: list[Board] = field(default_factory=list)
    errors: list[CsvError] = field(default_factory=list)


def written_rack(boards: Iterable[Board], studio: Studio) -> str:
    """Boards as CSV, lengths in the studio's unit."""
    units = dict.fromkeys(MEASURED, studio.length_unit) | {"price": studio.currency}
    heads = [f"{head} ({units[name]})" if name in units else head for head, name in COLUMNS.items()]
    return written(heads, (_cells(board, studio) for board in boards))


def _cells(board: Board, studio: Studio) -> list[str]:
    # With its unit, since a spreadsheet takes 3/4 for a day in April; for the same reason 4/4 is four quarters.
    unit = " in" if studio.length_unit == "in" else ""
    price = board.price if board.price_per_unit is None else board.price_per_unit
    sides = [f"{typed_length(side, studio)}{unit}" for side in (board.length, board.width, board.thickness)]
    return [
        board.wood.key,
        str(board.count),
        *sides,
        board.surface,
        f"{board.nominal.removesuffix('/4')} quarters" if board.nominal else "",
        plain_text(Decimal(price)),
        BoughtBy(board.bought_by).label,
        written_defects(board.defects, studio, parted_by="; ", unit=unit),
        board.place,
        board.note,
    ]


def read_rack(text: str, studio: Studio, woods: Sequence[Wood]) -> ReadRack:
    """What a CSV says of boards, parted by commas or semicolons; nothing is saved.

    Lengths without a unit are in that of the column's head, else in the studio's.
    """
    found = ReadRack()
    lines = read_lines(text, COLUMNS, found.errors)
    if not lines:
        return found
    heads = _read_heads(lines[0][1], studio, found)
    if found.errors or too_many(lines, "boards", found.errors):
        return found
    by_name = _by_name(woods)
    for number, cells in lines[1:]:
        _read_row(number, cells, heads, studio, by_name, found)
    return found


def _read_heads(cells: Sequence[str], studio: Studio, found: ReadRack) -> list[tuple[Column, Studio]]:
    """Each column, and whose units it is in."""
    columns = read_heads(cells, COLUMNS, found.errors)
    heads = [(column, _units(column.name, column.head, column.unit, studio, found)) for column in columns]
    given = {column.name for column in columns}
    missing = [HEADS[name] for name in NEEDED if name not in given]
    if not {"thickness", "nominal"} & given:
        missing.append("thickness, or sold as")
    if missing:
        found.errors.append(CsvError(1, "", f"These columns are missing: {', '.join(missing)}."))
    return heads


def _units(name: str, head: str, unit: str, studio: Studio, found: ReadRack) -> Studio:
    if name in MEASURED and unit:
        if unit.lower() in ("mm", "in"):
            return Studio(length_unit=unit.lower(), inch_style=studio.inch_style)
        found.errors.append(CsvError(1, head, "Lengths are in mm or in: write length (mm) or length (in)."))
    if name == "price" and unit and unit.upper() != studio.currency:
        words = f"The prices are in {unit}, but the studio's are in {studio.currency}."
        found.errors.append(CsvError(1, head, words))
    return studio


def _by_name(woods: Iterable[Wood]) -> Mapping[str, Wood | None]:
    """Woods by key, and by name where only one has it."""
    found: dict[str, Wood | None] = {}
    for wood in woods:
        name = wood.name.strip().lower()
        found[name] = None if name in found else wood
    return found | {wood.key: wood for wood in woods}


def _read_row(
    line: int,
    cells: Sequence[str],
    heads: Sequence[tuple[Column, Studio]],
    studio: Studio,
    woods: Mapping[str, Wood | None],
    found: ReadRack,
) -> None:
    values: dict[str, Any] = {}
    before = len(found.errors)
    refuse_long(line, cells, [column for column, _ in heads], found.errors)
    for (column, units), cell in zip(heads, cells, strict=False):
        name = column.name
        text = armed(cell)
        if not name or not text.strip():
            continue
        try:
            values[name] = _value(name, text, units, woods)
        except ValueError as refusal:
            found.errors.append(CsvError(line, HEADS[name], str(refusal)))
    told = {error.column for error in found.errors[before:]}
    if HEADS["nominal"] in told:
        told.add("thickness")  # which would have followed from it
    for name in NEEDED:
        if name not in values and HEADS[name] not in told:
            found.errors.append(CsvError(line, HEADS[name], "This must not be empty."))
    if len(found.errors) > before and not {"wood", "length", "width"} <= values.keys():
        return
    _plan(line, values, studio, found, told=told)


def _value(name: str, text: str, units: Studio, woods: Mapping[str, Wood | None]) -> Any:
    """A cell's value.

    Errors: ValueError with a sentence.
    """
    if name in FREE_TEXT:
        return text
    text = text.strip()
    match name:
        case "wood":
            return _wood(text, woods)
        case "count":
            if not (text.isascii() and text.isdigit() and len(text) < 6):
                raise ValueError("Write a whole number.")
            return int(text)
        case "price":
            return _amount(text)
        case "defects":
            return read_defects(text, units)
        case "nominal":
            return _quarters(text)
        case "surface" | "bought_by":
            return _choice(text, Surface if name == "surface" else BoughtBy)
    return Decimal(str(read_length(with_point(text), units)))


def _wood(text: str, woods: Mapping[str, Wood | None]) -> Wood:
    wood = woods.get(text.lower())
    if wood is None:
        several = "Several woods of the studio have" if text.lower() in woods else "No wood of the studio has"
        raise ValueError(f"{several} this name. Use its key, from the list of woods.")
    return wood


def _amount(text: str) -> Decimal:
    plain = re.sub(r"[$€£\s]", "", text)
    if re.fullmatch(r"\d{1,3}(,\d{3})+\.\d+", plain):
        plain = plain.replace(",", "")
    try:
        amount = Decimal(with_point(plain))
    except InvalidOperation:
        amount = Decimal("NaN")
    if not amount.is_finite():
        raise ValueError("Write an amount such as 38.50.")
    return amount


def _quarters(text: str) -> str:
    number = re.fullmatch(r"(\d{1,2})\s*(?:/\s*4|quarters?)", text, re.IGNORECASE)
    name = f"{number[1]}/4" if number else ""
    if name not in Nominal.values:
        known = ", ".join(value.removesuffix("/4") for value in Nominal.values)
        raise ValueError(f"Write it in quarters of an inch, such as 8 quarters; there are {known}.")
    return name


def _choice(text: str, choices: type[Surface] | type[BoughtBy]) -> str:
    for value, label in choices.choices:
        if text.lower() in (value, label):
            return value
    raise ValueError(f"Write one of: {', '.join(map(str, choices.labels))}.")


def _plan(line: int, values: dict[str, Any], studio: Studio, found: ReadRack, *, told: set[str]) -> None:
    """A row's boards as the service would have them, its refusals at their columns."""
    if values.get("bought_by", BoughtBy.PIECE) != BoughtBy.PIECE and "price" in values:
        values["price_per_unit"] = values.pop("price")
    try:
        board = board_planned(studio=studio, **values)
    except ValidationError as refusal:
        for name, messages in refusal.message_dict.items():
            column = HEADS.get(name, "")
            if column not in told or not column:
                words = in_shop_units(" ".join(messages), studio)
                found.errors.append(CsvError(line, column, words))
        return
    found.rows.append(values)
    found.boards.append(board)
