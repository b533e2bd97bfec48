"""A first sawing plan at once, board by board."""

from estimating.wood.filling import fill
from estimating.wood.layouts import Layout, Task, lane_room, layout_cost, layout_penalty
from estimating.wood.oneboard import search_one_board

FAR_MORE = 8
"""Boards still to be laid out one by one when many alike have been."""


def first_answer(task: Task) -> list[Layout] | None:
    """Boards that give every segment wanted, None where, filled this way, they do not reach.

    Board by board, the one that costs least for the wood it gives; the last by `oneboard.search`.
    """
    wanted = [shape.wanted for shape in task.shapes]
    left = [stock.count for stock in task.stocks]
    plan: list[Layout] = []
    while any(wanted):
        options: list[Layout] = []
        for stock in (stock for stock, count in enumerate(left) if count != 0):
            full = fill(task, stock, wanted, lane_room(task.stocks[stock].length, task.shop))
            every = full if full and full.segments(len(wanted)) == wanted else None
            last = search_one_board(task, stock, wanted, known=every)[0]
            options += [layout for layout in (last or full,) if layout]
        if not options:
            return None
        best = min(options, key=lambda layout: _dearness(task, layout))
        count, given = left[best.stock], best.segments(len(wanted))
        # While far more is wanted than a board holds, the next board would be laid out just like this one.
        alike = max(1, min(want // got for want, got in zip(wanted, given, strict=True) if got) - FAR_MORE)
        alike = alike if count is None else min(alike, count)
        left[best.stock] = None if count is None else count - alike
        wanted = [want - alike * got for want, got in zip(wanted, given, strict=True)]
        plan += [best] * alike
    return plan


def _dearness(task: Task, layout: Layout) -> tuple[float, ...]:
    """Cost for the wood it gives; the last resort last."""
    given = layout.segments(len(task.shapes))
    volume = sum(shape.volume * count for shape, count in zip(task.shapes, given, strict=True))
    stock = task.stocks[layout.stock]
    penalty = layout_penalty(task, layout)
    return (penalty / volume, layout_cost(task, layout) / volume, stock.length * stock.width / volume)
