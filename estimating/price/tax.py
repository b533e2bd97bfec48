"""Tax on the lines of a quote: by line or on their sum, beside the prices or in them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.price.money import round_money
from estimating.terms import TaxBy


@dataclass(frozen=True, slots=True)
class Taxed:
    """What a payer pays in all: `base` is what it is before tax, and `base` + `tax` = `total`, exactly."""

    base: Decimal
    tax: Decimal
    total: Decimal


def add_tax(amount: Decimal, *, rate: Decimal, currency: str) -> Decimal:
    """An amount before tax as it is printed with its tax in it."""
    return amount + round_money(amount * rate, currency=currency)


def tax_in(printed: Decimal, *, rate: Decimal, currency: str) -> Decimal:
    """The tax that a price holds: rate / (1 + rate) of it, rounded.

    What `add_tax` added comes out again to the coin, since its rounding error is less than half of one here.
    """
    return round_money(printed * rate / (1 + rate), currency=currency)


def tax_lines(
    printed: Sequence[Decimal], *, rate: Decimal, inclusive: bool, by: TaxBy, currency: str
) -> Taxed:
    """The tax on lines as they are printed, which is with their tax where `inclusive`.

    Rounded half up once a line, or once for the quote; which of the two is the seller's choice.
    Source: Streamlined Sales and Use Tax Agreement section 324 (an item or an invoice; up where the third decimal is
    greater than four); HMRC VATREC12010 and VATREC12030; no rule is common to the European Union (CJEU C-484/06 Ahold).
    """
    together = sum(printed, Decimal(0))
    charged: Iterable[Decimal] = printed if by == "line" else (together,)
    if inclusive:
        tax = sum((tax_in(line, rate=rate, currency=currency) for line in charged), Decimal(0))
        return Taxed(base=together - tax, tax=tax, total=together)
    tax = sum((round_money(line * rate, currency=currency) for line in charged), Decimal(0))
    return Taxed(base=together, tax=tax, total=together + tax)
