"""Lengths as people write them, and the units a shop thinks in. Conversions come from pint."""

import re
from collections.abc import Callable
from fractions import Fraction
from functools import cache
from math import isfinite
from typing import Literal

from estimating.errors import shown

Unit = Literal["mm", "cm", "in"]
InchStyle = Literal["fraction", "decimal"]

BOARD_FOOT = 144 * 25.4**3
"""One board foot, 144 cubic inches, in mm3. Source: NIST SP 811 appendix B.8; held against pint in the tests."""

_SPELLINGS = {
    '"': "inch",
    "″": "inch",
    "”": "inch",
    "in": "inch",
    "in.": "inch",
    "inch": "inch",
    "inches": "inch",
    "'": "foot",
    "′": "foot",
    "’": "foot",
    "ft": "foot",
    "ft.": "foot",
    "foot": "foot",
    "feet": "foot",
    "mm": "millimetre",
    "cm": "centimetre",
    "m": "metre",
}
_NUMBER = r"(?:\d+(?:\s+|-)\d+/\d+|\d+/\d+|\d+\.\d*|\.\d+|\d+)"
_PART = re.compile(rf"\s*({_NUMBER})\s*([a-z]+\.?|[\"'″”′’])?\s*")


@cache
def in_mm(unit: str) -> float:
    """Millimetres in one of a unit that pint knows."""
    from pint import UnitRegistry  # a quarter of a second: only where a unit other than mm is used

    return float(_registry(UnitRegistry).convert(1, unit, "millimetre"))  # type: ignore[attr-defined]


@cache
def _registry(make: Callable[[], object]) -> object:
    return make()


def unit_in_mm(unit: Unit) -> float:
    """Millimetres in a unit of the piece sheet."""
    return 1.0 if unit == "mm" else in_mm(_SPELLINGS[unit])


def parse_length(text: str, *, unit: Unit | None = None) -> float:
    """A length in mm from text: `3 1/2 in`, `90 mm`, `0.1in`, `1/8"`, `1' 6"`, `12.5`.

    A number alone is in `unit`; with no `unit` it must name its own.
    Errors: ValueError with a sentence that says what would be right.
    """
    parts, at = [], 0
    written = text.strip().lower()
    while at < len(written):
        match = _PART.match(written, at)
        if match is None or match.end() == at:
            raise ValueError(f'is not a length: "{shown(text)}"; write it like 90 mm or 3 1/2 in')
        parts.append((match[1], match[2]))
        at = match.end()
    if not parts:
        raise ValueError("is empty; write a length like 90 mm or 3 1/2 in")
    return sum(_in_mm(number, name, alone=len(parts) == 1, unit=unit) for number, name in parts)


def _in_mm(number: str, name: str | None, *, alone: bool, unit: Unit | None) -> float:
    if name is None:
        if unit is None or not alone:
            raise ValueError(f"needs a unit, such as {number} mm or {number} in")
        factor = unit_in_mm(unit)
    elif name in _SPELLINGS:
        factor = in_mm(_SPELLINGS[name])
    else:
        raise ValueError(f'has a unit that is not a length here: "{shown(name)}"; use mm, cm, m, in or ft')
    return _value(number) * factor


def _value(number: str) -> float:
    try:
        value = float(sum(Fraction(part) for part in re.split(r"\s+|-", number)))
    except (ZeroDivisionError, OverflowError):
        value = float("inf")
    if not isfinite(value):
        raise ValueError(f'is not a number: "{shown(number)}"')
    return value


def format_length(
    mm: float, *, unit: Unit = "mm", inches: InchStyle = "fraction", with_unit: bool = False
) -> str:
    """A length as the shop writes it: millimetres to 0.1, inches in 64ths or to 0.001.

    >>> format_length(92.04), format_length(88.9, unit="in"), format_length(3.175, unit="in", with_unit=True)
    ('92', '3 1/2', '1/8 in')
    """
    if unit == "in":
        value = mm / in_mm("inch")
        written = _fraction(value) if inches == "fraction" else _trimmed(value, 3)
    else:
        written = _trimmed(mm / unit_in_mm(unit), 1 if unit == "mm" else 2)
    return f"{written} {unit}" if with_unit else written


def _trimmed(value: float, places: int) -> str:
    written = f"{value:.{places}f}"
    written = written.rstrip("0").rstrip(".") if "." in written else written
    return "0" if written == "-0" else written


def _fraction(value: float) -> str:
    sixty_fourths = round(abs(value) * 64)
    whole, part = divmod(sixty_fourths, 64)
    sign = "-" if value < 0 and sixty_fourths else ""
    if not part:
        return f"{sign}{whole}"
    return f"{sign}{whole} {Fraction(part, 64)}" if whole else f"{sign}{Fraction(part, 64)}"
