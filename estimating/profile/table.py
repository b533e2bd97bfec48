"""Profiles as a table of heights and radii: comma, semicolon or tab between the columns."""

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from io import StringIO
from itertools import pairwise
from math import isfinite

import numpy as np

from estimating.errors import InvalidInput, shown
from estimating.profile.fitting import MOST_POINTS, TOLERANCE, Trace, fit_all
from estimating.profile.halves import LARGEST, SMALLEST
from estimating.quantities import Unit, parse_length, unit_in_mm
from estimating.shape.curves import SAME_HEIGHT, CurvePoint

HEADINGS = ("height_mm", "radius_mm", "corner", "side")

_MOST_ROWS = 20_000
_LONGEST_CELL = 60
_COLUMNS = {"height": "height", "h": "height", "z": "height", "radius": "radius", "r": "radius",
            "diameter": "diameter", "dia": "diameter", "d": "diameter", "corner": "corner", "side": "side"}  # fmt: skip
_UNITS: dict[str, Unit] = {"mm": "mm", "cm": "cm", "in": "in", "inch": "in", "inches": "in"}
_CORNERS = {"": False, "0": False, "no": False, "false": False, "smooth": False,
            "1": True, "yes": True, "true": True, "corner": True, "x": True}  # fmt: skip
_SIDES = {"": "outside", "outside": "outside", "outer": "outside", "inside": "inside", "inner": "inside"}
_PLAIN = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?")


@dataclass(frozen=True, slots=True)
class _Layout:
    """The columns by name, the unit of each length, and whether a comma is a decimal point."""

    columns: tuple[str, ...]
    units: tuple[Unit, ...]
    decimal_comma: bool


@dataclass(frozen=True, slots=True)
class _Row:
    number: int
    point: CurvePoint
    side: str


def read_table(
    data: bytes, *, unit: Unit
) -> tuple[tuple[CurvePoint, ...], tuple[CurvePoint, ...], list[str]]:
    """Outer and inner points of a CSV file, heights as they stand in it, and notes. mm.

    Columns: height and radius (or diameter), then corner and side, which are optional. A first row of words names
    them in any order, with a unit where it has one: `height (in)`, `diameter_mm`. Without it they stand in that order
    and lengths are in `unit`; a length may also name its own. Where semicolons or tabs part the columns, a comma is a
    decimal point. Rows may run from the top down.
    Errors: InvalidInput at `file`, or at `file: row 7` with what is wrong in that row.
    """
    rows, decimal_comma = _rows(_text(data))
    if not rows:
        raise InvalidInput("file", "has no rows: a profile needs two points at least")
    layout, has_head = _layout(rows[0], unit, decimal_comma)
    read = _read_rows(rows[1:] if has_head else rows, layout)
    notes = [] if "corner" in layout.columns else ["The table has no column for corners, so none is one."]
    sides = [_upwards([row for row in read if row.side == side], notes) for side in ("outside", "inside")]
    if len(sides[0]) < 2 or len(sides[1]) == 1:
        raise InvalidInput("file", "has fewer than two points for a side; a curve needs two at least")
    _check_sizes(sides[0])
    outer, inner = (_thinned(points, notes) if points else () for points in sides)
    return outer, inner, notes


def _text(data: bytes) -> str:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        reason = f"is not text in UTF-8 (byte {error.start + 1}); save it again as CSV in UTF-8"
        raise InvalidInput("file", reason) from None
    if "\0" in text:
        raise InvalidInput(
            "file", "holds zero bytes, which no text does; it may be of another kind, or damaged"
        )
    return text


def _rows(text: str) -> tuple[list[tuple[int, list[str]]], bool]:
    """Number and cells of each row that is not empty, and whether commas are decimal points."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = next((mark for mark in "\t;" if mark in first), ",")
    rows: list[tuple[int, list[str]]] = []
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for number, cells in enumerate(reader, start=1):
            if len(rows) > _MOST_ROWS:
                raise InvalidInput("file", f"has more than {_MOST_ROWS} rows")
            tidy = [cell.strip() for cell in cells]
            if any(tidy):
                rows.append((number, tidy))
    except csv.Error as error:
        raise InvalidInput(f"file: row {len(rows) + 1}", f"cannot be read: {shown(str(error))}") from None
    return rows, delimiter != ","


# --- columns ------------------------------------------------------------------------------------------------------


def _layout(first: tuple[int, list[str]], unit: Unit, decimal_comma: bool) -> tuple[_Layout, bool]:
    """The columns, and whether the first row names them."""
    number, cells = first
    if any(cell[:1].isdigit() or cell[:1] in "+-." for cell in cells if cell):
        columns = ("height", "radius", "corner", "side")[: max(2, len(cells))]
        return _Layout(columns, (unit,) * len(columns), decimal_comma), False
    names, units = [], []
    for cell in cells:
        name, in_unit = _heading(cell, number)
        names.append(name)
        units.append(in_unit or unit)
    missing = "height" not in names or not {"radius", "diameter"} & set(names)
    if (
        missing
        or len(set(names) - {""}) < len([name for name in names if name])
        or {"radius", "diameter"} <= set(names)
    ):
        reason = "must name one column height and one radius or diameter, and no column twice"
        raise InvalidInput(f"file: row {number}", reason)
    return _Layout(tuple(names), tuple(units), decimal_comma), True


def _heading(cell: str, number: int) -> tuple[str, Unit | None]:
    words = re.findall(r"[^\W_]+", cell.lower())
    if not words:
        return "", None
    unit = _UNITS.get(words[-1]) if len(words) > 1 else None
    if words[0] not in _COLUMNS or len(words) > 2 or (len(words) == 2 and unit is None):
        reason = (
            f'has a heading that is not known: "{shown(cell)}"; use height, radius or diameter, corner, side'
        )
        raise InvalidInput(f"file: row {number}", f"{reason}, with mm, cm or in")
    return _COLUMNS[words[0]], unit


# --- rows ---------------------------------------------------------------------------------------------------------


def _read_rows(rows: Sequence[tuple[int, list[str]]], layout: _Layout) -> list[_Row]:
    read, bad = [], []
    for number, cells in rows:
        try:
            read.append(_read_row(number, cells, layout))
        except ValueError as error:
            bad.append((number, str(error)))
    if bad:
        more = ", ".join(str(number) for number, _ in bad[1:11])
        also = f" (as are rows {more}{' and more' if len(bad) > 11 else ''})" if more else ""
        raise InvalidInput(f"file: row {bad[0][0]}", f"{bad[0][1]}{also and '; wrong' + also}")
    return read


def _read_row(number: int, cells: Sequence[str], layout: _Layout) -> _Row:
    spare = cells[len(layout.columns) :]
    if any(spare):
        raise ValueError(f"has {len(cells)} columns, not {len(layout.columns)}")
    values = dict(zip(layout.columns, cells, strict=False))
    units = dict(zip(layout.columns, layout.units, strict=True))
    across = "radius" if "radius" in units else "diameter"
    for name in ("height", across):
        if not values.get(name):
            raise ValueError(f"has no {name}")
    height = _length("height", values["height"], units["height"], layout.decimal_comma)
    wide = _length(across, values[across], units[across], layout.decimal_comma)
    corner = _CORNERS.get(values.get("corner", "").lower())
    if corner is None:
        raise ValueError(f'says "{shown(values["corner"])}" of its corner; write yes or no')
    side = _SIDES.get(values.get("side", "").lower())
    if side is None:
        raise ValueError(f'says "{shown(values["side"])}" of its side; write outside or inside')
    return _Row(number, CurvePoint(height, wide / (1 if across == "radius" else 2), corner), side)


def _length(name: str, text: str, unit: Unit, decimal_comma: bool) -> float:
    if len(text) > _LONGEST_CELL:
        raise ValueError(f'has a {name} that is not a length: "{shown(text)}"')
    written = text.replace(",", ".") if decimal_comma else text
    try:
        plain = _PLAIN.fullmatch(written)
        value = float(written) * unit_in_mm(unit) if plain else parse_length(written, unit=unit)
    except ValueError as error:
        raise ValueError(f"has a {name} that {error}") from None
    if not isfinite(value) or not 0 <= value <= LARGEST:
        raise ValueError(f"has a {name} of {value:.6g} mm; it must be from 0 to {LARGEST:,.0f} mm")
    return value


# --- sides --------------------------------------------------------------------------------------------------------


def _upwards(rows: list[_Row], notes: list[str]) -> list[CurvePoint]:
    """The points from the bottom up, heights rising, off the axis but at the ends; the ends are no corners."""
    if len(rows) > 1 and rows[0].point.height > rows[-1].point.height:
        rows = rows[::-1]
        notes.append("The rows run from the top down; they are read from the bottom up.")
    for below, row in pairwise(rows):
        if row.point.height <= below.point.height + SAME_HEIGHT:
            reason = (
                f"turns back in height: {row.point.height:.6g} mm does not stand above "
                f"{below.point.height:.6g} mm in row {below.number}"
            )
            raise InvalidInput(f"file: row {row.number}", reason)
    for row in rows[1:-1]:
        if row.point.radius == 0:
            raise InvalidInput(f"file: row {row.number}", "touches the axis between the profile's ends")
    points = [row.point for row in rows]
    return [point._replace(corner=point.corner and 0 < n < len(points) - 1) for n, point in enumerate(points)]


def _check_sizes(points: Sequence[CurvePoint]) -> None:
    for name, size in (
        ("high", points[-1].height - points[0].height),
        ("from the axis to its outside", max(point.radius for point in points)),
    ):
        if size < SMALLEST:
            raise InvalidInput("file", f"is {size:.2g} mm {name}, less than {SMALLEST:g} mm; check its unit")


def _thinned(points: Sequence[CurvePoint], notes: list[str]) -> tuple[CurvePoint, ...]:
    """The points themselves, or as few as follow them within 0.05 mm where there are too many."""
    if len(points) <= MOST_POINTS:
        return tuple(points)
    heights, radii, corner = (np.array(values) for values in zip(*points, strict=True))
    slopes = np.diff(radii)
    must = corner | np.concatenate([[True], slopes[:-1] * slopes[1:] < 0, [True]])
    kept, _ = fit_all(Trace(heights, radii, must, corner), None, notes)
    notes.append(f"{len(points):,} rows were thinned to {len(kept)} points, within {TOLERANCE:g} mm.")
    return kept
