"""The price as each paper prints it: lines for the client, and the gallery's account on the trade copy."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from projects.papers.words import percent
from projects.templatetags.turnery import money


@dataclass(frozen=True)
class Line:
    """One line: what for, and how much, as printed."""

    words: str
    amount: str


@dataclass(frozen=True)
class Prices:
    """What a copy prints. `account` is the gallery's and stands on the trade copy alone."""

    lines: list[Line]
    total: Line
    deposit: str
    account: list[Line]
    net: Line


def prices(estimate: Mapping[str, Any], pricing: Mapping[str, Any], *, what: str, tax_name: str) -> Prices:
    """The lines of one quote from its frozen estimate and the pricing it was made with.

    Every amount is the estimate's.
    """
    price = estimate["price"]
    currency, inclusive = price.get("currency") or pricing["currency"], bool(pricing["tax_inclusive"])
    tax = Decimal(price["tax"])
    rate, share = (percent(Decimal(str(pricing[name]))) for name in ("tax", "gallery_share"))

    def line(words: str, amount: Decimal | str) -> Line:
        return Line(words, money(str(amount), currency))

    tax_words = f"of which {tax_name}, {rate}" if inclusive else f"{tax_name}, {rate}"
    return Prices(
        lines=[line(what, price["retail"]), line(tax_words, tax)],
        total=line("Total", price["total"]),
        deposit=_deposit(
            Decimal(str(pricing["deposit_share"])),
            of="the price" if inclusive or not tax else "the price before tax",
            deposit=money(price["deposit"], currency),
            balance=money(price["balance"], currency),
        ),
        account=[
            line("Retail before tax", price["retail_before_tax"]),
            line(f"Gallery’s share, {share} of retail before tax", -Decimal(price["gallery_share"])),
        ],
        net=line("Net to the studio", price["net"]),
    )


def _deposit(share: Decimal, *, of: str, deposit: str, balance: str) -> str:
    if not share:
        return "Payable before delivery; no deposit is asked for."
    part = f"{percent(share)} of {of}" if share < 1 else of
    return f"Deposit with the order: {deposit}, {part}. The balance, {balance}, is due before delivery."
