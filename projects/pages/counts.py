"""Counts over a whole estimate, for the answer in one sentence."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from estimating.estimate import Estimate


@dataclass(frozen=True)
class Counts:
    """Segments and layers of one piece; the boards of all, and how much of them goes back, mm³.

    `unpriced` are the things used that nobody has entered a price for, which would count as free without a word;
    `assumed` the woods to buy that are reckoned at the usual board's price for want of their own.
    """

    segments: int
    layers: int
    boards: float
    kept: float
    unpriced: tuple[str, ...]
    assumed: tuple[str, ...]


def counts(estimate: "Estimate") -> Counts:
    """Count them."""
    species = estimate.workshop.woods
    return Counts(
        segments=estimate.segments,
        layers=estimate.layers,
        boards=sum(account.boards for account in estimate.wood.values()),
        kept=sum(account.kept for account in estimate.wood.values()),
        unpriced=tuple(_unpriced(estimate)),
        assumed=tuple(
            dict.fromkeys(
                species[board.wood].name
                for board in estimate.cutting.boards
                if board.buy and board.price and not species[board.wood].price_per_m3
            )
        ),
    )


def _unpriced(estimate: "Estimate") -> Iterator[str]:
    species = estimate.workshop.woods
    yield from dict.fromkeys(species[board.wood].name for board in estimate.cutting.boards if not board.price)
    if not estimate.sheet.pricing.adhesive_per_ml:
        yield "the adhesive"
    if estimate.sheet.finish.coats and not estimate.sheet.finish.per_ml:
        yield "the finish"
