"""Counts over a whole estimate, for the answer in one sentence."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from estimating.estimate import Estimate


@dataclass(frozen=True)
class Counts:
    """Segments and layers of one piece; board feet of all."""

    segments: int
    layers: int
    board_feet: float


def counts(estimate: "Estimate") -> Counts:
    """Count them."""
    shape = estimate.shape
    return Counts(
        segments=sum(band.layers * band.segments for band in estimate.sheet.bands),
        layers=len(shape.stack),
        board_feet=sum(account.board_feet for account in estimate.wood.values()),
    )
