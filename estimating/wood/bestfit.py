"""A first sawing plan at once, board by board."""

from collections.abc import Sequence

from estimating.wood.filling import fill
from estimating.wood.layouts import Layout, Task, boards_used, has_left, layout_cost, layout_penalty
from estimating.wood.oneboard import TRIES, search_one_board

MOST_FILLED = 10_000
"""Shapes x kinds of board that are tried before one is chosen, so that a task of thousands comes to an end."""

FAR_MORE = 8
"""Boards still to be laid out one by one when many alike have been."""


def first_answer(task: Task) -> list[Layout] | None:
    """Boards that give every segment wanted, None where, filled this way, they do not reach.

    Board by board, the one that costs least for the wood it gives; the last by `oneboard.search_one_board`.
    """
    wanted = [shape.wanted for shape in task.shapes]
    used = [0] * len(task.stocks)
    plan: list[Layout] = []
    while any(wanted):
        options = _next_boards(task, wanted, used)
        if not options:
            return None
        best = min(options, key=lambda layout: _dearness(task, layout))
        count, given = task.stocks[best.stock].count, best.segments(len(wanted))
        # While far more is wanted than a board holds, the next board would be laid out just like this one.
        alike = max(1, min(want // got for want, got in zip(wanted, given, strict=True) if got) - FAR_MORE)
        if count is not None:
            alike = min(alike, max(1, count - boards_used(task, used, task.stocks[best.stock].cell)))
        used[best.stock] += alike
        wanted = [want - alike * got for want, got in zip(wanted, given, strict=True)]
        plan += [best] * alike
    return plan


def _next_boards(task: Task, wanted: Sequence[int], used: Sequence[int]) -> list[Layout]:
    """One board filled of each kind that is left; of very many kinds, the first few that give anything."""
    stocks = [stock for stock in range(len(task.stocks)) if has_left(task, used, stock)]
    at_once = max(1, MOST_FILLED // len(task.shapes))
    for start in range(0, len(stocks), at_once):
        options = [_filled(task, stock, wanted) for stock in stocks[start : start + at_once]]
        if found := [layout for layout in options if layout]:
            return found
    return []


def _filled(task: Task, stock: int, wanted: Sequence[int]) -> Layout | None:
    full = fill(task, stock, wanted, task.stocks[stock].room)
    every = full if full and full.segments(len(wanted)) == wanted else None
    tries = min(TRIES, task.tries)
    return search_one_board(task, stock, wanted, known=every, tries=tries)[0] or full


def _dearness(task: Task, layout: Layout) -> tuple[float, ...]:
    """Cost for the wood it gives; the last resort last."""
    given = layout.segments(len(task.shapes))
    volume = sum(shape.volume * count for shape, count in zip(task.shapes, given, strict=True))
    stock = task.stocks[layout.stock]
    penalty = layout_penalty(task, layout)
    return (penalty / volume, layout_cost(task, layout) / volume, stock.volume / volume)
