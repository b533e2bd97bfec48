"""The scheduler at a bench: windows, cures, holds, what has happened, visits; against an integer program."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.scheduling.solve import Hold, Link, Problem, Task, serial, solve
from tests.estimating.schedules import Program, broken

WINDOWS = tuple(
    (first, first + long) for day in range(5) for first, long in ((12 * day, 4), (12 * day + 5, 3))
)
"""Days of 12: open for 4, closed for 1, open for 3. All of these problems are small, not to be true."""

HORIZON = 60


@st.composite
def problems(draw: Any) -> Problem:
    """Up to six tasks at such a bench, with what can bind them."""
    count = draw(st.integers(2, 6))
    tasks = [draw(tasks_drawn(at)) for at in range(count)]
    pairs = [(one, other) for one in range(count) for other in range(one + 1, count)]
    linked = draw(st.lists(st.sampled_from(pairs), unique=True, max_size=4))
    links = [Link(one, other, draw(st.integers(0, 3)), draw(st.integers(0, 3)) == 0) for one, other in linked]
    held = draw(st.lists(st.sampled_from(linked), unique=True, max_size=2)) if linked else []
    holds = [Hold("mandrel", one, other, draw(st.booleans())) for one, other in held]
    fixed = {0: draw(st.integers(0, 3))} if draw(st.booleans()) else {}
    due = {count - 1: draw(st.integers(3, 30))} if draw(st.booleans()) else {}
    capacities = {"person": draw(st.integers(1, 2)), "press": 1, "mandrel": 1}
    return Problem(
        tasks,
        links,
        capacities,
        WINDOWS,
        holds,
        fixed,
        not_before=3 if fixed else 0,
        due=due,
        horizon=HORIZON,
    )


@st.composite
def tasks_drawn(draw: Any, at: int) -> Task:
    """A task somebody does, starts or leaves alone."""
    attended = draw(st.sampled_from(["all", "all", "start", ""]))
    uses = {"person": 1} if attended == "all" else {"press": draw(st.integers(0, 1))}
    return Task(f"task {at}", draw(st.integers(0, 4)), uses, attended)


CAREFUL = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))


@CAREFUL
@given(problems())
def test_no_rule_is_broken_and_no_schedule_is_better(problem: Problem) -> None:
    try:
        found = solve(problem)
    except InvalidInput:
        assert Program(problem, HORIZON).least() is None
        return
    assert not broken(problem, found.starts)
    ends = [start + task.minutes for start, task in zip(found.starts, problem.tasks, strict=True)]
    assert found.finish == max(ends)
    assert found.late == sum(max(0, ends[task] - due) for task, due in problem.due.items())
    assert found.proven
    follows_fixed = any(link.at_once and link.before in problem.fixed for link in problem.links)
    if not follows_fixed:  # the program keeps these at once or not at all
        assert Program(problem, HORIZON).least() == (found.late, found.finish, found.visits)


@CAREFUL
@given(problems())
def test_the_serial_schedule_breaks_no_rule(problem: Problem) -> None:
    try:
        starts = serial(problem)
    except InvalidInput:
        return
    assert not broken(problem, starts)


def glued() -> Problem:
    """Coat for 30 min from 8:00 on, with 30 to set and 2 h in the press at once; 12 h to cure; then 2 h to turn."""
    tasks = [
        Task("coat", 30, {"person": 1}, "all"),
        Task("set", 30),
        Task("press", 120, {"press": 1}),
        Task("turn", 120, {"person": 1}, "all"),
    ]
    links = [Link(0, 1, at_once=True), Link(1, 2, at_once=True), Link(2, 3, lag=720)]
    windows = [(480 + 1440 * day + hour, 720 + 1440 * day + hour) for day in range(5) for hour in (0, 300)]
    return Problem(tasks, links, {"person": 1, "press": 1}, windows)


def test_cures_run_through_the_night_and_hands_do_not() -> None:
    # 8:00 coat, 8:30 set, 9:00 to 11:00 press, cured at 23:00; turned from 8:00 to 10:00 the next day.
    found = solve(glued())
    assert found.starts == (480, 510, 540, 1440 + 480)
    assert (found.finish, found.proven, found.visits) == (1440 + 600, True, 2)


def test_what_has_happened_stays_and_what_follows_at_once_follows_it() -> None:
    # Coated late, from 11:45 on: the set and the press run on through the dinner hour, cured at 2:45.
    found = solve(replace(glued(), fixed={0: 705}, not_before=720))
    assert found.starts == (705, 735, 765, 1440 + 480)


def test_one_that_must_be_there_at_once_and_cannot_comes_as_soon_as_it_can() -> None:
    problem = glued()
    tasks = [*problem.tasks[:2], replace(problem.tasks[2], attended="start"), problem.tasks[3]]
    # Set at 12:45, in the dinner hour: pressed at 13:00.
    found = solve(replace(problem, tasks=tasks, fixed={0: 705}, not_before=720))
    assert found.starts == (705, 735, 780, 1440 + 480)


def test_a_hold_under_way_keeps_others_off_until_it_ends() -> None:
    tasks = [Task("coat", 10), Task("take down", 10), Task("other coat", 10), Task("other take down", 10)]
    links = [Link(0, 1, lag=50), Link(2, 3, lag=50)]
    holds = [Hold("mandrel", 0, 1), Hold("mandrel", 2, 3)]
    found = solve(Problem(tasks, links, {"mandrel": 1}, holds=holds, fixed={0: -20}, not_before=0))
    assert found.starts == (-20, 40, 50, 110)
    held_to_start = [replace(hold, to_end=False) for hold in holds]
    found = solve(Problem(tasks, links, {"mandrel": 1}, holds=held_to_start, fixed={0: -20}, not_before=0))
    assert found.starts == (-20, 40, 40, 100)


def test_lateness_comes_before_the_finish_and_the_finish_before_visits() -> None:
    # One person. The short task is due at 10; done first, the long one in no window of today is put off.
    tasks = [Task("due", 4, {"person": 1}, "all"), Task("long", 10, {"person": 1}, "all"), Task("dry", 30)]
    problem = Problem(tasks, [Link(1, 2)], {"person": 1}, [(0, 12), (20, 32)])
    assert solve(problem).finish == 40
    late = solve(replace(problem, due={0: 10}))
    assert (late.late, late.finish, late.proven) == (0, 60, True)


def test_what_has_run_on_past_its_window_was_a_visit_to_it() -> None:
    tasks = [Task("glue", 3, {"person": 1}, "all"), Task("look", 0, {"person": 1}, "all")]
    problem = Problem(
        tasks, [Link(0, 1)], {"person": 1}, WINDOWS, fixed={0: 2}, not_before=3, horizon=HORIZON
    )
    assert solve(problem).visits == 2
    assert Program(problem, HORIZON).least() == (0, 5, 2)


def test_visits_are_as_few_as_the_finish_allows() -> None:
    # A dry of 60 sets the finish; two short tasks could lie in three windows, and one visit is enough.
    tasks = [Task("wet", 2, {"person": 1}, "all"), Task("dry", 60)]
    tasks += [Task("sweep", 3, {"person": 1}, "all"), Task("oil", 3, {"person": 1}, "all")]
    found = solve(Problem(tasks, [Link(0, 1)], {"person": 1}, [(0, 10), (20, 30), (40, 50)]))
    assert (found.finish, found.visits) == (62, 1)


@pytest.mark.parametrize(
    ("change", "place", "reason"),
    [
        ({"windows": [(0, 100)]}, r"tasks\[3\]", "takes 120 min, and the longest window has 100"),
        ({"windows": [(10, 10)]}, r"windows\[0\]", "must end after it starts"),
        ({"links": [Link(0, 3), Link(3, 0)]}, r"tasks\[0\]", "in a circle"),
        ({"links": [Link(0, 4)]}, r"links\[0\]", "must join two tasks of 0 to 3"),
        ({"links": [Link(0, 1, -1)]}, r"links\[0\].lag", "must be 0 or more"),
        ({"links": [Link(0, 2, 0, True), Link(0, 1, 5, True), Link(1, 2, 0, True)]}, r"links\[", "at once"),
        ({"capacities": {"person": 1}}, r"tasks\[2\].uses", "takes 1 of press, of which there are 0"),
        ({"holds": [Hold("jig", 0, 1)]}, r"holds\[0\]", "there is no jig"),
        ({"fixed": {9: 0}}, r"fixed\[9\]", "must be a task of 0 to 3"),
        ({"due": {-1: 0}}, r"due\[-1\]", "must be a task of 0 to 3"),
        ({"horizon": 1900}, "tasks|horizon", "before 1900 min|too late"),
    ],
)
def test_what_cannot_be_is_refused_where_it_stands(change: dict[str, Any], place: str, reason: str) -> None:
    with pytest.raises(InvalidInput, match=f"({place}).*({reason})"):
        solve(replace(glued(), **change))
