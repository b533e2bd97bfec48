"""What to buy for a sawing plan: by wood and thickness, the least size that would do, and what the rack gives.

The plan may be of one estimate or of several commissions together.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.piece import Board, ShopSettings
from estimating.shape.rings import Ring
from estimating.wood.buying import nominal_thicknesses, units_in_board
from estimating.wood.saw_list import Pieces, made
from estimating.wood.strips import CuttingPlan, SawnBoard, Strip, StripNeed

SAME_THICKNESS = 0.05
"""mm by which a thickness may differ from a nominal one and still be called by its name."""

_SLACK = 1e-6
_MM3_IN_M3 = Decimal(10) ** 9


@dataclass(frozen=True, slots=True)
class LeastSize:
    """The least board that what is sawn from one can be sawn from as planned, mm, clear of defects."""

    length: float
    width: float
    thickness: float


@dataclass(frozen=True, slots=True)
class BoardsToBuy:
    """Boards of one size that serve for the same: mm, money. `nominal` is the thickness's name, such as 4/4, or blank.

    `segments` and `rings` are what all of them together are sawn for; no board shorter than `longest_strip` and its
    trimming is of use.
    """

    wood: str
    length: float
    width: float
    thickness: float
    nominal: str
    count: int
    price: Decimal
    least: LeastSize
    longest_strip: float
    segments: int
    rings: tuple[int, ...]

    @property
    def together(self) -> Decimal:
        """Price of all of them."""
        return self.price * self.count

    @property
    def volume(self) -> float:
        """mm3 of all of them."""
        return self.length * self.width * self.thickness * self.count

    @property
    def board_feet(self) -> float:
        """Board feet of all of them as the trade tallies: on the nominal thickness, under 1 in. as 1 in."""
        one = units_in_board(
            bought_by="board_foot",
            length=self.length,
            width=self.width,
            thickness=self.thickness,
            nominal=self.nominal,
        )
        return float(one * self.count)


@dataclass(frozen=True, slots=True)
class ThicknessToBuy:
    """One wood in one thickness: its boards, largest need first."""

    wood: str
    thickness: float
    nominal: str
    boards: tuple[BoardsToBuy, ...]

    @property
    def count(self) -> int:
        """How many boards."""
        return sum(line.count for line in self.boards)

    @property
    def price(self) -> Decimal:
        """Of all of them."""
        return sum((line.together for line in self.boards), Decimal(0))

    @property
    def volume(self) -> float:
        """mm3 of all of them."""
        return sum(line.volume for line in self.boards)

    @property
    def board_feet(self) -> float:
        """Of all of them, as the trade tallies."""
        return sum(line.board_feet for line in self.boards)

    @property
    def per_board_foot(self) -> Decimal:
        """Price a board foot, not rounded."""
        return self.price / Decimal(repr(self.board_feet))

    @property
    def per_m3(self) -> Decimal:
        """Price a cubic metre, not rounded."""
        return self.price / Decimal(repr(self.volume)) * _MM3_IN_M3

    @property
    def segments(self) -> int:
        """Pieces sawn from them."""
        return sum(line.segments for line in self.boards)

    @property
    def rings(self) -> tuple[int, ...]:
        """The rings they serve."""
        return tuple(sorted({ring for line in self.boards for ring in line.rings}))


@dataclass(frozen=True, slots=True)
class RackCheck:
    """One wood on the rack: how many boards and mm3 lie there and are taken, and what is sawn from rack and bought.

    `pieces` are all that is sawn of the wood, `spares` those of them beyond what the pieces themselves take.
    `lacking` pieces, for the rings `lacking_rings`, are sawn from boards to buy.
    """

    wood: str
    on_rack: int
    on_rack_volume: float
    taken: int
    taken_volume: float
    pieces: int
    spares: int
    lacking: int
    lacking_rings: tuple[int, ...]

    @property
    def given(self) -> int:
        """Pieces sawn from the rack's boards."""
        return self.pieces - self.lacking


@dataclass(frozen=True, slots=True)
class ToBuy:
    """The shopping list and the check against the rack, woods in the order of the needs."""

    thicknesses: tuple[ThicknessToBuy, ...]
    rack: tuple[RackCheck, ...]

    @property
    def count(self) -> int:
        """Boards to buy."""
        return sum(part.count for part in self.thicknesses)

    @property
    def outlay(self) -> Decimal:
        """What they cost: the plan's outlay."""
        return sum((part.price for part in self.thicknesses), Decimal(0))

    @property
    def volume(self) -> float:
        """mm3 of all boards to buy."""
        return sum(part.volume for part in self.thicknesses)

    @property
    def board_feet(self) -> float:
        """Of all boards to buy, as the trade tallies."""
        return sum(part.board_feet for part in self.thicknesses)


def to_buy(
    plan: CuttingPlan,
    *,
    needs: Sequence[StripNeed],
    wanted: Mapping[str, int],
    boards: Sequence[Board],
    shop: ShopSettings,
) -> ToBuy:
    """The shopping list of a plan. `wanted` is how many pieces of each wood the work itself takes, without spares.

    Boards of one wood, size and price whose strips ask for the same least size stand in one line. Rings are numbered
    as the plan numbers them, through all commissions of a joint one.
    """
    woods = dict.fromkeys([*(need.wood for need in needs), *(board.wood for board in plan.boards)])
    bought = [board for board in plan.boards if board.buy]
    thicknesses = [
        _thickness(
            wood, thickness, [one for one in bought if (one.wood, one.thickness) == (wood, thickness)], shop
        )
        for wood in woods
        for thickness in sorted({board.thickness for board in bought if board.wood == wood})
    ]
    rack = tuple(_rack_check(wood, plan, wanted.get(wood, 0), boards) for wood in woods)
    return ToBuy(tuple(thicknesses), rack)


def without_spares(needs: Sequence[StripNeed], *, rings: Sequence[Ring], pieces: Pieces) -> Mapping[str, int]:
    """How many pieces of each wood the work itself takes; `rings` by the numbers that the needs know them by.

    Plugs have no spares, and the strips of laminated segments are cut for the spare segments as for the others.
    """
    wanted = Counter[str]()
    known = {ring.number: ring for ring in rings}
    for need in needs:
        for number, count in need.rings:
            own = known[number].wood_counts[need.wood] * made(pieces, number) if need.is_piece else count
            wanted[need.wood] += own
    return wanted


def nominal_of(thickness: float) -> str:
    """The trade's name of a rough thickness, mm; blank where it has none.

    >>> nominal_of(25.4), nominal_of(27.0)
    ('4/4', '')
    """
    known = nominal_thicknesses().values()
    return next((row.name for row in known if abs(row.rough - thickness) <= SAME_THICKNESS), "")


def least_size(board: SawnBoard, *, shop: ShopSettings) -> LeastSize:
    """The least board that the strips of this one can be sawn from where they lie, mm.

    The far end and edge are trimmed as much as the near ones, but no more than the board itself has room for: its
    last lane may run off the edge. A strip's thickness is its height where it lies flat, its width on edge; of a
    rough board both faces are planed, and a board resawn in thickness is wanted as thick as it is. Nothing shorter than
    the shop rips is asked for.
    """
    end_trim = min(strip.start for strip in board.strips)
    edge_trim = min(strip.across for strip in board.strips)
    length = max(strip.start + strip.length for strip in board.strips) + end_trim
    length = max(length, shop.min_rip_length)
    width = max(strip.across + strip.rip_width for strip in board.strips) + edge_trim
    planed = 2 * shop.plane_face if board.surface == "rough" else 0.0
    thickness = max(map(_thickness_in_board, board.strips)) + planed if board.plates == 1 else board.thickness
    return LeastSize(min(length, board.length), min(width, board.width), min(thickness, board.thickness))


def _thickness_in_board(strip: Strip) -> float:
    return strip.height if strip.lies == "flat" else strip.width


def _thickness(
    wood: str, thickness: float, bought: Sequence[SawnBoard], shop: ShopSettings
) -> ThicknessToBuy:
    alike: dict[tuple[object, ...], list[SawnBoard]] = {}
    least: dict[tuple[object, ...], LeastSize] = {}
    for board in bought:
        size = least_size(board, shop=shop)
        measures = (size.length, size.width, size.thickness)
        key = (board.length, board.width, board.price, *(round(measure / _SLACK) for measure in measures))
        alike.setdefault(key, []).append(board)
        least.setdefault(key, size)
    lines = [_line(boards, least[key]) for key, boards in alike.items()]
    lines.sort(key=lambda line: (-line.least.length * line.least.width, -line.segments))
    return ThicknessToBuy(wood, thickness, nominal_of(thickness), tuple(lines))


def _line(boards: Sequence[SawnBoard], least: LeastSize) -> BoardsToBuy:
    first, strips = boards[0], [strip for board in boards for strip in board.strips]
    return BoardsToBuy(
        wood=first.wood,
        length=first.length,
        width=first.width,
        thickness=first.thickness,
        nominal=nominal_of(first.thickness),
        count=len(boards),
        price=first.price,
        least=least,
        longest_strip=max(strip.length for strip in strips),
        segments=sum(strip.segments for strip in strips),
        rings=tuple(sorted({ring for strip in strips for ring in strip.rings})),
    )


def _rack_check(wood: str, plan: CuttingPlan, wanted: int, boards: Sequence[Board]) -> RackCheck:
    own = [board for board in boards if board.wood == wood]
    taken = [board for board in plan.boards if board.wood == wood and not board.buy]
    sawn = Counter[bool]()
    for board in plan.boards:
        if board.wood == wood:
            sawn[board.buy] += sum(strip.segments for strip in board.strips)
    pieces = sawn.total()
    return RackCheck(
        wood=wood,
        on_rack=sum(board.count for board in own),
        on_rack_volume=sum(board.length * board.width * board.thickness * board.count for board in own),
        taken=len(taken),
        taken_volume=sum(board.volume for board in taken),
        pieces=pieces,
        spares=max(0, pieces - wanted),
        lacking=sawn[True],
        lacking_rings=tuple(
            sorted({ring for short in plan.short if short.wood == wood for ring in short.rings})
        ),
    )
