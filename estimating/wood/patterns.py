"""Patterns of boards: priced, made as they are needed, and what they say no plan can cost less than."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import inf

from estimating.wood.columns import Column, Cover, Found, Prices, Relaxed, relax
from estimating.wood.layouts import (
    Layout,
    Task,
    layout_cost,
    layout_penalty,
    plan_cost,
    plan_weight,
)
from estimating.wood.oneboard import one_board_bound
from estimating.wood.pricing import BoardPricer

ROUNDS = 1500
"""Rounds of new patterns at effort 1, times shapes times stocks."""

MOST_SHAPES = 150
"""Beyond so many shapes in one task the first answer stands: patterns would take too long."""

MOST_LANES = 1500
"""Likewise beyond so many shapes x lanes that fit side by side on a board: each lane of a pattern is sought anew."""


PROGRAMS = 3
FEW_SHAPES = 12
"""Sets of prices that are made at effort 1 for the bound of plans of one board, of up to so many shapes."""


def pattern_bound(task: Task, plan: Sequence[Layout], bound: float, *, effort: int) -> float:
    """A bound under the cost of every plan, at least as high as the one in hand.

    A plan takes one board, and `oneboard` has the bound for that; or two or more, and the relaxation over patterns of
    boards has it. The lower of the two holds. `plan` is one that covers what is wanted, to begin from.
    """
    if len(task.shapes) > MOST_SHAPES:
        return bound
    wanted = [shape.wanted for shape in task.shapes]
    stocks = range(len(task.stocks))
    weight = plan_weight(task, plan)
    last_resort = weight - plan_cost(task, plan)
    programs = PROGRAMS * effort if len(wanted) <= FEW_SHAPES * effort else 0
    one = min(one_board_bound(task, stock, wanted, enough=weight, programs=programs) for stock in stocks)
    if len(task.shapes) * _most_lanes(task) > MOST_LANES * effort:
        return bound
    maker = PatternMaker(task)
    enough = min(weight, one + last_resort)
    relaxed = _relax_two(maker, plan, enough=enough, effort=effort)
    if relaxed is None:
        return max(bound, one)
    return max(bound, min(one, relaxed.bound - last_resort))


def _most_lanes(task: Task) -> float:
    """The most lanes that any board holds side by side."""
    narrowest = [min((rip for rip in stock.rips if rip is not None), default=inf) for stock in task.stocks]
    kerf = task.shop.rip_kerf
    return max(stock.width / (rip + kerf) for stock, rip in zip(task.stocks, narrowest, strict=True))


def _relax_two(
    maker: "PatternMaker", plan: Sequence[Layout], *, enough: float, effort: int
) -> Relaxed | None:
    """The relaxation over plans of two boards or more; None where there are no two boards."""
    task = maker.task
    cover = cover_of(task, least=2)
    most_plates = max(stock.plates for stock in task.stocks)
    if sum(cover.limits) * most_plates < 2:
        return None
    return relax(
        cover=cover,
        columns=[maker.column(layout) for layout in [*plan, *maker.simple_layouts()]],
        pricing=maker.price,
        rounds=max(10, ROUNDS * effort // (len(task.shapes) * len(task.stocks))),
        enough=enough,
    )


def cover_of(task: Task, *, least: int) -> Cover:
    """The segments of a task to be covered by boards of its cells, by at least so many layouts."""
    wanted = tuple(shape.wanted for shape in task.shapes)
    weight = max(
        sum(want * each for want, each in zip(wanted, at.penalty, strict=False)) for at in task.stocks
    )
    limits = dict.fromkeys(range(1 + max(at.cell for at in task.stocks)), 0.0)
    for at in task.stocks:
        limits[at.cell] = float(sum(wanted) if at.count is None else at.count)
    return Cover(
        wanted=wanted,
        limits=tuple(limits.values()),
        least=least,
        dearest=max(at.price for at in task.stocks) + weight,
    )


@dataclass(slots=True)
class PatternMaker:
    """Makes columns of layouts for one task."""

    task: Task
    wanted: list[int] = field(init=False)
    strict: list[BoardPricer] = field(init=False)
    generous: list[BoardPricer] = field(init=False)

    def __post_init__(self) -> None:
        self.wanted = [shape.wanted for shape in self.task.shapes]
        stocks = range(len(self.task.stocks))
        self.strict = [BoardPricer(self.task, stock, generous=False) for stock in stocks]
        self.generous = [
            pricer if pricer.exact else BoardPricer(self.task, pricer.number, generous=True)
            for pricer in self.strict
        ]

    def column(self, layout: Layout) -> Column:
        """The column of a layout."""
        cost = layout_cost(self.task, layout) + layout_penalty(self.task, layout)
        stock = self.task.stocks[layout.stock]
        return Column(cost, tuple(layout.segments(len(self.wanted))), stock.cell, 1 / stock.plates)

    def simple_layouts(self) -> Iterator[Layout]:
        """One strip on a board, of each shape and stock."""
        for number, stock in enumerate(self.task.stocks):
            for shape, rip in enumerate(stock.rips):
                if rip is not None:
                    room = stock.room
                    count = min(self.wanted[shape], self.task.shapes[shape].rule.segments_in(room))
                    yield Layout(number, (self.task.lane(number, [(shape, count)]),))

    def price(self, prices: Prices, thorough: bool) -> Found:
        """Columns that improve the relaxation, and when `thorough` the bounds of all there are."""
        columns: list[Column] = []
        bounds = [-inf] * len(prices.over)
        for strict, generous, stock in zip(self.strict, self.generous, self.task.stocks, strict=True):
            pricer = generous if thorough else strict
            # What a board is worth as such is shared by the plates sawn from it.
            board = prices.over[stock.cell] + prices.pattern
            over = board / stock.plates - prices.pattern
            found = pricer.price(prices.rows, self.wanted, over=over, thorough=thorough)
            columns += [self.column(layout) for layout in found.layouts]
            worth = (found.profit_bound + prices.pattern) * stock.plates - prices.pattern
            bounds[stock.cell] = max(bounds[stock.cell], worth)
        return Found(tuple(columns), tuple(bounds) if thorough else ())
