"""Which boards a strip may come from and how it lies in them: those on the rack, and the usual one to buy."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from estimating.errors import InvalidInput
from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.layouts import TOLERANCE, lane_room, width_room
from estimating.wood.strips import Lies, StripNeed, strip_rule

Lying = tuple[float, Lies]
"""The width a strip is ripped to, mm, and how it lies in the board."""


@dataclass(frozen=True, slots=True)
class Source:
    """Boards of one size, mm, with the price of one: `count` on the rack, or to buy (`count` None)."""

    length: float
    width: float
    thickness: float
    price: Decimal
    count: int | None

    @property
    def buy(self) -> bool:
        """Not on the rack."""
        return self.count is None


def rack_sources(boards: Sequence[Board], wood: str) -> list[Source]:
    """The boards of a wood on the rack, in the order given."""
    return [
        Source(board.length, board.width, board.thickness, board.price, board.count)
        for board in boards
        if board.wood == wood and board.count > 0
    ]


def bought_source(*, usual: UsualBoard, thickness: float, price_per_mm3: Decimal) -> Source:
    """The usual board in one thickness, its price rounded half up to hundredths."""
    volume = Decimal(str(usual.length)) * Decimal(str(usual.width)) * Decimal(str(thickness))
    price = (volume * price_per_mm3).quantize(Decimal("0.01"), ROUND_HALF_UP)
    return Source(usual.length, usual.width, thickness, price, None)


def lying(*, need: StripNeed, source: Source, shop: ShopSettings) -> Lying | None:
    """How the strip lies in a board, None where it does not fit.

    Flat, the board is at least as thick as the ring is high and is ripped to the strip's width; on edge it
    is at least as thick as the strip is wide and is ripped to the height. The shop's preference first, else
    what fits; with no preference, the narrower rip, since the thickness is there anyhow.
    """
    ways = [
        way
        for way in _ways(need)
        if _thickness_for(need, way) <= source.thickness + TOLERANCE
        and way[0] + shop.rip_kerf <= width_room(source.width, shop) + TOLERANCE
    ]
    long_enough = strip_rule(need=need, shop=shop).segments_in(lane_room(source.length, shop)) > 0
    if not ways or not long_enough:
        return None
    return min(ways, key=lambda way: (way[1] != shop.strip_lies, way[0]))


def next_thickness(*, need: StripNeed, usual: UsualBoard, shop: ShopSettings) -> float:
    """The thickness to buy for a strip: the next of the series, for the way it lies.

    With no preference the way that needs less thickness x rip width, flat where they need the same.
    Errors: InvalidInput at `bands` where no usual board has room for a strip of one segment.
    """
    options = _thicknesses(need=need, usual=usual, shop=shop)
    return min((way[1] != shop.strip_lies, thick * way[0], thick) for way, thick in options)[2]


def thinnest(*, need: StripNeed, usual: UsualBoard, shop: ShopSettings) -> float:
    """The thinnest of the series that a strip can be sawn from, lying either way.

    Errors: as `next_thickness`.
    """
    return min(thick for _, thick in _thicknesses(need=need, usual=usual, shop=shop))


def _thicknesses(*, need: StripNeed, usual: UsualBoard, shop: ShopSettings) -> list[tuple[Lying, float]]:
    """The ways a strip can lie in the usual board, with the next thickness of the series for each."""
    options = []
    for way in _ways(need):
        thick = [size for size in usual.thicknesses if size + TOLERANCE >= _thickness_for(need, way)]
        if thick and way[0] + shop.rip_kerf <= width_room(usual.width, shop) + TOLERANCE:
            options.append((way, min(thick)))
    room = lane_room(usual.length, shop)
    if not options or not strip_rule(need=need, shop=shop).segments_in(room):
        raise too_big(need=need, usual=usual, shop=shop)
    return options


def too_big(*, need: StripNeed, usual: UsualBoard, shop: ShopSettings) -> InvalidInput:
    """The error for a strip that neither the rack nor the usual board has room for."""
    length = strip_rule(need=need, shop=shop).length(1)
    thickest = max(usual.thicknesses, default=0.0)
    numbers = [str(ring) for ring, _ in need.rings]
    which = f"ring {numbers[0]}" if len(numbers) == 1 else f"rings {', '.join(numbers)}"
    return InvalidInput(
        need.place,
        f"{which}: a {need.wood} strip for one {need.cut} is"
        f" {length:.1f} x {need.width:.1f} x {need.height:.1f} mm;"
        f" the boards given have no room for it, and the usual board"
        f" ({usual.length:g} x {usual.width:g} mm, up to {thickest:g} mm thick) has none either;"
        f" {_mend(need)}, or give a larger board",
    )


def _mend(need: StripNeed) -> str:
    """What would make it fit a smaller board."""
    match need.cut:
        case "disc" | "veneer":
            return "make it of segments"
        case "stave":
            return "use more staves or a shorter band"
        case "plug":
            return "bore less wide"
    return "use more segments or thinner layers"


def _ways(need: StripNeed) -> tuple[Lying, Lying]:
    return (need.width, "flat"), (need.height, "on_edge")


def _thickness_for(need: StripNeed, way: Lying) -> float:
    return need.height if way[1] == "flat" else need.width
