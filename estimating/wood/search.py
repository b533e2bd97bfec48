"""The search for the cheapest plan of one task, and the bound that says how far it can be from the best."""

from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil

from estimating.wood.annealing import anneal
from estimating.wood.bestfit import first_answer
from estimating.wood.layouts import Layout, Task, plan_cost, plan_rank

MOST_STRIPS = 1000
"""Beyond so many strips the first answer stands: they are too many to be moved about."""

CHANGES = 100
FEWEST_CHANGES, MOST_CHANGES = 400, 12_000
"""Changes that one annealing makes: for each pair of strips, at least and at most. There are as many as the effort."""

PROOF = 1e-9
"""Relative distance to the bound at which a plan is proven."""


@dataclass(frozen=True, slots=True)
class Answer:
    """A plan that gives exactly the segments wanted, and a bound under the cost of every such plan."""

    layouts: tuple[Layout, ...]
    bound: float
    proven: bool


# A page asks again for the same boards after every edit that changes no strip, and for each wood that did not change.
@lru_cache(maxsize=256)
def least_cost(task: Task, *, effort: int, free: Task | None = None) -> Answer:
    """The cheapest plan found, and the best bound.

    A first answer comes by best fit; if the face that the strips cover does not prove it, it is annealed, and bounds
    over patterns of boards are made, as far as `effort` goes. `free` is the same task with less asked of the plan, for
    which the bound holds as well. Where all boards are free, the least face of boards is sought.
    """
    if all(stock.price == 0 for stock in task.stocks):
        priced = replace(task, stocks=tuple(replace(at, price=at.length * at.width) for at in task.stocks))
        return Answer(least_cost(priced, effort=effort).layouts, 0.0, True)
    plan = first_answer(task)
    assert plan is not None, "tasks are made so that the boards reach"
    asked = free or task
    bound = face_bound(asked)
    if effort > 0 and plan_cost(task, plan) > bound * (1 + PROOF):
        from estimating.wood.patterns import (
            pattern_bound,
        )  # brings in the solver: only when there is work for it

        plan = _annealed(task, plan, effort)
        if plan_cost(task, plan) > bound * (1 + PROOF):
            bound = pattern_bound(asked, _in(asked, plan), bound, effort=effort)
            if any(stock.penalty for stock in asked.stocks):
                # Where buying is the last resort its weight drowns the cost; nothing costs less without it either.
                plain = replace(asked, stocks=tuple(replace(stock, penalty=()) for stock in asked.stocks))
                bound = pattern_bound(plain, _in(plain, plan), bound, effort=effort)
    cost = plan_cost(task, plan)
    return Answer(tuple(plan), min(bound, cost), cost <= bound * (1 + PROOF))


def _annealed(task: Task, plan: list[Layout], effort: int) -> list[Layout]:
    strips = sum(len(lane.parts) for layout in plan for lane in layout.lanes)
    if strips > MOST_STRIPS:
        return plan
    changes = max(FEWEST_CHANGES, min(MOST_CHANGES, CHANGES * strips**2))
    # Anew with other draws rather than once for longer: that found cheaper plans, and more effort never a dearer one.
    ways = (anneal(task, plan, changes=changes, seed=seed) for seed in range(effort))
    return min(ways, key=lambda way: plan_rank(task, way))


def _in(task: Task, plan: list[Layout]) -> list[Layout]:
    """The same strips as a plan of another task, whose lanes may be narrower."""
    return [
        Layout(layout.stock, tuple(task.lane(layout.stock, lane.parts) for lane in layout.lanes))
        for layout in plan
    ]


def face_bound(task: Task) -> float:
    """No plan costs less than the face that its strips cover, at each strip's cheapest board.

    A strip takes length x rip width of a board's face and is never part of an offcut; where the edges are
    trimmed, a rip kerf along it likewise (where they are not, the last kerf may run off the edge). A shape
    needs at least as many strips as fill the longest lane, and each brings its own kerf, slant and
    hold-down.
    """
    kerf = task.shop.rip_kerf if task.shop.board_edge_trim > 0 else 0.0
    return sum(_least_face(task, shape, kerf) for shape in range(len(task.shapes)))


def _least_face(task: Task, shape: int, kerf: float) -> float:
    rule, wanted = task.shapes[shape].rule, task.shapes[shape].wanted
    fitting = [(stock, rip) for stock in task.stocks if (rip := stock.rips[shape]) is not None]
    most = max(rule.segments_in(stock.room) for stock, _ in fitting)
    length = ceil(wanted / most) * rule.once + wanted * rule.each
    return length * min(stock.rate * (rip + kerf) for stock, rip in fitting)
