"""A plan that gives more segments than are wanted, cut back where it saves most."""

from collections.abc import Iterator, Sequence

from estimating.wood.layouts import Lane, Layout, Task, layout_cost, layout_penalty


def trim(task: Task, layouts: Sequence[Layout]) -> list[Layout]:
    """The same boards without what is over; boards left empty go back whole."""
    plan = list(layouts)
    over = [-shape.wanted for shape in task.shapes]
    for layout in plan:
        for shape, count in enumerate(layout.segments(len(over))):
            over[shape] += count
    while any(count > 0 for count in over):
        plan, over = _best_cut(task, plan, over)
    return plan


def _best_cut(task: Task, plan: list[Layout], over: list[int]) -> tuple[list[Layout], list[int]]:
    """One strip less, or shorter by what is over: the one that saves most."""
    best: tuple[float, int, Layout, int, int] | None = None
    for layout, number in {layout: number for number, layout in reversed(list(enumerate(plan)))}.items():
        before = layout_cost(task, layout) + layout_penalty(task, layout)
        for smaller, shape, count in _cuts(task, layout, over):
            after = layout_cost(task, smaller) + layout_penalty(task, smaller) if smaller.lanes else 0.0
            if best is None or before - after > best[0]:
                best = (before - after, number, smaller, shape, count)
    assert best is not None, "what is over is in some strip"
    _, number, smaller, shape, count = best
    rest = [smaller] if smaller.lanes else []
    left = [amount - count if at == shape else amount for at, amount in enumerate(over)]
    return plan[:number] + rest + plan[number + 1 :], left


def _cuts(task: Task, layout: Layout, over: Sequence[int]) -> Iterator[tuple[Layout, int, int]]:
    """Each way to take what is over of the first such shape from one strip."""
    first = next(shape for shape, count in enumerate(over) if count > 0)
    # Of lanes that are alike the first stands for all: a board of hundreds of thin ones would be tried for minutes.
    alike: dict[Lane, int] = {}
    for at, lane in enumerate(layout.lanes):
        alike.setdefault(lane, at)
    for lane, at in alike.items():
        for part, (shape, count) in enumerate(lane.parts):
            taken = min(count, over[shape])
            if shape != first or not taken:
                continue
            kept = [(shape, count - taken)] if count > taken else []
            parts = [*lane.parts[:part], *kept, *lane.parts[part + 1 :]]
            lanes = [task.lane(layout.stock, parts)] if parts else []
            yield Layout(layout.stock, (*layout.lanes[:at], *lanes, *layout.lanes[at + 1 :])), shape, taken
