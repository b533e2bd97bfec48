"""Strips nested into real boards: what to saw from which board, what to buy, and a bound no plan can beat."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimating.errors import InvalidInput, InvalidSheet
from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.bestfit import first_answer
from estimating.wood.items import Item, item_of, lying
from estimating.wood.layouts import TRIES, Stock, Task, layout_cost, plan_rank
from estimating.wood.sawn import Job, saw
from estimating.wood.search import PROOF, least_cost
from estimating.wood.strips import (
    CuttingPlan,
    Lies,
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
    next_bought,
    rack_sources,
    shortest_sawn,
    thinnest_bought,
    too_big,
    ways_to_lie,
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

MOST_RULES = 8
"""Thicknesses that strips are laid for, to see which way they lie best."""


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
    tries = _tries(pooled, boards)
    supplies = _supplies(pooled, boards, usual, price_per_mm3, charged, whole_boards)
    _refuse_what_fits_nothing(pooled, supplies)
    jobs = [job for wood in supplies for job in _jobs(supplies[wood], tries)]
    sawn: list[SawnBoard] = []
    bound, asked = 0.0, 0
    proven = True
    for job in jobs:
        asked += len(job.items) * (1 + len(job.sources))
        answer = least_cost(job.task, effort=effort if asked <= MOST_IMPROVED else 0, free=job.free)
        of_job = [
            replace(board, charged_whole=whole_boards)
            for board in saw(replace(job, task=replace(job.task, shop=shop)), answer.layouts, shop)
        ]
        cost = sum(board.cost for board in of_job)
        free = all(stock.price == 0 for stock in job.task.stocks)
        proven = proven and (free or cost <= answer.bound * (1 + PROOF))
        bound += answer.bound
        sawn += of_job
    sawn.sort(key=lambda board: board.buy)
    cost = sum(board.cost for board in sawn)
    return CuttingPlan(tuple(sawn), cost, min(bound, cost), proven, tuple(_short(sawn)))


@dataclass(frozen=True, slots=True)
class _Supply:
    """One wood: what is sawn from it, the rack's boards of it, and how it is bought."""

    needs: tuple[StripNeed, ...]
    rack: tuple[Source, ...]
    usual: UsualBoard
    price_per_mm3: Decimal
    shop: ShopSettings
    whole: bool

    def source(self, need: StripNeed, lies: Lies | None = None) -> Source:
        """The usual board in the thickness this need is bought in, lying so or as suits it."""
        return self._bought(need, *next_bought(need=need, usual=self.usual, shop=self.shop, lies=lies))

    def sources(self, needs: Sequence[StripNeed]) -> list[Source]:
        """The boards that all needs may share: in each one's own thickness, and the thinnest it fits either way."""
        found = {next_bought(need=need, usual=self.usual, shop=self.shop) for need in needs}
        found |= {thinnest_bought(need=need, usual=self.usual, shop=self.shop) for need in needs}
        return [self._bought(needs[0], *bought) for bought in sorted(found)]

    def _bought(self, need: StripNeed, thickness: float, plates: int) -> Source:
        return bought_source(
            wood=need.wood,
            usual=self.usual,
            thickness=thickness,
            plates=plates,
            price_per_mm3=self.price_per_mm3,
            shop=self.shop,
        )

    def item(self, need: StripNeed, sources: Sequence[Source], prefer: Lies | None = None) -> Item | None:
        """The need as it lies in these boards, None where it fits none."""
        return lying(need, sources, self.shop, prefer)


def _supplies(
    pooled: Sequence[StripNeed],
    boards: Sequence[Board],
    usual: UsualBoard,
    price_per_mm3: Mapping[str, Decimal],
    shop: ShopSettings,
    whole: bool,
) -> dict[str, _Supply]:
    supplies = {}
    for wood in dict.fromkeys(need.wood for need in pooled):
        own = tuple(need for need in pooled if need.wood == wood)
        thinnest = min(min(need.height, need.width) for need in own)
        rack = tuple(rack_sources(boards, wood, thinnest=thinnest, shop=shop))
        supplies[wood] = _Supply(own, rack, usual, price_per_mm3.get(wood, Decimal(0)), shop, whole)
    return supplies


def _refuse_what_fits_nothing(pooled: Sequence[StripNeed], supplies: Mapping[str, _Supply]) -> None:
    """Refuse all strips that neither the rack nor the usual board has room for, at once and before any search."""
    errors = []
    for need in pooled:
        supply = supplies[need.wood]
        if supply.item(need, supply.rack) is not None:
            continue
        try:
            if supply.item(need, [supply.source(need)]) is None:
                errors.append(_no_board_for_all(need, supply))
        except InvalidInput as refusal:
            errors.append(refusal)
    if errors:
        raise InvalidSheet(errors)


def _no_board_for_all(need: StripNeed, supply: _Supply) -> InvalidInput:
    ring, count = need.rings[0]
    return InvalidInput(
        need.place,
        f"ring {ring}: its {count // need.sets} matched segments of {need.wood} have to come from one board, and none "
        "has room for them; give a larger board, or leave the matching out",
    )


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


def _jobs(supply: _Supply, tries: int) -> Iterator[Job]:
    """One wood's work in parts that share no boards: from the rack, and bought in each thickness.

    Where the rack does not reach, all is one part, and buying is the last resort in it.
    """
    fitting = [need for need in supply.needs if supply.item(need, supply.rack) is not None]
    if fitting:
        job = _best_lying(fitting, supply.rack, supply, tries)
        if job is None:
            yield _rack_and_buy(fitting, supply, tries)
            return
        yield job
    chosen = set(fitting)
    left = [need for need in supply.needs if need not in chosen]
    if supply.whole and left:
        # A board opened costs all of it: what is planed off a strip is cheaper than a board in its own thickness.
        every = _best_lying(left, supply.sources(left), supply, tries)
        assert every is not None, "boards are bought without end"
        yield every
        return
    bought: dict[Source, list[StripNeed]] = {}
    for need in left:
        bought.setdefault(supply.source(need), []).append(need)
    for source, share in bought.items():
        yield _job(share, [source], supply, tries)


def _best_lying(
    needs: Sequence[StripNeed], sources: Sequence[Source], supply: _Supply, tries: int
) -> Job | None:
    """The job from these boards alone, None where they do not reach however the strips lie.

    The strips of a ring lie one way in all boards, for the growth rings' sake. Which, is tried by several rules: the
    narrower rip, all flat, all on edge, and for each thickness on the rack the narrower rip in such a board.
    """
    ways: dict[tuple[Item, ...], Job] = {}
    by_thickness = {round(source.thickness, 3): source for source in sources}
    rules: list[Lies | Source | None] = [None, "flat", "on_edge", *list(by_thickness.values())[:MOST_RULES]]
    for rule in rules:
        job = _job(needs, sources, supply, tries, prefer=rule)
        ways.setdefault(job.items, job)
    reached = [
        (plan_rank(job.task, plan), set_ups(job.items), at)
        for at, job in enumerate(ways.values())
        if (plan := first_answer(job.task)) is not None
    ]
    if not reached:
        return None
    best = list(ways.values())[min(reached)[2]]
    return replace(best, free=_free(best, supply.shop)) if len(ways) > 1 else best


def _free(job: Job, shop: ShopSettings) -> Task:
    """The task with every strip lying the narrower way in each board, whatever it does in others."""
    others = [
        [item_of(item.need, lies, job.sources, shop) for lies in ways_to_lie(item.need)] for item in job.items
    ]
    # A matched ring that would take another number of strips is another shape, and stays as it is.
    asked = [
        [(way.asks(shop), way.width(shop)) for way in ways if way.beside == item.beside]
        for item, ways in zip(job.items, others, strict=True)
    ]
    stocks = tuple(
        replace(
            stock,
            rips=tuple(
                min((width for ask, width in ways if ask.met_by(source)), default=None) for ways in asked
            ),
        )
        for stock, source in zip(job.task.stocks, job.sources, strict=True)
    )
    return replace(job.task, stocks=stocks)


def set_ups(items: Sequence[Item]) -> int:
    """Settings of the fence, and of the saw's angle and stop together."""
    fences = {round(item.rip, 6) for item in items}
    stops = {(round(item.need.miter, 9), round(item.need.outer_edge, 6)) for item in items}
    return len(fences) + len(stops)


def _rack_and_buy(fitting: Sequence[StripNeed], supply: _Supply, tries: int) -> Job:
    """All needs of a wood at once, from the rack and bought.

    A segment that could come from the rack weighs its volume where it is bought, on a scale that puts the
    least of them above what any plan worth having costs.
    """
    bought = _bought(fitting, supply)
    sources = [*supply.rack, *dict.fromkeys(bought.values())]
    volumes = {need: need.width * need.height * need.outer_edge for need in fitting}
    trial = _job(supply.needs, sources, supply, tries, bought=bought, last_resort=volumes)
    plan = first_answer(trial.task)
    if plan is None:
        missing = next((need for need in fitting if need not in bought), fitting[0])
        raise too_big(need=missing, usual=supply.usual, shop=supply.shop)
    dearest = 1.0 + sum(layout_cost(trial.task, layout) for layout in plan)
    dearest += sum(float(at.board.price) * (at.count or 0) for at in supply.rack)
    scale = dearest / min(volumes.values())
    weights = {need: scale * volume for need, volume in volumes.items()}
    return _job(supply.needs, sources, supply, tries, bought=bought, last_resort=weights)


def _bought(fitting: Sequence[StripNeed], supply: _Supply) -> dict[StripNeed, Source]:
    """What each need is bought as, lying as it does in the rack. One that no usual board has room for can come from the
    rack alone.
    """
    chosen = set(fitting)
    bought = {}
    for need in supply.needs:
        on_rack = supply.item(need, supply.rack) if need in chosen else None
        try:
            source = supply.source(need, on_rack.lies if on_rack else None)
        except InvalidInput:
            if on_rack is None:
                raise
            continue
        if supply.item(need, [source]) is not None:
            bought[need] = source
    return bought


def _job(
    needs: Sequence[StripNeed],
    sources: Sequence[Source],
    supply: _Supply,
    tries: int,
    *,
    prefer: Lies | Source | None = None,
    bought: Mapping[StripNeed, Source] | None = None,
    last_resort: Mapping[StripNeed, float] | None = None,
) -> Job:
    """The task for the search. `last_resort`: what a segment of a need weighs where it has to be bought."""
    shop = supply.shop
    items = []
    for need in needs:
        own = [at for at in sources if bought is None or not at.buy or bought.get(need) == at]
        item = _lying_so(need, own, supply, prefer)
        assert item is not None, "needs that fit nothing are refused before"
        items.append(item if not item.beside else item_of(need, item.lies, own, shop))
    weights = tuple(
        (last_resort or {}).get(item.need, 0.0) * (item.per_set if item.beside else 1) for item in items
    )
    shapes = tuple(item.shape(shop) for item in items)
    asks = [item.asks(shop) for item in items]
    widths = [item.width(shop) for item in items]
    cells: dict[tuple[Board, bool, int], int] = {}
    groups: dict[tuple[Board, bool], int] = {}
    kept, stocks = [], []
    for source in sources:
        rips = tuple(
            width
            if (bought is None or not source.buy or bought.get(item.need) == source) and ask.met_by(source)
            else None
            for item, ask, width in zip(items, asks, widths, strict=True)
        )
        if all(rip is None for rip in rips):
            continue
        cell = cells.setdefault((source.board, source.buy, source.number), len(cells))
        group = groups.setdefault((source.board, source.buy), len(groups))
        kept.append(source)
        thinnest = min(ask.thickness for ask, rip in zip(asks, rips, strict=True) if rip is not None)
        shortest = shortest_sawn(source, thinnest=thinnest, shop=shop)
        penalty = weights if source.buy and last_resort else ()
        stocks.append(_stock(source, rips, penalty, cell=cell, group=group, shortest=shortest))
    return Job(tuple(items), tuple(kept), Task(shapes, tuple(stocks), shop, tries))


def _lying_so(
    need: StripNeed, own: Sequence[Source], supply: _Supply, prefer: Lies | Source | None
) -> Item | None:
    """How a need lies by one rule: in the board named if that has room for it, else on the rack, else bought."""
    if isinstance(prefer, Source):
        there = supply.item(need, [prefer])
        prefer = there.lies if there else None
    on_rack = supply.item(need, [at for at in own if not at.buy], prefer)
    return on_rack or supply.item(need, own, prefer)


def _stock(
    source: Source,
    rips: tuple[float | None, ...],
    penalty: tuple[float, ...],
    *,
    cell: int,
    group: int,
    shortest: float,
) -> Stock:
    section = source.section
    return Stock(
        length=section.length,
        width=section.width,
        thickness=source.board.thickness / source.plates,
        price=source.price,
        count=source.count,
        rips=rips,
        penalty=penalty,
        trims=(section.near_trim, section.far_trim),
        cell=cell,
        plates=source.plates,
        shortest=shortest,
        group=group,
        opening=source.opening,
        fixed=source.opening / len(source.sections) / source.plates,
    )


def _short(boards: Sequence[SawnBoard]) -> Iterator[Short]:
    """The segments sawn from boards to buy, per wood."""
    bought = [board for board in boards if board.buy]
    for wood in dict.fromkeys(board.wood for board in bought):
        strips = [strip for board in bought if board.wood == wood for strip in board.strips]
        rings = sorted({ring for strip in strips for ring in strip.rings})
        yield Short(wood, tuple(rings), sum(strip.segments for strip in strips))
