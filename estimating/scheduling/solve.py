"""The scheduler: tasks put in time for the least lateness, then the earliest finish, then the fewest visits."""

from collections.abc import Sequence
from math import ceil
from typing import TYPE_CHECKING

from estimating.errors import InvalidInput
from estimating.scheduling.blocks import Prepared, prepare
from estimating.scheduling.order import Network, least_finish, least_late
from estimating.scheduling.problem import Attended, Hold, Link, Problem, Solution, Task
from estimating.scheduling.serial import climbed, pulled_forward, serial, serial_starts, value, visited

if TYPE_CHECKING:
    from estimating.scheduling.model import Manner, Model

__all__ = ["Attended", "Hold", "Link", "Problem", "Solution", "Task", "serial", "solve"]

WORK = {"late": 0.5, "finish": 2.5, "visits": 0.3}
"""Solver work at effort 1, in CP-SAT's deterministic time: one of it was 3 to 7 s on a busy core."""

ROUNDS: Sequence[tuple["Manner", float]] = (("bound", 0.5), ("improve", 0.2), ("prove", 0.3))
"""The manners of seeking one after the other, each from what was found before it, with its share of the work."""

MOST_BLOCKS = 1_500
"""Of more tasks than this, those that go together counted as one, the serial schedule is the answer."""


def solve(problem: Problem, *, effort: float = 1.0) -> Solution:
    """The best schedule found, with a bound: no schedule finishes before it.

    A plain resource-constrained project needs no more than tasks with what they use, links and capacities:

    >>> tasks = [Task("saw", 3, {"people": 2}), Task("glue", 2, {"people": 1}), Task("sand", 2, {"people": 1})]
    >>> found = solve(Problem(tasks, [Link(0, 1)], {"people": 2}))
    >>> found.starts, found.finish, found.proven
    ((0, 3, 3), 5, True)

    `effort` is how long to seek, in solver work and not in seconds: the same problem has the same answer each time.
    Units: whole minutes, or whatever whole unit the problem is in.
    Errors: InvalidInput, naming the task, link, hold or window; at `horizon` when no order of work tried fits.
    """
    prepared = prepare(problem)
    network = Network(prepared)
    search = _Search(prepared, network, effort)
    search.least_late()
    search.earliest()
    search.fewest_visits()
    starts = pulled_forward(prepared, search.starts)
    late, finish, visits = value(prepared, starts)
    return Solution(starts, finish, search.bound, search.on_time and finish == search.bound, visits, late)


class _Search:
    """The best schedule so far, made better stage by stage. The solver is loaded when there is something to seek."""

    def __init__(self, prepared: Prepared, network: Network, effort: float) -> None:
        self.prepared, self.network, self.effort = prepared, network, effort
        self.starts = self._first()
        self.too_many = len(prepared.blocks) > MOST_BLOCKS
        self.bound = least_finish(network)
        self.late, self.finish, self.visits = value(prepared, self.starts)
        self.on_time = self.late == least_late(network)

    def _first(self) -> tuple[int, ...]:
        """The serial schedule; where its orders all fail, whatever the solver finds."""
        try:
            return serial_starts(self.prepared)
        except InvalidInput:
            horizon, due = self.prepared.horizon, self.prepared.problem.due
            late = sum(max(0, horizon - moment) for moment in due.values())
            model = self._model(finish=horizon, late=late)
            if not model.possible:
                raise
            found = model.least(model.finish, manner="prove", work=self.effort * WORK["finish"])
            if found.starts is None:
                raise
            return found.starts

    def _model(self, *, finish: int, late: int, least: int = 0) -> "Model":
        from estimating.scheduling.model import Model

        return Model(self.prepared, self.network, finish=finish, late=late, least=least)

    def _take(self, starts: tuple[int, ...] | None) -> None:
        if starts is not None and value(self.prepared, starts) < (self.late, self.finish, self.visits):
            self.starts = pulled_forward(self.prepared, starts)
            self.late, self.finish, self.visits = value(self.prepared, self.starts)

    def least_late(self) -> None:
        """The fewest minutes past due, whenever it all ends."""
        for manner, share in ROUNDS:
            if self.on_time or self.too_many:
                return
            model = self._model(finish=self.prepared.horizon, late=self.late)
            model.hint(self.starts)
            found = model.least(model.late, manner=manner, work=self.effort * WORK["late"] * share)
            self._take(found.starts)
            self.on_time = found.proven or self.late <= ceil(found.bound - 1e-6)

    def earliest(self) -> None:
        """The earliest finish that is no later past due."""
        if not self.too_many:
            self._take(climbed(self.prepared, self.starts, self.bound))
        for manner, share in ROUNDS:
            if self.finish == self.bound or self.too_many:
                return
            model = self._model(finish=self.finish, late=self.late, least=self.bound)
            model.hint(self.starts)
            found = model.least(model.finish, manner=manner, work=self.effort * WORK["finish"] * share)
            self._take(found.starts)
            if found.starts is not None:
                self.bound = max(self.bound, ceil(found.bound - 1e-6))

    def fewest_visits(self) -> None:
        """The fewest visits that finish no later."""
        if self.visits <= 1 or self.too_many:
            return
        model = self._model(finish=self.finish, late=self.late, least=self.bound)
        fixed = [self.prepared.fixed.get(task, NEVER) for task in range(len(self.starts))]
        visits = model.visits(visited(self.prepared, fixed))
        model.hint(self.starts)
        self._take(model.least(visits, manner="prove", work=self.effort * WORK["visits"]).starts)


NEVER = -(10**12)
"""A start in no window."""
