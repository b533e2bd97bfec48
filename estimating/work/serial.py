"""A schedule at once: tasks placed one after another, each as early as it goes, by a few rules of who is first."""

import random
from collections.abc import Iterator, Sequence
from functools import cached_property

from estimating.errors import InvalidInput
from estimating.work.scheduling_blocks import Prepared, named, prepare
from estimating.work.scheduling_problem import Problem
from estimating.work.scheduling_profile import Profile
from estimating.work.scheduling_windows import last_in, next_in

SHUFFLES = 20
"""How many more orders are tried, each a little astray from the best rule; the same ones each time."""

Value = tuple[int, int, int]
"""Minutes late, finish, visits: less is better, in this order."""


def serial(problem: Problem) -> tuple[int, ...]:
    """When each task starts in a schedule that keeps every rule, found at once but not the best.

    Errors: InvalidInput as `prepare` has it, and at `horizon` when the tasks do not all fit.
    Source: the serial schedule generation scheme, Kelley 1963; in many textbooks.
    """
    return serial_starts(prepare(problem))


def serial_starts(prepared: Prepared) -> tuple[int, ...]:
    """The best of some rules and some shuffles of them."""
    order = Order(prepared)
    found: list[tuple[Value, tuple[int, ...]]] = []
    stuck = 0
    for rank in order.ranks():
        starts = order.placed(rank)
        if isinstance(starts, int):
            stuck = starts
        else:
            found.append((value(prepared, starts), starts))
    if not found:
        task = prepared.blocks[stuck].tasks[0]
        raise InvalidInput(
            "horizon", f"{named(prepared.problem, task)} finds no place before {prepared.horizon} min"
        )
    return min(found)[1]


def value(prepared: Prepared, starts: Sequence[int]) -> Value:
    """How good a schedule is."""
    problem = prepared.problem
    ends = [start + task.minutes for start, task in zip(starts, problem.tasks, strict=True)]
    late = sum(max(0, ends[task] - due) for task, due in problem.due.items())
    return late, max(ends, default=problem.not_before), len(visited(prepared, starts))


def visited(prepared: Prepared, starts: Sequence[int]) -> set[int]:
    """The windows attended work lies in, by number, fixed tasks included where they lie in one."""
    found = set()
    for start, task in zip(starts, prepared.problem.tasks, strict=True):
        if task.attended:
            end = start + (task.minutes if task.attended == "all" else 0)
            inside = (
                at for at, (first, last) in enumerate(prepared.windows) if first <= start and end <= last
            )
            found |= set(inside)
    return found


class Order:
    """The orders in which blocks can be placed, and the placing of them."""

    def __init__(self, prepared: Prepared) -> None:
        self.prepared = prepared
        count = len(prepared.blocks)
        self.before: list[list[tuple[int, int]]] = [[] for _ in range(count)]
        self.after: list[list[tuple[int, int]]] = [[] for _ in range(count)]
        for arc in prepared.arcs:
            self.before[arc.after].append((arc.before, arc.gap))
            self.after[arc.before].append((arc.after, arc.gap))
        self.line = self._in_line()

    def _in_line(self) -> tuple[int, ...]:
        """Every block after those it follows. Errors: InvalidInput where they go in a circle."""
        left = [len(self.before[block]) for block in range(len(self.before))]
        line = [block for block, n in enumerate(left) if not n]
        for block in line:
            for other, _ in self.after[block]:
                left[other] -= 1
                if not left[other]:
                    line.append(other)
        if len(line) < len(left):
            task = min(self.prepared.blocks[block].tasks[0] for block, n in enumerate(left) if n)
            raise InvalidInput(
                f"tasks[{task}]", f"{named(self.prepared.problem, task)} waits for itself in a circle"
            )
        return tuple(line)

    @cached_property
    def tails(self) -> tuple[int, ...]:
        """Minutes from the start of each block to the end of the last that follows it, on the clock alone."""
        found = [block.minutes for block in self.prepared.blocks]
        for block in reversed(self.line):
            for other, gap in self.after[block]:
                found[block] = max(found[block], gap + found[other])
        return tuple(found)

    @cached_property
    def latest(self) -> tuple[int, ...]:
        """When each block must start for its due minute and for the horizon, were there room for everything."""
        prepared = self.prepared
        found = [block.starts[-1][1] for block in prepared.blocks]
        for task, due in prepared.problem.due.items():
            if task in prepared.place:
                block, offset = prepared.place[task]
                found[block] = min(found[block], due - prepared.problem.tasks[task].minutes - offset)
        for block in reversed(self.line):
            for other, gap in self.after[block]:
                found[block] = min(found[block], found[other] - gap)
            snapped = last_in(prepared.blocks[block].starts, found[block])
            found[block] = found[block] if snapped is None else snapped
        return tuple(found)

    @cached_property
    def followers(self) -> tuple[frozenset[int], ...]:
        """The blocks that come after each, however far on."""
        found: list[frozenset[int]] = [frozenset()] * len(self.line)
        for block in reversed(self.line):
            found[block] = frozenset().union(*({other} | found[other] for other, _ in self.after[block]))
        return tuple(found)

    @cached_property
    def between(self) -> tuple[frozenset[int], ...]:
        """For each hold the blocks that lie within it, its last among them; its first not."""
        return tuple(
            frozenset(
                other
                for other in range(len(self.line))
                if (hold.first is None or other in self.followers[hold.first])
                and (other == hold.last or hold.last in self.followers[other])
            )
            for hold in self.prepared.holds
        )

    def ranks(self) -> Iterator[Sequence[float]]:
        """Orders to try: who must start first, the longest tail, the most that waits; then shuffles of the first."""
        heavy = [
            -sum(self.prepared.blocks[other].minutes for other in {block} | self.followers[block])
            for block in range(len(self.line))
        ]
        yield self.latest
        yield [-tail for tail in self.tails]
        yield heavy
        chance = random.Random(1)
        spread = (max(self.latest, default=0) - min(self.latest, default=0)) / 10
        for _ in range(SHUFFLES):
            yield [moment + chance.gauss(0, spread) for moment in self.latest]

    def placed(self, rank: Sequence[float]) -> tuple[int, ...] | int:
        """The starts of all tasks when blocks are placed by rank, lowest first; or the block that finds no place."""
        starts: dict[int, int] = {}
        profiles = Profile.of(self.prepared)
        for block in self._sequence(rank):
            moment = self._earliest(block, starts, profiles)
            if moment is None:
                return block
            starts[block] = moment
            self._take(block, starts, profiles)
        return self.prepared.starts([starts[block] for block in range(len(self.line))])

    def _sequence(self, rank: Sequence[float]) -> Iterator[int]:
        """The blocks in the order of their rank, save that a hold once begun is ended before another begins."""
        left = [len(before) for before in self.before]
        waits = self._first_of_all()
        done: set[int] = set()
        open_now = [at for at, hold in enumerate(self.prepared.holds) if hold.first is None]
        while len(done) < len(left):
            able = [block for block, n in enumerate(left) if not n and block not in done]
            inside = next(
                (inner for at in reversed(open_now) if (inner := self.between[at] & set(able))), None
            )
            choice = inside or [block for block in able if waits[block] <= done] or able
            block = min(choice, key=lambda one: (rank[one], one))
            yield block
            done.add(block)
            open_now += [at for at, hold in enumerate(self.prepared.holds) if hold.first == block]
            open_now = [at for at in open_now if self.prepared.holds[at].last not in done]
            for other, _ in self.after[block]:
                left[other] -= 1

    def _first_of_all(self) -> list[set[int]]:
        """Blocks to be placed before each: before a hold begins, whatever its end waits for outside it."""
        waits: list[set[int]] = [set() for _ in self.line]
        for at, hold in enumerate(self.prepared.holds):
            if hold.first is not None:
                before_last = {other for other in self.line if hold.last in self.followers[other]}
                waits[hold.first] |= before_last - self.between[at] - {hold.first}
        return waits

    def _earliest(self, block: int, starts: dict[int, int], profiles: dict[str, Profile]) -> int | None:
        own = self.prepared.blocks[block]
        moment: int | None = max([own.starts[0][0], *(starts[one] + gap for one, gap in self.before[block])])
        while moment is not None:
            moment = next_in(own.starts, moment)
            if moment is None:
                return None
            later = moment
            for use in own.uses:
                later = (
                    profiles[use.resource].free_from(later + use.offset, use.minutes, use.amount) - use.offset
                )
            for hold in self.prepared.holds:
                if hold.first == block:
                    later = profiles[hold.resource].free_from(later + hold.start, None, 1) - hold.start
            if later == moment:
                return moment
            moment = later
        return None

    def _take(self, block: int, starts: dict[int, int], profiles: dict[str, Profile]) -> None:
        for use in self.prepared.blocks[block].uses:
            profiles[use.resource].take(
                starts[block] + use.offset, starts[block] + use.offset + use.minutes, use.amount
            )
        for hold in self.prepared.holds:
            if hold.first == block:
                profiles[hold.resource].take(starts[block] + hold.start, None, 1)
            if hold.last == block:
                profiles[hold.resource].give_back(starts[block] + hold.end, 1)
