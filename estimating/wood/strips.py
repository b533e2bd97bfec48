"""Strips: how long one must be, which segments share one, and what a sawing plan is made of."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from math import cos, floor, tan
from typing import Literal

from estimating.piece import Defect, Match, ShopSettings, Surface

Lies = Literal["flat", "on_edge"]
Cut = Literal["segment", "disc", "veneer", "stave", "plug", "lamination"]
"""What strips are crosscut to."""


@dataclass(frozen=True, slots=True)
class Offcut:
    """A piece that goes back on the rack, mm.

    `start` along the board and `across` from its near edge are where its near corner lies; `plate` counts the
    plates of a board resawn in thickness from 1.
    """

    length: float
    width: float
    thickness: float
    start: float
    across: float
    plate: int = 1

    @property
    def volume(self) -> float:
        """mm3."""
        return self.length * self.width * self.thickness


@dataclass(frozen=True, slots=True)
class StripNeed:
    """The segments of one wood that are cut to one shape. mm, radians.

    `width` is the strip's (radial), `height` the ring's as glued, `miter` half the included angle. `rings`
    holds (ring number, segments wanted with the spares) in ring order, for all the pieces together; for a plug the
    lowest ring it goes through. What else than segments is cut square: both edges are its length along the grain.
    `place` is where in the sheet it is asked for; `match` what the ring asks of its strips; one that asks
    is of one ring, whose counts are shared out evenly to `sets`, one a piece.
    """

    wood: str
    width: float
    height: float
    miter: float
    outer_edge: float
    inner_edge: float
    rings: tuple[tuple[int, int], ...]
    cut: Cut = "segment"
    place: str = "bands"
    match: Match = ""
    sets: int = 1

    @property
    def is_piece(self) -> bool:
        """Whether what is cut is a segment, disc or stave of the ring itself."""
        return self.cut not in ("plug", "lamination")


@dataclass(frozen=True, slots=True)
class Strip:
    """One strip on a board. `lane` counts from 1 across the width; `start` and `length` run along it, mm.

    `across` is from the board's near edge to the near side of the lane. `section` counts the clear parts of a board
    with defects, `plate` the plates of one resawn in thickness; lanes count afresh in each. `width` and `height` are
    the strip's own (radial width, ring height); `rip_width` is the one of them that is set on the ripping fence: the
    width where the strip lies flat, the height where it stands on edge.
    """

    lane: int
    start: float
    width: float
    height: float
    length: float
    segments: int
    rings: tuple[int, ...]
    rip_width: float
    lies: Lies
    across: float = 0.0
    section: int = 1
    plate: int = 1

    @property
    def volume(self) -> float:
        """mm3."""
        return self.length * self.width * self.height


@dataclass(frozen=True, slots=True)
class SawnBoard:
    """One board and what is sawn from it. Sizes mm, `kept` mm3, `price` of the whole board.

    `buy`: it is not on the rack. `offcuts` are those that go back on it. `ref` is the rack's own name for it. A board
    of several `plates` is resawn in thickness first, into plates of `plate_thickness` once they are clean; `defects`
    are as given for `piece.Board`.
    """

    wood: str
    length: float
    width: float
    thickness: float
    price: Decimal
    buy: bool
    strips: tuple[Strip, ...]
    offcuts: tuple[Offcut, ...]
    charged_whole: bool = False
    ref: str = ""
    surface: Surface = "surfaced"
    defects: tuple[Defect, ...] = ()
    plates: int = 1
    plate_thickness: float = 0.0

    @property
    def volume(self) -> float:
        """mm3 of the whole board."""
        return self.length * self.width * self.thickness

    @property
    def kept(self) -> float:
        """mm3 that go back on the rack."""
        return sum(offcut.volume for offcut in self.offcuts)

    @property
    def used(self) -> float:
        """The strips' share of the board's volume."""
        return sum(strip.volume for strip in self.strips) / self.volume

    @property
    def cost(self) -> float:
        """The price less the share of it that is kept, unless the board is charged whole; not rounded."""
        return float(self.price) * (1.0 if self.charged_whole else 1.0 - self.kept / self.volume)


@dataclass(frozen=True, slots=True)
class Short:
    """Segments that no board given has room for; they are sawn from boards to buy."""

    wood: str
    rings: tuple[int, ...]
    segments: int


@dataclass(frozen=True, slots=True)
class CuttingPlan:
    """What is sawn from which board. `cost` and `bound` are money, not rounded.

    No plan under the same rules can cost less than `bound`; `proven`: the plan costs no more than that.
    """

    boards: tuple[SawnBoard, ...]
    cost: float
    bound: float
    proven: bool
    short: tuple[Short, ...]

    @property
    def outlay(self) -> Decimal:
        """What the boards to buy cost whole: money to spend, of which `cost` charges the part that is used."""
        return sum((board.price for board in self.boards if board.buy), Decimal(0))


@dataclass(frozen=True, slots=True)
class WoodUse:
    """One wood's part of a plan: strip length mm, volumes mm3; boards = strips + rip waste + kept."""

    segments: int
    strip_length: float
    strips: float
    boards: float
    kept: float

    @property
    def rip_waste(self) -> float:
        """What trimming, ripping, planing and short ends take, mm3."""
        return self.boards - self.strips - self.kept


@dataclass(frozen=True, slots=True)
class StripRule:
    """A strip of N segments is `once + N * each` long, mm."""

    once: float
    each: float

    def length(self, segments: int) -> float:
        """Of a strip of so many segments, mm."""
        return self.once + segments * self.each

    def segments_in(self, length: float) -> int:
        """How many segments a strip of that length gives, 0 where it gives none."""
        return max(0, floor((length - self.once) / self.each + 1e-9))


def strip_rule(*, need: StripNeed, shop: ShopSettings) -> StripRule:
    """The length of strips for segments cut by turning the strip over between cuts.

    N m + (N + 1) k / cos(phi) + w tan(phi) + hold, with m the mean of the two edges, k the crosscut kerf and
    phi the miter angle: the slanted kerf takes k / cos(phi) along the strip, and w tan(phi) is the slant of
    its ends. A strip whose segments keep the order they are sawn in is not turned over, and takes
    N (L_o + k / cos(phi)) + k / cos(phi) + hold. Geometry of the cut, no other source.

    >>> need = StripNeed("ash", 30.0, 20.0, 0.0, 50.0, 40.0, ((1, 4),))
    >>> rule = strip_rule(need=need, shop=ShopSettings(crosscut_kerf=2.0, strip_hold=60.0))
    >>> rule.length(4), rule.segments_in(250.0), rule.segments_in(249.9)
    (250.0, 4, 3)
    """
    kerf = shop.crosscut_kerf / cos(need.miter)
    if need.match == "book":
        return StripRule(once=kerf + shop.strip_hold, each=need.outer_edge + kerf)
    mean = (need.outer_edge + need.inner_edge) / 2
    return StripRule(once=kerf + need.width * tan(need.miter) + shop.strip_hold, each=mean + kerf)


def pool_needs(needs: Iterable[StripNeed]) -> tuple[StripNeed, ...]:
    """Needs of one wood and one shape (to 1e-6 mm) made one, so that a strip may serve several rings."""
    pooled: dict[tuple[object, ...], StripNeed] = {}
    for need in needs:
        rings = tuple((ring, count) for ring, count in need.rings if count > 0)
        if not rings:
            continue
        figures = (need.width, need.height, need.outer_edge, need.inner_edge, need.width * tan(need.miter))
        key = (need.wood, need.cut, need.match, *(round(figure, 6) for figure in figures))
        if need.match:  # a matched ring shares its strips with no other
            key += need.rings
        known = pooled.get(key)
        every = tuple(sorted((known.rings if known else ()) + rings))
        pooled[key] = replace(need, rings=every)
    return tuple(pooled.values())


def wood_use(plan: CuttingPlan) -> dict[str, WoodUse]:
    """Each wood's strip length and volumes over the whole plan, woods in the order of the boards."""
    use: dict[str, WoodUse] = {}
    for board in plan.boards:
        so_far = use.get(board.wood, WoodUse(0, 0.0, 0.0, 0.0, 0.0))
        use[board.wood] = WoodUse(
            segments=so_far.segments + sum(strip.segments for strip in board.strips),
            strip_length=so_far.strip_length + sum(strip.length for strip in board.strips),
            strips=so_far.strips + sum(strip.volume for strip in board.strips),
            boards=so_far.boards + board.volume,
            kept=so_far.kept + board.kept,
        )
    return use
