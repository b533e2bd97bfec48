"""What a gallery is to pay for the pieces it sold, and what it paid, piece by piece. Asks the database nothing."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.price.money import in_equal_parts

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Account:
    """A sold piece: what is to be paid for it with tax, None where nobody knows; what came in less what went back."""

    asked: Decimal | None
    paid: Decimal

    @property
    def open(self) -> Decimal | None:
        """What is still to come; below nothing where the studio owes it back; None where nobody knows."""
        return None if self.asked is None else self.asked - self.paid


@dataclass(frozen=True, slots=True)
class Shared:
    """A commission's money piece by piece: accounts of the pieces sold, by their numbers from 1.

    `sold` is what is open for these, `unsold` for the others; together they are all that is open.
    """

    accounts: Mapping[int, Account]
    sold: Decimal
    unsold: Decimal


def allotted(asked: Iterable[Decimal | None], paid: Decimal) -> list[Account]:
    """What was paid, given to the pieces in their order, each as far as it asks; the rest is for none of them."""
    found = []
    for amount in asked:
        part = min(max(paid, ZERO), amount or ZERO)
        found.append(Account(amount, part))
        paid -= part
    return found


def shared(total: Decimal, paid: Decimal, *, pieces: int, sold: Sequence[int], currency: str) -> Shared:
    """All that a commission of so many pieces comes to and what was paid of it, by piece; `sold` in the order of sale.

    Each piece has an equal part of the total in whole coins. What was paid is for the pieces that were sold first.
    """
    parts = in_equal_parts(total, count=max(pieces, *sold, 1), currency=currency)
    accounts = dict(zip(sold, allotted((parts[number - 1] for number in sold), paid), strict=True))
    open_sold = sum((account.open or ZERO for account in accounts.values()), ZERO)
    return Shared(accounts, open_sold, total - paid - open_sold)
