"""Everything from one board: how wide its lanes must be together at every length, and the cheapest found."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf

import numpy as np

from estimating.wood.columns import Column, Cover, Found, Prices, relax
from estimating.wood.filling import fill
from estimating.wood.lanes import SAME, LaneTable, Reals, crosscuts
from estimating.wood.layouts import Layout, Task, edge_loss, layout_cost, width_room

TRIES = 200
"""How many lengths of the board are tried, unless told otherwise."""

MANY = 1e6
"""Lanes; where a length holds no segment at all, so many stand for no end of them."""


@dataclass(frozen=True, slots=True)
class Lengths:
    """For each length `to` that lanes may have, a bound under the cost of sawing all from one board.

    The last is for ripping the board at its full length; `to` is then the room of a lane.
    """

    to: Reals
    bounds: Reals


def search_one_board(
    task: Task, stock: int, wanted: Sequence[int], *, known: Layout | None = None, tries: int = TRIES
) -> tuple[Layout | None, float]:
    """The cheapest layout found that gives all that is wanted from one board, and a bound under all of them.

    Lengths are tried in the order of their bounds, so the search ends by itself when none can be better. A
    length between one tried and the longest lane that came of it would give the same.
    """
    best, cost = known, layout_cost(task, known) if known else inf
    if face_under(task, stock, wanted) > task.stocks[stock].length * task.stocks[stock].width:
        return None, inf
    lengths = bound_lengths(task, stock, wanted)
    known_same = np.isinf(lengths.bounds)
    for at in np.argsort(lengths.bounds, kind="stable"):
        if lengths.bounds[at] >= cost * (1 - 1e-9) or not tries:
            break
        if known_same[at]:
            continue
        tries -= 1
        layout = fill(task, stock, wanted, float(lengths.to[at]))
        if layout:
            longest = max(lane.used for lane in layout.lanes)
            known_same |= (lengths.to >= longest - SAME) & (lengths.to <= lengths.to[at])
            if layout.segments(len(wanted)) == list(wanted) and layout_cost(task, layout) < cost:
                best, cost = layout, layout_cost(task, layout)
    return best, float(lengths.bounds.min(initial=inf))


def one_board_bound(task: Task, stock: int, wanted: Sequence[int], *, enough: float, programs: int) -> float:
    """What any plan from one board of a stock costs at least, or `enough` where it is that at least.

    Where the bound is lowest, the linear program of the lanes there is solved, whose prices say better than any others
    how many lanes it takes; they are tried at every length, and so on, for so many `programs`.
    """
    prices: list[Sequence[float]] = []
    solved: set[int] = set()
    while True:
        lengths = bound_lengths(task, stock, wanted, prices=prices)
        # Where one board is all there is, it carries all that opening it costs.
        at_least = task.stocks[stock].opening - task.stocks[stock].fixed
        least = float(lengths.bounds.min(initial=inf)) + at_least
        at = int(lengths.bounds.argmin()) if len(lengths.bounds) else -1
        if least >= enough or least == inf or at in solved or programs <= 0:
            return least
        solved.add(at)
        for better in lane_prices(task, stock, wanted, float(lengths.to[at])):
            prices.append(better)
            programs -= 1


def bound_lengths(
    task: Task, stock: int, wanted: Sequence[int], *, prices: Sequence[Sequence[float]] = ()
) -> Lengths:
    """What one board that gives everything must cost at least, by the length it is crosscut at.

    The cost is that of `layouts.offcuts`, with `least_widths` in place of the lanes. A wide lane's end may
    be kept: then the strips' own face and a kerf along each lane stand in place of whole lanes. `prices` of the
    segments of each shape are tried besides the usual ones.
    """
    board, shop = task.stocks[stock], task.shop
    if any(count and rip is None for count, rip in zip(wanted, board.rips, strict=True)):
        return Lengths(np.zeros(0), np.zeros(0))
    table, every_width, every_number = least_widths(task, stock, wanted, prices=prices)
    wide = any(
        count and (rip or 0.0) >= shop.keep_width - SAME
        for count, rip in zip(wanted, board.rips, strict=True)
    )
    cuts = crosscuts(
        table=table,
        along=board.along,
        width=board.width,
        wide_lanes=wide,
        shop=shop,
        shortest=board.shortest,
    )
    along, near = board.along, board.trims[0]
    to, reach = np.append(cuts.to, along), np.append(cuts.reach, along)
    holds = np.append(cuts.holds, len(table.positions) - 1)
    widths, lanes = every_width[holds], every_number[holds]
    trim = np.append(np.full(len(to) - 1, near + shop.crosscut_kerf), near)

    beside = board.width - edge_loss(shop) - widths
    kept = (beside >= shop.keep_width - SAME) & (reach >= shop.keep_length - SAME)
    lost = to * widths
    face = face_under(task, stock, wanted)
    if any(
        count and (rip or 0.0) >= shop.keep_width - SAME
        for count, rip in zip(wanted, board.rips, strict=True)
    ):
        lost = np.minimum(lost, face + to * lanes * shop.rip_kerf)
    lost += np.where(kept, 0.0, beside * np.where(beside < 0, reach, to))
    bounds = board.fixed + board.rate * (trim * board.width + to * edge_loss(shop) + lost)
    fits = widths <= width_room(board.width, shop) + SAME
    return Lengths(np.append(to[:-1], board.room), np.where(fits, bounds, inf))


def face_under(task: Task, stock: int, wanted: Sequence[int]) -> float:
    """mm2 of the board under the strips, were each shape one strip; without end where one does not fit."""
    return sum(
        (inf if rip is None else rip) * shape.rule.length(count)
        for shape, rip, count in zip(task.shapes, task.stocks[stock].rips, wanted, strict=True)
        if count
    )


def least_widths(
    task: Task, stock: int, wanted: Sequence[int], *, prices: Sequence[Sequence[float]] = ()
) -> tuple[LaneTable, Reals, Reals]:
    """Lanes of every length; the least width of all lanes together at each, kerfs in; their least number.

    Strips at least so wide need lanes at least so wide. If a lane up to a length holds at best value F of
    them, at some price of a segment, it takes at least (value of all wanted) / F lanes, rounded up; the
    dearer of several sets of prices counts. Taken from the widest strips down, each further lane is at least
    as wide as the strips it is needed for.
    """
    own = _widest_first(task, stock, wanted)
    rules, counts = [task.shapes[shape].rule for shape in own], [wanted[shape] for shape in own]
    table = _table(task, stock, tuple(own), tuple(counts))
    number = np.zeros((len(own), len(table.positions)))
    for usual in (
        *([given[shape] for shape in own] for given in prices),
        [rule.each for rule in rules],
        [rule.length(count) / count for rule, count in zip(rules, counts, strict=True)],
        [1 / count for count in counts],
    ):
        held = table.values(usual, counts).best[1:]
        value = np.cumsum(np.array(usual) * np.array(counts))[:, None]
        lanes = np.ceil(value / np.maximum(held, 1e-12) - 1e-7)
        number = np.maximum(number, lanes)
    number = np.minimum(np.maximum.accumulate(number, axis=0), MANY)
    rips = task.stocks[stock].rips
    takes = np.array([(rips[shape] or 0.0) + task.shop.rip_kerf for shape in own])
    widths = (np.diff(number, axis=0, prepend=0.0) * takes[:, None]).sum(axis=0)
    return table, widths, number[-1]


def _widest_first(task: Task, stock: int, wanted: Sequence[int]) -> list[int]:
    rips = task.stocks[stock].rips
    own = [shape for shape, count in enumerate(wanted) if count]
    return sorted(own, key=lambda shape: (-(rips[shape] or 0.0), shape))


@lru_cache(maxsize=16)
def _table(task: Task, stock: int, own: tuple[int, ...], counts: tuple[int, ...]) -> LaneTable:
    rules = [task.shapes[shape].rule for shape in own]
    return LaneTable(room=task.stocks[stock].room, rules=rules, most=counts, generous=True)


LANE_ROUNDS = 60
"""Lanes that are made at most for one set of prices."""

PREFIXES = 4
"""The lanes are counted for the widest quarter of the shapes, half, three quarters, and all."""


def lane_prices(task: Task, stock: int, wanted: Sequence[int], length: float) -> Iterator[Sequence[float]]:
    """What segments are worth where lanes are so long, for the widest shapes and for all: the fewest lanes' duals.

    From the relaxation over lanes, made as they are needed; no lane is worth more than 1 at these prices, but for
    rounding, which `least_widths` divides by.
    """
    own = _widest_first(task, stock, wanted)
    table = _table(task, stock, tuple(own), tuple(wanted[shape] for shape in own))
    position = int(np.searchsorted(table.positions, length + SAME, side="right")) - 1
    for shapes in sorted({-(-len(own) * part // PREFIXES) for part in range(1, PREFIXES + 1)}):
        counts = [wanted[shape] if at < shapes else 0 for at, shape in enumerate(own)]
        most = [min(count, table.rules[at].segments_in(length)) for at, count in enumerate(counts)]
        if any(count and not fits for count, fits in zip(counts, most, strict=True)):
            continue
        worth = _fewest_lanes(table, counts, most, position)
        by_shape = [0.0] * len(task.shapes)
        for shape, value in zip(own, worth, strict=True):
            by_shape[shape] = value
        yield by_shape


def _fewest_lanes(
    table: LaneTable, counts: Sequence[int], most: Sequence[int], position: int
) -> tuple[float, ...]:
    """The duals of the relaxation over lanes up to a position of the table."""

    def pricing(prices: Prices, _thorough: bool) -> Found:
        valued = table.values(prices.rows, counts)
        profit = float(valued.best[-1, position]) - 1.0
        gives = [0] * len(counts)
        for shape, count in valued.strips(len(counts), position):
            gives[shape] = count
        worth = profit > prices.over[0] + SAME
        return Found((Column(1.0, tuple(gives), 0),) if worth else (), (profit,))

    singles = [
        Column(1.0, tuple(fits if at == shape else 0 for at in range(len(most))), 0)
        for shape, fits in enumerate(most)
        if fits
    ]
    cover = Cover(wanted=tuple(counts), limits=(float(sum(counts)),), least=0, dearest=1.0)
    return relax(cover=cover, columns=singles, pricing=pricing, rounds=LANE_ROUNDS).prices.rows
