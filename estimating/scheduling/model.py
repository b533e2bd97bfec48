"""The constraint program of a scheduling problem: starts, intervals, windows and the finish, for OR-Tools' CP-SAT."""

from bisect import bisect_right
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from math import inf
from operator import add
from typing import Any, Literal

from ortools.sat.python import cp_model

from estimating.scheduling.blocks import OpenHold, Prepared
from estimating.scheduling.order import Network, least_finish, least_late
from estimating.scheduling.profile import taken_steps
from estimating.scheduling.windows import Ranges, breaks, shared, shifted

Starts = tuple[int, ...]

Told = Callable[[Sequence[int]], int]
"""A variable's value where the blocks have these starts."""

Manner = Literal["bound", "improve", "prove"]

COMMON: Mapping[str, Any] = {
    "num_workers": 1,  # two would make the answer hang on which is quicker
    "use_strong_propagation_in_disjunctive": True,
    "use_hard_precedences_in_cumulative": True,
    "exploit_all_precedences": True,
}
"""Measured on made-up projects of 30 and 60 activities: a fifth less work to the proof, and higher bounds."""

MANNERS: Mapping[Manner, Mapping[str, Any]] = {
    "bound": {"use_objective_lb_search": True, "cp_model_probing_level": 0},
    "improve": {"use_lns_only": True, "cp_model_probing_level": 0},
    "prove": {},
}
"""Lift the bound from below, make the schedule better piece by piece, or seek everywhere: none does it all."""


@dataclass(frozen=True, slots=True)
class Found:
    """The starts found, if any; no schedule has less of the aim than `bound`; `proven`: nor than the one found."""

    starts: Starts | None
    bound: float
    proven: bool


MOST_CHOICES = 30_000
"""With more windows to choose from than this, of all tasks together, the choice is left out: it would take too long."""


class Model:
    """A program for the schedules that end by `finish` and are `late` minutes at most past due, all tasks together.

    None ends before `least`, as is known already.

    A start is a whole minute for each block. What one person does is kept apart by intervals, with the breaks between
    windows among them. Each attended task also has a yes or no for each window it could lie in, and the work in a
    window is held to its length: this is what proves a packing of windows least, where intervals alone do not.
    """

    def __init__(
        self, prepared: Prepared, network: Network, *, finish: int, late: int, least: int = 0
    ) -> None:
        self.prepared = prepared
        self.network = network
        self.model: Any = cp_model.CpModel()
        self.spans = network.spans(finish, late)
        self.possible = all(self.spans)
        self.told: list[tuple[Any, Told]] = []
        """Every variable beside the starts."""
        if not self.possible:
            return
        self.starts = [
            self.model.new_int_var_from_domain(_domain(own), f"start {at}")
            for at, own in enumerate(self.spans)
        ]
        lengths = [block.minutes for block in prepared.blocks]
        self.finish = self.model.new_int_var(least or least_finish(network), finish, "finish")
        fixed_end = max(
            (prepared.fixed[at] + prepared.problem.tasks[at].minutes for at in prepared.fixed), default=0
        )
        self.told.append((self.finish, lambda at: max(fixed_end, *map(add, at, lengths))))
        for block, start in zip(prepared.blocks, self.starts, strict=True):
            self.model.add(self.finish >= start + block.minutes)
        for arc in prepared.arcs:
            self.model.add(self.starts[arc.after] >= self.starts[arc.before] + arc.gap)
        self.late = self._lateness(late)
        for resource, capacity in prepared.problem.capacities.items():
            self._add_resource(resource, capacity, finish)
        self.lies = self._windows()

    def _task_starts(self) -> Iterator[tuple[int, int, Any]]:
        """The tasks that are not fixed, with their block and their start."""
        for task, (block, offset) in self.prepared.place.items():
            yield task, block, self.starts[block] + offset

    def _lateness(self, most: int) -> Any:
        """The minutes past due, of all tasks together."""
        problem = self.prepared.problem
        parts: list[Any] = []
        for task in self.prepared.place:
            if task in problem.due:
                part = self.model.new_int_var(0, most, f"late {task}")
                block, offset = self.prepared.place[task]
                past = offset + problem.tasks[task].minutes - problem.due[task]
                self.model.add(part >= self.starts[block] + past)
                self.told.append((part, partial(_over, block, past)))
                parts.append(part)
        helpless = sum(
            max(0, self.prepared.fixed[task] + problem.tasks[task].minutes - due)
            for task, due in problem.due.items()
            if task in self.prepared.fixed
        )
        late = sum(parts) + helpless
        if parts:
            self.model.add(late <= most)
            self.model.add(late >= least_late(self.network))
        return late

    def _add_resource(self, resource: str, capacity: int, finish: int) -> None:
        used = [*self._used(resource), *self._held(resource, finish)]
        if not used:
            return
        first = min(own[0][0] for own in self.spans)
        closed = [
            (low, high, min(amount, capacity)) for low, high, amount in taken_steps(self.prepared, resource)
        ]
        if self.prepared.windows and resource in attended_only(self.prepared):
            closed = [(low, high, capacity) for low, high in breaks(self.prepared.windows, first, finish)] + [
                (low, high, amount)
                for start, end, amount in closed
                for low, high in shared(self.prepared.windows, ((start, end),))
                if low < high
            ]
        for low, high, amount in closed:
            used.append((self.model.new_fixed_size_interval_var(low, high - low, f"taken {low}"), amount))
        if capacity == 1:
            self.model.add_no_overlap([interval for interval, _ in used])
        else:
            self.model.add_cumulative(
                [interval for interval, _ in used], [amount for _, amount in used], capacity
            )

    def _used(self, resource: str) -> Iterator[tuple[Any, int]]:
        for at, block in enumerate(self.prepared.blocks):
            for use in block.uses:
                if use.resource == resource:
                    start = self.starts[at] + use.offset
                    yield self.model.new_fixed_size_interval_var(start, use.minutes, f"use {at}"), use.amount

    def _held(self, resource: str, finish: int) -> Iterator[tuple[Any, int]]:
        for at, hold in enumerate(self.prepared.holds):
            if hold.resource == resource:
                now = self.prepared.problem.not_before
                first = max(hold.start, now) if hold.first is None else self.starts[hold.first] + hold.start
                minutes = self.model.new_int_var(0, finish - now, f"held {at}")
                last = self.starts[hold.last] + hold.end
                self.told.append((minutes, partial(_held_for, hold, now)))
                yield self.model.new_interval_var(first, minutes, last, f"hold {at}"), 1

    def _windows(self) -> Mapping[int, Sequence[Any]]:
        """For each window, whether each attended task that could lie in it does; the work in it held to its length."""
        problem, windows = self.prepared.problem, self.prepared.windows
        attended = [one for one in self._task_starts() if windows and problem.tasks[one[0]].attended]
        lies: dict[int, list[Any]] = {}
        self.told_of: dict[int, list[Told]] = {}
        work: dict[tuple[int, str], list[tuple[Any, int]]] = {}
        if sum(len(self.spans[block]) for _, block, _ in attended) > MOST_CHOICES:
            return lies
        for task, block, start in attended:
            own = problem.tasks[task]
            choice = []
            for window, allowed in self._by_window(shifted(self.spans[block], self.prepared.place[task][1])):
                here = self.model.new_bool_var(f"task {task} in {window}")
                self.model.add_linear_expression_in_domain(start, _domain(allowed)).only_enforce_if(here)
                choice.append(here)
                told = partial(_lies_in, block, allowed, self.prepared.place[task][1])
                self.told.append((here, told))
                self.told_of.setdefault(window, []).append(told)
                lies.setdefault(window, []).append(here)
                for resource, amount in own.uses.items() if own.attended == "all" else ():
                    work.setdefault((window, resource), []).append((here, own.minutes * amount))
            self.model.add_exactly_one(choice)
        for (window, resource), parts in work.items():
            room = (windows[window][1] - windows[window][0]) * problem.capacities[resource]
            if sum(much for _, much in parts) > room:
                self.model.add(sum(here * much for here, much in parts) <= room)
        return lies

    def _by_window(self, starts: Ranges) -> Iterator[tuple[int, Ranges]]:
        """The starts of an attended task window by window."""
        found: dict[int, list[tuple[int, int]]] = {}
        for first, last in starts:
            window = bisect_right(self.prepared.windows, first, key=lambda one: one[0]) - 1
            found.setdefault(window, []).append((first, last))
        return ((window, tuple(ranges)) for window, ranges in found.items())

    def visits(self, visited: set[int]) -> Any:
        """The windows attended work lies in, beside those in which it has been done already."""
        found = []
        for window, parts in self.lies.items():
            if window not in visited:
                open_then = self.model.new_bool_var(f"visit {window}")
                self.model.add_max_equality(open_then, parts)
                self.told.append((open_then, partial(_any, self.told_of[window])))
                found.append(open_then)
        return sum(found)

    def hint(self, starts: Sequence[int]) -> None:
        """Begin the search from a schedule of all tasks, every variable told: a hint with holes may be lost."""
        of_blocks = [starts[block.tasks[0]] - block.offsets[0] for block in self.prepared.blocks]
        for variable, start in zip(self.starts, of_blocks, strict=True):
            self.model.add_hint(variable, start)
        for variable, told in self.told:
            self.model.add_hint(variable, told(of_blocks))

    def least(self, aim: Any, *, manner: Manner, work: float) -> Found:
        """Make `aim` least, seeking in one manner for so much deterministic work."""
        self.model.minimize(aim)
        solver: Any = cp_model.CpSolver()
        for name, value in {**COMMON, **MANNERS[manner]}.items():
            setattr(solver.parameters, name, value)
        solver.parameters.max_deterministic_time = work
        status = solver.solve(self.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return Found(None, -inf, False)
        starts = self.prepared.starts([solver.value(start) for start in self.starts])
        return Found(starts, solver.best_objective_bound, status == cp_model.OPTIMAL)


def _over(block: int, past: int, starts: Sequence[int]) -> int:
    return max(0, starts[block] + past)


def _held_for(hold: OpenHold, now: int, starts: Sequence[int]) -> int:
    first = max(hold.start, now) if hold.first is None else starts[hold.first] + hold.start
    return starts[hold.last] + hold.end - first


def _lies_in(block: int, ranges: Ranges, offset: int, starts: Sequence[int]) -> int:
    return int(any(first <= starts[block] + offset <= last for first, last in ranges))


def _any(parts: Sequence[Told], starts: Sequence[int]) -> int:
    return max(told(starts) for told in parts)


def _domain(ranges: Ranges) -> Any:
    return cp_model.Domain.from_intervals([list(one) for one in ranges])


def attended_only(prepared: Prepared) -> set[str]:
    """The resources that only whole attended tasks use: a break stands in their way like a task."""
    problem = prepared.problem
    other = {resource for task in problem.tasks if task.attended != "all" for resource in task.uses}
    other |= {hold.resource for hold in problem.holds}
    return set(problem.capacities) - other
