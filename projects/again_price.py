"""What one piece was priced at then and what it costs today, and the difference between two prices by its reasons."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import accumulate, pairwise
from typing import TYPE_CHECKING, Any

from django.utils import timezone

from estimating.price.money import round_money
from projects import models
from projects.quote_state import OPEN, acceptances, agreed_estimate, current_standings

if TYPE_CHECKING:
    from estimating.estimate import Estimate

_MATERIALS = ("adhesive", "consumables")
LINES = ("wood", "glue, finish and what is used up", "hours, what an hour costs, losses and margin")
"""The lines that the net price is made of; what the price has over them is the last one."""
TERMS = "the gallery’s share, fee, tax and step of price"


@dataclass(frozen=True, slots=True)
class Then:
    """What one piece was priced at, and by what: `words` such as "quote 2026-004, accepted".

    `estimate` is the answer that was frozen with it, of so many `pieces`, and `sheet` what it was worked out from: both
    empty where it was priced by hand.
    """

    price: Decimal
    currency: str
    words: str
    estimate: Mapping[str, Any] = field(default_factory=dict)
    sheet: Mapping[str, Any] = field(default_factory=dict)
    pieces: int = 1


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason of a difference, and what of it comes of that; of one piece, in whole coins."""

    words: str
    amount: Decimal


def then_of(
    commissions: Iterable[models.Commission], *, record: models.PieceRecord | None = None
) -> Then | None:
    """By the last quote that was accepted, else as the log has it for a `record`, else by the last quote that was
    issued and not accepted, which it says; None for what was only estimated.
    """
    jobs = list(commissions)
    return _accepted(jobs) or (_in_log(record) if record else None) or _issued(jobs)


def _accepted(jobs: Sequence[models.Commission]) -> Then | None:
    found = max(acceptances(jobs, "quote", "option").values(), key=lambda one: one.at, default=None)
    if found is None:
        return None
    frozen = found.option or found.quote
    return _then(agreed_estimate(found), frozen.sheet, f"quote {found.quote.reference}, accepted")


def _issued(jobs: Sequence[models.Commission]) -> Then | None:
    standings = current_standings(jobs, today=timezone.localdate()).values()
    found = max(standings, key=lambda pair: int(pair[0].pk), default=None)
    if found is None:
        return None
    quote, stands = found
    how = "not accepted" if stands in OPEN else f"not accepted, {stands}"
    return _then(quote.estimate, quote.sheet, f"quote {quote.reference}, issued and {how}")


def _in_log(record: models.PieceRecord) -> Then | None:
    if record.price is None:
        return None
    return Then(record.price, record.currency, f"as the log has it for {record.serial}")


def _then(estimate: Mapping[str, Any], sheet: Mapping[str, Any], words: str) -> Then:
    price, pieces = estimate["price"], int(estimate.get("quantity") or 1)
    each = _each(Decimal(price["retail"]), pieces, price["currency"])
    return Then(each, price["currency"], words, estimate, sheet, pieces)


def price_of_one(estimate: "Estimate") -> Decimal:
    """What one piece of an estimate is priced at, as printed."""
    return _each(estimate.price.retail, estimate.sheet.quantity, estimate.sheet.pricing.currency)


def _each(price: Decimal, pieces: int, currency: str) -> Decimal:
    return round_money(price / pieces, currency=currency)


def since_then(then: Then, now: "Estimate") -> tuple[Reason, ...]:
    """From the price of then to the same piece's today, line by line of what it is made of; adds up to the coin.

    `now` is as many of the same piece. Empty where the price of then came without its figures, or in another currency.
    """
    cost, price = then.estimate.get("cost"), then.estimate.get("price")
    if not cost or not price or then.currency != now.sheet.pricing.currency:
        return ()
    was = _lines({key: Decimal(value) for key, value in cost.items()}, price["net"], price["retail"])
    costs = {key: getattr(now.cost, key) for key in ("wood", *_MATERIALS)}
    today = _lines(costs, now.price.net, now.price.retail)
    pieces = (then.pieces, now.sheet.quantity)
    # Rounded as they add up, so that the last of them ends at the price.
    sums = [
        [_each(one, count, then.currency) for one in accumulate(lines)]
        for lines, count in zip((was, today), pieces, strict=True)
    ]
    apart = [after - before for before, after in zip(*sums, strict=True)]
    steps = [apart[0], *(late - early for early, late in pairwise(apart))]
    return _worth_saying(zip((*LINES, TERMS), steps, strict=True))


def _lines(cost: Mapping[str, Decimal], net: Any, retail: Any) -> list[Decimal]:
    """What the printed price is made of, in the order of LINES."""
    materials = sum((cost[key] for key in _MATERIALS), Decimal(0))
    return [
        cost["wood"],
        materials,
        Decimal(net) - cost["wood"] - materials,
        Decimal(retail) - Decimal(net),
    ]


def between(steps: Sequence[tuple[str, "Estimate"]]) -> tuple[Reason, ...]:
    """From the first estimate to the last, one reason at a time: each is named by what was changed to come to it."""
    prices = [price_of_one(one) for _, one in steps]
    apart = (after - before for before, after in pairwise(prices))
    return _worth_saying(zip((words for words, _ in steps[1:]), apart, strict=True))


def _worth_saying(reasons: Iterable[tuple[str, Decimal]]) -> tuple[Reason, ...]:
    return tuple(Reason(words, amount) for words, amount in reasons if amount)
