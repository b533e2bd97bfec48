"""A bound under every grouping of layers into thick rings: the relaxation, with rings made as needed.

Source of the method: P. C. Gilmore, R. E. Gomory, "A linear programming approach to the cutting-stock problem",
Operations Research 9 (1961) 849-859. The rings at a price are found exactly: for each size the layers worth most.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from math import inf

import numpy as np

from estimating.shape.blanks import Size, Sizes
from estimating.shape.curves import Floats
from estimating.shape.solver import Solver

ASKED_AT_ONCE = 30
"""Whole rings asked for in one round, where most is lacking."""

STAY = 0.4
"""How far prices stay at those of the best bound so far."""

DONE = 1e-6
"""The relaxation is solved when its cost is within this share of the bound."""


NOISE = 1e-8
"""A saving below this share of the whole cost is rounding."""


@dataclass(frozen=True, slots=True)
class RingColumn:
    """A ring: its size, and the kinds of its layers, rising, one entry a layer."""

    size: Size
    kinds: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Prices:
    """What a layer of each kind is worth, (k,), and what each of the whole rings asked for is worth.

    Rings asked for later than these prices are worth nothing at them.
    """

    layers: Floats
    rings: tuple[tuple["WholeRings", float], ...]

    def covered(self, sizes: Sizes) -> float:
        """What all layers and rings that are asked for come to."""
        return float(self.layers @ sizes.counts) + sum(price * asked.least for asked, price in self.rings)

    def towards(self, best: "Prices") -> "Prices":
        """Prices between these and others, those of the best bound so far: they swing less from round to round.

        Source: P. Wentges, "Weighted Dantzig-Wolfe decomposition for linear mixed-integer programming",
        International Transactions in Operational Research 4 (1997) 151-162.
        """
        known = dict(best.rings)
        rings = tuple((of, STAY * known.get(of, 0.0) + (1 - STAY) * price) for of, price in self.rings)
        return Prices(STAY * best.layers + (1 - STAY) * self.layers, rings)

    def of_sizes(self, sizes: Sizes) -> Floats:
        """What a ring is worth for its size, (w, o)."""
        worth = np.zeros_like(sizes.face)
        for asked, price in self.rings:
            worth[asked.wide :] += price
            worth[: asked.wide, asked.open :] += price
        return worth


@dataclass(frozen=True, slots=True)
class WholeRings:
    """At least so many rings are as wide as `wide` or as open as `open`, or more so: see Size."""

    wide: int
    open: int
    least: float

    def counts(self, size: Size) -> bool:
        return size.wide >= self.wide or size.open >= self.open


@dataclass(frozen=True, slots=True)
class Relaxed:
    """The relaxation as far as solved: a bound under every grouping, the rings made, the prices of the bound."""

    bound: float
    columns: tuple[RingColumn, ...]
    prices: Prices


class RingSolver(Solver):
    """A program whose columns are rings."""

    def add_rings(
        self, sizes: Sizes, columns: Sequence[RingColumn], asked: Sequence[WholeRings] = ()
    ) -> None:
        """Columns of rings. The rows are the layers of each kind, then the whole rings asked for."""
        starts: list[int] = []
        rows: list[int] = []
        amounts: list[int] = []
        for column in columns:
            starts.append(len(rows))
            for kind, count in Counter(column.kinds).items():
                rows.append(kind)
                amounts.append(count)
            also = [row for row, rings in enumerate(asked, len(sizes.counts)) if rings.counts(column.size)]
            rows += also
            amounts += [1] * len(also)
        costs = np.array([cost_of(sizes, column) for column in columns])
        none, any_ = np.zeros(len(columns)), np.full(len(columns), inf)
        at, where = np.array(starts, dtype=np.int32), np.array(rows, dtype=np.int32)
        self.addCols(len(columns), costs, none, any_, len(rows), at, where, np.array(amounts, dtype=float))


def relax(sizes: Sizes, columns: Iterable[RingColumn], *, rounds: int, enough: float) -> Relaxed:
    """Solve the relaxation from these columns, making others as needed.

    Stops after so many rounds, when no ring is missing, or when the bound reaches `enough` (the cost of a
    grouping in hand). Where no ring is missing, whole numbers of rings are asked for: the layers that are as wide
    as one radius or as open as another need at least their number over the most layers to a ring.
    """
    master = _Master(sizes, columns)
    bound, best = -inf, Prices(np.zeros(len(sizes.counts)), ())
    steady = False
    for _ in range(rounds):
        value, exact = master.solve()
        prices = exact.towards(best) if steady else exact
        reduced = reduced_costs(sizes, prices)
        now = _bound(sizes, prices, reduced)
        if now > bound:
            bound, best = now, prices
        if bound >= enough * (1 - NOISE):
            break
        solved = value - bound < DONE * value
        grown = not solved and master.add(_rings_below(sizes, prices, reduced, -NOISE * value))
        if not grown and (solved or not steady) and not master.ask_for_whole_rings():
            break
        steady = grown
    return Relaxed(bound, tuple(master.columns), best)


def reduced_costs(sizes: Sizes, prices: Prices) -> Floats:
    """Least cost less worth of a ring of every size, (w, o); inf where no ring has that size.

    A layer is worth its price less its slice of the ring; the ring takes those worth most, none twice.
    """
    height, most = sizes.blanks.height, sizes.blanks.most
    dearest = np.zeros((len(sizes.face), most))
    worth = np.empty_like(sizes.face)
    rows = np.arange(len(dearest))
    order = np.argsort(sizes.open, kind="stable")
    ends = np.searchsorted(sizes.open[order], np.arange(sizes.face.shape[1]), side="right").tolist()
    begin = 0
    for open_, end in enumerate(ends):
        for kind in order[begin:end].tolist():
            price = prices.layers[kind]
            wider = dearest[sizes.wide[kind] :]
            for _ in range(min(int(sizes.counts[kind]), most) if price > 0 else 0):
                at = wider.argmin(axis=1)
                there = rows[: len(wider)]
                wider[there, at] = np.maximum(wider[there, at], price)
        begin = end
        slices = (sizes.face[:, open_] * height.each)[:, None]
        worth[:, open_] = np.maximum(dearest - slices, 0.0).sum(axis=1)
    cost = sizes.face * height.base + sizes.blanks.extra
    reduced = cost - worth - prices.of_sizes(sizes)
    return np.where(sizes.fits, reduced, inf)


def best_ring(sizes: Sizes, prices: Prices, size: Size) -> RingColumn:
    """The ring of that size whose layers are worth most."""
    slice_ = sizes.face[size] * sizes.blanks.height.each
    inside = (sizes.wide <= size.wide) & (sizes.open <= size.open) & (prices.layers > slice_)
    kinds = np.flatnonzero(inside)
    kinds = kinds[np.argsort(-prices.layers[kinds], kind="stable")]
    layers = np.repeat(kinds, sizes.counts[kinds])[: sizes.blanks.most]
    return RingColumn(size, tuple(sorted(layers.tolist())))


def _bound(sizes: Sizes, prices: Prices, reduced: Floats) -> float:
    """What the prices come to, less what rings could save on them.

    In a grouping each ring has a widest layer of its own; so of each width there are no more rings than layers,
    and none saves more than the best of its width. Likewise for the inner radii.
    """
    by_width = np.bincount(sizes.wide, weights=sizes.counts) @ np.minimum(reduced.min(axis=1), 0.0)
    by_opening = np.bincount(sizes.open, weights=sizes.counts) @ np.minimum(reduced.min(axis=0), 0.0)
    return prices.covered(sizes) + float(max(by_width, by_opening))


def _rings_below(sizes: Sizes, prices: Prices, reduced: Floats, limit: float) -> list[RingColumn]:
    """The best ring of each outer and of each inner radius, where it saves something."""
    wide, open_ = reduced.argmin(axis=0), reduced.argmin(axis=1)
    found = [Size(at, int(best)) for at, best in enumerate(open_)]
    found += [Size(int(best), at) for at, best in enumerate(wide)]
    return [best_ring(sizes, prices, size) for size in dict.fromkeys(found) if reduced[size] < limit]


def rings_needed(sizes: Sizes) -> Floats:
    """How many rings at least are as wide as an outer radius or as open as an inner one, (w + 1, o + 1).

    The last row and column are beyond all radii.
    """
    apart = np.zeros((len(sizes.face) + 1, sizes.face.shape[1] + 1))
    np.add.at(apart, (sizes.wide + 1, sizes.open + 1), sizes.counts)
    less = apart.cumsum(axis=0).cumsum(axis=1)  # layers both less wide and less open
    needed: Floats = np.ceil((sizes.counts.sum() - less) / sizes.blanks.most - 1e-9)
    return needed


@dataclass
class _Master:
    """The linear program over the rings so far. Rows: layers of each kind, then whole rings asked for."""

    sizes: Sizes
    given: Iterable[RingColumn]
    columns: dict[RingColumn, None] = field(default_factory=dict)
    asked: list[WholeRings] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.solver = RingSolver()
        for count in self.sizes.counts.tolist():
            self.solver.addRow(float(count), inf, 0, [], [])
        self.needed = rings_needed(self.sizes)
        self.add(self.given)

    def add(self, columns: Iterable[RingColumn]) -> bool:
        """Put in the columns that are new; whether there were any."""
        new = [column for column in dict.fromkeys(columns) if column not in self.columns]
        self.columns.update(dict.fromkeys(new))
        if new:
            self.solver.add_rings(self.sizes, new, self.asked)
        return bool(new)

    def ask_for_whole_rings(self) -> bool:
        """Ask for whole rings where the relaxation lacks most of one; whether there was such a place."""
        reach = np.array([column.size for column in self.columns])
        uses = np.array(self.uses())
        less = np.zeros_like(self.needed)
        np.add.at(less, (reach[:, 0] + 1, reach[:, 1] + 1), uses)
        lacking = self.needed - (uses.sum() - less.cumsum(axis=0).cumsum(axis=1))
        worst = np.argsort(-lacking, axis=None, kind="stable")[:ASKED_AT_ONCE]
        for at in worst[lacking.ravel()[worst] > 1e-6].tolist():
            wide, open_ = divmod(at, lacking.shape[1])
            rows = WholeRings(wide, open_, float(self.needed[wide, open_]))
            self.asked.append(rows)
            inside = np.flatnonzero((reach[:, 0] >= wide) | (reach[:, 1] >= open_)).astype(np.int32)
            self.solver.addRow(rows.least, inf, len(inside), inside, np.ones(len(inside)))
        return bool(lacking.max() > 1e-6)

    def solve(self) -> tuple[float, Prices]:
        """Cost of the relaxation over these columns, and its prices."""
        self.solver.run()
        return float(self.solver.getInfo().objective_function_value), self.prices()

    def prices(self) -> Prices:
        duals = np.maximum(np.array(self.solver.getSolution().row_dual), 0.0)
        kinds = len(self.sizes.counts)
        if not len(duals):
            duals = np.zeros(kinds)
        return Prices(duals[:kinds], tuple(zip(self.asked, duals[kinds:].tolist(), strict=True)))

    def uses(self) -> tuple[float, ...]:
        return tuple(self.solver.getSolution().col_value)


def cost_of(sizes: Sizes, column: RingColumn) -> float:
    return float(sizes.blanks.of(float(sizes.face[column.size]), len(column.kinds)))
