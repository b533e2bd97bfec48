"""Better rings out of a grouping of layers: any two rings poured together and parted afresh."""

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from estimating.shape.blanks import Blanks, Ints, Rings
from estimating.shape.curves import Floats
from estimating.shape.runs import orders

_LEAST_SAVING = 1e-9


def resplit(blanks: Blanks, rings: Rings, *, passes: int) -> Rings:
    """Rings at most as costly, after so many passes or where no two of them can be parted better.

    Two rings are parted along the natural orders, at any place; one may end with nothing, and one may be parted
    where there is no other. In a pass the greatest savings are taken, of each ring once.
    """
    ranks = [np.argsort(order) for order in orders(blanks)]
    for _ in range(passes):
        kept: dict[int, tuple[int, ...]] = dict(enumerate(rings))
        made: list[tuple[int, ...]] = []
        for pair, parted in _better_partings(blanks, rings, ranks):
            which = [ring for ring in pair if ring < len(rings)]
            if all(ring in kept for ring in which):
                for ring in which:
                    del kept[ring]
                made += parted
        if not made:
            break
        rings = tuple(sorted([*kept.values(), *made]))
    return rings


def _pairs(rings: Rings, most: int) -> tuple[Ints, list[tuple[int, int]]]:
    """The layers of every two rings, (pairs, 2 most), filled up with -1; the last ring of all is empty."""
    rows = np.full((len(rings) + 1, most), -1)
    for row, ring in zip(rows, rings, strict=False):
        row[: len(ring)] = ring
    pairs = list(combinations(range(len(rows)), 2))
    first, second = np.array(pairs).T
    return np.concatenate([rows[first], rows[second]], axis=1), pairs


class _Parting:
    """Every place at which pairs can be parted along one order."""

    def __init__(self, blanks: Blanks, table: Ints, rank: Ints) -> None:
        count = len(rank)
        ranked = np.where(table < 0, count, rank[table])
        self.table = np.take_along_axis(table, np.argsort(ranked, axis=1, kind="stable"), axis=1)
        none = self.table < 0
        filled = np.where(none, -np.inf, blanks.filled[self.table])
        hollow = np.where(none, np.inf, blanks.hollow[self.table])
        total = (~none).sum(axis=1)[:, None]
        place = np.arange(table.shape[1] + 1)
        ahead = self._cost(blanks, filled, hollow, place)
        behind = self._cost(blanks, filled[:, ::-1], hollow[:, ::-1], total - place[::-1])[:, ::-1]
        cost = np.where(place <= total, ahead + behind, np.inf)
        self.at = cost.argmin(axis=1)
        self.cost: Floats = cost.min(axis=1)

    @staticmethod
    def _cost(blanks: Blanks, filled: Floats, hollow: Floats, layers: Ints) -> Floats:
        """Cost of the rings of the first 0, 1, 2... columns, (pairs, columns + 1)."""
        face = np.maximum.accumulate(filled, axis=1) - np.minimum.accumulate(hollow, axis=1)
        face = np.concatenate([np.zeros((len(face), 1)), face], axis=1)
        height = blanks.height
        with np.errstate(invalid="ignore"):  # beyond the last layer, where there is no ring to cost
            cost = face * (height.base + height.each * layers) + blanks.extra
        return np.where(layers > blanks.most, np.inf, np.where(layers <= 0, 0.0, cost))

    def rings(self, pair: int) -> Rings:
        """The two rings, or the one, that the pair is best parted into."""
        ends = (self.table[pair, : self.at[pair]], self.table[pair, self.at[pair] :])
        parts = [tuple(sorted(end[end >= 0].tolist())) for end in ends]
        return tuple(part for part in parts if part)


def _better_partings(
    blanks: Blanks, rings: Rings, ranks: list[Ints]
) -> Iterator[tuple[tuple[int, int], Rings]]:
    """The pairs that can be parted for less, the greatest saving first, and the rings they become."""
    table, pairs = _pairs(rings, blanks.most)
    now = np.array([*(blanks.cost((ring,)) for ring in rings), 0.0])[np.array(pairs)].sum(axis=1)
    ways = [_Parting(blanks, table, rank) for rank in ranks]
    costs = np.stack([way.cost for way in ways])
    best, savings = costs.argmin(axis=0), now - costs.min(axis=0)
    worth_it = np.flatnonzero(savings > _LEAST_SAVING * blanks.least)
    by_saving = worth_it[np.argsort(-savings[worth_it], kind="stable")].tolist()
    for at in by_saving:
        yield pairs[at], ways[best[at]].rings(at)
