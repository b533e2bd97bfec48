"""One board filled at once: the widest strip opens a lane, and what fills the lane best goes with it."""

from collections.abc import Sequence

from estimating.wood.layouts import (
    TOLERANCE,
    Lane,
    Layout,
    Task,
    rips_safely,
    width_room,
)

CHOICES = 8
"""How many of the next strips are looked at for each place in a lane."""


def fill(task: Task, stock: int, wanted: Sequence[int], room: float) -> Layout | None:
    """One board filled with lanes up to `room` long, from the widest strip down; None where nothing fits."""
    rips = task.stocks[stock].rips
    left = [0 if rips[shape] is None else count for shape, count in enumerate(wanted)]
    order = sorted(
        (shape for shape, count in enumerate(left) if count),
        key=lambda shape: (-(rips[shape] or 0.0), -task.shapes[shape].rule.length(left[shape]), shape),
    )
    across = width_room(task.stocks[stock].width, task.shop)
    lanes: list[Lane] = []
    for at, shape in enumerate(order):
        takes = (rips[shape] or 0.0) + task.shop.rip_kerf
        while left[shape] and takes <= across + TOLERANCE:
            first = min(left[shape], task.shapes[shape].rule.segments_in(room))
            if not first:
                break
            rest = [other for other in order[at + 1 :] if left[other]]  # none wider
            parts: tuple[tuple[int, int], ...] = (
                (shape, first),
                *_fill_up(task, stock, rest, left, room - task.shapes[shape].rule.length(first)),
            )
            while not rips_safely(task, stock, parts):  # the last is the narrowest
                parts = parts[:-1]
            for part, count in parts:
                left[part] -= count
            lanes.append(task.lane(stock, parts))
            across -= takes
    return Layout(stock, tuple(lanes)) if lanes else None


def _fill_up(
    task: Task, stock: int, shapes: Sequence[int], left: Sequence[int], room: float
) -> tuple[tuple[int, int], ...]:
    """The strips, whole or part, that cover most face of the rest of a lane; depth first, so many tries.

    Shapes come widest first, so that no way of going on covers more than the space left at the next one's width.
    """
    rips = task.stocks[stock].rips
    # Read out once: this is the innermost loop of the whole plan.
    ways = [
        (shape, task.shapes[shape].rule.once, task.shapes[shape].rule.each, rips[shape] or 0.0, left[shape])
        for shape in shapes
    ]
    best: tuple[float, tuple[tuple[int, int], ...]] = (0.0, ())
    stack: list[tuple[int, float, float, tuple[tuple[int, int], ...]]] = [(0, room, 0.0, ())]
    for _ in range(task.tries):
        if not stack:
            break
        begin, space, face, parts = stack.pop()
        if face > best[0] + TOLERANCE:
            best = (face, parts)
        if begin >= len(ways) or face + space * ways[begin][3] <= best[0] + TOLERANCE:
            continue
        for at in range(min(len(ways), begin + CHOICES) - 1, begin - 1, -1):
            shape, once, each, rip, wanted = ways[at]
            count = min(wanted, int((space - once) / each + 1e-9)) if space >= once else 0
            if count:
                # A part costs another strip's ends elsewhere.
                more = (count * each + (once if count == wanted else 0.0)) * rip
                stack.append((at + 1, space - once - count * each, face + more, (*parts, (shape, count))))
    return best[1]
