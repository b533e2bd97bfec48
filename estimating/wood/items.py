"""What is put on boards: the strips of one need, which way they lie, and the strips of a matched ring side by side."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from estimating.piece import ShopSettings
from estimating.wood.layouts import TOLERANCE, Shape, edge_loss
from estimating.wood.strips import Lies, StripNeed, StripRule, strip_rule
from estimating.wood.supply import Source, thickness_for, ways_to_lie

MOST_BESIDE = 40
"""A matched ring is sawn from at most so many strips side by side."""


@dataclass(frozen=True, slots=True)
class Item:
    """A need with the way its strips lie in every board, so that the growth rings run one way round the ring.

    Where the ring is matched its segments are one block, `beside` strips of `per_set` segments in all, and the board
    that has room for it has room for the ring; else strips are as long as they come (`beside` 0).
    """

    need: StripNeed
    lies: Lies
    beside: int = 0

    @property
    def per_set(self) -> int:
        """Segments of one matched ring."""
        return sum(count for _, count in self.need.rings) // self.need.sets

    @property
    def rip(self) -> float:
        """What the fence is set to, mm."""
        return self.need.width if self.lies == "flat" else self.need.height

    def strip_segments(self, strip: int) -> int:
        """Segments of one of the strips side by side, counted from 0: as even as can be."""
        return self.per_set // self.beside + (strip < self.per_set % self.beside)

    def width(self, shop: ShopSettings) -> float:
        """What a lane of it takes of a board, mm; nothing narrower than the shop rips safely."""
        one = max(self.rip, shop.min_rip_width)
        return one if not self.beside else self.beside * one + (self.beside - 1) * shop.rip_kerf

    def shape(self, shop: ShopSettings) -> Shape:
        """What the search sees of it."""
        need, rule = self.need, strip_rule(need=self.need, shop=shop)
        if not self.beside:
            wanted = sum(count for _, count in need.rings)
            return Shape(rule, wanted, need.width * need.height * rule.each)
        length = rule.length(ceil(self.per_set / self.beside))
        block = StripRule(0.0, length)
        one = max(self.rip, shop.min_rip_width) if self.beside > 1 else 0.0
        return Shape(block, need.sets, self.beside * need.width * need.height * length, one)

    def asks(self, shop: ShopSettings) -> "Asks":
        """What a board must have for a strip of one segment, or for the whole block, lying so."""
        rule = self.shape(shop).rule
        across = self.width(shop) + 2 * edge_loss(shop)
        return Asks(thickness_for(self.need, self.lies), across, rule.length(1))

    def fits(self, source: Source, shop: ShopSettings) -> bool:
        """Whether it has room there."""
        return self.asks(shop).met_by(source)


@dataclass(frozen=True, slots=True)
class Asks:
    """The least thickness, width and length of a board, mm; of the length what is left once the ends are trimmed."""

    thickness: float
    width: float
    length: float

    def met_by(self, source: Source) -> bool:
        """Whether the board is large enough."""
        return (
            self.thickness <= source.thickness + TOLERANCE
            and self.width <= source.section.width + TOLERANCE
            and self.length <= source.room + TOLERANCE
        )


def item_of(need: StripNeed, lies: Lies, sources: Sequence[Source], shop: ShopSettings) -> Item:
    """The need lying so; a matched one in as few strips side by side as the longest of the boards asks for."""
    if not need.match:
        return Item(need, lies)
    for beside in range(1, MOST_BESIDE):
        item = Item(need, lies, beside)
        if any(item.fits(source, shop) for source in sources) or beside >= item.per_set:
            return item
    return Item(need, lies, MOST_BESIDE)


def lying(need: StripNeed, sources: Sequence[Source], shop: ShopSettings, prefer: Lies | None) -> Item | None:
    """The need as it lies in all these boards; None where it fits none of them.

    As the shop prefers if any board has room for that, else as asked for here, else the narrower rip.
    """
    fitting = []
    for lies in ways_to_lie(need):
        item = item_of(need, lies, sources, shop)
        asks = item.asks(shop)
        if any(asks.met_by(source) for source in sources):
            fitting.append(item)
    wish = shop.strip_lies if shop.strip_lies != "either" else prefer
    return min(fitting, key=lambda item: (item.lies != wish, item.rip, item.beside), default=None)
