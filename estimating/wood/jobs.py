"""One wood's work as tasks for the search: what comes from the rack, what is bought, and which way strips lie."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimating.errors import InvalidInput
from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.bestfit import first_answer
from estimating.wood.items import Item, item_of, lying
from estimating.wood.layouts import Stock, Task, layout_cost, plan_rank
from estimating.wood.sawn import Job
from estimating.wood.set_ups import settings, stops
from estimating.wood.strips import Lies, StripNeed
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

MOST_RULES = 8
"""Thicknesses that strips are laid for, to see which way they lie best."""


@dataclass(frozen=True, slots=True)
class Supply:
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


def supplies_of(
    pooled: Sequence[StripNeed],
    boards: Sequence[Board],
    usual: UsualBoard,
    price_per_mm3: Mapping[str, Decimal],
    shop: ShopSettings,
    whole: bool,
) -> dict[str, Supply]:
    supplies = {}
    for wood in dict.fromkeys(need.wood for need in pooled):
        own = tuple(need for need in pooled if need.wood == wood)
        thinnest = min(min(need.height, need.width) for need in own)
        rack = tuple(rack_sources(boards, wood, thinnest=thinnest, shop=shop))
        supplies[wood] = Supply(own, rack, usual, price_per_mm3.get(wood, Decimal(0)), shop, whole)
    return supplies


def jobs_of(supply: Supply, tries: int, *, ripped: Sequence[float] = ()) -> Iterator[Job]:
    """One wood's work in parts that share no boards: from the rack, and bought in each thickness.

    Where the rack does not reach, all is one part, and buying is the last resort in it. `ripped` are widths, mm, that
    the fence is set to for other woods anyway.
    """
    fitting = [need for need in supply.needs if supply.item(need, supply.rack) is not None]
    if fitting:
        job = _best_lying(fitting, supply.rack, supply, tries, ripped)
        if job is None:
            yield _rack_and_buy(fitting, supply, tries)
            return
        yield job
    chosen = set(fitting)
    left = [need for need in supply.needs if need not in chosen]
    if supply.whole and left:
        # A board opened costs all of it: what is planed off a strip is cheaper than a board in its own thickness.
        every = _best_lying(left, supply.sources(left), supply, tries, ripped)
        assert every is not None, "boards are bought without end"
        yield every
        return
    bought: dict[Source, list[StripNeed]] = {}
    for need in left:
        bought.setdefault(supply.source(need), []).append(need)
    for source, share in bought.items():
        yield _job(share, [source], supply, tries)


def _best_lying(
    needs: Sequence[StripNeed],
    sources: Sequence[Source],
    supply: Supply,
    tries: int,
    ripped: Sequence[float],
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
        (plan_rank(job.task, plan), set_ups(job.items, supply.shop, ripped=ripped), at)
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


def ripped_by(items: Sequence[Item], shop: ShopSettings) -> list[float]:
    """What the fence is set to for each, mm."""
    return [max(item.rip, shop.min_rip_width) for item in items]


def set_ups(items: Sequence[Item], shop: ShopSettings, *, ripped: Sequence[float] = ()) -> int:
    """Settings of the fence, those for other woods among them, and of the saw's angle and stop together.

    However the strips of such items are laid out on boards, they take no others.
    """
    fences = settings([*ripped_by(items, shop), *ripped])
    return len(set(fences.values())) + len(stops((item.need.miter, item.need.outer_edge) for item in items))


def _rack_and_buy(fitting: Sequence[StripNeed], supply: Supply, tries: int) -> Job:
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


def _bought(fitting: Sequence[StripNeed], supply: Supply) -> dict[StripNeed, Source]:
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
    supply: Supply,
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
    need: StripNeed, own: Sequence[Source], supply: Supply, prefer: Lies | Source | None
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
