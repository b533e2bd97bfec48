"""For the tests of the scheduler: rules checked minute by minute, an integer program, and problems with known ends."""

import random
from collections.abc import Sequence
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from estimating.scheduling.solve import Link, Problem, Task


def broken(problem: Problem, starts: Sequence[int]) -> list[str]:
    """Every rule a schedule breaks; what is fixed is held to its start alone."""
    tasks = problem.tasks
    ends = [start + task.minutes for start, task in zip(starts, tasks, strict=True)]
    found = [f"fixed {at}" for at, start in problem.fixed.items() if starts[at] != start]
    for at, task in enumerate(tasks):
        if at in problem.fixed:
            continue
        within = ends[at] if task.attended == "all" else starts[at]
        inside = any(first <= starts[at] and within <= last for first, last in problem.windows)
        if task.attended and problem.windows and not inside:
            found.append(f"{at} out of windows")
        if starts[at] < problem.not_before and (task.attended or not _follows(problem, at)):
            found.append(f"{at} in the past")
        if problem.horizon and ends[at] > problem.horizon:
            found.append(f"{at} after the horizon")
    for link in problem.links:
        gap = starts[link.after] - ends[link.before] - link.lag
        at_once = link.at_once and not _follows(problem, link.after)
        if link.after not in problem.fixed and (gap < 0 or (at_once and gap)):
            found.append(f"link {link.before} to {link.after}")
    return found + _overloads(problem, starts, ends)


def _follows(problem: Problem, task: int) -> bool:
    """Whether the task is to follow one that is fixed at once, itself or by way of others."""
    before = [link.before for link in problem.links if link.at_once and link.after == task]
    return any(one in problem.fixed or _follows(problem, one) for one in before)


def _overloads(problem: Problem, starts: Sequence[int], ends: Sequence[int]) -> list[str]:
    found = []
    for minute in range(min(starts), max(ends)):
        used = dict.fromkeys(problem.capacities, 0)
        free_to_choose = set()
        for at, task in enumerate(problem.tasks):
            if starts[at] <= minute < ends[at]:
                for resource, amount in task.uses.items():
                    used[resource] += amount
                    free_to_choose |= {resource} if at not in problem.fixed else set()
        for hold in problem.holds:
            last = ends[hold.last] if hold.to_end else starts[hold.last]
            if starts[hold.first] <= minute < last:
                used[hold.resource] += 1
                free_to_choose |= {hold.resource} if hold.first not in problem.fixed else set()
        found += [
            f"{resource} at {minute}"
            for resource in free_to_choose
            if used[resource] > problem.capacities[resource]
        ]
    return found


class Program:
    """The problem as an integer program, a yes or no for each start of each task; for small whole numbers.

    Source: time-indexed variables after Pritsker, Watters and Wolfe, Management Science 16 (1969).
    """

    def __init__(self, problem: Problem, horizon: int) -> None:
        self.problem, self.horizon = problem, horizon
        self.columns: dict[tuple[str, int, int], int] = {}
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self.starts = [self._allowed(at) for at in range(len(problem.tasks))]
        for at, allowed in enumerate(self.starts):
            self.rows.append(({self._column("x", at, t): 1.0 for t in allowed}, 1, 1))
        self._links()
        for resource in problem.capacities:
            self._resource(resource)
        self.finish = self._column("finish")
        for at, task in enumerate(problem.tasks):
            self.rows.append((self._moment(at, -1.0) | {self.finish: 1.0}, task.minutes, np.inf))
        self._aims()

    def _column(self, kind: str, at: int = 0, t: int = 0) -> int:
        return self.columns.setdefault((kind, at, t), len(self.columns))

    def _allowed(self, at: int) -> list[int]:
        problem, task = self.problem, self.problem.tasks[at]
        if at in problem.fixed:
            return [problem.fixed[at]]
        within = task.minutes if task.attended == "all" else 0
        return [
            t
            for t in range(problem.not_before, self.horizon - task.minutes + 1)
            if not task.attended
            or not problem.windows
            or any(first <= t and t + within <= last for first, last in problem.windows)
        ]

    def _moment(self, at: int, sign: float = 1.0) -> dict[int, float]:
        return {self._column("x", at, t): sign * t for t in self.starts[at]}

    def _links(self) -> None:
        for link in self.problem.links:
            if link.after not in self.problem.fixed:
                gap = self.problem.tasks[link.before].minutes + link.lag
                row = self._moment(link.after) | self._moment(link.before, -1.0)
                self.rows.append((row, gap, gap if link.at_once else np.inf))
        for hold in self.problem.holds:
            least = -self.problem.tasks[hold.last].minutes if hold.to_end else 0
            self.rows.append((self._moment(hold.last) | self._moment(hold.first, -1.0), least, np.inf))

    def _resource(self, resource: str) -> None:
        problem = self.problem
        for now in range(problem.not_before, self.horizon):
            row: dict[int, float] = {}
            for at, task in enumerate(problem.tasks):
                for t in self.starts[at]:
                    if t <= now < t + task.minutes and task.uses.get(resource):
                        row[self._column("x", at, t)] = task.uses[resource]
            for hold in problem.holds:
                if hold.resource == resource:
                    after = problem.tasks[hold.last].minutes if hold.to_end else 0
                    begun = [
                        (self._column("x", hold.first, t), 1) for t in self.starts[hold.first] if t <= now
                    ]
                    over = [
                        (self._column("x", hold.last, t), -1)
                        for t in self.starts[hold.last]
                        if t + after <= now
                    ]
                    for column, sign in begun + over:
                        row[column] = row.get(column, 0) + sign
            self.rows.append((row, -np.inf, problem.capacities[resource]))

    def _aims(self) -> None:
        for at, due in self.problem.due.items():
            late = self._column("late", at)
            self.rows.append(
                (self._moment(at, -1.0) | {late: 1.0}, self.problem.tasks[at].minutes - due, np.inf)
            )
        for window, (first, last) in enumerate(self.problem.windows):
            for at, task in enumerate(self.problem.tasks):
                inside = [t for t in self.starts[at] if first <= t <= last]
                if task.attended and inside:
                    row = {self._column("x", at, t): -1.0 for t in inside}
                    self.rows.append((row | {self._column("visit", window): 1.0}, 0, np.inf))

    def least(self) -> tuple[int, int, int] | None:
        """Minutes late, finish and visits of the best schedule; None where there is none."""
        weight = np.zeros(len(self.columns))
        whole = np.ones(len(self.columns))
        high = np.ones(len(self.columns))
        for (kind, _, _), column in self.columns.items():
            weight[column] = {"x": 0, "finish": 100, "late": 100 * 2 * self.horizon, "visit": 1}[kind]
            high[column] = 1 if kind in ("x", "visit") else np.inf
        matrix, low, most = self._matrix()
        found = milp(
            weight,
            constraints=LinearConstraint(matrix, low, most),
            integrality=whole,
            bounds=Bounds(np.zeros(len(self.columns)), high),
        )
        if found.x is None:
            return None
        values = {name: round(found.x[column]) for name, column in self.columns.items()}
        late = sum(value for (kind, _, _), value in values.items() if kind == "late")
        visits = sum(value for (kind, _, _), value in values.items() if kind == "visit")
        return late, values["finish", 0, 0], visits

    def _matrix(self) -> tuple[Any, list[float], list[float]]:
        entries = [
            (at, column, value) for at, (row, _, _) in enumerate(self.rows) for column, value in row.items()
        ]
        at, column, value = zip(*entries, strict=True)
        shape = (len(self.rows), len(self.columns))
        return (
            csr_array((value, (at, column)), shape),
            [low for _, low, _ in self.rows],
            [m for _, _, m in self.rows],
        )


def tiled(*, activities: int, length: int, capacity: int, seed: int) -> Problem:
    """A rectangle of `length` by `capacity` cut into activities, by guillotine cuts: no schedule is shorter.

    All the capacity is used all the time, so the work alone takes `length`; and the pattern it was cut from takes no
    longer. Links are drawn between activities that follow one another there. Three more resources are used, as much
    as the pattern ever needs.
    """
    chance = random.Random(f"{activities} {length} {capacity} {seed}")
    pieces = [(0, length, capacity)]
    while len(pieces) < activities:
        at = max(range(len(pieces)), key=lambda one: (pieces[one][1] * pieces[one][2], one))
        start, long, high = pieces.pop(at)
        if long > high or high == 1:
            cut = chance.randint(max(1, long // 4), max(1, long - long // 4 - 1))
            pieces += [(start, cut, high), (start + cut, long - cut, high)]
        else:
            cut = chance.randint(max(1, high // 4), max(1, high - high // 4 - 1))
            pieces += [(start, long, cut), (start, long, high - cut)]
    others = [{name: chance.randint(0, 5) for name in "bcd"} for _ in pieces]
    capacities = {"a": capacity}
    for name in "bcd":
        capacities[name] = max(
            sum(
                use[name]
                for use, (start, long, _) in zip(others, pieces, strict=True)
                if start <= t < start + long
            )
            for t in range(length)
        )
    links = [
        Link(one, other)
        for one, (start, long, _) in enumerate(pieces)
        for other, (later, _, _) in enumerate(pieces)
        if 0 <= later - start - long < length / 10 and chance.random() < 24 / activities
    ]
    tasks = [
        Task(f"piece {at}", long, {"a": high, **use})
        for at, ((_, long, high), use) in enumerate(zip(pieces, others, strict=True))
    ]
    return Problem(tasks, links, capacities)
