"""Tax on the lines of a quote: by line or on their sum, beside the prices or in them."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.price.money import round_money
from estimating.terms import TaxBy


@dataclass(frozen=True, slots=True)
class TaxAt:
    """What is taxed at one rate: `base` is what it is before tax."""

    rate: Decimal
    base: Decimal
    tax: Decimal


@dataclass(frozen=True, slots=True)
class Taxed:
    """What a payer pays in all, and what of it is taxed at each rate, in the order of the lines."""

    at_rates: tuple[TaxAt, ...]

    @property
    def base(self) -> Decimal:
        """What it is before tax."""
        return sum((one.base for one in self.at_rates), Decimal(0))

    @property
    def tax(self) -> Decimal:
        """The tax at all rates."""
        return sum((one.tax for one in self.at_rates), Decimal(0))

    @property
    def total(self) -> Decimal:
        """Base and tax."""
        return self.base + self.tax


def add_tax(amount: Decimal, *, rate: Decimal, currency: str) -> Decimal:
    """An amount before tax as it is printed with its tax in it."""
    return amount + round_money(amount * rate, currency=currency)


def tax_in(printed: Decimal, *, rate: Decimal, currency: str) -> Decimal:
    """The tax that a price holds: rate / (1 + rate) of it, rounded.

    What `add_tax` added comes out again to the coin, since its rounding error is less than half of one here.
    """
    return round_money(printed * rate / (1 + rate), currency=currency)


def tax_lines(
    lines: Sequence[tuple[Decimal, Decimal]], *, inclusive: bool, by: TaxBy, currency: str
) -> Taxed:
    """The tax on lines as they are printed, which is with their tax where `inclusive`; each line with its rate.

    Rounded half up once a line, or once for all lines of one rate; which of the two is the seller's choice. A line of
    nothing brings no rate in, but for the first.
    Source: Streamlined Sales and Use Tax Agreement section 324 (an item or an invoice; up where the third decimal is
    greater than four); HMRC VATREC12010 and VATREC12030; no rule is common to the European Union (CJEU C-484/06 Ahold),
    whose invoices state the taxable amount per rate (Directive 2006/112/EC article 226, point 8; from memory).
    """
    of_rate: dict[Decimal, list[Decimal]] = {}
    for at, (printed, rate) in enumerate(lines):
        if printed or not at:
            of_rate.setdefault(rate, []).append(printed)

    def taxed(rate: Decimal, printed: list[Decimal]) -> TaxAt:
        together = sum(printed, Decimal(0))
        charged = printed if by == "line" else [together]
        taxes = (
            tax_in(line, rate=rate, currency=currency)
            if inclusive
            else round_money(line * rate, currency=currency)
            for line in charged
        )
        tax = sum(taxes, Decimal(0))
        return TaxAt(rate, base=together - tax if inclusive else together, tax=tax)

    return Taxed(tuple(taxed(rate, printed) for rate, printed in of_rate.items()))
