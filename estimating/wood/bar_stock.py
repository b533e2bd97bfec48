"""Bars of several lengths and prices: the relaxation over ways to cut each, and whole numbers of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil, gcd, inf, lcm

import highspy
import numpy as np

from estimating.errors import InvalidInput
from estimating.shape.solver import Solver
from estimating.wood.bar_columns import BarValues, Reals, Work
from estimating.wood.bar_fill import Gives, Lengths, fill
from estimating.wood.bar_search import near_bars

NODES, NODES_TIMES_BARS = 500, 60_000
"""Nodes of a search in whole numbers, at most, and with how many bars times nodes it ends."""

MOST_BARS = 3000
"""Of more bars than so many, all that a cheaper plan could have are not searched."""

CLOSE = 1e-9
"""Share of a price that is rounding."""

MISSING = 10.0
"""A length that no bar gives costs so many of the dearest bars in the relaxation."""

Bar = tuple[int, Gives]
"""Kind of bar, and how often each size is cut from it."""


@dataclass(frozen=True, slots=True)
class Kind:
    """Bars of one length in whole steps."""

    room: int
    price: Decimal
    limit: int | None


@dataclass(frozen=True, slots=True)
class Order:
    """What is wanted (`lengths.room` that of the longest bar), and what it is cut from."""

    lengths: Lengths
    kinds: tuple[Kind, ...]

    @property
    def limits(self) -> list[int]:
        """Of each kind no plan takes more: those there are, or one for each length."""
        every = sum(self.lengths.counts)
        return [every if kind.limit is None else min(every, kind.limit) for kind in self.kinds]


@dataclass(frozen=True, slots=True)
class Cheapest:
    """The best plan found, and a bound under the cost of every plan."""

    bars: list[Bar]
    bound: Decimal


def cheapest(order: Order, work: Work) -> Cheapest:
    """Bars first filled one by one, then by the relaxation: settled from it, and whole numbers of the bars it made.

    Errors: InvalidInput at `stocks` where the bars do not reach, or no plan was found.
    """
    room = sum(kind.room * limit for kind, limit in zip(order.kinds, order.limits, strict=True))
    if room < order.lengths.total(order.lengths.counts):
        raise InvalidInput("stocks", "the bars are too short together for all that is wanted; add bars")
    plans = [plan for plan in (_filled(order),) if plan is not None]
    master = StockMaster(order, [bar for plan in plans for bar in plan], work)
    bound = rounded_up(order, master.relax())
    price = {at: kind.price for at, kind in enumerate(order.kinds)}

    def cost(plan: Sequence[Bar]) -> Decimal:
        return sum((price[kind] for kind, _ in plan), Decimal(0))

    for way in (master.whole, master.descend, master.whole):
        if plans and min(map(cost, plans)) <= bound:
            break
        found = way()[0]
        plans += [found] if found is not None else []
    if not plans:
        raise InvalidInput("stocks", "no way was found to cut all that is wanted from these bars; add bars")
    best = min(plans, key=cost)
    if cost(best) > bound and work.left > 0:
        found, proven = master.better(float(cost(best)))
        best = min((plan for plan in (best, found) if plan is not None), key=cost)
        bound = cost(best) if proven else bound
    return Cheapest(best, bound)


def rounded_up(order: Order, bound: float) -> Decimal:
    """A bound raised to the next sum of prices, which all are multiples of one step."""
    prices = [Fraction(kind.price) for kind in order.kinds if kind.price]
    if not prices or bound <= 0:
        return Decimal(0)
    under = lcm(*(price.denominator for price in prices))
    step = Fraction(gcd(*(int(price * under) for price in prices)), under)
    whole = ceil(Fraction(bound * (1 - CLOSE)) / step) * step
    return Decimal(whole.numerator) / Decimal(whole.denominator)


def _filled(order: Order) -> list[Bar] | None:
    """A plan bar by bar: of the kinds left, the one that costs least for the length it is filled with."""
    lengths, left, spare = order.lengths, list(order.lengths.counts), order.limits
    plan: list[Bar] = []
    while any(left):
        longest = next(at for at, count in enumerate(left) if count)
        ways = []
        for at, kind in enumerate(order.kinds):
            if spare[at] and kind.room >= lengths.sizes[longest]:
                gives = fill(lengths.sizes, left, kind.room, longest, range(len(left)))
                ways.append((kind.price / lengths.total(gives), at, gives))
        if not ways:
            return None
        _, at, gives = min(ways)
        left = [count - each for count, each in zip(left, gives, strict=True)]
        spare[at] -= 1
        plan.append((at, gives))
    return plan


class StockMaster:
    """The linear program over the bars made so far. Rows: lengths wanted, then bars of each kind."""

    def __init__(self, order: Order, bars: Sequence[Bar], work: Work) -> None:
        self.order, self.work = order, work
        self.wanted = np.array(order.lengths.counts, dtype=np.int64)
        self.spare = np.array(order.limits, dtype=np.int64)
        self.prices = np.array([float(kind.price) for kind in order.kinds])
        self.rooms = [kind.room for kind in order.kinds]
        self.missing = MISSING * (1.0 + float(self.prices.max())) * len(self.wanted)
        self.best: tuple[Reals, Reals] = (np.zeros(len(self.wanted)), np.zeros(len(self.prices)))
        self.bars: dict[Bar, None] = {}
        self.solver = Solver()
        for count in self.wanted:
            self.solver.addRow(float(count), inf, 0, [], [])
        for limit in self.spare:
            self.solver.addRow(-inf, float(limit), 0, [], [])
        for row in range(len(self.wanted)):
            self.solver.addCol(self.missing, 0.0, inf, 1, np.array([row], dtype=np.int32), np.ones(1))
        self.add(bars)

    def add(self, bars: Sequence[Bar]) -> bool:
        """Put in the bars that are new; whether there were any."""
        new = [bar for bar in dict.fromkeys(bars) if bar not in self.bars]
        for kind, gives in new:
            self.bars[kind, gives] = None
            rows = [row for row, often in enumerate(gives) if often]
            index = np.array([*rows, len(self.wanted) + kind], dtype=np.int32)
            amounts = np.array([*(float(gives[row]) for row in rows), 1.0])
            self.solver.addCol(float(self.prices[kind]), 0.0, inf, len(index), index, amounts)
        return bool(new)

    def relax(self) -> float:
        """Make bars until none is missing, or the work runs out; a bound under the cost of every whole plan.

        Any prices of lengths, with so much off the price of a kind that no bar of it gains (paid back for every bar
        there is of it), give a bound: their sum over all wanted. See `columns.relax` for the same in lanes.
        """
        bound = 0.0
        while self.work.left > 0:
            self.solver.run()
            self.work.spend(1e6 + 20 * len(self.bars) * len(self.wanted))
            duals = np.array(self.solver.getSolution().row_dual)
            prices, over = (
                np.maximum(0.0, duals[: len(self.wanted)]),
                np.minimum(0.0, duals[len(self.wanted) :]),
            )
            values = BarValues(self.order.lengths, self.wanted.tolist(), prices)
            self.work.spend(values.work)
            worth = np.array([values.value[room] for room in self.rooms])
            under, kept = self._bound(prices, over, worth)
            if under > bound:
                bound, self.best = under, kept
            gain = worth + over - self.prices
            grown = self.add(
                [
                    (kind, values.gives(self.rooms[kind]))
                    for kind in np.flatnonzero((gain > CLOSE * (1 + self.prices)) & (self.spare > 0)).tolist()
                ]
            )
            if not grown:
                break
        return bound

    def _bound(self, prices: Reals, over: Reals, worth: Reals) -> tuple[float, tuple[Reals, Reals]]:
        """A bound, and the prices (of lengths, and off each kind) that give it: at them no bar gains.

        The better of two: what bars gain taken off, or all prices made smaller until none does.
        """
        off = np.where(worth > 0, np.minimum(over, self.prices - worth), 0.0)
        gaining = (self.spare > 0) & (worth + over > 0)
        share = float((self.prices[gaining] / (worth + over)[gaining]).min(initial=1.0))
        ways = ((prices, off), (share * prices, share * over))
        sums = [float(lengths @ self.wanted) + float(kinds @ self.spare) for lengths, kinds in ways]
        return max(sums), ways[sums[1] > sums[0]]

    def better(self, cost: float) -> tuple[list[Bar] | None, bool]:
        """A plan that costs less, from all bars that one can have; whether it, or that there is none, is proven."""
        prices, off = self.best
        slack = cost - float(prices @ self.wanted) - float(off @ self.spare) + CLOSE * (1 + cost)
        every = StockMaster(self.order, [], self.work)
        for kind, (room, price) in enumerate(zip(self.rooms, self.prices, strict=True)):
            lengths = Lengths(self.order.lengths.sizes, self.order.lengths.counts, room)
            near = near_bars(lengths, prices, float(price - off[kind]) - slack)
            if near is None or len(near) + len(every.bars) > MOST_BARS:
                return None, False
            every.add([(kind, gives) for gives in near if any(gives)])
        return every.whole()

    def whole(self) -> tuple[list[Bar] | None, bool]:
        """Whole numbers of the bars made, at least cost as far as the nodes reach; whether that is proven.

        True beside None: they give no plan.
        """
        bars = list(self.bars)
        solver = Solver()
        solver.passModel(self.solver.getModel())
        lost = len(self.wanted)
        for row in range(lost):
            solver.changeColBounds(row, 0.0, 0.0)
        every = np.arange(lost, lost + len(bars), dtype=np.int32)
        solver.changeColsIntegrality(len(bars), every, np.array([highspy.HighsVarType.kInteger] * len(bars)))
        solver.setOptionValue("mip_max_nodes", min(NODES, NODES_TIMES_BARS // max(1, len(bars))))
        solver.setOptionValue("mip_rel_gap", CLOSE)
        solver.run()
        self.work.spend(1e8)
        status = solver.getModelStatus()
        if solver.getInfo().primal_solution_status != int(highspy.kSolutionStatusFeasible):
            return None, status == highspy.HighsModelStatus.kInfeasible
        uses = [round(use) for use in solver.getSolution().col_value[lost:]]
        plan = self._trimmed([bar for bar, use in zip(bars, uses, strict=True) for _ in range(use)])
        return plan, status == highspy.HighsModelStatus.kOptimal and plan is not None

    def _trimmed(self, bars: Sequence[Bar]) -> list[Bar] | None:
        """Without what is cut too much, the dearest bars first; None where something is missing."""
        left = self.wanted.tolist()
        plan = []
        for kind, gives in sorted(bars, key=lambda bar: (self.prices[bar[0]], bar)):
            cut = tuple(min(each, count) for each, count in zip(gives, left, strict=True))
            left = [count - each for count, each in zip(left, cut, strict=True)]
            if any(cut):
                plan.append((kind, cut))
        return None if any(left) else plan

    def descend(self) -> tuple[list[Bar] | None, bool]:
        """Settle the bar used most, relax the rest afresh, and so on. The bars made on the way stay; proven is none."""
        wanted, spare, best = self.wanted, self.spare, self.best
        plan: list[Bar] = []
        while self.wanted.any() and self.work.left > 0:
            self.relax()
            uses = self.solver.getSolution().col_value[len(wanted) :]
            fitting = [
                (use, bar)
                for use, bar in zip(uses, self.bars, strict=False)
                if use > CLOSE and self.spare[bar[0]] and (np.array(bar[1]) <= self.wanted).all()
            ]
            if not fitting:
                break
            use, (kind, gives) = max(fitting)
            often = max(1, int(use + CLOSE))
            often = min(
                often, int(self.spare[kind]), *(self.wanted // np.maximum(gives, 1))[np.array(gives) > 0]
            )
            plan += [(kind, gives)] * often
            self._leave(
                self.wanted - often * np.array(gives), self.spare - often * (np.arange(len(spare)) == kind)
            )
        done = not self.wanted.any()
        self._leave(wanted, spare)
        self.best = best
        return (plan if done else None), False

    def _leave(self, wanted: np.ndarray, spare: np.ndarray) -> None:
        """From now on so much is wanted, and there are so many bars."""
        self.wanted, self.spare = wanted, spare
        for row, count in enumerate(wanted):
            self.solver.changeRowBounds(row, float(count), inf)
        for row, limit in enumerate(spare, start=len(wanted)):
            self.solver.changeRowBounds(row, -inf, float(limit))
