"""The money of papers, exactly: an order's lines, what of a payment is tax at which rate, and what is left."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import accumulate, pairwise
from typing import Any, Protocol

from estimating.price.money import round_money
from estimating.price.payments import Payment, in_stages
from estimating.price.tax import TaxAt, Taxed
from projects.owed import AT_COST, Owed, is_consigned

ZERO = Decimal(0)


class Change(Protocol):
    """What is asked of a change order."""

    number: int
    title: str
    base: Decimal
    tax: Decimal


@dataclass(frozen=True, slots=True)
class Line:
    """A line of an order before tax, and the rate of tax on it."""

    words: str
    base: Decimal
    rate: Decimal


def order_lines(owed: Owed, estimate: Mapping[str, Any], *, what: str) -> list[Line]:
    """The pieces, called `what`, and what is charged as it costs: before tax, and together what is owed before tax.

    Where tax is rounded once for all, the pieces take the coin that the lines are off by.
    """
    shared = estimate.get("money") or {}
    rates, usual = shared.get("rates") or {}, owed.at_rates[0].rate
    at_cost = [(name, Decimal(shared.get(name) or 0)) for name in AT_COST]
    pieces = owed.base - sum((amount for _, amount in at_cost), ZERO)
    lines = [("pieces", what, pieces)] + [
        (name, name.capitalize(), amount) for name, amount in at_cost if amount
    ]
    return [Line(words, base, Decimal(str(rates.get(name, usual)))) for name, words, base in lines]


def change_lines(changes: Iterable[Change], *, rate: Decimal) -> list[Line]:
    """Changes agreed, taxed as the pieces are; at nothing where no tax is charged for one."""
    return [
        Line(f"Change {change.number}: {change.title}", change.base, rate if change.tax else ZERO)
        for change in changes
    ]


def with_changes(owed: Owed, changes: Iterable[Change]) -> Taxed:
    """The whole order by rate, its changes among the pieces."""
    usual = owed.at_rates[0].rate
    more = (TaxAt(usual if change.tax else ZERO, change.base, change.tax) for change in changes)
    return together((*owed.at_rates, *more))


def together(rows: Iterable[TaxAt]) -> Taxed:
    """Rows of the same rate as one, as rates come up; a rate of nothing is left out, unless it is the first."""
    found: dict[Decimal, TaxAt] = {}
    for row in rows:
        had = found.get(row.rate, TaxAt(row.rate, ZERO, ZERO))
        found[row.rate] = TaxAt(row.rate, had.base + row.base, had.tax + row.tax)
    return Taxed(tuple(row for at, row in enumerate(found.values()) if not at or row.base or row.tax))


def less(whole: Taxed, taken: Iterable[Taxed]) -> Taxed:
    """What is left of an order by rate once earlier requests are taken off."""
    off = [TaxAt(row.rate, -row.base, -row.tax) for one in taken for row in one.at_rates]
    return together((*whole.at_rates, *off))


def part_of(whole: Taxed, amount: Decimal, *, currency: str) -> Taxed:
    """A payment of so much, tax in it, shared out among an order's rates as they stand in it, each with its tax.

    The tax in a payment is the same part of it as of the order, rounded half up once a rate; the rest is its base, so
    that base and tax add up to the payment. Tax on a payment before the supply is due on what is received (Directive
    2006/112/EC article 65; from memory). Errors: ValueError for a part of an order of nothing.
    """
    if not whole.total:
        raise ValueError("no part can be asked for of an order that comes to nothing")
    ends = accumulate((row.base + row.tax for row in whole.at_rates), initial=ZERO)
    cut = [round_money(amount * end / whole.total, currency=currency) for end in ends]
    # The last end is the payment itself, whatever coins it was given in.
    cut[-1] = amount
    shares = (after - before for before, after in pairwise(cut))
    return Taxed(
        tuple(_taxed_part(row, share, currency) for row, share in zip(whole.at_rates, shares, strict=True))
    )


def _taxed_part(row: TaxAt, share: Decimal, currency: str) -> TaxAt:
    with_tax = row.base + row.tax
    tax = round_money(share * row.tax / with_tax, currency=currency) if with_tax else ZERO
    return TaxAt(row.rate, share - tax, tax)


def payments_due(
    owed: Owed, estimate: Mapping[str, Any], pricing: Mapping[str, Any], *, deposit_via: str
) -> tuple[Payment, ...]:
    """What is paid when; a gallery on consignment that passes the deposit on whole pays that first.

    The deposit is the buyer's then, of the retail price; it is never more than all that the gallery owes.
    """
    printed = (estimate.get("money") or {}).get("payments") or []
    whole = deposit_via == "gallery_whole" and is_consigned(estimate, pricing)
    if not whole or len(owed.payments) < 2 or not printed:
        return owed.payments
    first = min(Decimal(printed[0]["amount"]), owed.amount)
    rest = [payment.share for payment in owed.payments[1:]]
    shares = [share / sum(rest, ZERO) for share in rest[:-1]]
    later = in_stages(owed.amount - first, shares=shares, currency=owed.currency)
    return tuple(payment for payment in (Payment(owed.payments[0].share, first), *later) if payment.amount)


def rates_as_json(taxed: Taxed) -> list[dict[str, str]]:
    """Base and tax by rate as a paper's content keeps them."""
    return [{"rate": str(row.rate), "base": str(row.base), "tax": str(row.tax)} for row in taxed.at_rates]


def rates_from_json(rows: Sequence[Mapping[str, str]]) -> Taxed:
    """Read back what `rates_as_json` wrote."""
    return Taxed(
        tuple(TaxAt(Decimal(row["rate"]), Decimal(row["base"]), Decimal(row["tax"])) for row in rows)
    )
