"""Patterns made as needed, on instances whose best answer is known by the way they are made."""

import random
from collections import Counter

import pytest

from estimating.wood.bins import fewest_bars


def triplets(bars: int, seed: int, bar: int = 1000) -> Counter[int]:
    """Lengths in threes that fill a bar exactly, so that the fewest bars are known.

    The recipe of E. Falkenauer, "A hybrid grouping genetic algorithm for bin packing", Journal of Heuristics 2
    (1996) 5-30, in tenths: the first length from 38 to 49 % of the bar, the second from 25 % to half of what is
    left, the third the rest. (Shares from memory.)
    """
    draw = random.Random(seed)
    lengths: Counter[int] = Counter()
    for _ in range(bars):
        first = draw.randint(380, 490)
        second = draw.randint(250, (bar - first) // 2)
        lengths.update((first, second, bar - first - second))
    return lengths


@pytest.mark.parametrize(("bars", "seed"), [(20, 1), (20, 2), (20, 4), (40, 1)])
def test_triplets_of_60_and_120_lengths_are_proven(bars: int, seed: int) -> None:
    lengths = triplets(bars, seed)
    sizes = sorted(lengths, reverse=True)
    plan = fewest_bars(sizes=sizes, counts=[lengths[size] for size in sizes], bar=1000)
    assert (len(plan.bars), plan.bound, plan.proven) == (bars, bars, True)
    cut: Counter[int] = Counter()
    for gives in plan.bars:
        assert sum(size * count for size, count in zip(sizes, gives, strict=True)) <= 1000
        cut.update(dict(zip(sizes, gives, strict=True)))
    assert +cut == lengths


def test_the_bound_counts_what_two_to_a_bar_must_take() -> None:
    # Nine lengths of 51 in bars of 100: only one fits each, though their sum is under five bars.
    plan = fewest_bars(sizes=[51], counts=[9], bar=100)
    assert (len(plan.bars), plan.bound) == (9, 9)
