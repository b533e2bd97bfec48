"""How a quote says its figures: sizes with what they may be off by, masses, counts, dates."""

import datetime
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from math import floor, log10
from typing import Any

from estimating.quantities import format_length

TOLERANCE_SHARE = Decimal("0.015")
"""How far a finished piece may be off its drawing: a share of its larger measure. Common practice, no source."""

_STEPS = {"mm": Decimal(1), "fraction": Decimal("25.4") / 16, "decimal": Decimal("2.54")}
NBSP = "\N{NO-BREAK SPACE}"

_POUND_G = 453.59237
"""Grams in an avoirdupois pound, exact. Source: NIST SP 811 appendix B.8."""

_NUMBERS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def size(form: dict[str, Any], *, unit: str, inches: str) -> str:
    """Height and width as a client needs them, to the millimetre or the sixteenth, and their tolerance."""
    step = _STEPS["mm" if unit == "mm" else inches]
    measures = [Decimal(repr(form[name])) for name in ("height", "largest_diameter")]
    height, width = (_in_steps(measure, step, ROUND_HALF_UP) for measure in measures)
    off = max(_in_steps(max(measures) * TOLERANCE_SHARE, step, ROUND_CEILING), 2 * step)
    written = [format_length(float(mm), unit=unit, inches=inches) for mm in (height, width, off)]  # type: ignore[arg-type]
    high, across, either_way = (f"{length} {unit}".replace(" ", NBSP) for length in written)
    return f"{high} high, {across} across, each ±{NBSP}{either_way}"


def length(mm: float, *, unit: str, inches: str) -> str:
    """A length to the millimetre or the sixteenth, without its unit."""
    stepped = _in_steps(Decimal(repr(mm)), _STEPS["mm" if unit == "mm" else inches], ROUND_HALF_UP)
    return format_length(float(stepped), unit=unit, inches=inches)  # type: ignore[arg-type]  # one of the two


def _in_steps(mm: Decimal, step: Decimal, rounding: str) -> Decimal:
    return (mm / step).quantize(Decimal(1), rounding=rounding) * step


def mass(grams: float, *, unit: str) -> str:
    """About what a piece weighs, to two figures; in pounds as well where the studio works in inches."""
    metric = f"{_two_figures(grams)} g" if grams < 995 else f"{_two_figures(grams / 1000)} kg"
    return f"about {metric}" if unit == "mm" else f"about {_two_figures(grams / _POUND_G)} lb ({metric})"


def _two_figures(value: float) -> str:
    rounded = float(f"{value:.2g}")
    places = max(1 - floor(log10(rounded)), 0) if rounded > 0 else 0
    return f"{rounded:,.{places}f}"


def percent(share: Decimal) -> str:
    """A share as a percentage with all its figures: a tax of 0.0825 is 8.25 %, and nothing near it.

    >>> percent(Decimal("0.0825")), percent(Decimal("0.450"))
    ('8.25\xa0%', '45\xa0%')
    """
    return f"{(share * 100).normalize():f}{NBSP}%"


def counted(count: int, one: str, many: str) -> str:
    """A count in figures with its noun: `1 layer`, `1,752 pieces of wood`."""
    return f"{count:,} {one if count == 1 else many}"


def spelled(count: int) -> str:
    """A small count in words, a larger one in figures."""
    return _NUMBERS[count] if 0 <= count < len(_NUMBERS) else f"{count:,}"


def of_pieces(quantity: int, *, sold: str = "each") -> str:
    """What is sold: `One piece`, `Two pieces`, or as a set `A pair`, `A set of three`."""
    if quantity == 1:
        return "One piece"
    if sold == "set":
        return "A pair" if quantity == 2 else f"A set of {spelled(quantity)}"
    return f"{spelled(quantity).capitalize()} pieces"


def kept_together(said: str) -> str:
    """A sentence whose last two words stay on one line, so that none is left alone on the next."""
    before, _, last = said.rpartition(" ")
    return f"{before}{NBSP}{last}" if before else said


def day(date: datetime.date) -> str:
    """`3 March 2027`, the same on any machine."""
    return f"{date.day} {date:%B %Y}"


def lines(text: str) -> list[str]:
    """The lines of an address, without empty ones."""
    return [line.strip() for line in text.splitlines() if line.strip()]


def currency(code: str, date: datetime.date) -> str:
    """Which currency the figures are in, and as of when: `All amounts in US dollars (USD), as of 3 March 2027.`"""
    from babel.numbers import get_currency_name  # brings its tables, which most requests do without

    return f"All amounts in {get_currency_name(code, 2, locale='en')} ({code}), as of {day(date)}."
