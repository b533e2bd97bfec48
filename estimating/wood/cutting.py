"""Strips nested into real boards: what to saw from which board, what to buy, and a bound no plan can beat."""

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimating.errors import InvalidInput, InvalidSheet
from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.bestfit import first_answer
from estimating.wood.layouts import TRIES, Layout, Shape, Stock, Task, edge_loss, layout_cost, offcuts
from estimating.wood.search import least_cost
from estimating.wood.strips import (
    CuttingPlan,
    Offcut,
    SawnBoard,
    Short,
    Strip,
    StripNeed,
    StripRule,
    WoodUse,
    pool_needs,
    strip_rule,
    wood_use,
)
from estimating.wood.supply import (
    Source,
    bought_source,
    lying,
    next_thickness,
    rack_sources,
    thinnest,
    too_big,
)

__all__ = [
    "CuttingPlan",
    "SawnBoard",
    "Short",
    "Strip",
    "StripNeed",
    "StripRule",
    "WoodUse",
    "plan_cutting",
    "pool_needs",
    "strip_rule",
    "wood_use",
]


NEVER_KEPT = 1e9
"""No offcut is this long, mm."""


MOST_IMPROVED = 1500
"""Shapes of strip x (1 + kinds of board) that patterns are made for; woods after that have their first answer."""

MOST_PAIRS = 100_000
"""Shapes of strip x kinds of board of their wood, over all woods, that are planned at all where boards are given."""

MOST_TRIED = 300_000
"""Such pairs x tries a board: a sheet of up to a thousand pairs has all its tries."""

FEWEST_TRIES = 3


@dataclass(frozen=True, slots=True)
class _Job:
    """Needs of one wood that may share boards, and the boards."""

    needs: tuple[StripNeed, ...]
    sources: tuple[Source, ...]
    task: Task


def plan_cutting(
    *,
    needs: Sequence[StripNeed],
    boards: Sequence[Board],
    usual: UsualBoard,
    price_per_mm3: Mapping[str, Decimal],
    shop: ShopSettings,
    whole_boards: bool = False,
    effort: int = 1,
) -> CuttingPlan:
    """The plan of least cost that gives every segment, and a bound that no plan can beat.

    Shape: boards are ripped into lanes side by side, lanes crosscut into strips end to end, offcuts kept by the
        rule of `layouts.offcuts`. Boards given are used before any is bought: where they do not reach, the search
        first makes the volume bought small, then the cost. A strip to buy for comes from the next thickness of
        the usual series that fits it; where boards are charged whole and the rack serves none of the strip, from
        any thickness that another strip of its wood is bought in, or from the thinnest that it fits flat or on
        edge. `short` lists every segment sawn from a bought board, also where no board of the wood was given at
        all.
    Units: mm; `price_per_mm3` of each wood bought; cost and bound in money, not rounded.
    Bound: no plan under these rules that buys no more than this one costs less. It is the largest of three, per
        wood and thickness: the face under the strips (`search.face_bound`); and the lower of what one board
        costs at least (`oneboard.bound_lengths`) and what two or more do (`columns.relax`). Ties in cost go by
        the order of the search; least volume and fewest boards are sought, not proven.
    Charge: what is kept of a board is not charged, unless `whole_boards`: then fewer boards are opened, and what is
        kept of them goes back on the rack all the same.
    Effort: the work on plan and bound, never a time limit. 0 is the first answer with the plainest bound, for a
        page that changes while one types; 1 tightens both.
        However much is asked for, patterns are made for no more than `MOST_IMPROVED` says.
    Errors: InvalidSheet at `bands` with every ring that no board given and no usual board has room for; InvalidInput
        at `boards` for more kinds of board and shapes of strip than can be tried.
    """
    # Where a board is charged whole, nothing is gained in the search by what could be kept of it.
    charged = replace(shop, keep_length=NEVER_KEPT) if whole_boards else shop
    pooled = pool_needs(needs)
    _refuse_what_fits_nothing(pooled, boards, usual, shop)
    tries = _tries(pooled, boards)
    jobs = [
        job
        for wood in dict.fromkeys(need.wood for need in pooled)
        for job in _jobs(
            [need for need in pooled if need.wood == wood],
            rack_sources(boards, wood),
            _Buying(
                usual=usual,
                price_per_mm3=price_per_mm3.get(wood, Decimal(0)),
                shop=charged,
                tries=tries,
                whole=whole_boards,
            ),
        )
    ]
    sawn: list[SawnBoard] = []
    bound, proven, asked = 0.0, True, 0
    for job in jobs:
        asked += len(job.needs) * (1 + len(job.sources))
        answer = least_cost(job.task, effort=effort if asked <= MOST_IMPROVED else 0)
        boards_of_job = _sawn(job, answer.layouts, shop)
        sawn += [replace(board, charged_whole=whole_boards) for board in boards_of_job]
        bound += answer.bound
        proven = proven and answer.proven
    sawn.sort(key=lambda board: board.buy)
    cost = sum(board.cost for board in sawn)
    return CuttingPlan(tuple(sawn), cost, min(bound, cost), proven, tuple(_short(sawn)))


def _refuse_what_fits_nothing(
    pooled: Sequence[StripNeed], boards: Sequence[Board], usual: UsualBoard, shop: ShopSettings
) -> None:
    """Refuse all strips that neither the rack nor the usual board has room for, at once and before any search."""
    errors = []
    for need in pooled:
        if any(lying(need=need, source=at, shop=shop) for at in rack_sources(boards, need.wood)):
            continue
        try:
            next_thickness(need=need, usual=usual, shop=shop)
        except InvalidInput as refusal:
            errors.append(refusal)
    if errors:
        raise InvalidSheet(errors)


def _tries(pooled: Sequence[StripNeed], boards: Sequence[Board]) -> int:
    """How much may be tried a board, so that the largest sheet is planned in a bounded time.

    Errors: InvalidInput at `boards` for more kinds of board and shapes of strip than can be tried at all.
    """
    shapes = Counter(need.wood for need in pooled)
    kinds = Counter(board.wood for board in boards)
    pairs = sum(count * (1 + kinds[wood]) for wood, count in shapes.items())
    if boards and pairs > MOST_PAIRS:
        reason = (
            f"{len(pooled):,} shapes of strip and {len(boards):,} kinds of board are more than can be planned: "
            f"{pairs:,} pairs of one wood, at most {MOST_PAIRS:,}; leave the smaller boards out"
        )
        raise InvalidInput("boards", reason)
    return max(FEWEST_TRIES, min(TRIES, MOST_TRIED // max(1, pairs)))


@dataclass(frozen=True, slots=True)
class _Buying:
    """What is needed to buy one wood."""

    usual: UsualBoard
    price_per_mm3: Decimal
    shop: ShopSettings
    tries: int
    whole: bool

    def source(self, need: StripNeed) -> Source:
        """The usual board in the thickness this need is bought in."""
        return self._in(next_thickness(need=need, usual=self.usual, shop=self.shop))

    def sources(self, needs: Sequence[StripNeed]) -> list[Source]:
        """The boards that all needs may share: in each one's own thickness, and the thinnest it fits either way."""
        thicknesses = {next_thickness(need=need, usual=self.usual, shop=self.shop) for need in needs}
        thicknesses |= {thinnest(need=need, usual=self.usual, shop=self.shop) for need in needs}
        return [self._in(thickness) for thickness in sorted(thicknesses)]

    def _in(self, thickness: float) -> Source:
        return bought_source(usual=self.usual, thickness=thickness, price_per_mm3=self.price_per_mm3)


def _jobs(needs: Sequence[StripNeed], rack: Sequence[Source], buy: _Buying) -> Iterator[_Job]:
    """One wood's work in parts that share no boards: from the rack, and bought in each thickness.

    Where the rack does not reach, all is one part, and buying is the last resort in it.
    """
    shop = buy.shop
    fitting = dict.fromkeys(
        need for need in needs if any(lying(need=need, source=at, shop=shop) for at in rack)
    )
    if fitting:
        job = _job(list(fitting), [(at, fitting) for at in rack], buy)
        if first_answer(job.task) is None:
            yield _rack_and_buy(needs, fitting, rack, buy)
            return
        yield job
    left = [need for need in needs if need not in fitting]
    if buy.whole and left:
        # A board opened costs all of it: what is planed off a strip is cheaper than a board in its own thickness.
        yield _job(left, [(source, left) for source in buy.sources(left)], buy)
        return
    bought = {need: buy.source(need) for need in left}
    for source in dict.fromkeys(bought.values()):
        share = [need for need, at in bought.items() if at == source]
        yield _job(share, [(source, set(share))], buy)


def _rack_and_buy(
    needs: Sequence[StripNeed], fitting: Collection[StripNeed], rack: Sequence[Source], buy: _Buying
) -> _Job:
    """All needs of a wood at once, from the rack and bought.

    A segment that could come from the rack weighs its volume where it is bought, on a scale that puts the
    least of them above what any plan worth having costs.
    """
    bought = _bought(needs, fitting, buy)
    options = [(at, fitting) for at in rack]
    options += [
        (source, {need for need, at in bought.items() if at == source})
        for source in dict.fromkeys(bought.values())
    ]
    volumes = {need: need.width * need.height * need.outer_edge for need in fitting}
    trial = _job(needs, options, buy, volumes)
    plan = first_answer(trial.task)
    if plan is None:
        raise too_big(
            need=next(need for need in fitting if need not in bought), usual=buy.usual, shop=buy.shop
        )
    dearest = 1.0 + sum(layout_cost(trial.task, layout) for layout in plan)
    dearest += sum(float(at.price) * (at.count or 0) for at in rack)
    scale = dearest / min(volumes.values())
    return _job(needs, options, buy, {need: scale * volume for need, volume in volumes.items()})


def _bought(
    needs: Sequence[StripNeed], fitting: Collection[StripNeed], buy: _Buying
) -> dict[StripNeed, Source]:
    """What each need is bought as. One that no usual board has room for can come from the rack alone."""
    bought = {}
    for need in needs:
        try:
            bought[need] = buy.source(need)
        except InvalidInput:
            if need not in fitting:
                raise
    return bought


def _job(
    needs: Sequence[StripNeed],
    options: Sequence[tuple[Source, Collection[StripNeed]]],
    buy: _Buying,
    last_resort: Mapping[StripNeed, float] | None = None,
) -> _Job:
    """The task for the search. `last_resort`: what a segment of a need weighs where it has to be bought."""
    rules = [strip_rule(need=need, shop=buy.shop) for need in needs]
    shapes = tuple(
        Shape(rule, sum(count for _, count in need.rings), need.width * need.height * rule.each)
        for need, rule in zip(needs, rules, strict=True)
    )
    weights = tuple(last_resort.get(need, 0.0) for need in needs) if last_resort else ()
    fitting = [
        (source, served)
        for source, served in options
        if any(_rip(need, source, buy.shop) is not None for need in served)
    ]
    stocks = tuple(
        Stock(
            length=source.length,
            width=source.width,
            thickness=source.thickness,
            price=float(source.price),
            count=source.count,
            rips=tuple(_rip(need, source, buy.shop) if need in served else None for need in needs),
            penalty=weights if source.buy else (),
        )
        for source, served in fitting
    )
    return _Job(
        tuple(needs), tuple(source for source, _ in fitting), Task(shapes, stocks, buy.shop, buy.tries)
    )


def _rip(need: StripNeed, source: Source, shop: ShopSettings) -> float | None:
    way = lying(need=need, source=source, shop=shop)
    return way[0] if way else None


def _sawn(job: _Job, layouts: Sequence[Layout], shop: ShopSettings) -> list[SawnBoard]:
    """The boards as they are listed: in the order of the sources, rings served in their order."""
    waiting = [list(need.rings) for need in job.needs]
    return [
        _board(job, layout, waiting, shop)
        for layout in sorted(layouts, key=lambda layout: (layout.stock, layout_cost(job.task, layout)))
    ]


def _board(job: _Job, layout: Layout, waiting: list[list[tuple[int, int]]], shop: ShopSettings) -> SawnBoard:
    source = job.sources[layout.stock]
    strips, across = [], edge_loss(shop)
    for number, lane in enumerate(layout.lanes, start=1):
        start = shop.board_end_trim
        for shape, count in lane.parts:
            need = job.needs[shape]
            way = lying(need=need, source=source, shop=shop)
            assert way is not None, "a layout holds only shapes that fit its stock"
            length = job.task.shapes[shape].rule.length(count)
            rings = _take(waiting[shape], count)
            strips.append(
                Strip(
                    number,
                    start,
                    need.width,
                    need.height,
                    length,
                    count,
                    rings,
                    rip_width=way[0],
                    lies=way[1],
                    across=across,
                )
            )
            start += length
        across += lane.width + shop.rip_kerf
    lanes = [(lane.width, lane.used) for lane in layout.lanes]
    kept = tuple(
        Offcut(long, wide, source.thickness, start, across)
        for long, wide, start, across in offcuts(
            length=source.length, width=source.width, lanes=lanes, shop=shop
        )
    )
    wood = job.needs[0].wood
    return SawnBoard(
        wood, source.length, source.width, source.thickness, source.price, source.buy, tuple(strips), kept
    )


def _take(waiting: list[tuple[int, int]], count: int) -> tuple[int, ...]:
    """The rings the next `count` segments of a shape are for; they are taken off the list."""
    served: list[int] = []
    while count:
        ring, wanted = waiting.pop(0)
        taken = min(count, wanted)
        count -= taken
        if taken < wanted:
            waiting.insert(0, (ring, wanted - taken))
        if ring not in served:
            served.append(ring)
    return tuple(served)


def _short(boards: Sequence[SawnBoard]) -> Iterator[Short]:
    """The segments sawn from boards to buy, per wood."""
    bought = [board for board in boards if board.buy]
    for wood in dict.fromkeys(board.wood for board in bought):
        strips = [strip for board in bought if board.wood == wood for strip in board.strips]
        rings = sorted({ring for strip in strips for ring in strip.rings})
        yield Short(wood, tuple(rings), sum(strip.segments for strip in strips))
