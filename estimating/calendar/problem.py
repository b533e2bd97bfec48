"""The jobs' steps as a problem for the scheduler, in which a wait is only a lag; and its solution read back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from math import ceil

from estimating.calendar.state import State
from estimating.errors import InvalidInput, shown
from estimating.scheduling.problem import Hold, Link, Problem, Task
from estimating.steps.step import MACHINES, MIX, PERSON, Step

Name = tuple[int, str]
"""A step by the number of its job and its key."""

Span = tuple[int, int]
"""From and to what minute."""


@dataclass(frozen=True)
class Chain:
    """Steps of several jobs at one setting of a machine: in this order, with nothing else on the machine meanwhile.

    Of one mix: each at the very end of the one before.
    """

    machine: str
    steps: tuple[Name, ...]


@dataclass(frozen=True)
class Shop:
    """What the bench has: its windows, how much of each resource, and the minute it is now."""

    windows: Sequence[Span]
    capacities: Mapping[str, int]
    now: int


@dataclass(frozen=True)
class Drawn:
    """A problem and how to read its solution: the tasks of each step, several where it is too long for a window."""

    problem: Problem
    tasks: Mapping[Name, tuple[int, ...]]
    states: Sequence[State]

    def times(self, starts: Sequence[int]) -> dict[Name, list[Span]]:
        """When every step is on that is not over, waits as well; in several spans where it is parted."""
        found: dict[Name, list[Span]] = {}
        for job, state in enumerate(self.states):
            for step in state.steps.values():
                found[job, step.key] = self._times_of(job, state, step, starts, found)
        return {
            (job, key): spans
            for (job, key), spans in found.items()
            if key not in self.states[job].begun or not self.states[job].begun[key].over
        }

    def _times_of(
        self, job: int, state: State, step: Step, starts: Sequence[int], found: Mapping[Name, list[Span]]
    ) -> list[Span]:
        begun = state.begun.get(step.key)
        if begun:
            return [(begun.start, begun.end)]
        if numbers := self.tasks.get((job, step.key)):
            return [(starts[one], starts[one] + self.problem.tasks[one].minutes) for one in numbers]
        start = max(found[job, key][-1][1] for key in step.after)
        return [(start, start + state.minutes[step.key])]


def draw(
    states: Sequence[State],
    shop: Shop,
    *,
    due: Mapping[int, int],
    chains: Sequence[Chain] = (),
    may_be_clipped: bool = False,
) -> Drawn:
    """The problem of these jobs; `due` by the number of the job.

    A glue-up longer than every window is refused, or clipped to the longest if it `may_be_clipped`; other work is
    parted. Errors: InvalidInput at `bench.hours`, or at `bench` for something that there is none of.
    """
    drawing = _Drawing(states, shop, chains, may_be_clipped)
    drawing.add_tasks()
    drawing.add_links()
    drawing.add_holds()
    used = {name for task in drawing.tasks for name in task.uses} | {hold.resource for hold in drawing.holds}
    problem = Problem(
        tasks=drawing.tasks,
        links=drawing.links,
        capacities={name: shop.capacities.get(name, 1) for name in sorted(used)},
        windows=tuple(shop.windows),
        holds=drawing.holds,
        fixed=drawing.fixed,
        not_before=shop.now,
        due={
            number: minute
            for job, minute in due.items()
            for key in _last(states[job])
            for number in drawing.numbers.get((job, key), ())[-1:]
        },
    )
    return Drawn(problem, {name: tuple(of) for name, of in drawing.numbers.items()}, states)


def _last(state: State) -> list[str]:
    """The steps that nothing waits for."""
    waited = {key for step in state.steps.values() for key in step.after}
    return [key for key in state.steps if key not in waited]


@dataclass
class _Drawing:
    states: Sequence[State]
    shop: Shop
    chains: Sequence[Chain]
    may_be_clipped: bool
    tasks: list[Task] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    fixed: dict[int, int] = field(default_factory=dict)
    numbers: dict[Name, list[int]] = field(default_factory=dict)

    @cached_property
    def longest(self) -> int:
        return max((last - first for first, last in self.shop.windows), default=0)

    @cached_property
    def whole(self) -> frozenset[Name]:
        """Steps that are never parted: adhesive sets from their last minute."""
        return frozenset(
            (job, key)
            for job, state in enumerate(self.states)
            for step in state.steps.values()
            for key in [step.key if step.in_one else step.at_once_after]
        )

    @cached_property
    def chained(self) -> frozenset[Name]:
        """Steps whose machine is held by a chain."""
        return frozenset(name for chain in self.chains for name in chain.steps)

    @cached_property
    def minded(self) -> frozenset[str]:
        """Machines that it has to be minded who is on: several people could be, or a setting has to last."""
        if self.shop.capacities.get(PERSON, 1) > 1:
            return frozenset(MACHINES)
        held = {one.resource for state in self.states for step in state.steps.values() for one in step.holds}
        return frozenset(held | {chain.machine for chain in self.chains})

    def add_tasks(self) -> None:
        for job, state in enumerate(self.states):
            held = self._held(job, state)
            wanted = {one.until for step in state.steps.values() for one in step.holds} | set(_last(state))
            for key, step in state.steps.items():
                begun, uses = state.begun.get(key), self._uses(step, held)
                if begun is None:
                    if not _is_lag(step) or key in wanted:
                        self._add_waiting(job, state, step, uses)
                elif not begun.over or any(one.until not in state.begun for one in step.holds):
                    task = Task(step.name, begun.end - begun.start, {} if begun.over else uses)
                    self.fixed[self._add((job, key), task)] = begun.start

    def _held(self, job: int, state: State) -> set[tuple[str, str]]:
        """(step, resource) where a hold that goes over the step takes the resource."""
        found = {(key, chain.machine) for chain in self.chains for of, key in chain.steps if of == job}
        for step in state.steps.values():
            for one in step.holds:
                if one.until in state.begun:
                    continue
                found.add((step.key, one.resource))
                edge = [one.until] if one.to_end else list(state.steps[one.until].after)
                while edge:
                    inner = state.steps[edge.pop()]
                    if inner.key != step.key and one.resource in dict(inner.uses):
                        found.add((inner.key, one.resource))
                        edge += inner.after
        return found

    def _uses(self, step: Step, held: set[tuple[str, str]]) -> dict[str, int]:
        uses = {}
        for resource, count in step.uses:
            there = self._there_is(resource, step)
            if (step.key, resource) not in held and (resource not in MACHINES or resource in self.minded):
                uses[resource] = min(count, there)
        return uses

    def _there_is(self, resource: str, step: Step) -> int:
        count = self.shop.capacities.get(resource, 1)
        if count < 1:
            raise InvalidInput(
                f"bench.{_PLURALS.get(resource, resource)}", f"is 0, and {shown(step.name)!r} takes one"
            )
        return count

    def _add(self, name: Name, task: Task) -> int:
        self.tasks.append(task)
        self.numbers.setdefault(name, []).append(len(self.tasks) - 1)
        return len(self.tasks) - 1

    def _add_waiting(self, job: int, state: State, step: Step, uses: dict[str, int]) -> None:
        minutes, count = state.minutes[step.key], 1
        if not step.is_hands_on:
            self._add((job, step.key), Task(step.name, minutes, uses, "start" if step.attended else ""))
            return
        if self.longest and minutes > self.longest:
            if (job, step.key) not in self.whole:
                count = ceil(minutes / self.longest)
            elif self.may_be_clipped:
                minutes = self.longest
            else:
                raise _too_long(step, minutes, self.longest)
        for number in range(count):
            part = minutes * (number + 1) // count - minutes * number // count
            at = self._add((job, step.key), Task(step.name, part, uses, "all"))
            if number:
                self.links.append(Link(at - 1, at))

    def add_links(self) -> None:
        for job, state in enumerate(self.states):
            for key, step in state.steps.items():
                if (job, key) not in self.numbers or key in state.begun:
                    continue
                after = self.numbers[job, key][0]
                for before, lag in self._before(job, state, step).items():
                    at_once = before == step.at_once_after and not lag
                    self.links.append(Link(self.numbers[job, before][-1], after, lag, at_once))

    def _before(self, job: int, state: State, step: Step) -> dict[str, int]:
        """The tasks that a step waits for, and how long after each of them."""
        found: dict[str, int] = {}
        edge = [(key, 0) for key in step.after]
        while edge:
            key, lag = edge.pop()
            if key in state.begun and state.begun[key].over:
                continue
            if (job, key) in self.numbers:
                found[key] = max(lag, found.get(key, 0))
            else:
                edge += [(one, lag + state.minutes[key]) for one in state.steps[key].after]
        return found

    def add_holds(self) -> None:
        for job, state in enumerate(self.states):
            for key, step in state.steps.items():
                for one in step.holds:
                    chained = one.resource in MACHINES and (job, key) in self.chained
                    if (job, key) in self.numbers and one.until not in state.begun and not chained:
                        last = self.numbers[job, one.until][-1 if one.to_end else 0]
                        self.holds.append(Hold(one.resource, self.numbers[job, key][0], last, one.to_end))
        for chain in self.chains:
            mixed = chain.machine == MIX
            for before, after in pairwise(chain.steps):
                self.links.append(Link(self.numbers[before][-1], self.numbers[after][0], at_once=mixed))
            if mixed:
                continue
            first, last = self.numbers[chain.steps[0]][0], self.numbers[chain.steps[-1]][-1]
            self.holds.append(Hold(chain.machine, first, last))


def _is_lag(step: Step) -> bool:
    """Whether it is time that passes and nothing else."""
    return not (step.is_hands_on or step.attended or step.uses)


_PLURALS = {"mandrel": "mandrels", "jig": "jigs", "press": "presses", "ring_clamp": "ring_clamps"}

_FEWER = {
    "stack": "fewer layers in a glue-up (shop.layers_per_glue_up)",
    "half_ring": "fewer rings at once (shop.ring_clamps)",
    "ring": "fewer rings at once (shop.ring_clamps)",
}


def _too_long(step: Step, minutes: int, longest: int) -> InvalidInput:
    fewer = next((f", or ask for {help_}" for kind, help_ in _FEWER.items() if f".{kind}." in step.key), "")
    reason = (
        f"glue-up {step.glue_up} ({shown(step.name)}) takes {minutes} min on end and is never broken off, and the "
        f"longest stretch of bench hours is {longest} min; keep the bench open longer{fewer}"
    )
    return InvalidInput("bench.hours", reason)
