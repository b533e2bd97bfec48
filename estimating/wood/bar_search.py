"""The search for a plan with as few bars as the relaxation asks for, and the proof where none has."""

from collections.abc import Sequence
from dataclasses import dataclass

import highspy
import numpy as np

from estimating.shape.solver import Solver
from estimating.wood.bar_columns import BarMaster, Reals, Work
from estimating.wood.bar_fill import Gives, Lengths, fill_all, fill_plans, plain_bound

MOST_TURNS = 6
"""How often, at most, the search may turn from the bar that is used most."""

FILLED, FILLED_FINE = 40, 8
"""Plans made by filling before any relaxation; fewer where a bar has many steps."""

LISTED_ROOM = 20_000
"""Bars of more steps are not listed for a proof, nor count as coarse for filling."""

MOST_LISTED, MOST_LOOKED = 20_000, 400_000
"""So many bars are listed, and so many begun ones looked at, before a proof is given up."""

NODES, PROOF_NODES = 200, 2000
"""Nodes of a search in whole numbers over bars made, and over all that can matter."""


def search_plan(lengths: Lengths, work: Work, known: int = 0) -> tuple[list[Gives], int]:
    """A plan, and whole bars that no plan is under (`known` already being one): as good as the work allows.

    Bars are filled; then the relaxation bounds them, and bars are settled by it; where that leads above the bound,
    whole numbers of the bars made are tried, and at last all bars that a plan within the bound can have, which
    finds one or proves that there is none.
    """
    bound = max(known, plain_bound(lengths))
    best: list[Gives] = []
    bars: dict[Gives, None] = {}
    for plan in fill_plans(lengths, FILLED if lengths.room <= LISTED_ROOM else FILLED_FINE):
        bars.update(dict.fromkeys(plan))
        best = plan if not best or len(plan) < len(best) else best
        if len(best) <= bound:
            return best, bound
    master = BarMaster(lengths, list(bars), work)
    bound = max(bound, master.relax(enough=0, bound=bound).bound)
    if len(best) <= bound:
        return best, bound
    found = _descend(master, bound, work) or whole_plan(lengths, master.bars, enough=bound, nodes=NODES)[0]
    if found is None and work.left > 0:
        found, none = all_that_matter(master, bound)
        bound += none
    return found or best, bound


def _descend(master: BarMaster, bound: int, work: Work) -> list[Gives] | None:
    """Settling bars, with more and more turns."""
    stop = work.left / 2
    for turns in range(MOST_TURNS):
        descent = Descent(master, bound, stop=stop)
        found = descent.search(master.lengths.counts, [], turns)
        if found:
            return found
    return None


def all_that_matter(master: BarMaster, bars: int) -> tuple[list[Gives] | None, bool]:
    """A plan of so many bars from all that one can have; with True beside None, there is none."""
    lengths = master.lengths
    master.leave(lengths.counts)
    prices = master.relax(enough=-1).prices
    slack = bars - float(prices @ master.left) + 1e-7
    near = near_bars(lengths, prices, 1.0 - slack)
    return (None, False) if near is None else whole_plan(lengths, near, enough=bars, nodes=PROOF_NODES)


@dataclass(slots=True)
class Descent:
    """Settles bar after bar; goes back where the rest cannot do with the bars left.

    On the way down it may take another than the bar used most so many times in all (`turns`): first never, then
    once, and so on, since the relaxation is seldom wrong often (limited discrepancy search: W. D. Harvey,
    M. L. Ginsberg, IJCAI 1995, 607-613). It ends where the master has no more work left than `stop`.
    """

    master: BarMaster
    bars: int
    stop: float

    def search(self, left: Sequence[int], settled: list[Gives], turns: int) -> list[Gives] | None:
        """The settled bars and as many more as it takes, or None where the bars or the work run out."""
        lengths, work = self.master.lengths, self.master.work
        allowed = self.bars - len(settled)
        if not any(left):
            return settled
        if work.left <= self.stop or lengths.total(left) > allowed * lengths.room:
            return None
        filled = fill_all(lengths, left, range(len(left)))
        work.spend(1e6 + len(filled) * lengths.room * 20)
        if len(filled) <= allowed:
            return settled + filled
        self.master.leave(left)
        relaxed = self.master.relax(enough=allowed)
        if relaxed.value > allowed + 1e-6:
            return None
        sure, rest = self._sure(relaxed.uses, left)
        ranked = self._next(relaxed.uses, rest, turns + 1)
        if sure and not ranked:
            return self.search(rest, [*settled, *sure], turns)
        for turned, gives in enumerate(ranked):
            after = tuple(want - got for want, got in zip(rest, gives, strict=True))
            found = self.search(after, [*settled, *sure, gives], turns - turned)
            if found:
                return found
        return None

    def _sure(self, uses: Reals, left: Sequence[int]) -> tuple[list[Gives], tuple[int, ...]]:
        """Bars that the relaxation uses whole, and what they leave."""
        rest = np.array(left, dtype=np.int64)
        sure: list[Gives] = []
        for at in np.flatnonzero(uses >= 1 - 1e-6):
            for _ in range(int(uses[at] + 1e-6)):
                if (self.master.table[at] <= rest).all():
                    rest = rest - self.master.table[at]
                    sure.append(self.master.bars[at])
        return sure, tuple(rest.tolist())

    def _next(self, uses: Reals, rest: Sequence[int], most: int) -> list[Gives]:
        """Of the bars used in part, those used most that fit the rest."""
        share = uses % 1.0
        share[share > 1 - 1e-6] = 0.0
        fits = (self.master.table <= np.array(rest)).all(axis=1)
        at = np.flatnonzero((share > 1e-6) & fits)
        ranked = sorted(at.tolist(), key=lambda i: (-share[i], self.master.bars[i]))
        return [self.master.bars[i] for i in ranked[:most]]


def near_bars(lengths: Lengths, prices: Reals, least: float) -> list[Gives] | None:
    """Every bar worth `least` or more that has no room for another length; None where they are too many to list.

    At prices at which no bar is worth more than it costs, and all that is wanted is worth p, a plan that costs
    `p + slack` has no bar that is worth its cost less the slack or less: what each falls short comes off the slack.
    """
    if lengths.room > LISTED_ROOM:
        return None
    rows = len(lengths.sizes)
    reach = np.zeros((rows + 1, lengths.room + 1))
    for at in range(rows - 1, -1, -1):
        reach[at] = reach[at + 1]
        size = lengths.sizes[at]
        for often in range(1, min(lengths.counts[at], lengths.room // size) + 1):
            with_it = reach[at + 1, : lengths.room + 1 - often * size] + often * prices[at]
            np.maximum(reach[at, often * size :], with_it, out=reach[at, often * size :])
    return _listed(lengths, prices.tolist(), reach, least)


def _listed(lengths: Lengths, prices: list[float], reach: Reals, least: float) -> list[Gives] | None:
    """Depth first; a bar is left where the best that can still join it does not make it worth `least`."""
    found: list[Gives] = []
    stack: list[tuple[int, float, Gives]] = [(lengths.room, 0.0, ())]
    looked = 0
    while stack:
        room, value, gives = stack.pop()
        looked += 1
        if looked > MOST_LOOKED or len(found) > MOST_LISTED:
            return None
        at = len(gives)
        if at == len(prices):
            kinds = zip(lengths.sizes, gives, lengths.counts, strict=True)
            if all(size > room for size, cut, count in kinds if cut < count):
                found.append(gives)
            continue
        size, price = lengths.sizes[at], prices[at]
        for often in range(min(lengths.counts[at], room // size) + 1):
            rest, worth = room - often * size, value + often * price
            if worth + reach[at + 1, rest] >= least:
                stack.append((rest, worth, (*gives, often)))
    return found


def whole_plan(
    lengths: Lengths, bars: Sequence[Gives], *, enough: int, nodes: int
) -> tuple[list[Gives] | None, bool]:
    """Whole numbers of these bars that give everything with `enough` bars, if so many nodes find any.

    True beside None: there are none.
    """
    if not bars:
        return None, any(lengths.counts)
    solver = Solver()
    for count in lengths.counts:
        solver.addRow(float(count), highspy.kHighsInf, 0, [], [])
    solver.addRow(-highspy.kHighsInf, float(enough), 0, [], [])
    for gives in bars:
        rows = [row for row, count in enumerate(gives) if count]
        amounts = np.array([*(float(gives[row]) for row in rows), 1.0])
        index = np.array([*rows, len(lengths.sizes)], dtype=np.int32)
        solver.addCol(0.0, 0.0, float(enough), len(index), index, amounts)
    every = np.arange(len(bars), dtype=np.int32)
    solver.changeColsIntegrality(len(bars), every, np.array([highspy.HighsVarType.kInteger] * len(bars)))
    solver.setOptionValue("mip_max_nodes", nodes)
    solver.run()
    if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
        return None, True
    if solver.getInfo().primal_solution_status != int(highspy.kSolutionStatusFeasible):
        return None, False
    uses = [round(use) for use in solver.getSolution().col_value]
    return _trimmed(lengths.counts, bars, uses), False


def _trimmed(counts: Sequence[int], bars: Sequence[Gives], uses: Sequence[int]) -> list[Gives] | None:
    """The bars as often as they are used, without what is cut too much; None where something is missing."""
    left = list(counts)
    plan = []
    for gives, use in zip(bars, uses, strict=True):
        for _ in range(use):
            cut = tuple(min(each, count) for each, count in zip(gives, left, strict=True))
            left = [count - each for count, each in zip(left, cut, strict=True)]
            if any(cut):
                plan.append(cut)
    return None if any(left) else plan
