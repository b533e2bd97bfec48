"""Which paper a studio writes on."""

from typing import Literal

PaperName = Literal["a4", "letter"]

LETTER_CURRENCIES = frozenset({"USD", "CAD", "MXN", "PHP", "CLP", "COP"})
"""Currencies of countries that write on Letter paper rather than A4. From memory."""


def paper_of(*, unit: str, currency: str = "") -> PaperName:
    """Letter for who works in inches or is paid in such a currency, else A4."""
    return "letter" if unit == "in" or currency in LETTER_CURRENCIES else "a4"
