"""The price as each paper prints it: lines for the client, and the gallery's account on the trade copy."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimating.price.tax import add_tax
from projects.papers.words import percent
from projects.templatetags.turnery import money


@dataclass(frozen=True)
class Line:
    """One line: what for, and how much, as printed."""

    words: str
    amount: str


@dataclass(frozen=True)
class Prices:
    """What a copy prints. `account` is the gallery's and stands on the trade copy alone.

    `payments` are the stages agreed, in the place of `deposit`; none where there is but a deposit and the balance.
    """

    lines: list[Line]
    total: Line
    deposit: str
    payments: list[Line]
    account: list[Line]
    net: Line


def prices(estimate: Mapping[str, Any], pricing: Mapping[str, Any], *, what: str, tax_name: str) -> Prices:
    """The lines of one quote from its frozen estimate and the pricing it was made with.

    Every amount is the estimate's.
    """
    price, shared = estimate["price"], estimate.get("money") or {}
    currency, inclusive = price.get("currency") or pricing["currency"], bool(pricing["tax_inclusive"])
    tax = Decimal(price["tax"])
    rate, share = (percent(Decimal(str(pricing[name]))) for name in ("tax", "gallery_share"))

    def line(words: str, amount: Decimal | str) -> Line:
        return Line(words, money(str(amount), currency))

    tax_words = f"of which {tax_name}, {rate}" if inclusive else f"{tax_name}, {rate}"
    return Prices(
        lines=[*_asked(price, shared, what=what, pricing=pricing, line=line), line(tax_words, tax)],
        total=line("Total", price["total"]),
        deposit=_deposit(
            Decimal(str(pricing["deposit_share"])),
            of="the price" if inclusive or not tax else "the price before tax",
            deposit=money(price["deposit"], currency),
            balance=money(price["balance"], currency),
        ),
        payments=_payments(shared, pricing=pricing, currency=currency),
        account=[
            line("Retail before tax", price["retail_before_tax"]),
            line(f"Gallery’s share, {share} of retail before tax", -Decimal(price["gallery_share"])),
            *([line("Payment fee", -Decimal(shared["fee"]))] if _is_more(shared, "fee") else []),
        ],
        net=line("Net to the studio", price["net"]),
    )


def _is_more(shared: Mapping[str, Any], name: str) -> bool:
    """Whether there is such an amount; quotes issued before there could be one have none."""
    return Decimal(shared.get(name) or 0) != 0


def _asked(
    price: Mapping[str, Any],
    shared: Mapping[str, Any],
    *,
    what: str,
    pricing: Mapping[str, Any],
    line: Callable[[str, Decimal | str], Line],
) -> Iterator[Line]:
    """The pieces, at what they are charged to who gets the paper, less a discount; what is charged as it costs."""
    if shared.get("mode") == "purchase":
        yield line(f"{what}, to the gallery", shared["work"])
    elif _is_more(shared, "discount"):
        yield line(what, shared["listed"])
        yield line(f"Discount, {percent(Decimal(str(pricing['discount'])))}", -Decimal(shared["discount"]))
    else:
        yield line(what, price["retail"])
    for name in ("freight", "crate", "stand"):
        if _is_more(shared, name):
            yield line(name.capitalize(), _printed(Decimal(shared[name]), pricing))


def _printed(amount: Decimal, pricing: Mapping[str, Any]) -> Decimal:
    """What is charged as it costs, with its tax where the prices have theirs."""
    if not pricing["tax_inclusive"]:
        return amount
    return add_tax(amount, rate=Decimal(str(pricing["tax"])), currency=pricing["currency"])


def _payments(shared: Mapping[str, Any], *, pricing: Mapping[str, Any], currency: str) -> list[Line]:
    """The stages agreed, each with its share."""
    if not pricing.get("stage_shares"):
        return []
    stages = shared["payments"]
    when = ["With the order", *(f"Payment {number}" for number in range(2, len(stages))), "Before delivery"]
    return [
        Line(f"{words}, {percent(Decimal(str(stage['share'])))}", money(stage["amount"], currency))
        for words, stage in zip(when, stages, strict=True)
    ]


def _deposit(share: Decimal, *, of: str, deposit: str, balance: str) -> str:
    if not share:
        return "Payable before delivery; no deposit is asked for."
    part = f"{percent(share)} of {of}" if share < 1 else of
    return f"Deposit with the order: {deposit}, {part}. The balance, {balance}, is due before delivery."
