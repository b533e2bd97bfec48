"""Times the scheduler: tall pieces on a bench for one, and plain projects; `--hard` adds those of scarce capacities."""

import statistics
import sys
import time
from collections.abc import Iterable, Mapping, Sequence

from bench_estimate import line
from schedule_cases import network, tall_piece

from estimating.scheduling.solve import Problem, Solution, solve
from tests.estimating.schedules import tiled


def timed(problem: Problem, *, effort: float) -> tuple[float, Solution]:
    """Seconds by the clock, and the answer."""
    start = time.perf_counter()
    found = solve(problem, effort=effort)
    return time.perf_counter() - start, found


def several(title: str, problems: Iterable[Problem], *, target: float, share: float, effort: float) -> None:
    """A line for like problems: the share of them proven within the target, s, the median and worst time and gap."""
    found = [timed(problem, effort=effort) for problem in problems]
    proven = sum(one.proven and seconds <= target for seconds, one in found) / len(found)
    times = [seconds for seconds, _ in found]
    worst = max(one.finish / one.bound - 1 for _, one in found)
    print(
        f"  {title}: {len(found)}; median {statistics.median(times):.1f} s, worst {max(times):.1f} s, gap {worst:.1%}"
    )
    line(f"{title}, % within {target:g} s", 100 * proven, f">= {100 * share:g}", good=proven >= share)


def projects(
    activities: int, strengths: Sequence[float], *, factors: Sequence[float], seeds: int
) -> list[Problem]:
    """Networks of a kind; links 1.5, 1.8 and 2.1 an activity."""
    return [
        network(activities=activities, complexity=complexity, factor=factor, strength=strength, seed=seed)
        for complexity in (1.5, 1.8, 2.1)
        for factor in factors
        for strength in strengths
        for seed in range(seeds)
    ]


PIECES: Mapping[str, Sequence[Mapping[str, int]]] = {
    "one piece of 60 layers": [
        {"seed": seed, "batch": batch} for seed, batch in ((1, 6), (2, 6), (3, 10), (4, 4), (5, 6))
    ],
    "three pieces of 20 layers": [{"layers": 20, "jobs": 3, "seed": seed} for seed in (1, 2)],
}


def main() -> None:
    """Print each with its target."""
    print("The scheduler: % proven within the time, by the clock")
    for title, cases in PIECES.items():
        several(title, [tall_piece(**case) for case in cases], target=10, share=1, effort=1)
    for activities in (30, 60):
        cut = [
            tiled(activities=activities, length=2 * activities, capacity=20, seed=seed) for seed in range(4)
        ]
        several(f"{activities} activities that fill a rectangle", cut, target=40, share=0.75, effort=2)
    seeds = 2 if "--hard" in sys.argv else 1
    for activities in (30, 60):
        easy = projects(activities, (0.4, 0.7, 1.0), factors=(0.25, 0.5, 0.75, 1.0), seeds=seeds)
        several(
            f"{activities} activities, capacities middling to ample", easy, target=40, share=0.9, effort=4
        )
        if "--hard" in sys.argv:
            hard = projects(activities, (0.2,), factors=(0.25, 0.5, 0.75, 1.0), seeds=seeds)
            several(f"{activities} activities, capacities scarce", hard, target=40, share=0.5, effort=2)


if __name__ == "__main__":
    main()
