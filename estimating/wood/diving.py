"""From the relaxation down to a plan: one board is settled, what is left is looked at afresh, and so on."""

from collections.abc import Sequence
from dataclasses import replace
from math import floor

from estimating.wood.bestfit import first_answer
from estimating.wood.columns import Column, Cover, shares
from estimating.wood.layouts import Layout, Task, plan_rank
from estimating.wood.trimming import trim


def dive(
    task: Task, columns: Sequence[Column], layouts: dict[Column, Layout], plan: list[Layout]
) -> list[Layout]:
    """The best of `plan` and the plans found on the way down.

    At each step the board that the relaxation uses most is settled, as often as it is used whole, and the rest is
    filled by best fit.
    """
    settled: list[Layout] = []
    left = task
    while any(shape.wanted for shape in left.shapes):
        used = _most_used(left, columns)
        if used is None:
            break
        chosen, copies = used
        settled += [layouts[chosen]] * copies
        left = _left_over(left, layouts[chosen], copies)
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


def _most_used(task: Task, columns: Sequence[Column]) -> tuple[Column, int] | None:
    """The column the relaxation uses most of those that waste no segment, and how often it is used whole.

    The fuller where it uses two alike.
    """
    cover = cover_of(task, least=0)
    uses = shares(cover=cover, columns=columns)
    best: tuple[float, int, Column, int] | None = None
    for column, use in zip(columns, uses, strict=True):
        surplus = any(gives > want for gives, want in zip(column.gives, cover.wanted, strict=True))
        key = (round(min(use, 1.0), 6) - surplus, sum(column.gives))
        if use > 1e-6 and (best is None or key > best[:2]):
            room = min(
                (want // gives for gives, want in zip(column.gives, cover.wanted, strict=True) if gives),
                default=1,
            )
            best = (*key, column, max(1, min(floor(use + 1e-6), room)))
    return best[2:] if best else None


def _left_over(task: Task, layout: Layout, copies: int) -> Task:
    """What is still to do, and with which boards, when so many of one layout are settled."""
    given = layout.segments(len(task.shapes))
    shapes = [
        replace(shape, wanted=max(0, shape.wanted - copies * got))
        for shape, got in zip(task.shapes, given, strict=True)
    ]
    stocks = [
        replace(stock, count=None if stock.count is None else stock.count - copies * (number == layout.stock))
        for number, stock in enumerate(task.stocks)
    ]
    return replace(task, shapes=tuple(shapes), stocks=tuple(stocks))
