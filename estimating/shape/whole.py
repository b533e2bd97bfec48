"""From the relaxation to whole rings: the rings that could be in a better grouping, and the best choice of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import highspy
import numpy as np

from estimating.shape.blanks import Rings, Size, Sizes
from estimating.shape.curves import Floats
from estimating.shape.relaxing import (
    Prices,
    Relaxed,
    RingColumn,
    RingSolver,
    WholeRings,
    cost_of,
    reduced_costs,
)

SEARCHED_UP_TO = 60
"""Where not every ring that matters can be had, bands of more kinds of layers are left as they are: what the search
would find is little, and dear."""


def column_of(sizes: Sizes, ring: Sequence[int]) -> RingColumn:
    """The ring these layers need."""
    kinds = np.sort(sizes.kind_of[list(ring)])
    return RingColumn(sizes.size(kinds), tuple(kinds.tolist()))


def choose_rings(
    sizes: Sizes, relaxed: Relaxed, start: Rings, *, choice: int, nodes: int
) -> tuple[Rings, float]:
    """Whole rings at least cost, as far as so many nodes of the search reach, and a bound under every grouping.

    A ring that costs more above its worth than `start` does above the bound is in no better grouping. Where there
    are `choice` others or fewer, all are chosen from, and the search's bound holds; else the nearest so many of those
    that the relaxation made, and its bound remains.
    """
    room = sizes.blanks.cost(start) - relaxed.bound
    known = [column_of(sizes, ring) for ring in start]
    near = every_ring_within(sizes, relaxed.prices, room=room, limit=choice)
    complete = near is not None
    if near is None and len(sizes.counts) > SEARCHED_UP_TO:
        return start, relaxed.bound
    if near is None:
        over = {column: _over(sizes, relaxed.prices, column) for column in relaxed.columns}
        near = sorted((column for column in over if over[column] <= room), key=over.__getitem__)[:choice]
    columns = list(dict.fromkeys([*known, *near]))
    counts = [known.count(column) for column in columns]
    asked = [rings for rings, price in relaxed.prices.rings if price > 0 and complete]
    uses, bound = _search(sizes, columns, counts, asked, nodes=nodes)
    rings = _rings(sizes, columns, uses)
    return rings, max(relaxed.bound, min(bound, sizes.blanks.cost(rings))) if complete else relaxed.bound


def _over(sizes: Sizes, prices: Prices, column: RingColumn) -> float:
    """Cost less worth of a ring."""
    worth = float(prices.layers[list(column.kinds)].sum())
    as_such = sum(price for rings, price in prices.rings if rings.counts(column.size))
    return cost_of(sizes, column) - worth - as_such


def every_ring_within(sizes: Sizes, prices: Prices, *, room: float, limit: int) -> list[RingColumn] | None:
    """Every ring that costs at most `room` more than its worth; None where there are more than `limit`."""
    reduced, as_such = reduced_costs(sizes, prices), prices.of_sizes(sizes)
    found: list[RingColumn] = []
    margin = room + 1e-9 * sizes.blanks.least
    for wide, open_ in np.argwhere(reduced <= margin).tolist():
        size = Size(wide, open_)
        spare = margin - float(
            sizes.face[size] * sizes.blanks.height.base + sizes.blanks.extra - as_such[size]
        )
        search = _Within(sizes, prices.layers, size, spare, limit - len(found))
        if not search.complete:
            return None
        found += search.found
    return found


@dataclass(slots=True)
class _Entry:
    """A kind of layer in one size of ring: what a layer is worth above its slice, and how many there are."""

    kind: int
    gain: float
    count: int


class _Within:
    """The rings of just one size whose layers gain at least -`spare`, found depth first."""

    def __init__(self, sizes: Sizes, prices: Floats, size: Size, spare: float, limit: int) -> None:
        self.sizes, self.size, self.limit = sizes, size, limit
        self.most = sizes.blanks.most
        self.found: list[RingColumn] = []
        self.steps = 40 * limit
        inside = np.flatnonzero((sizes.wide <= size.wide) & (sizes.open <= size.open))
        gains = prices[inside] - sizes.face[size] * sizes.blanks.height.each
        order = np.argsort(-gains, kind="stable")
        self.entries = [
            _Entry(int(inside[at]), float(gains[at]), int(sizes.counts[inside[at]])) for at in order
        ]
        self.complete = self._search(0, [], -spare)

    def _search(self, at: int, kinds: list[int], wanted: float) -> bool:
        """Go through the entries from `at`, with these layers in hand; False when there is too much to find."""
        self.steps -= 1
        if self.steps < 0 or len(self.found) > self.limit:
            return False
        if kinds and wanted <= 0 and self.sizes.size(np.array(kinds)) == self.size:
            self.found.append(RingColumn(self.size, tuple(sorted(kinds))))
        left = self.most - len(kinds)
        for next_ in range(at, len(self.entries)):
            entry = self.entries[next_]
            if left == 0 or self._gain_at_most(next_, left) < wanted:
                break
            for copies in range(1, min(entry.count, left) + 1):
                more = [*kinds, *[entry.kind] * copies]
                if not self._search(next_ + 1, more, wanted - copies * entry.gain):
                    return False
        return True

    def _gain_at_most(self, at: int, left: int) -> float:
        """The most that so many layers from the entries beyond can gain; one layer at the least."""
        total = 0.0
        for entry in self.entries[at:]:
            if left <= 0 or (entry.gain <= 0 and total):
                break
            copies = min(entry.count, left) if entry.gain > 0 else 1
            total += copies * entry.gain
            left -= copies
        return total


def _search(
    sizes: Sizes,
    columns: Sequence[RingColumn],
    start: Sequence[int],
    asked: Sequence[WholeRings],
    *,
    nodes: int,
) -> tuple[list[int], float]:
    """How often each ring is used at least cost, and the search's bound, tightened by the rings asked for."""
    solver = RingSolver()
    for count in sizes.counts.tolist():
        solver.addRow(float(count), inf, 0, [], [])
    for rings in asked:
        solver.addRow(rings.least, inf, 0, [], [])
    solver.add_rings(sizes, columns, asked)
    every = np.arange(len(columns), dtype=np.int32)
    solver.changeColsIntegrality(
        len(columns), every, np.array([highspy.HighsVarType.kInteger] * len(columns))
    )
    for option, value in (("mip_max_nodes", nodes), ("mip_rel_gap", 1e-9), ("mip_heuristic_effort", 0.0)):
        solver.setOptionValue(option, value)
    known = highspy.HighsSolution()
    known.col_value = [float(count) for count in start]
    solver.setSolution(known)
    solver.run()
    values = list(solver.getSolution().col_value)
    info = solver.getInfo()
    if len(values) != len(columns) or info.primal_solution_status != 2:
        return list(start), -inf
    return [round(value) for value in values], float(info.mip_dual_bound)


def _rings(sizes: Sizes, columns: Sequence[RingColumn], uses: Sequence[int]) -> Rings:
    """Rings with the layers themselves, of each kind the lowest first, none twice."""
    left = [np.flatnonzero(sizes.kind_of == kind).tolist()[::-1] for kind in range(len(sizes.counts))]
    rings = []
    for column, use in zip(columns, uses, strict=True):
        for _ in range(use):
            ring = [left[kind].pop() for kind in column.kinds if left[kind]]
            if ring:
                rings.append(tuple(sorted(ring)))
    return tuple(sorted(rings))
