"""A scheduling problem checked and drawn together: tasks that start at once with others become one block."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from estimating.errors import InvalidInput, shown
from estimating.scheduling.problem import Hold, Link, Problem
from estimating.scheduling.windows import Ranges, merged, shared, shifted, starts_in


@dataclass(frozen=True, slots=True)
class Use:
    """`amount` of a resource from `offset` minutes after its block's start, for some minutes."""

    resource: str
    offset: int
    minutes: int
    amount: int


@dataclass(frozen=True, slots=True)
class Block:
    """Tasks whose starts lie fixed on one another: they move as one. `starts` is when it may start."""

    tasks: tuple[int, ...]
    offsets: tuple[int, ...]
    minutes: int
    starts: Ranges
    uses: tuple[Use, ...]


@dataclass(frozen=True, slots=True)
class Arc:
    """Block `after` starts `gap` minutes after the start of block `before`, or later."""

    before: int
    after: int
    gap: int


@dataclass(frozen=True, slots=True)
class OpenHold:
    """One of a resource from `start` minutes after block `first` (None: of the clock) to `end` after block `last`."""

    resource: str
    first: int | None
    start: int
    last: int
    end: int


@dataclass(frozen=True)
class Prepared:
    """The problem as the schedulers take it. `place` finds a task that is not fixed: its block, and how far in."""

    problem: Problem
    fixed: Mapping[int, int]
    windows: Ranges
    horizon: int
    blocks: Sequence[Block]
    place: Mapping[int, tuple[int, int]]
    arcs: Sequence[Arc]
    holds: Sequence[OpenHold]
    taken: Sequence[tuple[str, int, int, int]]
    """What fixed tasks use: resource, from, to, amount."""

    def starts(self, of_blocks: Sequence[int]) -> tuple[int, ...]:
        """The start of every task from the start of every block."""
        found = dict(self.fixed)
        for task, (block, offset) in self.place.items():
            found[task] = of_blocks[block] + offset
        return tuple(found[task] for task in range(len(self.problem.tasks)))


def prepare(problem: Problem) -> Prepared:
    """Check the problem and draw it together.

    Errors: InvalidInput at `tasks[i]`, `links[i]`, `holds[i]`, `windows[i]`, `fixed[i]`, `due[i]` or `horizon`.
    """
    windows = _windows(problem)
    _check_tasks(problem, windows)
    _check_links(problem)
    horizon = problem.horizon or _long_enough(problem, windows)
    fixed = _followed_at_once(problem, windows)
    place, members = _blocks(problem, fixed)
    ready = _ready(problem, fixed)
    blocks = tuple(_block(problem, windows, horizon, dict(group), ready) for group in members)
    holds = tuple(_open_holds(problem, fixed, place))
    arcs = tuple(_arcs(problem, fixed, place, holds))
    return Prepared(
        problem=problem,
        fixed=fixed,
        windows=windows,
        horizon=horizon,
        blocks=blocks,
        place=place,
        arcs=arcs,
        holds=holds,
        taken=tuple(_taken(problem, fixed)),
    )


def named(problem: Problem, task: int) -> str:
    """A task as an error names it."""
    return f"{shown(problem.tasks[task].name)!r}"


def _windows(problem: Problem) -> Ranges:
    for at, (first, last) in enumerate(problem.windows):
        if first >= last:
            raise InvalidInput(f"windows[{at}]", f"must end after it starts, got {first} to {last}")
    return merged(problem.windows)


def _check_tasks(problem: Problem, windows: Ranges) -> None:
    longest = max((last - first for first, last in windows), default=0)
    for at, task in enumerate(problem.tasks):
        place = f"tasks[{at}]"
        if task.minutes < 0:
            raise InvalidInput(f"{place}.minutes", f"must be 0 or more, got {task.minutes}")
        for resource, amount in task.uses.items():
            there = problem.capacities.get(resource, 0)
            if not 0 <= amount <= there and at not in problem.fixed:
                raise InvalidInput(
                    f"{place}.uses", f"takes {amount} of {shown(resource)}, of which there are {there}"
                )
        if windows and task.attended == "all" and task.minutes > longest and at not in problem.fixed:
            raise InvalidInput(
                place, f"{named(problem, at)} takes {task.minutes} min, and the longest window has {longest}"
            )


def _check_links(problem: Problem) -> None:
    known = range(len(problem.tasks))
    for at, link in enumerate(problem.links):
        if link.before not in known or link.after not in known or link.before == link.after:
            raise InvalidInput(f"links[{at}]", f"must join two tasks of 0 to {len(known) - 1}")
        if link.lag < 0:
            raise InvalidInput(f"links[{at}].lag", f"must be 0 or more, got {link.lag}")
    for at, hold in enumerate(problem.holds):
        if hold.first not in known or hold.last not in known:
            raise InvalidInput(f"holds[{at}]", f"must run between tasks of 0 to {len(known) - 1}")
        if problem.capacities.get(hold.resource, 0) < 1:
            raise InvalidInput(f"holds[{at}].resource", f"there is no {shown(hold.resource)}")
    for name, of_tasks in (("fixed", problem.fixed), ("due", problem.due)):
        for task in of_tasks:
            if task not in known:
                raise InvalidInput(f"{name}[{task}]", f"must be a task of 0 to {len(known) - 1}")


def _long_enough(problem: Problem, windows: Ranges) -> int:
    """A minute that everything can be done by, if at all: one after the other, from the last window's end."""
    so_far = [problem.not_before, *(last for _, last in windows[-1:])]
    so_far += [start + problem.tasks[task].minutes for task, start in problem.fixed.items()]
    return max(so_far) + sum(task.minutes for task in problem.tasks) + sum(link.lag for link in problem.links)


def _followed_at_once(problem: Problem, windows: Ranges) -> Mapping[int, int]:
    """The fixed tasks with those that follow one of them at once, when that can still be done."""
    fixed = dict(problem.fixed)
    waiting = [link for link in problem.links if link.at_once]
    found = True
    while found:
        found = False
        for link in waiting:
            if link.before not in fixed or link.after in fixed:
                continue
            moment = fixed[link.before] + problem.tasks[link.before].minutes + link.lag
            if _can_start(problem, windows, fixed, link.after, moment):
                fixed[link.after], found = moment, True
    return fixed


def _can_start(problem: Problem, windows: Ranges, fixed: Mapping[int, int], at: int, moment: int) -> bool:
    """Whether a task that should start at a moment can, whatever else it waits for, its window and what it uses.

    What nobody attends goes on by itself: only what it waits for keeps it.
    """
    task = problem.tasks[at]
    for link in problem.links:
        if link.after == at:
            end = fixed[link.before] + problem.tasks[link.before].minutes if link.before in fixed else None
            if end is None or end + link.lag > moment:
                return False
    if not task.attended:
        return True
    allowed = starts_in(windows, task.minutes, task.attended) if windows else ((moment, moment),)
    if moment < problem.not_before or not any(first <= moment <= last for first, last in allowed):
        return False
    for resource, amount in task.uses.items():
        others = [
            problem.tasks[other].uses.get(resource, 0)
            for other, start in fixed.items()
            if start < moment + task.minutes and moment < start + problem.tasks[other].minutes
        ]
        if sum(others) + amount > problem.capacities[resource]:
            return False
    return True


def _at_once(problem: Problem, fixed: Mapping[int, int]) -> Iterator[tuple[int, Link]]:
    for at, link in enumerate(problem.links):
        if link.at_once and link.before not in fixed and link.after not in fixed:
            yield at, link


def _blocks(
    problem: Problem, fixed: Mapping[int, int]
) -> tuple[dict[int, tuple[int, int]], list[list[tuple[int, int]]]]:
    """Where each task that is not fixed lies (block, offset), and the tasks of each block with their offsets."""
    beside: dict[int, list[tuple[int, int, int]]] = {}
    for at, link in _at_once(problem, fixed):
        gap = problem.tasks[link.before].minutes + link.lag
        beside.setdefault(link.before, []).append((link.after, gap, at))
        beside.setdefault(link.after, []).append((link.before, -gap, at))
    place: dict[int, tuple[int, int]] = {}
    members: list[list[tuple[int, int]]] = []
    for task in range(len(problem.tasks)):
        if task in fixed or task in place:
            continue
        group = _drawn_together(task, beside)
        early = min(group.values())
        for other, offset in group.items():
            place[other] = (len(members), offset - early)
        members.append(sorted((other, offset - early) for other, offset in group.items()))
    return place, members


def _drawn_together(task: int, beside: Mapping[int, Sequence[tuple[int, int, int]]]) -> dict[int, int]:
    group, edge = {task: 0}, [task]
    while edge:
        near = edge.pop()
        for other, gap, at in beside.get(near, ()):
            moment = group[near] + gap
            if other not in group:
                group[other] = moment
                edge.append(other)
            elif group[other] != moment:
                raise InvalidInput(f"links[{at}]", "cannot be kept at once with the other links of its tasks")
    return group


def _ready(problem: Problem, fixed: Mapping[int, int]) -> dict[int, int]:
    """The minute before which each task cannot start: now, or after the fixed ones it follows."""
    ready = dict.fromkeys(range(len(problem.tasks)), problem.not_before)
    for link in problem.links:
        if link.before in fixed:
            end = fixed[link.before] + problem.tasks[link.before].minutes
            ready[link.after] = max(ready[link.after], end + link.lag)
    return ready


def _block(
    problem: Problem, windows: Ranges, horizon: int, offsets: Mapping[int, int], ready: Mapping[int, int]
) -> Block:
    starts: Ranges = ((min(problem.not_before, horizon), horizon),)
    uses: list[Use] = []
    for at, offset in offsets.items():
        task = problem.tasks[at]
        own: Ranges = ((ready[at], horizon - task.minutes),)
        if windows and task.attended:
            own = shared(own, starts_in(windows, task.minutes, task.attended))
        starts = shared(starts, shifted(own, -offset))
        uses += [
            Use(resource, offset, task.minutes, n) for resource, n in task.uses.items() if n and task.minutes
        ]
    first = next(iter(offsets))
    if not starts:
        more = " with what follows it at once" if len(offsets) > 1 else ""
        raise InvalidInput(
            f"tasks[{first}]", f"{named(problem, first)}{more} fits nowhere before {horizon} min"
        )
    for hold in problem.holds:
        if hold.first in offsets and hold.last in offsets:
            uses.append(_held_within(problem, hold, offsets))
    _check_block(problem, uses, first)
    length = max(offset + problem.tasks[at].minutes for at, offset in offsets.items())
    return Block(tuple(offsets), tuple(offsets.values()), length, starts, tuple(uses))


def _held_within(problem: Problem, hold: Hold, offsets: Mapping[int, int]) -> Use:
    end = offsets[hold.last] + (problem.tasks[hold.last].minutes if hold.to_end else 0)
    return Use(hold.resource, offsets[hold.first], max(0, end - offsets[hold.first]), 1)


def _check_block(problem: Problem, uses: Sequence[Use], first: int) -> None:
    for one in uses:
        at_once = sum(
            use.amount
            for use in uses
            if use.resource == one.resource and use.offset <= one.offset < use.offset + use.minutes
        )
        if at_once > problem.capacities[one.resource]:
            raise InvalidInput(
                f"tasks[{first}]",
                f"{named(problem, first)} with what goes on at once takes {at_once} of {shown(one.resource)},"
                f" of which there are {problem.capacities[one.resource]}",
            )


def _open_holds(
    problem: Problem, fixed: Mapping[int, int], place: Mapping[int, tuple[int, int]]
) -> Iterator[OpenHold]:
    """The holds that end in the time to come and whose length the schedule decides."""
    for hold in problem.holds:
        if hold.last in fixed:
            continue
        last, end = place[hold.last]
        end += problem.tasks[hold.last].minutes if hold.to_end else 0
        if hold.first in fixed:
            yield OpenHold(hold.resource, None, fixed[hold.first], last, end)
        elif place[hold.first][0] != last:
            first, start = place[hold.first]
            yield OpenHold(hold.resource, first, start, last, end)


def _taken(problem: Problem, fixed: Mapping[int, int]) -> Iterator[tuple[str, int, int, int]]:
    for at, start in fixed.items():
        task = problem.tasks[at]
        for resource, amount in task.uses.items():
            if amount and task.minutes:
                yield resource, start, start + task.minutes, amount
    for hold in problem.holds:
        if hold.first in fixed and hold.last in fixed:
            end = fixed[hold.last] + (problem.tasks[hold.last].minutes if hold.to_end else 0)
            if end > fixed[hold.first]:
                yield hold.resource, fixed[hold.first], end, 1


def _arcs(
    problem: Problem,
    fixed: Mapping[int, int],
    place: Mapping[int, tuple[int, int]],
    holds: Sequence[OpenHold],
) -> Iterator[Arc]:
    gaps: dict[tuple[int, int], int] = {}
    for at, link in enumerate(problem.links):
        if link.before in fixed or link.after in fixed:
            continue
        (one, start), (other, offset) = place[link.before], place[link.after]
        gap = start + problem.tasks[link.before].minutes + link.lag - offset
        if one == other:
            if gap > 0:
                raise InvalidInput(f"links[{at}]", "cannot be kept: other links have its tasks start at once")
            continue
        gaps[one, other] = max(gap, gaps.get((one, other), gap))
    for hold in holds:
        if hold.first is not None:
            pair = (hold.first, hold.last)
            gaps[pair] = max(hold.start - hold.end, gaps.get(pair, hold.start - hold.end))
    return (Arc(before, after, gap) for (before, after), gap in gaps.items())
