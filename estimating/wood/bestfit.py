"""A first sawing plan at once: widest strips first, each lane's end given to the strip that fits best."""

from collections.abc import Sequence

from estimating.wood.layouts import (
    TOLERANCE,
    Lane,
    Layout,
    Task,
    lane_room,
    layout_cost,
    layout_penalty,
    width_room,
)

TRIES = 24
"""How many lengths are tried for the lanes of the last board."""


def first_answer(task: Task) -> list[Layout] | None:
    """Boards that give every segment wanted, None where, filled this way, they do not reach."""
    wanted = [shape.wanted for shape in task.shapes]
    left = [stock.count for stock in task.stocks]
    plan: list[Layout] = []
    while any(wanted):
        options = [
            layout for stock in range(len(left)) if left[stock] != 0 for layout in _fills(task, stock, wanted)
        ]
        if not options:
            return None
        best = min(options, key=lambda layout: _dearness(task, layout, wanted))
        stock_left = left[best.stock]
        left[best.stock] = None if stock_left is None else stock_left - 1
        wanted = [want - got for want, got in zip(wanted, best.segments(len(wanted)), strict=True)]
        plan.append(best)
    return plan


def _dearness(task: Task, layout: Layout, wanted: Sequence[int]) -> tuple[float, ...]:
    """Cost for the wood it gives; the last resort last."""
    given = layout.segments(len(wanted))
    volume = sum(shape.volume * count for shape, count in zip(task.shapes, given, strict=True))
    penalty = layout_penalty(task, layout)
    stock = task.stocks[layout.stock]
    return (penalty / volume, layout_cost(task, layout) / volume, stock.length * stock.width / volume)


def _fills(task: Task, stock: int, wanted: Sequence[int]) -> list[Layout]:
    """Ways to fill one board of the stock: at full length, and if that ends the work, with shorter lanes."""
    room = lane_room(task.stocks[stock].length, task.shop)
    full = fill(task, stock, wanted, room)
    if full is None:
        return []
    if full.segments(len(wanted)) != list(wanted):
        return [full]
    tries = [fill(task, stock, wanted, length) for length in _lane_lengths(task, stock, wanted, room)]
    return [full] + [way for way in tries if way and way.segments(len(wanted)) == list(wanted)]


def _lane_lengths(task: Task, stock: int, wanted: Sequence[int], room: float) -> list[float]:
    """Lengths worth trying for the longest lane: of one strip, of two, and of shares of all the strips."""
    rips = task.stocks[stock].rips
    single = [
        shape.rule.length(count)
        for shape, count, rip in zip(task.shapes, wanted, rips, strict=True)
        if count and rip is not None
    ]
    pairs = [a + b for i, a in enumerate(single[:12]) for b in single[:i]]
    shares = [sum(single) / lanes for lanes in range(1, 8)]
    lengths = sorted({round(length, 6) for length in single + pairs + shares if length <= room})
    step = max(1, len(lengths) // TRIES)
    return lengths[::step]


def fill(task: Task, stock: int, wanted: Sequence[int], room: float) -> Layout | None:
    """Fill one board: the widest strip opens a lane, whatever is no wider and fits best fills it up."""
    rips = task.stocks[stock].rips
    left = [0 if rips[shape] is None else count for shape, count in enumerate(wanted)]
    order = sorted(
        (shape for shape, count in enumerate(left) if count),
        key=lambda shape: (-(rips[shape] or 0.0), -task.shapes[shape].rule.length(left[shape]), shape),
    )
    across = width_room(task.stocks[stock].width, task.shop)
    lanes: list[Lane] = []
    for shape in order:
        needs = (rips[shape] or 0.0) + task.shop.rip_kerf
        while left[shape] and needs <= across + TOLERANCE:
            parts = _fill_lane(task, shape, [other for other in order if left[other]], left, room)
            if not parts:
                break
            lanes.append(task.lane(stock, parts))
            across -= needs
    return Layout(stock, tuple(lanes)) if lanes else None


def _fill_lane(
    task: Task, first: int, order: Sequence[int], left: list[int], room: float
) -> list[tuple[int, int]]:
    """Strips for one lane, taken from `left`. `order` runs from the widest to the narrowest."""
    parts: list[tuple[int, int]] = []
    following = [first, *(shape for shape in order[order.index(first) + 1 :])]
    while following:
        shape, count = _best_fit(task, following, left, room, opening=not parts)
        if not count:
            break
        parts.append((shape, count))
        left[shape] -= count
        room -= task.shapes[shape].rule.length(count)
        following = [other for other in following if other != shape and left[other]]
    return parts


def _best_fit(
    task: Task, shapes: Sequence[int], left: Sequence[int], room: float, *, opening: bool
) -> tuple[int, int]:
    """The strip that leaves the least room. A shape is split only if it needs several strips anyway."""
    best, best_room = (shapes[0], 0), room
    for shape in shapes[:1] if opening else shapes:
        rule = task.shapes[shape].rule
        count = min(left[shape], rule.segments_in(room))
        if count and (opening or count == left[shape]) and room - rule.length(count) < best_room:
            best, best_room = (shape, count), room - rule.length(count)
    return best
