"""Lengths out of bars, on instances whose best answer is known by the way they are made, and by hand."""

import random
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from itertools import product
from math import ceil, inf, nan, sqrt
from operator import mul
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.wood.bar_columns import BarMaster, Work
from estimating.wood.bar_fill import Lengths, fill_plans, plain_bound
from estimating.wood.bar_search import all_that_matter, near_bars
from estimating.wood.bins import BarStock, cheapest_bars, fewest_bars


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


def assert_cut(
    bars: Sequence[Sequence[int]], sizes: Sequence[float], counts: Sequence[int], bar: float, kerf: float = 0
) -> None:
    """Every length is cut as often as it is wanted, and no bar is longer than it is."""
    for gives in bars:
        pieces = sum(gives)
        length = sum(size * count for size, count in zip(sizes, gives, strict=True))
        assert length + (pieces - 1) * kerf <= bar * (1 + 1e-9)
        assert pieces > 0
    assert [sum(column) for column in zip(*bars, strict=True)] == list(counts)


@pytest.mark.parametrize(("bars", "seed"), [(bars, seed) for bars in (20, 40) for seed in range(20)])
def test_triplets_of_60_and_120_lengths_are_proven(bars: int, seed: int) -> None:
    lengths = triplets(bars, seed)
    sizes, counts = list(lengths), list(lengths.values())
    plan = fewest_bars(sizes=sizes, counts=counts, bar=1000)
    assert (len(plan.bars), plan.bound, plan.proven) == (bars, bars, True)
    assert_cut(plan.bars, sizes, counts, 1000)


def test_lengths_with_a_decimal_place_are_added_exactly() -> None:
    lengths = triplets(20, 3)
    whole = fewest_bars(sizes=list(lengths), counts=list(lengths.values()), bar=1000)
    tenths = fewest_bars(sizes=[size / 10 for size in lengths], counts=list(lengths.values()), bar=100)
    assert tenths == whole


def test_the_bound_counts_what_two_to_a_bar_must_take() -> None:
    # Nine lengths of 51 in bars of 100: only one fits each, though their sum is under five bars.
    plan = fewest_bars(sizes=[51], counts=[9], bar=100)
    assert (len(plan.bars), plan.bound) == (9, 9)


def test_a_bar_more_than_the_relaxation_asks_for_is_proven_to_be_needed() -> None:
    # Two of 44, three of 33, six of 12 in bars of 132: the relaxation takes 2/3 + 3/4 + 6/11 = 1.96 bars, and yet
    # two do not do. The smallest known order of its kind (C. Nitsche, G. Scheithauer, J. Terno, European Journal of
    # Operational Research 116 (1999) 237-243, from memory); by hand: 259 of 264 would be used, so that one bar takes
    # 130 or more, and the ways to do that leave what no bar holds.
    plan = fewest_bars(sizes=[44, 33, 12], counts=[2, 3, 6], bar=132)
    assert 44 * 2 / 132 + 33 * 3 / 132 + 6 / 11 < 2
    assert (len(plan.bars), plan.bound, plan.proven) == (3, 3, True)


@pytest.mark.parametrize("seed", range(4))
def test_where_settling_bars_finds_no_plan_the_bars_listed_do(seed: int) -> None:
    lengths = triplets(8, seed)
    sizes, counts = (
        tuple(sorted(lengths, reverse=True)),
        tuple(lengths[size] for size in sorted(lengths)[::-1]),
    )
    master = BarMaster(Lengths(sizes, counts, 1000), [], Work(1000.0))
    found, none = all_that_matter(master, 8)
    assert not none
    assert found is not None
    assert_cut(found, sizes, counts, 1000)
    assert len(found) == 8
    assert all_that_matter(master, 7) == (None, True)


@given(order=st.dictionaries(st.integers(5, 60), st.integers(1, 5), min_size=1, max_size=8))
def test_the_plain_bound_is_not_above_any_plan(order: dict[int, int]) -> None:
    sizes = sorted(order, reverse=True)
    lengths = Lengths(tuple(sizes), tuple(order[size] for size in sizes), 60)
    bound = plain_bound(lengths)
    assert bound >= ceil(lengths.total(lengths.counts) / 60)
    assert all(len(plan) >= bound for plan in fill_plans(lengths, 3))


@given(
    order=st.dictionaries(st.integers(8, 50), st.integers(1, 3), min_size=1, max_size=5),
    shares=st.lists(st.floats(0, 1), min_size=5, max_size=5),
    least=st.floats(0, 1),
)
def test_the_bars_listed_for_a_proof_are_all_that_are_worth_as_much(
    order: dict[int, int], shares: list[float], least: float
) -> None:
    sizes = sorted(order, reverse=True)
    counts = [order[size] for size in sizes]
    prices = np.array([share * size / 50 for share, size in zip(shares, sizes, strict=False)])
    every = product(*(range(count + 1) for count in counts))
    full = [
        gives
        for gives in every
        if (room := 50 - sum(map(mul, sizes, gives))) >= 0
        and all(size > room or cut == count for size, cut, count in zip(sizes, gives, counts, strict=True))
    ]
    worth = {gives: sum(map(mul, prices, gives)) for gives in full}
    listed = near_bars(Lengths(tuple(sizes), tuple(counts), 50), prices, least)
    assert listed is not None
    assert {gives for gives in full if worth[gives] >= least + 1e-9} <= set(listed)
    assert set(listed) <= {gives for gives in full if worth[gives] >= least - 1e-9}


def test_a_kerf_is_between_lengths_and_not_after_the_last() -> None:
    assert len(fewest_bars(sizes=[300], counts=[3], bar=906, kerf=3).bars) == 1
    assert len(fewest_bars(sizes=[300], counts=[3], bar=905.9, kerf=3).bars) == 2
    assert len(fewest_bars(sizes=[300], counts=[3], bar=900).bars) == 1


wanted = st.lists(st.tuples(st.floats(5, 60), st.integers(0, 4)), min_size=1, max_size=6)


@given(wanted=wanted, kerf=st.sampled_from([0.0, 1.0, 2.8]))
def test_any_lengths_fit_their_bars_and_the_bound_is_under_the_plan(
    wanted: list[tuple[float, int]], kerf: float
) -> None:
    sizes, counts = [size for size, _ in wanted], [count for _, count in wanted]
    plan = fewest_bars(sizes=sizes, counts=counts, bar=100.0, kerf=kerf)
    total = sum((size + kerf) * count for size, count in wanted)
    assert ceil(total / (100 + kerf) * (1 - 1e-9)) <= plan.bound <= len(plan.bars)
    if any(counts):
        assert_cut(plan.bars, sizes, counts, 100.0, kerf)


def test_lengths_that_no_step_divides_fit_their_bars_and_are_bounded() -> None:
    sizes = [sqrt(n) for n in range(300, 340)]
    plan = fewest_bars(sizes=sizes, counts=[2] * 40, bar=100 / 3 * 2)
    assert_cut(plan.bars, sizes, [2] * 40, 100 / 3 * 2)
    assert (len(plan.bars), plan.bound) == (27, 27)  # three fill a bar at most: 80 / 3


def test_the_same_length_given_twice_is_cut_for_both() -> None:
    plan = fewest_bars(sizes=[40, 30, 40], counts=[1, 2, 2], bar=100)
    assert_cut(plan.bars, [40, 30, 40], [1, 2, 2], 100)
    assert (len(plan.bars), plan.bound) == (2, 2)


def test_the_same_order_gives_the_same_plan() -> None:
    lengths = triplets(30, 5)
    first, second = (
        fewest_bars(sizes=list(lengths), counts=list(lengths.values()), bar=1000) for _ in range(2)
    )
    assert first == second


def test_less_work_still_gives_a_plan_and_a_bound() -> None:
    lengths = triplets(40, 1)
    sizes, counts = list(lengths), list(lengths.values())
    plan = fewest_bars(sizes=sizes, counts=counts, bar=1000, steps=0)
    assert_cut(plan.bars, sizes, counts, 1000)
    assert plan.bound <= 40 <= len(plan.bars)


GOOD: dict[str, Any] = {"sizes": [40.0, 30.0], "counts": [1, 2], "bar": 100.0}


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"sizes": [40.0, 101.0]}, "sizes[1]"),
        ({"sizes": [-40.0, 30.0]}, "sizes[0]"),
        ({"sizes": [40.0, 0.0]}, "sizes[1]"),
        ({"sizes": [nan, 30.0]}, "sizes[0]"),
        ({"sizes": [40.0, inf]}, "sizes[1]"),
        ({"sizes": ["40", 30.0]}, "sizes[0]"),
        ({"counts": [1, 2.5]}, "counts[1]"),
        ({"counts": [-1, 2]}, "counts[0]"),
        ({"counts": [nan, 2]}, "counts[0]"),
        ({"counts": [1]}, "counts"),
        ({"counts": [10**9, 2]}, "counts"),
        ({"bar": 0.0}, "bar"),
        ({"bar": nan}, "bar"),
        ({"kerf": -1.0}, "kerf"),
        ({"kerf": inf}, "kerf"),
    ],
)
def test_what_cannot_be_cut_is_refused_by_name(change: dict[str, Any], place: str) -> None:
    assert fewest_bars(**GOOD).proven
    with pytest.raises(InvalidInput) as refusal:
        fewest_bars(**{**GOOD, **change})
    assert refusal.value.place == place
    assert "must be" in refusal.value.reason or place in ("sizes[1]", "counts")


def test_the_cheapest_mix_of_bars_is_found_and_proven() -> None:
    # Ten of 700: three to a bar of 2400 for 8, two to one of 1500 for 5. Per length 8/3 and 5/2, so all from the
    # short bars: 25. With two short ones only: 10 for four, and the six left take two long ones: 26.
    long, short = BarStock(2400, Decimal(8)), BarStock(1500, Decimal(5))
    plan = cheapest_bars(sizes=[700], counts=[10], stocks=[long, short])
    assert (plan.cost, plan.bound, plan.proven) == (Decimal(25), Decimal(25), True)
    few = cheapest_bars(sizes=[700], counts=[10], stocks=[long, BarStock(1500, Decimal(5), 2)])
    assert (few.cost, few.bound) == (Decimal(26), Decimal(26))
    assert Counter(bar.stock for bar in few.bars) == {0: 2, 1: 2}


def test_bars_of_one_price_are_the_fewest() -> None:
    lengths = triplets(12, 8)
    sizes, counts = list(lengths), list(lengths.values())
    plan = cheapest_bars(sizes=sizes, counts=counts, stocks=[BarStock(1000, Decimal("7.25"))])
    assert plan.bound == 12 * Decimal("7.25")
    assert_cut([bar.gives for bar in plan.bars], sizes, counts, 1000)


def test_bars_that_cost_nothing_are_used_first() -> None:
    stocks = [BarStock(1000, Decimal(9)), BarStock(800, Decimal(0), 2)]
    plan = cheapest_bars(sizes=[390], counts=[6], stocks=stocks, kerf=3)
    assert (plan.cost, plan.bound) == (Decimal(9), Decimal(9))


@pytest.mark.parametrize(
    ("stocks", "place"),
    [
        ([], "stocks"),
        ([BarStock(1000, Decimal(1), 1)], "stocks"),  # too short together
        ([BarStock(500, Decimal(1), 4)], "stocks"),  # long enough together, but only one fits each
        ([BarStock(300, Decimal(1))], "sizes[0]"),
        ([BarStock(-5, Decimal(1))], "stocks[0].length"),
        ([BarStock(1000, Decimal(-1))], "stocks[0].price"),
        ([BarStock(1000, Decimal("NaN"))], "stocks[0].price"),
        ([BarStock(1000, Decimal(1), -1)], "stocks[0].count"),
    ],
)
def test_bars_that_do_not_do_are_refused_by_name(stocks: list[BarStock], place: str) -> None:
    with pytest.raises(InvalidInput) as refusal:
        cheapest_bars(sizes=[400], counts=[5], stocks=stocks)
    assert refusal.value.place == place
