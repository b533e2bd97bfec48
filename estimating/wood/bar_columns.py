"""The relaxation over ways to cut a bar: prices of lengths, and the bar most worth having at them."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf

import numpy as np
from numpy.typing import NDArray

from estimating.shape.solver import Solver
from estimating.wood.bar_fill import Gives, Lengths, split

Reals = NDArray[np.float64]
Whole = NDArray[np.int64]

ROUNDING = 1e-6
"""Bars; a relaxation this little above a whole number says no more than the number."""

NOISE = 1e-9
"""A profit below it is rounding."""

SMOOTHING = 0.6
"""Share of the best prices so far in those that bars are made at: what keeps prices from leaping to and fro."""

COARSE = (4000, 20_000)
"""Bars of more than twice so many steps are first sought in so many, as long as that finds any."""

MORE = 5
"""Bars made at once, each of lengths that those before it left."""

SHORTER = 30
"""Bars made besides where a bar has many steps: the best that use a little less of it."""


def whole_bars(value: float) -> int:
    """The least whole number of bars not below a relaxation."""
    return ceil(value - ROUNDING)


class BarValues:
    """The bars of most value up to every room, at most so many of each size in one: exact, in whole steps.

    Source: dynamic programming over the sizes, each taken 1, 2, 4 and so on at a time (S. Martello, P. Toth, Knapsack
    Problems, 1990, 3.2, from memory).
    """

    def __init__(self, lengths: Lengths, most: Sequence[int], prices: Reals) -> None:
        self.sizes = lengths.sizes
        room = lengths.room
        self.value = np.zeros(room + 1)
        self.taken: list[tuple[int, int, NDArray[np.bool_]]] = []
        for at in np.flatnonzero(prices > NOISE).tolist():
            size, price = self.sizes[at], prices[at]
            for often in split(min(most[at], room // size)):
                reached = self.value[: room + 1 - often * size] + often * price
                better = reached > self.value[often * size :] + 1e-13
                self.taken.append((at, often, better))
                np.maximum(reached, self.value[often * size :], out=self.value[often * size :])

    @property
    def work(self) -> int:
        """States looked at."""
        return len(self.value) * (1 + len(self.taken))

    def gives(self, room: int) -> Gives:
        """The bar behind the value of a room."""
        gives = [0] * len(self.sizes)
        place = room
        for at, often, better in reversed(self.taken):
            before = place - often * self.sizes[at]
            if before >= 0 and better[before]:
                gives[at] += often
                place = before
        return tuple(gives)

    def shorter(self) -> list[Gives]:
        """The best bar of all, and the best of some rooms a little smaller."""
        rooms = np.flatnonzero(np.diff(self.value) > NOISE) + 1
        return [self.gives(room) for room in rooms[: -SHORTER - 1 : -1].tolist()]


def coarser(lengths: Lengths) -> list[Lengths]:
    """The same in longer steps, sizes rounded up, so that whatever fits a bar fits it in truth; at last as it is."""
    levels = []
    for room in COARSE:
        if lengths.room > 2 * room:
            sizes = tuple(-(-size * room // lengths.room) for size in lengths.sizes)
            levels.append(Lengths(sizes, lengths.counts, room))
    return [*levels, lengths]


@dataclass(frozen=True, slots=True)
class Relaxed:
    """`bound`: whole bars that no plan is under; `value` of the relaxation over the bars made; how much of each.

    At `prices` no bar is worth more than one.
    """

    bound: int
    value: float
    uses: Reals
    prices: Reals


@dataclass(slots=True)
class Work:
    """What may still be done, in millions of states looked at: much less than a hundredth of a second each."""

    left: float

    def spend(self, states: float) -> None:
        """States looked at, or what takes as long."""
        self.left -= states / 1e6


class BarMaster:
    """The linear program over the bars made so far; what is left to cut can be changed, and bars stay."""

    def __init__(self, lengths: Lengths, bars: Sequence[Gives], work: Work) -> None:
        self.lengths = lengths
        self.levels = coarser(lengths)
        self.work = work
        self.bars: list[Gives] = []
        self.known: set[Gives] = set()
        self.table = np.zeros((0, len(lengths.sizes)), dtype=np.int64)
        self.left: Whole = np.array(lengths.counts, dtype=np.int64)
        self.solver = Solver()
        for count in lengths.counts:
            self.solver.addRow(float(count), inf, 0, [], [])
        rows = len(lengths.sizes)
        alone = [
            tuple(int(i == at) for i in range(rows)) for at in range(rows)
        ]  # whatever is left can be had
        self.add([*bars, *alone])

    def add(self, bars: Sequence[Gives]) -> bool:
        """Put in the bars that are new; whether there were any."""
        new = [bar for bar in dict.fromkeys(bars) if bar not in self.known]
        if not new:
            return False
        rows = np.array(new, dtype=np.int64)
        column, row = np.nonzero(rows)
        starts = np.searchsorted(column, np.arange(len(new))).astype(np.int32)
        upper = np.where((rows <= self.left).all(axis=1), inf, 0.0)
        ones, zeros, amounts = np.ones(len(new)), np.zeros(len(new)), rows[column, row].astype(float)
        self.solver.addCols(len(new), ones, zeros, upper, len(row), starts, row.astype(np.int32), amounts)
        self.bars += new
        self.known.update(new)
        self.table = np.concatenate((self.table, rows))
        return True

    def leave(self, left: Sequence[int]) -> None:
        """From now on so many of each size are wanted, and no bar gives more of one."""
        self.left = np.array(left, dtype=np.int64)
        upper = np.where((self.table <= self.left).all(axis=1), inf, 0.0)
        columns = np.arange(len(self.bars), dtype=np.int32)
        self.solver.changeColsBounds(len(columns), columns, np.zeros(len(columns)), upper)
        for row, count in enumerate(left):
            self.solver.changeRowBounds(row, float(count), inf)

    def solve(self) -> tuple[float, Reals]:
        """Bars of the relaxation, and the prices of lengths in bars."""
        self.solver.run()
        self.work.spend(1e6 + 20 * len(self.bars) * len(self.left))
        prices = np.maximum(0.0, np.array(self.solver.getSolution().row_dual))
        return float(self.solver.getInfo().objective_function_value), prices

    def relax(self, *, enough: float, bound: int = 0) -> Relaxed:
        """Solve the relaxation, making bars as needed, until it is `enough` bars or fewer, or proven above them.

        A bound from any prices: their sum over all wanted, by the value of the best bar (A. A. Farley, Operations
        Research 38 (1990) 922-923). It ends too where value and bound round to the same, unless `enough` is
        negative: then where no bar is missing; and in any case where the work runs out. `bound` is one that is known.
        """
        best = _Prices(self.left)
        levels = list(self.levels)
        while True:
            value, prices = self.solve()
            if (enough >= 0 and value <= max(enough, bound) + ROUNDING) or self.work.left <= 0:
                break
            while len(levels) > 1 and not self._make(best.smooth(prices), prices, levels[0])[1]:
                levels.pop(0)
            if len(levels) > 1:
                continue
            tried = best.smooth(prices)
            worth, grown = self._make(tried, prices, self.lengths)
            best.take(tried, worth)
            if not grown:
                worth, grown = self._make(prices, prices, self.lengths)
                best.take(prices, worth)
            bound = max(bound, whole_bars(best.under))
            if not grown or (0 < enough < bound):
                break
        uses = np.zeros(len(self.bars))  # what was made after the last solution is not used in it
        solved = self.solver.getSolution().col_value
        uses[: len(solved)] = solved
        return Relaxed(bound, value, uses, best.prices)

    def _make(self, prices: Reals, true: Reals, lengths: Lengths) -> tuple[float, bool]:
        """Add bars worth having: made at `prices`, worth more than a bar at the `true` ones. The best's value too."""
        left = self.left.copy()
        made: list[Gives] = []
        worth = 0.0
        for turn in range(1 if lengths.room > COARSE[-1] else MORE):
            values = BarValues(lengths, left.tolist(), prices)
            self.work.spend(values.work)
            worth = worth if turn else float(values.value[-1])
            gives = np.array(values.gives(lengths.room))
            made += values.shorter() if lengths.room > COARSE[0] else [tuple(gives.tolist())]
            if float(true @ gives) <= 1.0 + NOISE:
                break
            left = left * (gives == 0)
        return worth, self.add([bar for bar in made if float(true @ np.array(bar)) > 1.0 + NOISE])


class _Prices:
    """The prices that gave the best bound so far, made so that no bar is worth more than one."""

    def __init__(self, left: Whole) -> None:
        self.left = left
        self.under = 0.0
        self.prices: Reals = np.zeros(len(left))

    def smooth(self, prices: Reals) -> Reals:
        """Between the best so far and these."""
        return SMOOTHING * self.prices + (1 - SMOOTHING) * prices if self.under else prices

    def take(self, prices: Reals, worth: float) -> None:
        """Keep these prices if they give a better bound; `worth` is the most that a bar is worth at them."""
        under = float(prices @ self.left) / max(worth, NOISE)
        if under > self.under:
            self.under, self.prices = under, prices / max(worth, NOISE)
