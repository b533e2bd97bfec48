"""When a price is paid: the deposit, stages and the balance, which add up to the coin."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import accumulate, pairwise

from estimating.price.money import round_money


@dataclass(frozen=True, slots=True)
class Payment:
    """One payment: its share of the whole, 0 where only the amount is agreed, and the amount."""

    share: Decimal
    amount: Decimal


def in_stages(total: Decimal, *, shares: Sequence[Decimal], currency: str) -> tuple[Payment, ...]:
    """A total in payments by their shares, the last one being what is left.

    Each end of a stage is rounded, not each stage, so that no error gathers: payments always add up to the total.
    """
    given = [*shares, 1 - sum(shares, Decimal(0))]
    ends: Iterable[Decimal] = accumulate(given, initial=Decimal(0))
    paid = [round_money(total * end, currency=currency) for end in ends]
    return tuple(
        Payment(share, after - before) for share, (before, after) in zip(given, pairwise(paid), strict=True)
    )
