"""Everything from one board: how wide its lanes must be together at every length, and the cheapest found."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

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


def bound_lengths(task: Task, stock: int, wanted: Sequence[int]) -> Lengths:
    """What one board that gives everything must cost at least, by the length it is crosscut at.

    The cost is that of `layouts.offcuts`, with `least_widths` in place of the lanes. A wide lane's end may
    be kept: then the strips' own face and a kerf along each lane stand in place of whole lanes.
    """
    board, shop = task.stocks[stock], task.shop
    if any(count and rip is None for count, rip in zip(wanted, board.rips, strict=True)):
        return Lengths(np.zeros(0), np.zeros(0))
    table, every_width, every_number = least_widths(task, stock, wanted)
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
    bounds = board.rate * (trim * board.width + to * edge_loss(shop) + lost)
    fits = widths <= width_room(board.width, shop) + SAME
    return Lengths(np.append(to[:-1], board.room), np.where(fits, bounds, inf))


def face_under(task: Task, stock: int, wanted: Sequence[int]) -> float:
    """mm2 of the board under the strips, were each shape one strip; without end where one does not fit."""
    return sum(
        (inf if rip is None else rip) * shape.rule.length(count)
        for shape, rip, count in zip(task.shapes, task.stocks[stock].rips, wanted, strict=True)
        if count
    )


def least_widths(task: Task, stock: int, wanted: Sequence[int]) -> tuple[LaneTable, Reals, Reals]:
    """Lanes of every length; the least width of all lanes together at each, kerfs in; their least number.

    Strips at least so wide need lanes at least so wide. If a lane up to a length holds at best value F of
    them, at some price of a segment, it takes at least (value of all wanted) / F lanes, rounded up; the
    dearer of several sets of prices counts. Taken from the widest strips down, each further lane is at least
    as wide as the strips it is needed for.
    """
    rips = task.stocks[stock].rips
    own = [shape for shape, count in enumerate(wanted) if count]
    own.sort(key=lambda shape: (-(rips[shape] or 0.0), shape))
    rules, counts = [task.shapes[shape].rule for shape in own], [wanted[shape] for shape in own]
    room = task.stocks[stock].room
    table = LaneTable(room=room, rules=rules, most=counts, generous=True)
    number = np.zeros((len(own), len(table.positions)))
    for prices in (
        [rule.each for rule in rules],
        [rule.length(count) / count for rule, count in zip(rules, counts, strict=True)],
        [1 / count for count in counts],
    ):
        held = table.values(prices, counts).best[1:]
        value = np.cumsum(np.array(prices) * np.array(counts))[:, None]
        lanes = np.ceil(value / np.maximum(held, 1e-12) - 1e-7)
        number = np.maximum(number, lanes)
    number = np.minimum(np.maximum.accumulate(number, axis=0), MANY)
    takes = np.array([(rips[shape] or 0.0) + task.shop.rip_kerf for shape in own])
    widths = (np.diff(number, axis=0, prepend=0.0) * takes[:, None]).sum(axis=0)
    return table, widths, number[-1]
