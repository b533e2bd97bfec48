"""One board sawn one way: lanes of strips, the offcuts that go back on the rack, and what the rest costs."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from estimating.piece import ShopSettings
from estimating.wood.set_ups import NEARLY
from estimating.wood.strips import StripRule

Kept = tuple[float, float, float, float]
"""A piece that goes back: its length and width, and where its near corner lies, along the board and across it, mm."""

TRIES = 300
"""Ways that are looked at to fill a lane, and lengths to saw a board at, unless a sheet is very large."""

TOLERANCE = 1e-9
"""mm; what fits to this much fits."""


@dataclass(frozen=True, slots=True)
class Shape:
    """Segments alike, `wanted` of them, the rule of their strips, and the mm3 of strip each takes.

    `one` is the width, mm, of each of several strips that lie side by side as one block; 0 for strips by themselves.
    """

    rule: StripRule
    wanted: int
    volume: float
    one: float = 0.0


@dataclass(frozen=True, slots=True)
class Stock:
    """Boards of one size, mm, `count` of them (None: as many as one likes), with the price of one.

    It may be a clear part of a board with defects, or a plate of one resawn. Stocks of one `cell` are ways to use the
    same part of the same boards and share their count; of a resawn one `plates` count as one. `trims` are what the
    near and the far end lose; it is not crosscut shorter than `shortest`. `rips[i]` is the width shape i is ripped to
    from such a board, None where it does not fit; `penalty[i]` is added to the objective (never to the cost) for each
    of its segments sawn here. Stocks of one `group` are parts of the same boards: as soon as one is used a board costs
    `opening` besides, of which a layout carries `fixed`, no more than its part whatever else is sawn from the board.
    """

    length: float
    width: float
    thickness: float
    price: float
    count: int | None
    rips: tuple[float | None, ...]
    penalty: tuple[float, ...] = ()
    trims: tuple[float, float] = (0.0, 0.0)
    cell: int = 0
    plates: int = 1
    shortest: float = 0.0
    group: int = 0
    opening: float = 0.0
    fixed: float = 0.0

    @property
    def room(self) -> float:
        """What a lane may hold: the whole length, both ends trimmed."""
        return self.length - self.trims[0] - self.trims[1]

    @property
    def along(self) -> float:
        """The length past the trim of the near end."""
        return self.length - self.trims[0]

    @property
    def volume(self) -> float:
        """mm3."""
        return self.length * self.width * self.thickness

    @property
    def rate(self) -> float:
        """Price of a mm2 of its face."""
        return self.price / (self.length * self.width)


@dataclass(frozen=True, slots=True)
class Lane:
    """Strips end to end: its width, the length they use, and (shape, segments) for each."""

    width: float
    used: float
    parts: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Layout:
    """One board of a stock and its lanes."""

    stock: int
    lanes: tuple[Lane, ...]

    def segments(self, shapes: int) -> list[int]:
        """How many of each shape it gives."""
        given = [0] * shapes
        for lane in self.lanes:
            for shape, count in lane.parts:
                given[shape] += count
        return given


@dataclass(frozen=True, slots=True)
class Task:
    """Segments of one wood that may share boards, and the boards they may come from.

    `tries`: how many lengths and lane fillings are looked at for a board; fewer where the whole sheet asks for much.
    """

    shapes: tuple[Shape, ...]
    stocks: tuple[Stock, ...]
    shop: ShopSettings
    tries: int = TRIES

    def lane(self, stock: int, parts: Sequence[tuple[int, int]]) -> Lane:
        """These strips end to end, in a lane as wide as the widest."""
        rips = self.stocks[stock].rips
        used = sum(self.shapes[shape].rule.length(count) for shape, count in parts)
        return Lane(max(rips[shape] or 0.0 for shape, _ in parts), used, tuple(parts))


def edge_loss(shop: ShopSettings) -> float:
    """What truing one edge takes: trim and kerf, or nothing where the edge is left as it is."""
    return shop.board_edge_trim + shop.rip_kerf if shop.board_edge_trim > 0 else 0.0


def width_room(width: float, shop: ShopSettings) -> float:
    """What lanes may take across a board, each with a rip kerf; the last one's may run off the edge."""
    return width - 2 * edge_loss(shop) + shop.rip_kerf


def offcuts(
    *,
    length: float,
    width: float,
    lanes: Sequence[tuple[float, float]],
    shop: ShopSettings,
    near_trim: float | None = None,
    shortest: float = 0.0,
) -> tuple[Kept, ...]:
    """What goes back on the rack of a board whose lanes are (width, used length).

    The near end and the near edge are trimmed first; far ones only if a lane needs them, so that an offcut
    takes them along. Then either the board is ripped at full length, or it is first crosscut where the
    longest lane ends or further along; whichever keeps most. Each cut takes its kerf. Pieces that go back,
    if at least `keep_length` long and `keep_width` wide: what is left beside the lanes, each lane's own end,
    and the part beyond the crosscut in its whole width. A board is not crosscut shorter than `shortest`. The near
    end loses `near_trim` where it is given, else the shop's `board_end_trim`.

    >>> shop = ShopSettings(board_end_trim=20.0, board_edge_trim=0.0, rip_kerf=3.0, crosscut_kerf=2.0)
    >>> offcuts(length=1000.0, width=100.0, lanes=[(30.0, 400.0)], shop=shop)
    ((578.0, 100.0, 422.0, 0.0), (400.0, 67.0, 20.0, 33.0))
    """
    trim = shop.board_end_trim if near_trim is None else near_trim
    along = length - trim
    rest = width - edge_loss(shop) - sum(lane_width + shop.rip_kerf for lane_width, _ in lanes)
    ways = [_worth_keeping(_from_lanes(along, rest, lanes, shop, trim), shop)]
    farthest = (
        along - shop.crosscut_kerf - shop.keep_length
    )  # beyond it the far part is lost, and nothing won
    for crosscut in (at for at in _crosscuts(lanes, shop, shortest) if at <= farthest + TOLERANCE):
        past = crosscut + shop.crosscut_kerf
        far = (along - past, width, trim + past, 0.0)
        ways.append(_worth_keeping([far, *_from_lanes(crosscut, rest, lanes, shop, trim)], shop))
    return max(ways, key=lambda way: sum(long * wide for long, wide, _, _ in way))


def _crosscuts(lanes: Sequence[tuple[float, float]], shop: ShopSettings, shortest: float) -> list[float]:
    """Where a crosscut can be best: at the longest lane's end, or where one more piece gets long enough to keep."""
    longest = max(shortest, *(used for _, used in lanes))
    ends = [used + shop.crosscut_kerf + shop.keep_length for width, used in lanes if width >= shop.keep_width]
    further = sorted({shop.keep_length, *ends})
    return [longest, *(length for length in further if length > longest)]


def _from_lanes(
    to: float, rest: float, lanes: Sequence[tuple[float, float]], shop: ShopSettings, start: float
) -> list[Kept]:
    """What is left beside lanes and at the end of each, when all are ripped up to `to`."""
    across = edge_loss(shop)
    ends: list[Kept] = []
    for width, used in lanes:
        past = used + shop.crosscut_kerf
        ends.append((to - past, width, start + past, across))
        across += width + shop.rip_kerf
    return [(to, rest, start, across), *ends]


def _worth_keeping(pieces: Sequence[Kept], shop: ShopSettings) -> tuple[Kept, ...]:
    return tuple(
        (long, wide, start, across)
        for long, wide, start, across in pieces
        if long > 0
        and wide > 0
        and long >= shop.keep_length - TOLERANCE
        and wide >= shop.keep_width - TOLERANCE
    )


def stock_offcuts(task: Task, stock: int, lanes: Sequence[tuple[float, float]]) -> tuple[Kept, ...]:
    """What goes back of one board of a stock, by `offcuts`."""
    at = task.stocks[stock]
    return offcuts(
        length=at.length,
        width=at.width,
        lanes=lanes,
        shop=task.shop,
        near_trim=at.trims[0],
        shortest=at.shortest,
    )


def layout_cost(task: Task, layout: Layout) -> float:
    """Price of the board less the share that is kept, and its part of what opening the board costs."""
    stock = task.stocks[layout.stock]
    lanes = [(lane.width, lane.used) for lane in layout.lanes]
    kept = stock_offcuts(task, layout.stock, lanes)
    wood = stock.price * (1.0 - sum(long * wide for long, wide, _, _ in kept) / (stock.length * stock.width))
    return wood + stock.fixed


def layout_fits(task: Task, layout: Layout) -> bool:
    """Whether the lanes fit the board."""
    stock = task.stocks[layout.stock]
    across = sum(lane.width + task.shop.rip_kerf for lane in layout.lanes)
    room = stock.room + TOLERANCE
    fits_along = all(lane.used <= room for lane in layout.lanes)
    return fits_along and across <= width_room(stock.width, task.shop) + TOLERANCE


def layout_penalty(task: Task, layout: Layout) -> float:
    """What the objective adds for segments sawn from a stock that should be the last resort."""
    penalty = task.stocks[layout.stock].penalty
    if not penalty:
        return 0.0
    return sum(penalty[shape] * count for lane in layout.lanes for shape, count in lane.parts)


def plan_cost(task: Task, layouts: Sequence[Layout]) -> float:
    """Not rounded. Boards laid out alike, of which a large order has thousands, are reckoned once."""
    counts = Counter(layouts)
    used = [0] * len(task.stocks)
    for layout, count in counts.items():
        used[layout.stock] += count
    return opening_left(task, used) + sum(
        count * layout_cost(task, layout) for layout, count in counts.items()
    )


def opening_left(task: Task, used: Sequence[int]) -> float:
    """What opening the boards costs beyond what the layouts carry, for so many layouts of each stock."""
    if not any(stock.opening for stock in task.stocks):
        return 0.0
    opened: dict[int, tuple[float, int]] = {}
    carried = 0.0
    for number, stock in enumerate(task.stocks):
        boards = boards_used(task, used, stock.cell) if used[number] else 0
        opened[stock.group] = (stock.opening, max(boards, opened.get(stock.group, (0.0, 0))[1]))
        carried += stock.fixed * used[number]
    return sum(opening * boards for opening, boards in opened.values()) - carried


def rips_safely(task: Task, stock: int, parts: Sequence[tuple[int, int]]) -> bool:
    """Whether the strips of a lane that are narrower than it, ripped again, are then as long as may be ripped.

    The lane is crosscut where the narrower ones begin, and so on from width to width; the last piece is the shortest. A
    strip of the same setting as its lane (`set_ups.settings`) is left as wide, and comes to size in the turning. Strips
    side by side are ripped one by one, so what follows them must fit into the lane of the first.
    """
    if len(parts) == 1:
        return True
    rips = task.stocks[stock].rips
    for shape, _ in parts:
        one = task.shapes[shape].one
        if one and any((rips[other] or 0.0) > one + TOLERANCE for other, _ in parts if other != shape):
            return False
    sizes = sorted(
        ((rips[shape] or 0.0, task.shapes[shape].rule.length(n)) for shape, n in parts), reverse=True
    )
    level, last, lane = sizes[0][0], 0.0, True
    for rip, length in sizes:
        if rip < level - NEARLY - TOLERANCE:
            level, last, lane = rip, 0.0, False
        last += length
    return lane or last >= task.shop.min_rip_length - TOLERANCE


def boards_used(task: Task, used: Sequence[int], cell: int) -> int:
    """How many boards of a cell it takes for so many layouts of each stock: plates are sawn from a board together."""
    return sum(
        -(-used[number] // stock.plates) for number, stock in enumerate(task.stocks) if stock.cell == cell
    )


def has_left(task: Task, used: Sequence[int], stock: int) -> bool:
    """Whether there is a board, or a plate of one, for one more layout of a stock."""
    at = task.stocks[stock]
    if at.count is None:
        return True
    more = [count + (number == stock) for number, count in enumerate(used)]
    return boards_used(task, more, at.cell) <= at.count


SAME_COST = 1e-7
"""Plans whose costs differ by less than this share of the dearest board cost the same."""


def plan_rank(task: Task, layouts: Sequence[Layout]) -> tuple[float, float, int]:
    """What decides between plans: least weight, then least volume of boards, then fewest boards."""
    grain = SAME_COST * max(stock.price for stock in task.stocks) or 1.0
    volume = sum(task.stocks[layout.stock].volume for layout in layouts)
    return round(plan_weight(task, layouts) / grain), round(volume), len(layouts)


def plan_weight(task: Task, layouts: Sequence[Layout]) -> float:
    """What the search makes small: the cost, and the weight of what has to be bought as a last resort."""
    penalty = sum(count * layout_penalty(task, layout) for layout, count in Counter(layouts).items())
    return plan_cost(task, layouts) + penalty
