"""Patterns of boards: priced, made as needed, bounded, and put together to a plan."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import inf

from estimating.wood.columns import Column, Found, Prices, Relaxed, relax, whole
from estimating.wood.diving import cover_of, dive
from estimating.wood.layouts import (
    SAME_COST,
    Layout,
    Task,
    lane_room,
    layout_cost,
    layout_penalty,
    plan_cost,
    plan_rank,
    plan_weight,
)
from estimating.wood.oneboard import bound_lengths
from estimating.wood.pricing import BoardPricer
from estimating.wood.trimming import trim

ROUNDS = 1500
"""Rounds of new patterns at effort 1, times shapes times stocks."""

MOST_SHAPES = 150
"""Beyond so many shapes in one task the first answer stands: patterns would take too long."""

MOST_LANES = 1500
"""Likewise beyond so many shapes x lanes that fit side by side on a board: each lane of a pattern is sought anew."""

MOST_STRIPS = 1000
"""Likewise beyond so many strips in the first answer: each is tried again and again when a plan is cut back."""


def improve(task: Task, plan: list[Layout], bound: float, *, effort: int) -> tuple[list[Layout], float]:
    """A plan at least as good as the one in hand, and a bound at least as high.

    A plan takes one board, and `oneboard` has the bound for that; or two or more, and the relaxation over
    patterns of boards has it. The lower of the two holds. The plan is the best of whole patterns made so
    far.
    """
    strips = sum(len(lane.parts) for layout in plan for lane in layout.lanes)
    many = len(task.shapes) > MOST_SHAPES or strips > MOST_STRIPS
    if many or len(task.shapes) * _most_lanes(task) > MOST_LANES:
        return plan, bound
    wanted = [shape.wanted for shape in task.shapes]
    stocks = range(len(task.stocks))
    one = min(float(bound_lengths(task, stock, wanted).bounds.min(initial=inf)) for stock in stocks)
    maker = PatternMaker(task)
    weight = plan_weight(task, plan)
    enough = min(weight, one + weight - plan_cost(task, plan))
    relaxed = _relax_two(maker, plan, enough=enough, effort=effort)
    if relaxed is None:
        return plan, max(bound, one)
    better = _whole_patterns(maker, relaxed, plan, nodes=100 * effort)
    plan = min(plan, better, key=lambda way: plan_rank(task, way))
    plan = dive(task, relaxed.columns, maker.layouts, plan)
    last_resort = plan_weight(task, plan) - plan_cost(task, plan)
    return plan, max(bound, min(one, relaxed.bound - last_resort))


def _most_lanes(task: Task) -> float:
    """The most lanes that any board holds side by side."""
    narrowest = [min((rip for rip in stock.rips if rip is not None), default=inf) for stock in task.stocks]
    kerf = task.shop.rip_kerf
    return max(stock.width / (rip + kerf) for stock, rip in zip(task.stocks, narrowest, strict=True))


def _relax_two(maker: "PatternMaker", plan: list[Layout], *, enough: float, effort: int) -> Relaxed | None:
    """The relaxation over plans of two boards or more; None where there are no two boards."""
    task = maker.task
    cover = cover_of(task, least=2)
    if sum(cover.limits) < 2:
        return None
    return relax(
        cover=cover,
        columns=[maker.column(layout) for layout in [*plan, *maker.simple_layouts()]],
        pricing=maker.price,
        rounds=max(10, ROUNDS * effort // (len(task.shapes) * len(task.stocks))),
        enough=enough,
    )


@dataclass(slots=True)
class PatternMaker:
    """Makes columns of layouts for one task, and knows which layout each column stands for."""

    task: Task
    wanted: list[int] = field(init=False)
    strict: list[BoardPricer] = field(init=False)
    generous: list[BoardPricer] = field(init=False)
    layouts: dict[Column, Layout] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.wanted = [shape.wanted for shape in self.task.shapes]
        stocks = range(len(self.task.stocks))
        self.strict = [BoardPricer(self.task, stock, generous=False) for stock in stocks]
        self.generous = [
            pricer if pricer.exact else BoardPricer(self.task, pricer.number, generous=True)
            for pricer in self.strict
        ]

    def column(self, layout: Layout) -> Column:
        """The column of a layout; of two with the same figures the first stands."""
        cost = layout_cost(self.task, layout) + layout_penalty(self.task, layout)
        column = Column(cost, tuple(layout.segments(len(self.wanted))), layout.stock)
        self.layouts.setdefault(column, layout)
        return column

    def simple_layouts(self) -> Iterator[Layout]:
        """One strip on a board, of each shape and stock."""
        for number, stock in enumerate(self.task.stocks):
            for shape, rip in enumerate(stock.rips):
                if rip is not None:
                    room = lane_room(stock.length, self.task.shop)
                    count = min(self.wanted[shape], self.task.shapes[shape].rule.segments_in(room))
                    yield Layout(number, (self.task.lane(number, [(shape, count)]),))

    def price(self, prices: Prices, thorough: bool) -> Found:
        """Columns that improve the relaxation, and when `thorough` the bounds of all there are."""
        columns: list[Column] = []
        bounds: list[float] = []
        for strict, generous, over in zip(self.strict, self.generous, prices.over, strict=True):
            pricer = generous if thorough else strict
            found = pricer.price(prices.rows, self.wanted, over=over, thorough=thorough)
            columns += [self.column(layout) for layout in found.layouts]
            bounds.append(found.profit_bound)
        return Found(tuple(columns), tuple(bounds) if thorough else ())


def _with_ties_told(task: Task, columns: Sequence[Column]) -> list[Column]:
    """The columns a grain dearer by their board's volume, and a little for being a board: ties fall that way."""
    grain = SAME_COST * max(stock.price for stock in task.stocks)
    most = max(stock.volume for stock in task.stocks)
    return [
        replace(column, cost=column.cost + grain * (task.stocks[column.kind].volume / most + 0.001))
        for column in columns
    ]


def _whole_patterns(
    maker: PatternMaker, relaxed: Relaxed, plan: Sequence[Layout], *, nodes: int
) -> list[Layout]:
    """Whole patterns out of those made so far, cut back to what is wanted."""
    start = [0] * len(relaxed.columns)
    for layout in plan:
        start[relaxed.columns.index(maker.column(layout))] += 1
    cover = cover_of(maker.task, least=1)
    counts = whole(
        cover=cover, columns=_with_ties_told(maker.task, relaxed.columns), start=start, nodes=nodes
    )
    chosen = [
        maker.layouts[column]
        for column, count in zip(relaxed.columns, counts, strict=True)
        for _ in range(count)
    ]
    return trim(maker.task, chosen)
