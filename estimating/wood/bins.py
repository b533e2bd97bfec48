"""Lengths out of bars of one length, as few bars as can be: the plainest use of patterns made as needed."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from estimating.wood.columns import Column, Cover, Found, Prices, Pricing, relax
from estimating.wood.lanes import LaneTable
from estimating.wood.strips import StripRule

MOST_TURNS = 8
"""How often, at most, the search may turn from the bar that is used most."""

NOISE = 1e-9
"""A profit below it is rounding."""


@dataclass(frozen=True, slots=True)
class BarPlan:
    """How often each size is cut from each bar, and a bound under the number of bars of every plan."""

    bars: tuple[tuple[int, ...], ...]
    bound: int

    @property
    def proven(self) -> bool:
        """No plan takes fewer bars."""
        return len(self.bars) == self.bound


def fewest_bars(*, sizes: Sequence[float], counts: Sequence[int], bar: float, steps: int = 2000) -> BarPlan:
    """Bars that give `counts[i]` lengths of `sizes[i]` each.

    Shape: bars of one length, no kerf (add it to sizes and bar); every size fits a bar. Any one unit.
    The bound is the relaxation's, rounded up. A bar that the relaxation uses most is settled, the rest relaxed
    afresh, and where that leads above the bound the next bar is tried, for so many `steps` in all. If none gets
    there, the plan is first fit decreasing.
    """
    maker = _BarMaker(sizes, counts, bar)
    first = _first_fit(sizes, counts, bar)
    columns = list(dict.fromkeys(Column(1.0, gives, 0) for gives in first))
    relaxed = relax(cover=_cover(counts), columns=columns, pricing=maker.pricing(counts), rounds=1000)
    bound = ceil(relaxed.bound - 1e-6)
    if len(first) == bound:
        return BarPlan(tuple(first), bound)
    descent = _Descent(maker, bound, steps)
    for turns in range(MOST_TURNS):
        found = descent.search(tuple(counts), [], relaxed.columns, turns)
        if found:
            return BarPlan(tuple(found), bound)
    return BarPlan(tuple(first), bound)


@dataclass(slots=True)
class _Descent:
    """Settles bar after bar; goes back where the rest cannot do with the bars left.

    On the way down it may take another than the bar used most so many times in all (`turns`): first never, then
    once, and so on, since the relaxation is seldom wrong often (limited discrepancy search: W. D. Harvey,
    M. L. Ginsberg, IJCAI 1995, 607-613).
    """

    maker: "_BarMaker"
    bars: int
    steps: int

    def search(
        self, left: tuple[int, ...], settled: list[tuple[int, ...]], columns: Sequence[Column], turns: int
    ) -> list[tuple[int, ...]] | None:
        """The settled bars and as many more as it takes, or None where the bars or the steps run out."""
        if not any(left):
            return settled
        if self.steps <= 0 or len(settled) >= self.bars:
            return None
        self.steps -= 1
        able = [column for column in columns if _within(column.gives, left)]
        able += [single for single in self.maker.singles(left) if single not in able]
        relaxed = relax(cover=_cover(left), columns=able, pricing=self.maker.pricing(left), rounds=1000)
        if len(settled) + ceil(relaxed.bound - 1e-6) > self.bars:
            return None
        ranked = sorted(
            zip(relaxed.uses, relaxed.columns, strict=True), key=lambda pair: (-pair[0], pair[1].gives)
        )
        for turned, (use, column) in enumerate(ranked[: turns + 1]):
            if use <= 1e-6 or not _within(column.gives, left):
                break
            rest = tuple(want - got for want, got in zip(left, column.gives, strict=True))
            found = self.search(rest, [*settled, column.gives], relaxed.columns, turns - turned)
            if found:
                return found
        return None


class _BarMaker:
    """Makes bars that are worth having at given prices."""

    def __init__(self, sizes: Sequence[float], counts: Sequence[int], bar: float) -> None:
        self.sizes = sizes
        self.bar = bar
        rules = [StripRule(once=0.0, each=size) for size in sizes]
        self.table = LaneTable(room=bar, rules=rules, most=counts, generous=True)

    def pricing(self, counts: Sequence[int]) -> Pricing:
        """The best bar with at most so many of each size."""

        def best(prices: Prices, _thorough: bool) -> Found:
            valued = self.table.values(prices.rows, counts)
            profit = float(valued.best[-1, -1]) - 1.0
            gives = [0] * len(counts)
            for size, count in valued.strips(len(counts), len(self.table.positions) - 1):
                gives[size] = count
            worth = profit > prices.over[0] + NOISE and self.fits(gives)
            return Found((Column(1.0, tuple(gives), 0),) if worth else (), (profit,))

        return best

    def fits(self, gives: Sequence[int]) -> bool:
        """Whether a bar is long enough for them: on a grid, rounding may have said so wrongly."""
        return sum(count * size for count, size in zip(gives, self.sizes, strict=True)) <= self.bar + 1e-9

    def singles(self, counts: Sequence[int]) -> list[Column]:
        """A bar for each size alone, as often as it fits and is wanted."""
        made = []
        for at, (size, count) in enumerate(zip(self.sizes, counts, strict=True)):
            if count:
                often = min(count, int(self.bar / size + 1e-9))
                made.append(Column(1.0, tuple(often if i == at else 0 for i in range(len(counts))), 0))
        return made


def _cover(counts: Sequence[int]) -> Cover:
    return Cover(wanted=tuple(counts), limits=(sum(counts),), least=0, dearest=1.0)


def _within(gives: Sequence[int], left: Sequence[int]) -> bool:
    return all(got <= want for got, want in zip(gives, left, strict=True))


def _first_fit(sizes: Sequence[float], counts: Sequence[int], bar: float) -> list[tuple[int, ...]]:
    """The longest first, each in the first bar with room."""
    bars: list[list[int]] = []
    room: list[float] = []
    for at in sorted(range(len(sizes)), key=lambda i: -sizes[i]):
        for _ in range(counts[at]):
            place = next((n for n, free in enumerate(room) if free >= sizes[at] - 1e-9), len(bars))
            if place == len(bars):
                bars.append([0] * len(sizes))
                room.append(bar)
            bars[place][at] += 1
            room[place] -= sizes[at]
    return [tuple(gives) for gives in bars]
