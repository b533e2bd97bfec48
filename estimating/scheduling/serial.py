"""A schedule at once: blocks placed one after another, each as early as it goes, by a few rules of who is first."""

import random
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from estimating.errors import InvalidInput
from estimating.scheduling.blocks import Block, Prepared, named, prepare
from estimating.scheduling.order import Network
from estimating.scheduling.problem import Problem
from estimating.scheduling.profile import Profile
from estimating.scheduling.windows import Ranges, next_in, shared, shifted

SHUFFLES = 20
"""How many more orders are tried, each a little astray from the first rule; the same ones each time."""

MOST_PLACED = 4000
"""Shuffles are left out where all of them together would place more blocks than this: they are to take a moment."""

CLIMBS = 400

MOST_CLIMBED = 60_000
"""Blocks placed in all while an order is made better, at most: about a second."""

Value = tuple[int, int, int]
"""Minutes late, finish, visits: less is better, in this order."""


def serial(problem: Problem) -> tuple[int, ...]:
    """When each task starts in a schedule that keeps every rule, found at once but not the best.

    Errors: InvalidInput as `prepare` has it, and at `horizon` when the tasks do not all fit.
    Source: the serial schedule generation scheme, Kelley 1963, from memory; it is in many textbooks.
    """
    return serial_starts(prepare(problem))


def serial_starts(prepared: Prepared) -> tuple[int, ...]:
    """The best schedule of some rules and some shuffles of them."""
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
        name = named(prepared.problem, prepared.blocks[stuck].tasks[0])
        raise InvalidInput("horizon", f"{name} finds no place before {prepared.horizon} min")
    return min(found)[1]


def pulled_forward(prepared: Prepared, starts: Sequence[int]) -> tuple[int, ...]:
    """The same schedule with each task as early as it goes, in the windows that are visited already."""
    order = Order(prepared, only=visited(prepared, starts))
    of_blocks = [starts[block.tasks[0]] - block.offsets[0] for block in prepared.blocks]
    place = {block: at for at, block in enumerate(order.network.line)}
    found = order.placed_in(sorted(place, key=lambda block: (of_blocks[block], place[block])))
    if isinstance(found, int) or value(prepared, found) > value(prepared, starts):
        return tuple(starts)
    return found


def climbed(prepared: Prepared, starts: tuple[int, ...], goal: int) -> tuple[int, ...]:
    """A schedule as good or better: tasks are moved in the order, until it ends by `goal` or for a while."""
    order = Order(prepared)
    chance = random.Random(2)
    best = value(prepared, starts)
    for _ in range(min(CLIMBS, MOST_CLIMBED // max(1, len(prepared.blocks)))):
        if best[:2] <= (0, goal):
            break
        rank = [float(starts[block.tasks[0]]) for block in prepared.blocks]
        spread = (max(rank) - min(rank)) / 15
        share = chance.choice((0.1, 0.1, 1.0))
        rank = [moment + (chance.gauss(0, spread) if chance.random() < share else 0) for moment in rank]
        found = order.placed(rank)
        if not isinstance(found, int) and value(prepared, found) <= best:
            starts, best = found, value(prepared, found)
    return starts


def value(prepared: Prepared, starts: Sequence[int]) -> Value:
    """How good a schedule is."""
    problem = prepared.problem
    ends = [start + task.minutes for start, task in zip(starts, problem.tasks, strict=True)]
    late = sum(max(0, ends[task] - due) for task, due in problem.due.items())
    return late, max(ends, default=problem.not_before), len(visited(prepared, starts))


def visited(prepared: Prepared, starts: Sequence[int]) -> set[int]:
    """The windows attended work begins in, by number; what has been begun may have run on past the end of its own."""
    return {
        at
        for start, task in zip(starts, prepared.problem.tasks, strict=True)
        if task.attended
        for at, (first, last) in enumerate(prepared.windows)
        if first <= start <= last
    }


class Order:
    """The orders in which blocks can be placed, and the placing of them; `only` in windows of these numbers."""

    def __init__(self, prepared: Prepared, only: Iterable[int] | None = None) -> None:
        self.prepared = prepared
        self.network = network = Network(prepared)
        self.starts = [block.starts for block in prepared.blocks]
        if only is not None:
            windows = tuple(prepared.windows[at] for at in sorted(only))
            self.starts = [self._within(block, windows) for block in prepared.blocks]
        self.needs = [_needs(prepared, block) for block in range(len(prepared.blocks))]
        self.between = tuple(
            frozenset(
                other
                for other in network.line
                if (hold.first is None or other in network.followers[hold.first])
                and (other == hold.last or hold.last in network.followers[other])
            )
            for hold in prepared.holds
        )
        """For each hold the blocks that lie within it, its last among them; its first not."""

    def _within(self, block: Block, windows: Ranges) -> Ranges:
        """When a block may start if somebody is there in these windows alone."""
        found = block.starts
        for task, offset in zip(block.tasks, block.offsets, strict=True):
            if self.prepared.problem.tasks[task].attended:
                found = shared(found, shifted(windows, -offset))
        return found

    def ranks(self) -> Iterator[Sequence[float]]:
        """Orders to try: who must start first, the longest tail, the most that waits; then shuffles of the first."""
        network, blocks = self.network, self.prepared.blocks
        latest = network.latest(self.prepared.horizon, 0)
        yield latest
        yield [-tail for tail in network.tails]
        yield [
            -sum(blocks[other].minutes for other in {block} | network.followers[block])
            for block in range(len(blocks))
        ]
        chance = random.Random(1)
        spread = (max(latest, default=0) - min(latest, default=0)) / 10
        for _ in range(min(SHUFFLES, MOST_PLACED // max(1, len(blocks)))):
            yield [moment + chance.gauss(0, spread) for moment in latest]

    def sequence(self, rank: Sequence[float]) -> Iterator[int]:
        """The blocks in the order of their rank, save that a hold once begun is ended before another begins."""
        holds = self.prepared.holds
        left = [len(before) for before in self.network.before]
        waits = self._first_of_all()
        able = {block for block, n in enumerate(left) if not n}
        done: set[int] = set()
        open_now = [at for at, hold in enumerate(holds) if hold.first is None]
        while able:
            inside = next((inner for at in reversed(open_now) if (inner := self.between[at] & able)), None)
            choice = inside or {block for block in able if waits[block] <= done} or able
            block = min(choice, key=lambda one: (rank[one], one))
            yield block
            able.remove(block)
            done.add(block)
            open_now += [at for at, hold in enumerate(holds) if hold.first == block]
            open_now = [at for at in open_now if holds[at].last not in done]
            for other, _ in self.network.after[block]:
                left[other] -= 1
                if not left[other]:
                    able.add(other)

    def _first_of_all(self) -> list[set[int]]:
        """Blocks to be placed before each: before a hold begins, whatever its end waits for outside it."""
        waits: list[set[int]] = [set() for _ in self.network.line]
        for at, hold in enumerate(self.prepared.holds):
            if hold.first is not None:
                before_last = {
                    other for other in self.network.line if hold.last in self.network.followers[other]
                }
                waits[hold.first] |= before_last - self.between[at] - {hold.first}
        return waits

    def placed(self, rank: Sequence[float]) -> tuple[int, ...] | int:
        """The starts of all tasks when blocks are placed by rank, lowest first; or the block that finds no place."""
        return self.placed_in(self.sequence(rank))

    def placed_in(self, sequence: Iterable[int]) -> tuple[int, ...] | int:
        """The starts of all tasks when blocks are placed in a sequence; or the block that finds no place."""
        starts: dict[int, int] = {}
        profiles = Profile.of(self.prepared)
        for block in sequence:
            moment = self._earliest(block, starts, profiles)
            if moment is None:
                return block
            starts[block] = moment
            self._take(block, moment, profiles)
        return self.prepared.starts([starts[block] for block in range(len(self.starts))])

    def _earliest(self, block: int, starts: dict[int, int], profiles: dict[str, Profile]) -> int | None:
        early = [starts[one] + gap for one, gap in self.network.before[block]]
        moment = max([self.prepared.blocks[block].starts[0][0], *early])
        while (admitted := next_in(self.starts[block], moment)) is not None:
            moment = admitted
            for need in self.needs[block]:
                free = profiles[need.resource].free_from(moment + need.offset, need.minutes, need.amount)
                moment = free - need.offset
            if moment == admitted:
                return moment
        return None

    def _take(self, block: int, moment: int, profiles: dict[str, Profile]) -> None:
        for need in self.needs[block]:
            first = moment + need.offset
            profiles[need.resource].take(
                first, None if need.minutes is None else first + need.minutes, need.amount
            )
        for hold in self.prepared.holds:
            if hold.last == block:
                profiles[hold.resource].give_back(moment + hold.end, 1)


@dataclass(frozen=True, slots=True)
class _Need:
    """So much of a resource from so long after a block's start; for ever where `minutes` is None."""

    resource: str
    offset: int
    minutes: int | None
    amount: int


def _needs(prepared: Prepared, block: int) -> Sequence[_Need]:
    """What a block takes at each moment of it, uses together with the holds that begin in it."""
    own = prepared.blocks[block].uses
    begun = [hold for hold in prepared.holds if hold.first == block]
    found = []
    for resource in sorted({use.resource for use in own} | {hold.resource for hold in begun}):
        profile = Profile(0)
        for use in own:
            if use.resource == resource:
                profile.take(use.offset, use.offset + use.minutes, use.amount)
        for hold in begun:
            if hold.resource == resource:
                profile.take(hold.start, None, 1)
        found += [_Need(resource, first, minutes, amount) for first, minutes, amount in profile.taken()]
    return found
