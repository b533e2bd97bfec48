"""The search for the cheapest plan of one task, and the bound that says how far it can be from the best."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from estimating.wood.bestfit import first_answer
from estimating.wood.layouts import Layout, Task, lane_room, layout_cost


@dataclass(frozen=True, slots=True)
class Answer:
    """A plan that gives exactly the segments wanted, and a bound under the cost of every such plan."""

    layouts: tuple[Layout, ...]
    bound: float
    proven: bool


def least_cost(task: Task, *, effort: int) -> Answer:
    """The cheapest plan found."""
    plan = first_answer(task)
    assert plan is not None, "tasks are made so that the boards reach"
    cost = sum(layout_cost(task, layout) for layout in plan)
    bound = face_bound(task)
    return Answer(tuple(plan), min(bound, cost), cost <= bound * (1 + 1e-9))


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


def plan_cost(task: Task, layouts: Sequence[Layout]) -> float:
    """Not rounded."""
    return sum(layout_cost(task, layout) for layout in layouts)
