"""Which boards strips may come from: clear parts and plates of those on the rack, and the usual one to buy."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from estimating.errors import InvalidInput
from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.layouts import TOLERANCE, width_room
from estimating.wood.sections import Section, clear_sections, is_kept, plate_thickness, ways_to_resaw
from estimating.wood.strips import Lies, StripNeed, strip_rule


@dataclass(frozen=True, slots=True)
class Source:
    """A clear part of like boards, or the plates it is resawn into: `count` boards on the rack, or to buy (None).

    `thickness` is a plate's own, clean. `sections` are all clear parts of the board, `number` counts them from 0.
    `price` is what the wood of one plate of this part costs, `opening` what a board costs as soon as anything is sawn
    from it: its defects, and parts too small to be kept.
    """

    board: Board
    count: int | None
    sections: tuple[Section, ...]
    number: int
    plates: int
    thickness: float
    price: float
    opening: float = 0.0

    @property
    def section(self) -> Section:
        """The part itself."""
        return self.sections[self.number]

    @property
    def buy(self) -> bool:
        """Not on the rack."""
        return self.count is None

    @property
    def room(self) -> float:
        """Length for strips, mm."""
        return self.section.length - self.section.near_trim - self.section.far_trim


def rack_sources(boards: Sequence[Board], wood: str, *, thinnest: float, shop: ShopSettings) -> list[Source]:
    """Every part and plate of the boards of a wood on the rack, in the order given."""
    counts: Counter[Board] = Counter()
    for board in boards:
        if board.wood == wood and board.count > 0:
            counts[replace(board, count=1)] += board.count
    return [source for board, count in counts.items() for source in _sources(board, count, thinnest, shop)]


def _sources(board: Board, count: int | None, thinnest: float, shop: ShopSettings) -> Iterator[Source]:
    sections = clear_sections(length=board.length, width=board.width, defects=board.defects, shop=shop)
    rate = float(board.price) / (board.length * board.width)
    # A part that cannot be kept is paid for with the board, and costs nothing more where it is used.
    prices = [
        rate * section.area if len(sections) == 1 or is_kept(section, shop) else 0.0 for section in sections
    ]
    opening = max(0.0, float(board.price) - sum(prices))
    for number, section in enumerate(sections):
        if section.length < shop.min_rip_length - TOLERANCE:
            continue
        for plates in ways_to_resaw(board, section, thinnest=thinnest, shop=shop):
            thickness = plate_thickness(board.thickness, board.surface, plates, shop)
            price = prices[number] / plates
            yield Source(board, count, sections, number, plates, thickness, price, opening)


def shortest_sawn(source: Source, *, thinnest: float, shop: ShopSettings) -> float:
    """The shortest piece such a board may be crosscut to, mm, for strips down to `thinnest` mm thick.

    Nothing shorter is ripped, and where the strips are thinner than the wood they are sawn from, or its faces are not
    clean, nothing shorter is planed.
    """
    clean = source.plates == 1 and source.board.surface == "surfaced"
    planed = not clean or thinnest < source.thickness - TOLERANCE
    return max(shop.min_rip_length, shop.min_planer_length if planed else 0.0)


def bought_source(
    *, wood: str, usual: UsualBoard, thickness: float, plates: int, price_per_mm3: Decimal, shop: ShopSettings
) -> Source:
    """The usual board in one thickness, its price rounded half up to hundredths."""
    volume = Decimal(str(usual.length)) * Decimal(str(usual.width)) * Decimal(str(thickness))
    price = (volume * price_per_mm3).quantize(Decimal("0.01"), ROUND_HALF_UP)
    board = Board(wood, usual.length, usual.width, thickness, 1, price, surface=usual.surface)
    whole = Section(0.0, 0.0, usual.length, usual.width, shop.board_end_trim, shop.board_end_trim)
    clean = plate_thickness(thickness, board.surface, plates, shop)
    return Source(board, None, (whole,), 0, plates, clean, float(price) / plates)


Bought = tuple[float, int]
"""A thickness of the usual series, and the plates such a board is resawn into."""


def next_bought(
    *, need: StripNeed, usual: UsualBoard, shop: ShopSettings, lies: Lies | None = None
) -> Bought:
    """What to buy for a strip: the next thickness of the series, for the way it lies (given or chosen).

    With no preference the way that needs less thickness x rip width, flat where they need the same; of a board that is
    resawn, a plate's share of the thickness counts.
    Errors: InvalidInput at the need's place where no usual board has room for a strip of one segment.
    """
    options = _options(need=need, usual=usual, shop=shop)
    if all(lies not in (None, way) for way, _, _ in options):
        raise too_big(need=need, usual=usual, shop=shop)
    return min(
        (way != shop.strip_lies, thick / plates * _rip(need, way), thick / plates, thick, plates)
        for way, thick, plates in options
        if lies in (None, way)
    )[3:]


def thinnest_bought(*, need: StripNeed, usual: UsualBoard, shop: ShopSettings) -> Bought:
    """The least of the series that a strip can be sawn from, lying either way.

    Errors: as `next_bought`.
    """
    options = _options(need=need, usual=usual, shop=shop)
    return min((thick / plates, thick, plates) for _, thick, plates in options)[1:]


def _options(*, need: StripNeed, usual: UsualBoard, shop: ShopSettings) -> list[tuple[Lies, float, int]]:
    """The ways a strip can lie in the usual board, whole or resawn, with the next thickness of the series for each."""
    room = usual.length - 2 * shop.board_end_trim
    whole = Section(0.0, 0.0, usual.length, usual.width, shop.board_end_trim, shop.board_end_trim)
    options = []
    for lies in ways_to_lie(need):
        if _rip(need, lies) + shop.rip_kerf > width_room(usual.width, shop) + TOLERANCE:
            continue
        least = thickness_for(need, lies)
        found: dict[int, float] = {}
        for thick in sorted(usual.thicknesses):
            board = Board(need.wood, usual.length, usual.width, thick, 1, Decimal(0), surface=usual.surface)
            for plates in ways_to_resaw(board, whole, thinnest=least, shop=shop):
                if plate_thickness(thick, board.surface, plates, shop) + TOLERANCE >= least:
                    found.setdefault(plates, thick)
        options += [(lies, thick, plates) for plates, thick in found.items()]
    long_enough = strip_rule(need=need, shop=shop).segments_in(room) and usual.length >= shop.min_rip_length
    if not options or not long_enough:
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


def ways_to_lie(need: StripNeed) -> tuple[Lies, Lies]:
    """Both; flat first, which is taken where they are alike."""
    return ("flat", "on_edge")


def _rip(need: StripNeed, lies: Lies) -> float:
    return need.width if lies == "flat" else need.height


def thickness_for(need: StripNeed, lies: Lies) -> float:
    """What the board must be thick at least, mm."""
    return need.height if lies == "flat" else need.width
