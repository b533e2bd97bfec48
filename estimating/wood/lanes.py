"""What one lane can hold at best: the exact choice of strips along a length, by dynamic programming."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from estimating.piece import ShopSettings
from estimating.wood.strips import StripRule

Reals = NDArray[np.float64]
Indices = NDArray[np.intp]

EXACT_POSITIONS = 3000
"""Up to so many lengths that strips can add up to, each is its own state; above, a grid stands for them."""

GRID = 2400
"""Steps of that grid: lengths are rounded down to it, so that values are never under the true ones."""

SAME = 1e-8
"""mm; sums of lengths nearer than this are one position."""


@dataclass(frozen=True, slots=True)
class Move:
    """A strip of one shape and so many segments: it ends at `first` or later, having begun at `source`."""

    first: int
    source: slice | Indices


class LaneTable:
    """Best values of lanes over every length up to `room`, with the shapes let in one after the other.

    A lane never needs two strips of one shape, since one strip would save an end; so each shape is taken at
    most once, with 1 to `most` segments. Positions are the lengths that strips can add up to, exactly, or
    where those are too many a grid. On it lengths are rounded up, so that every lane is real; or if
    `generous` down, so that no real lane is missed: then values are upper bounds, and a lane may be too long
    by a step (`slack`) a strip.
    """

    def __init__(
        self, *, room: float, rules: Sequence[StripRule], most: Sequence[int], generous: bool
    ) -> None:
        self.rules = tuple(rules)
        self.rounding = floor if generous else ceil
        counts = [min(cap, rule.segments_in(room)) for rule, cap in zip(rules, most, strict=True)]
        sums = _sums(room, self.rules, counts)
        self.exact = sums is not None
        self.positions = np.linspace(0.0, room, GRID + 1) if sums is None else sums
        self.slack = room / GRID if generous and not self.exact else 0.0
        self.moves = [
            [self._move(rule.length(count)) for count in range(1, cap + 1)]
            for rule, cap in zip(self.rules, counts, strict=True)
        ]

    def _move(self, length: float) -> Move:
        if not self.exact:
            steps = length / self.positions[-1] * GRID
            first = self.rounding(steps + (1e-9 if self.rounding is floor else -1e-9))
            return Move(first, slice(0, len(self.positions) - first))
        before = np.searchsorted(self.positions, self.positions - length + SAME, side="right") - 1
        first = int(np.searchsorted(before, 0))
        return Move(first, before[first:])

    def values(self, prices: Sequence[float], most: Sequence[int]) -> "Valued":
        """The best lanes at a price for a segment of each shape, with at most so many of each in a lane."""
        table = np.zeros((len(self.rules) + 1, len(self.positions)))
        for shape, price in enumerate(prices):
            row = table[shape + 1]
            row[:] = table[shape]
            if price > 0:
                for count, move in enumerate(self.moves[shape][: most[shape]], start=1):
                    reached = row[move.first :]
                    np.maximum(reached, table[shape][move.source] + count * price, out=reached)
        return Valued(self, tuple(prices), tuple(most), table)


@dataclass(frozen=True, slots=True)
class Valued:
    """`best[i]`: the best value up to each position with the first i shapes, at these prices."""

    lanes: LaneTable
    prices: tuple[float, ...]
    most: tuple[int, ...]
    best: Reals

    def strips(self, shapes: int, position: int) -> list[tuple[int, int]]:
        """(shape, segments) of the strips behind one entry of `best`."""
        parts: list[tuple[int, int]] = []
        while shapes:
            shapes -= 1
            if self.best[shapes + 1, position] > self.best[shapes, position]:
                count, position = self._came_from(shapes, position)
                parts.append((shapes, count))
        return parts

    def _came_from(self, shape: int, position: int) -> tuple[int, int]:
        moves = self.lanes.moves[shape][: self.most[shape]]
        steps = position - np.array([move.first for move in moves])
        # Moves get longer with their counts: those that fit come first.
        fitting = int(np.count_nonzero(steps >= 0))
        before = steps[:fitting]
        if self.lanes.exact:
            sources = [move.source for move in moves[:fitting] if not isinstance(move.source, slice)]
            before = np.array([source[at] for source, at in zip(sources, before, strict=True)], dtype=np.intp)
        reached = self.best[shape, before] + np.arange(1, fitting + 1) * self.prices[shape]
        same = np.flatnonzero(reached == self.best[shape + 1, position])
        if len(same):
            return int(same[0]) + 1, int(before[same[0]])
        raise AssertionError("an entry above the one before it comes from a strip of that shape")


@dataclass(frozen=True, slots=True)
class Crosscuts:
    """The lengths at which it can be best to crosscut a board: `to`, with the position that `holds` a lane there.

    On a generous grid a length stands for all up to `reach`.
    """

    to: Reals
    reach: Reals
    holds: Indices


def crosscuts(
    *, table: LaneTable, along: float, width: float, wide_lanes: bool, shop: ShopSettings, shortest: float
) -> Crosscuts:
    """Where the lanes can end, or where a piece gets long enough to keep; none where the far part is not kept."""
    farthest = along - shop.crosscut_kerf - shop.keep_length
    to = table.positions[1:]
    if table.exact and len(to):
        ends = table.positions + shop.crosscut_kerf + shop.keep_length if wide_lanes else to
        to = np.unique(np.concatenate((to, ends, [shop.keep_length])))
        to = to[to >= table.positions[1] - SAME]
    if shortest > 0 and len(to):  # nothing shorter is ripped: what would be comes out as long as this
        to = np.unique(np.append(to[to >= shortest - SAME], shortest))
    to = to[to <= farthest + SAME] if width >= shop.keep_width - SAME else to[:0]
    holds = np.searchsorted(table.positions, to + SAME, side="right") - 1
    return Crosscuts(to, to + table.slack, holds)


def _sums(room: float, rules: Sequence[StripRule], counts: Sequence[int]) -> Reals | None:
    """Every length that strips can add up to, each shape once; None where there are too many."""
    sums = np.zeros(1)
    for rule, cap in zip(rules, counts, strict=True):
        lengths = np.array([0.0] + [rule.length(count) for count in range(1, cap + 1)])
        every = np.add.outer(sums, lengths).ravel()
        every = np.sort(every[every <= room + 1e-9])
        sums = every[np.concatenate(([True], np.diff(every) > SAME))]
        if len(sums) > EXACT_POSITIONS:
            return None
    return sums
