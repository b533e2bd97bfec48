"""The scheduler on plain projects with limited resources: worked examples, ends known by construction, brute force."""

import random
import subprocess
import sys
from itertools import pairwise, product

import pytest

from estimating.scheduling.solve import Link, Problem, Task, serial, solve
from tests.estimating.schedules import Program, broken, tiled

# Fisher and Thompson's 6 x 6 job shop, in Muth and Thompson, Industrial Scheduling (1963): machine and time of each
# operation. The shortest schedule takes 55 (it is in many textbooks, and in the examples that OR-Tools comes with).
SIX_BY_SIX = (
    ((2, 1), (0, 3), (1, 6), (3, 7), (5, 3), (4, 6)),
    ((1, 8), (2, 5), (4, 10), (5, 10), (0, 10), (3, 4)),
    ((2, 5), (3, 4), (5, 8), (0, 9), (1, 1), (4, 7)),
    ((1, 5), (0, 5), (2, 5), (3, 3), (4, 8), (5, 9)),
    ((2, 9), (1, 3), (4, 5), (5, 4), (0, 3), (3, 1)),
    ((1, 3), (3, 3), (5, 9), (0, 10), (4, 4), (2, 1)),
)

# The example of a project with two resources in the documentation of Python-MIP, "Resource Constrained Project
# Scheduling": 10 jobs between two dummies. That its best schedule takes 21 is from memory, and worked out again below.
TIMES = (0, 3, 2, 5, 4, 2, 3, 4, 2, 4, 6, 0)
NEEDS = ((0, 0), (5, 1), (0, 4), (1, 4), (1, 3), (3, 2), (3, 1), (2, 4), (4, 0), (5, 2), (2, 5), (0, 0))
FOLLOWS = "0-1 0-2 0-3 1-4 1-5 2-9 2-10 3-8 4-6 4-7 5-9 5-10 6-8 6-9 7-8 8-11 9-11 10-11"


def job_shop(jobs: tuple[tuple[tuple[int, int], ...], ...]) -> Problem:
    """A task an operation, each machine a resource."""
    tasks = [
        Task(f"{job}.{at}", time, {f"m{m}": 1})
        for job, row in enumerate(jobs)
        for at, (m, time) in enumerate(row)
    ]
    links, first = [], 0
    for row in jobs:
        links += [Link(one, other) for one, other in pairwise(range(first, first + len(row)))]
        first += len(row)
    return Problem(tasks, links, {f"m{m}": 1 for row in jobs for m, _ in row})


def two_resources() -> Problem:
    """The example of Python-MIP."""
    tasks = [
        Task(f"job {at}", time, {"a": a, "b": b})
        for at, (time, (a, b)) in enumerate(zip(TIMES, NEEDS, strict=True))
    ]
    links = [Link(*map(int, pair.split("-"))) for pair in FOLLOWS.split()]
    return Problem(tasks, links, {"a": 6, "b": 8})


@pytest.mark.parametrize(("problem", "shortest"), [(job_shop(SIX_BY_SIX), 55), (two_resources(), 21)])
def test_worked_examples_take_what_is_printed(problem: Problem, shortest: int) -> None:
    found = solve(problem)
    assert (found.finish, found.bound, found.proven) == (shortest, shortest, True)
    assert not broken(problem, found.starts)


def test_the_worked_example_by_an_integer_program() -> None:
    assert Program(two_resources(), 30).least() == (0, 21, 0)


# With seed 1 of 60 the packing takes minutes on a busy machine; `make bench` times more of them.
@pytest.mark.parametrize(
    ("activities", "seed"), [(30, 0), (30, 1), (30, 2), (30, 3), (60, 0), (60, 2), (60, 3)]
)
def test_a_rectangle_cut_to_pieces_is_put_together_again(activities: int, seed: int) -> None:
    problem = tiled(activities=activities, length=activities * 2, capacity=20, seed=seed)
    found = solve(problem)
    assert not broken(problem, found.starts)
    assert (found.finish, found.bound, found.proven) == (activities * 2, activities * 2, True)


def small(seed: int) -> Problem:
    """A project of five activities that can be tried in every way."""
    chance = random.Random(seed)
    tasks = [
        Task(f"{at}", chance.randint(1, 3), {"a": chance.randint(0, 3), "b": chance.randint(0, 2)})
        for at in range(5)
    ]
    links = [Link(one, other) for one in range(5) for other in range(one + 1, 5) if chance.random() < 0.25]
    return Problem(tasks, links, {"a": 3, "b": 2})


@pytest.mark.parametrize("seed", range(1, 9))
def test_small_projects_are_as_short_as_any_way_tried(seed: int) -> None:
    problem = small(seed)
    # A shortest schedule has one with every activity started as early as it goes, at the end of another or at 0; by
    # the serial scheme's finish every activity has ended.
    longest = max(start + task.minutes for start, task in zip(serial(problem), problem.tasks, strict=True))
    best = min(
        max(start + task.minutes for start, task in zip(starts, problem.tasks, strict=True))
        for starts in product(*(range(longest - task.minutes + 1) for task in problem.tasks))
        if not _cheaply_broken(problem, starts)
    )
    found = solve(problem)
    assert (found.finish, found.proven) == (best, True)


def _cheaply_broken(problem: Problem, starts: tuple[int, ...]) -> bool:
    ends = [start + task.minutes for start, task in zip(starts, problem.tasks, strict=True)]
    return any(ends[link.before] > starts[link.after] for link in problem.links) or bool(
        broken(problem, starts)
    )


def test_the_same_problem_has_the_same_answer() -> None:
    problem = tiled(activities=30, length=40, capacity=12, seed=7)
    assert solve(problem, effort=0.2) == solve(problem, effort=0.2)


def test_little_effort_still_gives_a_schedule_and_a_true_bound() -> None:
    problem = job_shop(SIX_BY_SIX)
    found = solve(problem, effort=1e-6)
    assert not broken(problem, found.starts)
    assert found.bound <= 55 <= found.finish
    assert found.proven == (found.bound == found.finish)


def test_nothing_to_do_is_done_at_once() -> None:
    assert solve(Problem([], not_before=30)).finish == 30


def test_the_solver_is_loaded_only_to_schedule() -> None:
    code = "import sys, estimating.scheduling.solve; sys.exit('ortools' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
