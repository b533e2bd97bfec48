"""The search for the cheapest plan of one task, and the bound that says how far it can be from the best."""

from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil

from estimating.wood.bestfit import first_answer
from estimating.wood.layouts import Layout, Task, lane_room, plan_cost

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
def least_cost(task: Task, *, effort: int) -> Answer:
    """The cheapest plan found, and the best bound.

    A first answer comes by best fit; if the face that the strips cover does not prove it, patterns are made
    (`patterns.improve`) as far as `effort` goes. Where all boards are free, the least face of boards is
    sought.
    """
    if all(stock.price == 0 for stock in task.stocks):
        free = replace(task, stocks=tuple(replace(at, price=at.length * at.width) for at in task.stocks))
        return Answer(least_cost(free, effort=effort).layouts, 0.0, True)
    plan = first_answer(task)
    assert plan is not None, "tasks are made so that the boards reach"
    bound = face_bound(task)
    if effort > 0 and plan_cost(task, plan) > bound * (1 + PROOF):
        from estimating.wood.patterns import improve  # brings in the solver: only when there is work for it

        plan, bound = improve(task, plan, bound, effort=effort)
    cost = plan_cost(task, plan)
    return Answer(tuple(plan), min(bound, cost), cost <= bound * (1 + PROOF))


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
    most = max(rule.segments_in(lane_room(stock.length, task.shop)) for stock, _ in fitting)
    length = ceil(wanted / most) * rule.once + wanted * rule.each
    return length * min(stock.rate * (rip + kerf) for stock, rip in fitting)
