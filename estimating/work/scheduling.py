"""The scheduler: tasks put in time for the least lateness, then the earliest finish, then the fewest visits."""

from math import ceil

from estimating.errors import InvalidInput
from estimating.work.scheduling_blocks import Prepared, prepare
from estimating.work.scheduling_order import Network, least_finish, least_late
from estimating.work.scheduling_problem import Attended, Hold, Link, Problem, Solution, Task
from estimating.work.serial import pulled_forward, serial, serial_starts, value, visited

__all__ = ["Attended", "Hold", "Link", "Problem", "Solution", "Task", "serial", "solve"]

WORK = {"late": 0.5, "finish": 1.5, "visits": 0.3}
"""Solver work at effort 1, in CP-SAT's deterministic time: one of it was 3 to 5 s on a core."""

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
            from estimating.work.scheduling_model import Model

            horizon, due = self.prepared.horizon, self.prepared.problem.due
            late = sum(max(0, horizon - moment) for moment in due.values())
            model = Model(self.prepared, self.network, finish=horizon, late=late)
            found = (
                model.least(model.finish, work=self.effort * WORK["finish"])[0] if model.possible else None
            )
            if found is None:
                raise
            return found

    def _take(self, starts: tuple[int, ...] | None) -> None:
        if starts is not None and value(self.prepared, starts) < (self.late, self.finish, self.visits):
            self.starts = pulled_forward(self.prepared, starts)
            self.late, self.finish, self.visits = value(self.prepared, self.starts)

    def least_late(self) -> None:
        """The fewest minutes past due, whenever it all ends."""
        if self.on_time or self.too_many:
            return
        from estimating.work.scheduling_model import Model

        model = Model(self.prepared, self.network, finish=self.prepared.horizon, late=self.late)
        model.hint(self.starts)
        found, _, self.on_time = model.least(model.late, work=self.effort * WORK["late"])
        self._take(found)

    def earliest(self) -> None:
        """The earliest finish that is no later past due."""
        if self.finish == self.bound or self.too_many:
            return
        from estimating.work.scheduling_model import Model

        model = Model(self.prepared, self.network, finish=self.finish, late=self.late)
        model.hint(self.starts)
        found, bound, _ = model.least(model.finish, work=self.effort * WORK["finish"])
        self._take(found)
        if found is not None:
            self.bound = max(self.bound, ceil(bound - 1e-6))

    def fewest_visits(self) -> None:
        """The fewest visits that finish no later."""
        if self.visits <= 1 or self.too_many:
            return
        from estimating.work.scheduling_model import Model

        model = Model(self.prepared, self.network, finish=self.finish, late=self.late)
        model.hint(self.starts)
        fixed = [self.prepared.fixed.get(task, NEVER) for task in range(len(self.starts))]
        found, _, _ = model.least(
            model.visits(visited(self.prepared, fixed)), work=self.effort * WORK["visits"]
        )
        self._take(found)


NEVER = -(10**12)
"""A start in no window."""
