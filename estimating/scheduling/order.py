"""The network of blocks: what follows what, and between which minutes each may start."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from estimating.errors import InvalidInput
from estimating.scheduling.blocks import Prepared, named
from estimating.scheduling.windows import Ranges, after_work, last_in, next_in, shared


class Network:
    """The blocks of a prepared problem in line. Errors: InvalidInput at a task that waits for itself."""

    def __init__(self, prepared: Prepared) -> None:
        self.prepared = prepared
        count = len(prepared.blocks)
        self.before: list[list[tuple[int, int]]] = [[] for _ in range(count)]
        """The blocks before each, with the minutes from start to start."""
        self.after: list[list[tuple[int, int]]] = [[] for _ in range(count)]
        for arc in prepared.arcs:
            self.before[arc.after].append((arc.before, arc.gap))
            self.after[arc.before].append((arc.after, arc.gap))
        self.line = self._in_line()

    def _in_line(self) -> tuple[int, ...]:
        """Every block after those it follows."""
        left = [len(before) for before in self.before]
        line = [block for block, n in enumerate(left) if not n]
        for block in line:
            for other, _ in self.after[block]:
                left[other] -= 1
                if not left[other]:
                    line.append(other)
        if len(line) < len(left):
            task = min(self.prepared.blocks[block].tasks[0] for block, n in enumerate(left) if n)
            name = named(self.prepared.problem, task)
            raise InvalidInput(f"tasks[{task}]", f"{name} waits for itself: its links go in a circle")
        return tuple(line)

    @cached_property
    def heads(self) -> tuple[int, ...]:
        """The first minute each block could start, were there room for everything."""
        blocks = self.prepared.blocks
        found = [block.starts[0][0] for block in blocks]
        for block in self.line:
            early = max([found[block], *(found[one] + gap for one, gap in self.before[block])])
            moment = next_in(blocks[block].starts, early)
            if moment is None:
                task = blocks[block].tasks[0]
                reason = (
                    f"{named(self.prepared.problem, task)} cannot start before {early} min, which is too late"
                )
                raise InvalidInput("horizon", reason)
            found[block] = moment
        return tuple(found)

    @cached_property
    def tails(self) -> tuple[int, ...]:
        """Minutes from the start of each block to the end of the last that follows it, on the clock alone."""
        found = [block.minutes for block in self.prepared.blocks]
        for block in reversed(self.line):
            for other, gap in self.after[block]:
                found[block] = max(found[block], gap + found[other])
        return tuple(found)

    @cached_property
    def followers(self) -> tuple[frozenset[int], ...]:
        """The blocks that come after each, however far on."""
        found: list[frozenset[int]] = [frozenset()] * len(self.line)
        for block in reversed(self.line):
            found[block] = frozenset().union(*({other} | found[other] for other, _ in self.after[block]))
        return tuple(found)

    def latest(self, finish: int, late: int) -> tuple[int, ...]:
        """When each block must have started for all to end by `finish` and no due task more than `late` past due.

        Where that cannot be, a minute before it could start at all.
        """
        problem, blocks = self.prepared.problem, self.prepared.blocks
        found = [finish - block.minutes for block in blocks]
        for task, due in problem.due.items():
            if task in self.prepared.place:
                block, offset = self.prepared.place[task]
                found[block] = min(found[block], due + late - problem.tasks[task].minutes - offset)
        for block in reversed(self.line):
            for other, gap in self.after[block]:
                found[block] = min(found[block], found[other] - gap)
            snapped = last_in(blocks[block].starts, found[block])
            found[block] = blocks[block].starts[0][0] - 1 if snapped is None else snapped
        return tuple(found)

    def spans(self, finish: int, late: int) -> Sequence[Ranges]:
        """When each block may start in a schedule that ends by `finish`, and `late` at most past any due minute."""
        return [
            shared(block.starts, ((first, last),))
            for block, first, last in zip(
                self.prepared.blocks, self.heads, self.latest(finish, late), strict=True
            )
        ]


def least_finish(network: Network) -> int:
    """A minute before which nothing can be done: by links and windows, and by the work there is for each resource."""
    prepared = network.prepared
    problem = prepared.problem
    ends = [start + problem.tasks[task].minutes for task, start in prepared.fixed.items()]
    ends += [head + block.minutes for head, block in zip(network.heads, prepared.blocks, strict=True)]
    for resource, capacity in problem.capacities.items():
        work = list(_work(network, resource))
        ends += _ends_by_work(work, capacity, ())
        if prepared.windows:
            ends += _ends_by_work([own for own in work if own.inside], capacity, prepared.windows)
    return max(ends, default=problem.not_before)


@dataclass(frozen=True, slots=True)
class _Work:
    """What a use takes of a resource (minutes times amount), after when, how long before the end; in windows or not."""

    head: int
    much: int
    tail: int
    inside: bool


def _work(network: Network, resource: str) -> Iterator[_Work]:
    problem = network.prepared.problem
    for task, (block, offset) in network.prepared.place.items():
        own = problem.tasks[task]
        much = own.minutes * own.uses.get(resource, 0)
        if much:
            tail = network.tails[block] - offset - own.minutes
            yield _Work(network.heads[block] + offset, much, max(0, tail), own.attended == "all")


def _ends_by_work(work: Sequence[_Work], capacity: int, windows: Ranges) -> Iterator[int]:
    """When the last of them would end if all were cut as fine as dust: those with late heads, those with long tails."""
    by_head = sorted(work, key=lambda own: -own.head)
    by_tail = sorted(work, key=lambda own: -own.tail)
    for line in (by_head, by_tail):
        head, tail, much = None, None, 0
        for own in line:
            much += own.much
            head = own.head if head is None else min(head, own.head)
            tail = own.tail if tail is None else min(tail, own.tail)
            yield after_work(windows, head, -(-much // capacity)) + tail


def least_late(network: Network) -> int:
    """Minutes past due that cannot be helped, by links and windows."""
    prepared = network.prepared
    ends = {task: start + prepared.problem.tasks[task].minutes for task, start in prepared.fixed.items()}
    for task, (block, offset) in prepared.place.items():
        ends[task] = network.heads[block] + offset + prepared.problem.tasks[task].minutes
    return sum(max(0, ends[task] - due) for task, due in prepared.problem.due.items())
