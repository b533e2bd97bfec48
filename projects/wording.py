"""Sentences of the arithmetic and of the tables, said in the units on screen."""

import re
from decimal import Decimal

from estimating.quantities import format_length, parse_length, unit_in_mm
from projects.models import Studio
from projects.models.fields import plain_text

_NUMBER = r"\d+(?:\.\d+)?(?:e[+-]?\d+)?"
# `12 mm`, and boards as `2400 x 150 x 25 mm`; not the `mm` of mm³.
_LENGTHS = re.compile(rf"(?<![\w.+-])({_NUMBER}(?: [x×] {_NUMBER})*) mm(?![\w²³])")
_USUAL_LENGTH = re.compile(
    r"Usual: ([\d.]+) mm((?: an? \w+| wet)?), ([\d.]+) to ([\d.]+) met\.(.*)", re.DOTALL
)
_USUAL_SHARE = re.compile(r"Usual: ([\d.]+) share, ([\d.]+) to ([\d.]+) met")
_SHARES = re.compile(r"\b0\.(\d\d)(?:-0\.(\d\d))?(?!\d|\.\d)")
# An inch said to the thousandth is within this of what was meant.
_CLOSE_MM = 0.0127


def said_length(mm: float, studio: Studio) -> str:
    """A length for a sentence, without its unit: the shop's fraction where it is true, else thousandths of an inch."""
    if studio.length_unit == "mm":
        return plain_text(Decimal(str(round(mm, 3))))
    short = format_length(mm, unit="in", inches=studio.inch_style)  # type: ignore[arg-type]
    if abs(parse_length(short, unit="in") - mm) < _CLOSE_MM:
        return short
    return f"{mm / unit_in_mm('in'):.3f}"


def in_shop_units(words: str, studio: Studio) -> str:
    """A sentence of the arithmetic, which speaks of mm, in the studio's unit."""
    if studio.length_unit == "mm":
        return words

    def said(match: re.Match[str]) -> str:
        sides = (said_length(float(side), studio) for side in re.split(" [x×] ", match[1]))
        return f"{' × '.join(sides)} {studio.length_unit}"

    return _LENGTHS.sub(said, words)


def _about_inches(mm: float) -> str:
    """A usual value, which is no exact figure: three places below an inch, two above."""
    inches = mm / unit_in_mm("in")
    return plain_text(Decimal(str(round(inches, 3 if inches < 1 else 2))))


def length_help(words: str, studio: Studio) -> str:
    """What a length's help says of usual values, in the field's own unit; a note's bare figures are marked as mm."""
    if studio.length_unit == "mm":
        return words

    def said(match: re.Match[str]) -> str:
        usual, low, high = (_about_inches(float(match[group])) for group in (1, 3, 4))
        note = match[5].strip()
        if re.search("[1-9]", note) and "in.)" not in note:
            note = f"In mm: {note[:1].lower()}{note[1:]}"
        return f"Usual: {usual} in{match[2]}, {low} to {high} met. {note}".strip()

    return _USUAL_LENGTH.sub(said, words)


def in_percent(words: str) -> str:
    """What a share's help says of usual values, in per cent like the field itself."""

    def percent(match: re.Match[str]) -> str:
        usual, low, high = (plain_text(Decimal(part) * 100) for part in match.groups())
        return f"Usual: {usual} %, {low} to {high} % met"

    def noted(match: re.Match[str]) -> str:
        return f"{int(match[1])}{f' to {int(match[2])}' if match[2] else ''} %"

    return _SHARES.sub(noted, _USUAL_SHARE.sub(percent, words))
