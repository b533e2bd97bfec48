"""Lengths out of bars: as few of one length as can be, or of several lengths as cheaply as can be."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimating.errors import InvalidInput
from estimating.wood.bar_columns import BarMaster, Work
from estimating.wood.bar_fill import Gives, Lengths, plain_bound, settle_pairs
from estimating.wood.bar_search import search_plan
from estimating.wood.bar_sizes import checked, merged, steps_of
from estimating.wood.bar_stock import Kind, Order, cheapest

STEPS = 8000
"""Work unless told otherwise, in millions of sums looked at: some ten seconds where all of it is needed."""


@dataclass(frozen=True, slots=True)
class BarPlan:
    """How often each size is cut from each bar, and a bound under the number of bars of every plan."""

    bars: tuple[tuple[int, ...], ...]
    bound: int

    @property
    def proven(self) -> bool:
        """No plan takes fewer bars."""
        return len(self.bars) == self.bound


def fewest_bars(
    *, sizes: Sequence[float], counts: Sequence[int], bar: float, kerf: float = 0.0, steps: int = STEPS
) -> BarPlan:
    """Bars that give `counts[i]` lengths of `sizes[i]` each.

    Shape: bars of one length. Units: any one for sizes, bar and `kerf`, what each cut takes; the last length of a
    bar needs none where it ends with the bar. Decimal figures are taken exactly; where their common step is very
    small beside the bar, on a grid, and then the plan fits and the bound holds in truth.
    Bound: as `bar_search.search_plan`. `steps` is the work, never a time; the same call gives the same plan.
    Errors: InvalidInput at `sizes[i]`, `counts[i]`, `bar` or `kerf`, for a length no bar has room for, for what is not
    a number, not above 0 (counts and kerf: below 0), or a count that is not whole.

    >>> plan = fewest_bars(sizes=[500, 330.5], counts=[2, 3], bar=1000, kerf=2)
    >>> plan.bars, plan.bound, plan.proven
    (((1, 1), (1, 1), (0, 1)), 3, True)
    """
    whole = checked(sizes, counts, [("bar", bar)], kerf)
    if not any(whole):
        return BarPlan((), 0)
    work = Work(float(steps))
    steps_up = steps_of(sizes, [bar], kerf)
    wanted = merged(steps_up.sizes, whole, steps_up.rooms[0])
    known = 0
    if not steps_up.exact:
        known = _bound_alone(merged(steps_up.low_sizes, whole, steps_up.high_rooms[0]).lengths, work)
    settled, rest = settle_pairs(wanted.lengths)
    kept = [at for at, count in enumerate(rest.counts) if count]
    plan, bound = list(settled), len(settled)
    if kept:
        few = Lengths(tuple(rest.sizes[at] for at in kept), tuple(rest.counts[at] for at in kept), rest.room)
        found, least = search_plan(few, work)
        plan += [_widened(gives, kept, len(rest.counts)) for gives in found]
        bound += least
    return BarPlan(wanted.spread(plan, whole), bound if steps_up.exact else known)


def _bound_alone(lengths: Lengths, work: Work) -> int:
    """The bound of lengths rounded down, by the relaxation."""
    settled, _ = settle_pairs(lengths)
    alone = BarMaster(lengths, settled, work)
    return alone.relax(enough=0, bound=plain_bound(lengths)).bound


def _widened(gives: Gives, kept: Sequence[int], sizes: int) -> Gives:
    row = [0] * sizes
    for at, often in zip(kept, gives, strict=True):
        row[at] = often
    return tuple(row)


@dataclass(frozen=True, slots=True)
class BarStock:
    """Bars of one length and what one costs; `count` of them, or None for as many as one likes."""

    length: float
    price: Decimal
    count: int | None = None


@dataclass(frozen=True, slots=True)
class CutBar:
    """One bar of `stocks[stock]`, and how often each size is cut from it."""

    stock: int
    gives: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StockPlan:
    """The bars cut, what they cost whole, and a bound under the cost of every plan."""

    bars: tuple[CutBar, ...]
    cost: Decimal
    bound: Decimal

    @property
    def proven(self) -> bool:
        """No plan costs less."""
        return self.cost == self.bound


def cheapest_bars(
    *,
    sizes: Sequence[float],
    counts: Sequence[int],
    stocks: Sequence[BarStock],
    kerf: float = 0.0,
    steps: int = STEPS,
) -> StockPlan:
    """Bars of several lengths that give `counts[i]` lengths of `sizes[i]` each at least cost.

    Shape, units and work: as `fewest_bars`. Bound: the relaxation's, rounded up to what prices can add up to where
    they have a common step.
    Errors: as `fewest_bars`, the bars at `stocks[i].length`, `.price` and `.count`; and InvalidInput at `stocks` where
    there are too few bars, or no way was found to cut all from them.

    >>> stocks = [BarStock(3000, Decimal(10)), BarStock(2000, Decimal(6), 1)]
    >>> plan = cheapest_bars(sizes=[900], counts=[5], stocks=stocks)
    >>> sorted((bar.stock, bar.gives) for bar in plan.bars), plan.cost, plan.proven
    ([(0, (3,)), (1, (2,))], Decimal('16'), True)
    """
    whole = checked(
        sizes, counts, [(f"stocks[{at}].length", stock.length) for at, stock in enumerate(stocks)], kerf
    )
    for at, stock in enumerate(stocks):
        if not stock.price.is_finite() or stock.price < 0:
            raise InvalidInput(f"stocks[{at}].price", f"{stock.price} is not a price; it must be 0 or more")
        if stock.count is not None and (stock.count != int(stock.count) or stock.count < 0):
            raise InvalidInput(f"stocks[{at}].count", f"{stock.count!r} is not a whole number, 0 or more")
    if not any(whole):
        return StockPlan((), Decimal(0), Decimal(0))
    steps_up = steps_of(sizes, [stock.length for stock in stocks], kerf)
    wanted = merged(steps_up.sizes, whole, max(steps_up.rooms))
    prices = [stock.price for stock in stocks]
    limits = [stock.count for stock in stocks]
    work = Work(float(steps))
    order = Order(wanted.lengths, _kinds(steps_up.rooms, prices, limits))
    bound = Decimal(0)
    if not steps_up.exact:
        low = merged(steps_up.low_sizes, whole, max(steps_up.high_rooms))
        bound = cheapest(Order(low.lengths, _kinds(steps_up.high_rooms, prices, limits)), work).bound
    found = cheapest(order, work)
    gives = wanted.spread([cut for _, cut in found.bars], whole)
    bars = tuple(CutBar(kind, cut) for (kind, _), cut in zip(found.bars, gives, strict=True))
    cost = sum((prices[bar.stock] for bar in bars), Decimal(0))
    return StockPlan(bars, cost, min(cost, found.bound if steps_up.exact else bound))


def _kinds(rooms: Sequence[int], prices: Sequence[Decimal], limits: Sequence[int | None]) -> tuple[Kind, ...]:
    return tuple(Kind(*kind) for kind in zip(rooms, prices, limits, strict=True))
