"""What the scheduler is asked and what it answers: tasks, links, holds, windows; whole minutes throughout."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

Attended = Literal["all", "start", ""]
"""Somebody is there for all of it (it lies in one window), for its start only, or not at all."""


@dataclass(frozen=True, slots=True)
class Task:
    """A piece of work that is not broken off; `uses` is how much of each resource it takes while it lasts."""

    name: str
    minutes: int
    uses: Mapping[str, int] = field(default_factory=dict)
    attended: Attended = ""


@dataclass(frozen=True, slots=True)
class Link:
    """Task `after` starts at the end of task `before` and `lag` minutes more, or later; `at_once`: exactly then."""

    before: int
    after: int
    lag: int = 0
    at_once: bool = False


@dataclass(frozen=True, slots=True)
class Hold:
    """One of a resource taken from the start of task `first` to the end (or only to the start) of task `last`."""

    resource: str
    first: int
    last: int
    to_end: bool = True


@dataclass(frozen=True)
class Problem:
    """Tasks by number, 0 up; what binds them; and what there is of each resource.

    `windows` are the minutes (from, to) that attended work may lie in; none: any time. `fixed` says when a task has
    started already: such a task is never moved or refused, and only takes up what it uses. Nothing else starts before
    `not_before`, save what follows a fixed task at once. `due` is the minute a task should have ended by. Nothing
    ends after `horizon`; 0 means as long as it takes.
    """

    tasks: Sequence[Task]
    links: Sequence[Link] = ()
    capacities: Mapping[str, int] = field(default_factory=dict)
    windows: Sequence[tuple[int, int]] = ()
    holds: Sequence[Hold] = ()
    fixed: Mapping[int, int] = field(default_factory=dict)
    not_before: int = 0
    due: Mapping[int, int] = field(default_factory=dict)
    horizon: int = 0


@dataclass(frozen=True, slots=True)
class Solution:
    """When each task starts. No schedule ends before `bound`; `proven`: none is better than this one.

    `visits` is the number of windows attended work lies in; `late` the minutes past due, of all tasks together.
    """

    starts: tuple[int, ...]
    finish: int
    bound: int
    proven: bool
    visits: int
    late: int
