"""Made-up scheduling problems: networks of activities by published measures, and a tall piece on a bench for one."""

import random
from collections.abc import Iterator, Mapping, Sequence

from estimating.scheduling.solve import Hold, Link, Problem, Task

DAY = 24 * 60


def network(*, activities: int, complexity: float, factor: float, strength: float, seed: int) -> Problem:
    """A plain resource-constrained project with four resources.

    `complexity` is links an activity, `factor` the share of resources an activity uses, `strength` where capacities
    lie from just enough for every activity (0) to enough for the schedule by links alone (1): the measures of Kolisch,
    Sprecher and Drexl, Management Science 41 (1995). The numbers are drawn here; none is from a published set.
    """
    chance = random.Random(f"{activities} {complexity} {factor} {strength} {seed}")
    minutes = [chance.randint(1, 10) for _ in range(activities)]
    links = _links(chance, activities, round(complexity * activities))
    needs = [_needs(chance, factor) for _ in range(activities)]
    starts = [0] * activities
    for before, after in sorted(links, key=lambda link: link[1]):
        starts[after] = max(starts[after], starts[before] + minutes[before])
    capacities = {}
    for resource in RESOURCES:
        least = max(need.get(resource, 0) for need in needs)
        most = max(
            sum(n.get(resource, 0) for n, s, m in zip(needs, starts, minutes, strict=True) if s <= t < s + m)
            for t in range(sum(minutes))
        )
        capacities[resource] = least + round(strength * (max(most, least) - least))
    tasks = [Task(f"activity {at + 1}", minutes[at], needs[at]) for at in range(activities)]
    return Problem(tasks, [Link(before, after) for before, after in sorted(links)], capacities)


RESOURCES = ("a", "b", "c", "d")


def _needs(chance: random.Random, factor: float) -> Mapping[str, int]:
    used = [resource for resource in RESOURCES if chance.random() < factor] or [chance.choice(RESOURCES)]
    return {resource: chance.randint(1, 10) for resource in used}


def _links(chance: random.Random, activities: int, wanted: int) -> set[tuple[int, int]]:
    """Each activity follows one of those not far before it, and some more do, none that another link implies."""
    links: set[tuple[int, int]] = set()
    ancestors: list[set[int]] = [set() for _ in range(activities)]
    for after in range(3, activities):
        before = chance.randrange(max(0, after - 12), after)
        links.add((before, after))
        ancestors[after] = {before} | ancestors[before]
    extra = 0
    for _ in range(50 * activities):
        if len(links) >= wanted or extra > 50 * activities:
            break
        after = chance.randrange(3, activities)
        before = chance.randrange(max(0, after - 12), after)
        extra += 1
        if before in ancestors[after]:
            continue
        links.add((before, after))
        for later in range(after, activities):
            if later == after or after in ancestors[later]:
                ancestors[later] |= {before} | ancestors[before]
    return links


def windows(
    days: int, hours: Sequence[tuple[int, int]] = ((8, 12), (13, 17)), week: int = 5
) -> Iterator[tuple[int, int]]:
    """Hours of work, Monday first, from midnight of the first day on."""
    for day in range(days):
        if day % 7 < week:
            yield from ((day * DAY + 60 * first, day * DAY + 60 * last) for first, last in hours)


class Piece:
    """The tasks of a piece as they are put down one by one."""

    def __init__(self) -> None:
        self.tasks: list[Task] = []
        self.links: list[Link] = []
        self.holds: list[Hold] = []

    def work(self, name: str, minutes: int, *after: int, lag: int = 0) -> int:
        """A task for one person; its number."""
        return self._put(Task(name, minutes, {"person": 1}, "all"), after, lag=lag)

    def rest(self, name: str, minutes: int, after: int, uses: Mapping[str, int] | None = None) -> int:
        """What goes on by itself at once after a task; its number."""
        return self._put(Task(name, minutes, uses or {}), (after,), at_once=True)

    def _put(self, task: Task, after: Sequence[int], *, lag: int = 0, at_once: bool = False) -> int:
        at = len(self.tasks)
        self.tasks.append(task)
        self.links += [Link(one, at, lag, at_once) for one in after]
        return at


def tall_piece(
    *,
    layers: int = 60,
    batch: int = 6,
    stack: int = 10,
    seed: int = 1,
    days: int = 120,
    jobs: int = 1,
) -> Problem:
    """A piece of so many layers: rings by halves in batches, stacks on a mandrel, joins in a press, lathe, finish.

    One person, mandrel and press, and ring clamps for one batch. Minutes are made up, with a spread by the seed.
    """
    chance = random.Random(seed)
    piece = Piece()
    for _ in range(jobs):
        _one_piece(piece, chance, layers=layers, batch=batch, stack=stack)
    capacities = {"person": 1, "mandrel": 1, "press": 1, "ring clamps": batch}
    return Problem(
        piece.tasks,
        piece.links,
        capacities,
        list(windows(days)),
        piece.holds,
        not_before=8 * 60,
        horizon=days * DAY,
    )


def _one_piece(piece: Piece, chance: random.Random, *, layers: int, batch: int, stack: int) -> None:
    def about(minutes: int) -> int:
        return max(1, round(minutes * chance.uniform(0.7, 1.3)))

    milled = piece.rest("rest", 3 * DAY, piece.work("mill", about(100)))
    sawn = piece.work("prove the saw", about(25), piece.work("rip", about(90), milled))
    rings: list[int] = []
    for first in range(0, layers, batch):
        count = min(batch, layers - first)
        cut = piece.work(f"crosscut {first + 1}", about(12 * count), sawn)
        halves = piece.work(f"half rings {first + 1}", about(10 * count), cut)
        cured = piece.rest("cure", 12 * 60, piece.rest("set", 45, halves, {"ring clamps": count}))
        whole = piece.work(f"true and join {first + 1}", about(9 * count), cured)
        cured = piece.rest("cure", 12 * 60, piece.rest("set", 45, whole, {"ring clamps": count}))
        flat = piece.work(f"flatten {first + 1}", about(6 * count), cured)
        rings += [flat] * count
    stacks = []
    for first in range(0, layers, stack):
        needed = sorted(set(rings[first : first + stack]))
        coat = piece.work(f"stack {first + 1}", about(80), *needed)
        held = piece.rest("set", 30, coat)
        press = piece.rest("press", 240, held, {"press": 1})
        piece.holds.append(Hold("mandrel", coat, press, to_end=False))
        stacks.append(piece.work(f"true stack {first + 1}", about(40), piece.rest("cure", 12 * 60, press)))
    body = stacks[0]
    for at, other in enumerate(stacks[1:]):
        joined = piece.work(f"join {at + 1}", about(35), body, other)
        body = piece.rest("cure", 12 * 60, piece.rest("press", 240, joined, {"press": 1}))
    _finish(piece, about, body)


def _finish(piece: Piece, about, body: int) -> None:  # type: ignore[no-untyped-def]
    last = piece.work("mount", about(30), body)
    for name, sessions in (("turn outside", 3), ("turn inside", 4), ("sand", 2), ("foot", 1)):
        for session in range(sessions):
            last = piece.work(f"{name} {session + 1}", about(110), last)
    for coat in range(4):
        last = piece.rest("dry", 24 * 60, piece.work(f"coat {coat + 1}", about(25), last))
    hard = piece.rest("harden", 7 * DAY, last)
    piece.work("pack", about(30), piece.work("photograph", about(40), hard))
