"""From the relaxation down to a plan: one board is settled, what is left is looked at afresh, and so on."""

from collections.abc import Sequence
from dataclasses import replace

from estimating.wood.bestfit import first_answer
from estimating.wood.columns import Column, Cover, shares
from estimating.wood.layouts import Layout, Task, plan_rank
from estimating.wood.trimming import trim


def dive(
    task: Task, columns: Sequence[Column], layouts: dict[Column, Layout], plan: list[Layout]
) -> list[Layout]:
    """The best of `plan` and the plans found on the way down.

    At each step the board that the relaxation uses most is settled, and the rest is filled by best fit.
    """
    settled: list[Layout] = []
    left = task
    while any(shape.wanted for shape in left.shapes):
        chosen = _most_used(left, columns)
        if chosen is None:
            break
        settled.append(layouts[chosen])
        left = _left_over(left, layouts[chosen])
        rest = first_answer(left)
        if rest is not None:
            plan = min(plan, trim(task, [*settled, *rest]), key=lambda way: plan_rank(task, way))
    return plan


def cover_of(task: Task, *, least: int) -> Cover:
    """The segments of a task to be covered by boards of its stocks, by at least so many."""
    wanted = tuple(shape.wanted for shape in task.shapes)
    weight = max(
        sum(want * each for want, each in zip(wanted, at.penalty, strict=False)) for at in task.stocks
    )
    return Cover(
        wanted=wanted,
        limits=tuple(sum(wanted) if at.count is None else at.count for at in task.stocks),
        least=least,
        dearest=max(at.price for at in task.stocks) + weight,
    )


def _most_used(task: Task, columns: Sequence[Column]) -> Column | None:
    """The column the relaxation uses most of those that waste no segment; the fuller where it uses two alike."""
    cover = cover_of(task, least=0)
    uses = shares(cover=cover, columns=columns)
    best: tuple[float, int, Column] | None = None
    for column, use in zip(columns, uses, strict=True):
        surplus = any(gives > want for gives, want in zip(column.gives, cover.wanted, strict=True))
        key = (round(min(use, 1.0), 6) - surplus, sum(column.gives))
        if use > 1e-6 and (best is None or key > best[:2]):
            best = (*key, column)
    return best[2] if best else None


def _left_over(task: Task, layout: Layout) -> Task:
    """What is still to do, and with which boards, when one is settled."""
    given = layout.segments(len(task.shapes))
    shapes = [
        replace(shape, wanted=max(0, shape.wanted - got))
        for shape, got in zip(task.shapes, given, strict=True)
    ]
    stocks = [
        replace(stock, count=None if stock.count is None else stock.count - (number == layout.stock))
        for number, stock in enumerate(task.stocks)
    ]
    return replace(task, shapes=tuple(shapes), stocks=tuple(stocks))
