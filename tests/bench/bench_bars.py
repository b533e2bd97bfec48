"""Lengths out of bars: how many of each published class are proven, and in what time, apart from the rest."""

import random
import statistics
import time
from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from estimating.wood.bins import fewest_bars

EACH = 10
"""Instances of a class, unless its authors gave more or it takes long."""


class Bars(NamedTuple):
    """Lengths wanted, the bar, and the fewest bars where the making says it."""

    lengths: Counter[int]
    bar: int
    fewest: int | None = None


def uniform(*, count: int, low: int, high: int, bar: int, seed: int) -> Bars:
    """Lengths drawn evenly."""
    draw = random.Random(f"{count} {low} {high} {bar} {seed}")
    return Bars(Counter(draw.randint(low, high) for _ in range(count)), bar)


def triplets(*, bars: int, seed: int) -> Bars:
    """Lengths in threes that fill a bar of 1000 exactly; see tests/estimating/test_cutting_bars.py."""
    draw = random.Random(seed)
    lengths: Counter[int] = Counter()
    for _ in range(bars):
        first = draw.randint(380, 490)
        second = draw.randint(250, (1000 - first) // 2)
        lengths.update((first, second, 1000 - first - second))
    return Bars(lengths, 1000, bars)


def around(*, count: int, share: int, spread: float, seed: int) -> Bars:
    """Lengths about a share of a bar of 1000, evenly within so much of it up and down."""
    low, high = 1000 / share * (1 - spread), 1000 / share * (1 + spread)
    return uniform(count=count, low=max(1, round(low)), high=min(1000, round(high)), bar=1000, seed=seed)


def classes() -> Iterator[tuple[str, list[Bars]]]:
    """Made in the manner of the published sets, from memory: none of their instances is here.

    Falkenauer (1996): 120 to 1000 lengths of 20 to 100 in bars of 150, and triplets. Scholl, Klein, Jürgens (1997):
    three sets. Schwerin, Wäscher (1997): lengths of 150 to 200 in bars of 1000. Schoenfield (2002): 160 to 200 lengths
    of 1 to 800 in bars of 1000, of which he kept those that are hard.
    """
    seeds = range(EACH)
    for count in (120, 250, 500, 1000):
        cases = [uniform(count=count, low=20, high=100, bar=150, seed=seed) for seed in seeds]
        yield f"{count} of 20-100 in 150", cases
    for bars, often in ((20, 20), (40, 20), (83, 10), (167, 10)):
        yield f"{3 * bars} in triplets", [triplets(bars=bars, seed=seed) for seed in range(often)]
    for bar in (100, 120, 150):
        yield (
            f"50-500 of 1|20|30-100 in {bar}",
            [
                uniform(count=count, low=low, high=100, bar=bar, seed=seed)
                for low in (1, 20, 30)
                for count in (50, 100, 200, 500)
                for seed in range(3)
            ],
        )
    for share in (3, 5, 7, 9):
        yield (
            f"50-500 about 1/{share} of 1000",
            [
                around(count=count, share=share, spread=spread, seed=seed)
                for spread in (0.2, 0.5, 0.9)
                for count in (50, 100, 200, 500)
                for seed in range(2)
            ],
        )
    cases = [uniform(count=200, low=20_000, high=35_000, bar=100_000, seed=seed) for seed in range(5)]
    yield "200 of 20-35 % in 100000", cases
    for count in (100, 120):
        cases = [uniform(count=count, low=150, high=200, bar=1000, seed=seed) for seed in seeds]
        yield f"{count} of 150-200 in 1000", cases
    for count in (160, 180, 200):
        cases = [uniform(count=count, low=1, high=800, bar=1000, seed=seed) for seed in seeds]
        yield f"{count} of 1-800 in 1000", cases


def main() -> None:
    """Print the table."""
    print("bars, class                      proven    worst gap   median s   worst s")
    for name, cases in classes():
        times, gaps, proven = [], [], 0
        for lengths, bar, fewest in cases:
            begin = time.process_time()
            plan = fewest_bars(sizes=list(lengths), counts=list(lengths.values()), bar=bar)
            times.append(time.process_time() - begin)
            gaps.append(len(plan.bars) - plan.bound)
            proven += plan.proven and fewest in (None, len(plan.bars))
        print(
            f"{name:32s} {proven:3d} of {len(cases):2d} {max(gaps):6d} bars"
            f" {statistics.median(times):9.2f} {max(times):9.2f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
