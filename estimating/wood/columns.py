"""Covering what is wanted by patterns: the relaxation, patterns made as needed, and what it bounds.

Source of the method: P. C. Gilmore, R. E. Gomory, "A linear programming approach to the cutting-stock
problem", Operations Research 9 (1961) 849-859. The bound that any prices give is Lagrange's: see `relax`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from estimating.shape.solver import Solver

SCALINGS = 8
"""How often prices are made smaller, at most, to get a bound where pricing rounds."""


@dataclass(frozen=True, slots=True)
class Column:
    """A pattern: what one use costs, what it gives of each row, what it takes of which kind of stock."""

    cost: float
    gives: tuple[int, ...]
    kind: int
    takes: float = 1.0


@dataclass(frozen=True, slots=True)
class Prices:
    """What the relaxation says things are worth: a unit of each row, and a pattern as such (`pattern`).

    A column of kind k improves the relaxation when its value less cost is above `over[k]`.
    """

    rows: tuple[float, ...]
    over: tuple[float, ...]
    pattern: float


@dataclass(frozen=True, slots=True)
class Found:
    """What pricing found: columns, and for each kind a bound above value less cost of all its patterns.

    `profit_bounds` is empty where it did not look everywhere.
    """

    columns: tuple[Column, ...]
    profit_bounds: tuple[float, ...]


Pricing = Callable[[Prices, bool], Found]
"""Find columns at these prices; with True look everywhere, so that the bounds are as tight as can be."""


@dataclass(frozen=True, slots=True)
class Cover:
    """What to cover: `wanted` of each row, with `limits[k]` of kind k to take, by `least` patterns or more.

    A kind without a true limit has one here that the best answer cannot pass: the bound needs it. `dearest` is
    the most that one pattern can cost.
    """

    wanted: tuple[int, ...]
    limits: tuple[float, ...]
    least: int
    dearest: float


@dataclass(frozen=True, slots=True)
class Relaxed:
    """The relaxation as far as solved: its columns, how much of each, a bound on any whole answer."""

    columns: tuple[Column, ...]
    uses: tuple[float, ...]
    bound: float
    rounds: int
    prices: Prices


def relax(
    *,
    cover: Cover,
    columns: Sequence[Column],
    pricing: Pricing,
    rounds: int,
    enough: float = inf,
    bound: float = 0.0,
) -> Relaxed:
    """Solve the relaxation, making columns as needed; `columns` to begin with must cover what is wanted.

    Stops after so many rounds, when no column is missing, or when the bound reaches `enough` (the cost of an
    answer in hand). With prices p >= 0 of the rows, q >= 0 of a pattern as such, and a profit bound b of
    each kind, sum p x wanted + q x least - sum limit x max(0, b + q) is under the cost of every answer: so
    the bound holds whenever one stops.
    """
    master = _Master(cover, columns)
    thorough = False
    turn = 0
    for turn in range(1, rounds + 1):
        value, prices = master.solve()
        if value <= bound * (1 + 1e-9):
            break
        last = turn == rounds
        found = pricing(prices, thorough or last)
        grown = master.add(found.columns)
        if found.profit_bounds:
            bound = max(bound, _bound(cover, prices, found))
            if bound >= enough * (1 - 1e-9):
                break
            if last or not grown:
                bound = max(bound, _scaled_bound(cover, prices, pricing, found))
                break
        thorough = not grown
    return Relaxed(tuple(master.columns), master.uses(), bound, turn, prices)


def _scaled_bound(cover: Cover, prices: Prices, pricing: Pricing, found: Found) -> float:
    """The bound from the same prices made smaller until no pattern is worth more than it costs."""
    best, share = 0.0, 1.0
    excess = _excess(prices, found)
    slope = cover.dearest + excess  # of the excess, were the dearest pattern the one over
    for _ in range(SCALINGS):
        if excess <= 1e-12 * cover.dearest or share <= 0:
            break
        before, step = excess, 1.1 * excess / slope
        share -= step
        smaller = Prices(
            tuple(price * share for price in prices.rows),
            tuple(over * share for over in prices.over),
            prices.pattern * share,
        )
        found = pricing(smaller, True)
        best = max(best, _bound(cover, smaller, found))
        excess = _excess(smaller, found)
        slope = max((before - excess) / step, excess / share)
    return best


def _excess(prices: Prices, found: Found) -> float:
    return max(bound - over for bound, over in zip(found.profit_bounds, prices.over, strict=True))


def _bound(cover: Cover, prices: Prices, found: Found) -> float:
    covered = sum(price * want for price, want in zip(prices.rows, cover.wanted, strict=True))
    over = sum(
        limit * max(0.0, profit + prices.pattern)
        for limit, profit in zip(cover.limits, found.profit_bounds, strict=True)
    )
    return covered + prices.pattern * cover.least - over


class _Master:
    """The linear program over the columns so far. Rows: wanted, limits by kind, least number of patterns."""

    def __init__(self, cover: Cover, columns: Sequence[Column]) -> None:
        self.cover = cover
        self.columns: dict[Column, None] = {}
        self.solver = Solver()
        for want in cover.wanted:
            self.solver.addRow(float(want), inf, 0, [], [])
        for limit in cover.limits:
            self.solver.addRow(-inf, float(limit), 0, [], [])
        self.solver.addRow(float(cover.least), inf, 0, [], [])
        self.add(columns)

    def add(self, columns: Sequence[Column]) -> bool:
        """Put in the columns that are new; whether there were any."""
        new = [column for column in dict.fromkeys(columns) if column not in self.columns]
        for column in new:
            self.columns[column] = None
            rows, amounts = _entries(self.cover, column)
            self.solver.addCol(column.cost, 0.0, inf, len(rows), rows, amounts)
        return bool(new)

    def solve(self) -> tuple[float, Prices]:
        """Cost of the relaxation over these columns, and its prices."""
        self.solver.run()
        duals = list(self.solver.getSolution().row_dual)
        rows = len(self.cover.wanted)
        pattern = max(0.0, duals[-1])
        over = tuple(-pattern - min(0.0, dual) for dual in duals[rows:-1])
        prices = Prices(tuple(max(0.0, dual) for dual in duals[:rows]), over, pattern)
        return float(self.solver.getInfo().objective_function_value), prices

    def uses(self) -> tuple[float, ...]:
        """How much of each column, after the last column was added."""
        self.solver.run()
        return tuple(self.solver.getSolution().col_value)


def _entries(cover: Cover, column: Column) -> tuple[np.ndarray, np.ndarray]:
    """Rows and amounts of a column in the linear program."""
    rows = [row for row, amount in enumerate(column.gives) if amount]
    amounts = [float(column.gives[row]) for row in rows]
    first = len(cover.wanted)
    rows += [first + column.kind, first + len(cover.limits)]
    return np.array(rows, dtype=np.int32), np.array([*amounts, column.takes, 1.0])
