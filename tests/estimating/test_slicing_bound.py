"""The choice of thick rings beside its bound: other ways to the best answer, and many bands against the bound."""

import math
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from estimating.shape.blanks import Blanks, RingHeight, Size, Sizes
from estimating.shape.grouping import EXACT_UP_TO, RELAXED_UP_TO, Grouping, group_blanks
from estimating.shape.relaxing import Prices, best_ring, reduced_costs, relax
from estimating.shape.resplit import resplit
from estimating.shape.slicing import group
from estimating.shape.whole import choose_rings, column_of, every_ring_within
from tests.estimating import reference
from tests.estimating.sheets import modest
from tests.estimating.wavy import HEIGHT, made_up_band

SEGMENTS = 16


def grouped(outer: Any, inner: Any, *, height: RingHeight = HEIGHT, extra: float = 0.0) -> Grouping:
    return group(
        np.asarray(outer, dtype=float), np.asarray(inner, dtype=float),
        segments=SEGMENTS, gap=0.0, height=height, extra_ring=extra,
    )  # fmt: skip


def cost_of(ring: Any, outer: Any, inner: Any, *, height: RingHeight = HEIGHT, extra: float = 0.0) -> float:
    """A ring's cost on the reference's own areas."""
    blank = reference.ring(
        outer=max(outer[k] for k in ring), inner=min(inner[k] for k in ring), segments=SEGMENTS, gap=0.0
    )
    return float(blank["area"] * SEGMENTS * (height.base + height.each * len(ring)) + extra)


def least_of_all_partitions(outer: Any, inner: Any, **settings: Any) -> float:
    most = settings["height"].most
    single: dict[tuple[int, ...], float] = {}

    def of(ring: tuple[int, ...]) -> float:
        if ring not in single:
            single[ring] = cost_of(ring, outer, inner, **settings)
        return single[ring]

    return min(
        sum(of(tuple(ring)) for ring in rings)
        for rings in reference.partitions(list(range(len(outer))))
        if all(len(ring) <= most for ring in rings)
    )


def least_by_mixed_integers(outer: Any, inner: Any, **settings: Any) -> float:
    """Every ring there is, taken or not, each layer in just one: scipy's solver finds the least cost."""
    count, most = len(outer), settings["height"].most
    rings = [ring for size in range(1, most + 1) for ring in combinations(range(count), size)]
    holds = np.array([[layer in ring for ring in rings] for layer in range(count)], dtype=float)
    found = milp(
        np.array([cost_of(ring, outer, inner, **settings) for ring in rings]),
        constraints=LinearConstraint(holds, 1, 1),
        integrality=np.ones(len(rings)),
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 0},
    )
    assert found.status == 0
    return float(found.fun)


def covers_each_layer_once(found: Grouping, layers: int, most: int) -> bool:
    every = sorted(layer for ring in found.rings for layer in ring)
    rising = all(list(ring) == sorted(ring) for ring in found.rings)
    lowest_first = list(found.rings) == sorted(found.rings)
    return every == list(range(layers)) and rising and lowest_first and max(map(len, found.rings)) <= most


@pytest.mark.parametrize("seed", range(8))
def test_a_low_band_is_grouped_as_the_best_of_every_grouping(seed: int) -> None:
    draw = np.random.default_rng(seed)
    layers, height = 5 + seed % 4, RingHeight(8.5, 4.2, 2 + seed % 3)
    outer = 60 + draw.uniform(-15, 15, layers)
    inner = outer - draw.uniform(6, 20, layers)
    extra = (seed % 2) * 2e4
    found = grouped(outer, inner, height=height, extra=extra)
    assert found.volume == pytest.approx(
        least_of_all_partitions(outer, inner, height=height, extra=extra), rel=1e-12
    )
    assert found.proven
    assert found.bound == found.volume


@pytest.mark.parametrize("seed", range(16))
def test_ten_to_twelve_layers_are_grouped_as_a_mixed_integer_program_over_every_ring(seed: int) -> None:
    draw = np.random.default_rng(100 + seed)
    layers, height = 10 + seed % 3, RingHeight(8.5, 4.2, 2 + seed % 4)
    outer, inner = made_up_band(layers=layers, seed=seed)
    if seed % 2:
        outer = outer + draw.uniform(-8, 8, layers)
    best = least_by_mixed_integers(outer, inner, height=height, extra=0.0)
    found = grouped(outer, inner, height=height)
    assert found.bound <= best * (1 + 1e-9)
    assert found.proven
    assert found.volume == pytest.approx(best, rel=1e-8)


@pytest.mark.parametrize("layers", [20, 45, 70, 95, 120])
@pytest.mark.parametrize("seed", range(10))
def test_a_tall_band_is_within_a_hundredth_of_its_bound(layers: int, seed: int) -> None:
    outer, inner = made_up_band(layers=layers, seed=seed)
    found = grouped(outer, inner)
    assert covers_each_layer_once(found, layers, HEIGHT.most)
    assert found.volume == pytest.approx(sum(cost_of(ring, outer, inner) for ring in found.rings), rel=1e-9)
    assert found.bound <= found.volume <= found.bound * 1.01


@modest
@given(
    st.lists(
        st.tuples(st.sampled_from([40.0, 45.0, 60.0, 61.5, 90.0]), st.floats(5, 30)), min_size=1, max_size=40
    ),
    st.integers(1, 9),
    st.sampled_from([0.0, 3e4]),
)
def test_every_layer_is_in_one_ring_of_no_more_than_fit_and_no_bound_is_passed(
    layers: list[tuple[float, float]], most: int, extra: float
) -> None:
    outer = [radius for radius, _ in layers]
    inner = [radius - wall for radius, wall in layers]
    height = RingHeight(8.5, 4.2, most)
    found = grouped(outer, inner, height=height, extra=extra)
    assert covers_each_layer_once(found, len(layers), most)
    cost = sum(cost_of(ring, outer, inner, height=height, extra=extra) for ring in found.rings)
    assert found.volume == pytest.approx(cost, rel=1e-9)
    assert 0 < found.bound <= found.volume
    assert found.proven == (found.bound >= found.volume * (1 - 1e-8))


@pytest.mark.parametrize("layers", [EXACT_UP_TO + 1, 30, 200])
def test_a_cylinder_fills_its_rings_and_is_proven(layers: int) -> None:
    """As few rings as there can be: every layer is alike, so only a ring's height without layers counts."""
    found = grouped([60.0] * layers, [50.0] * layers)
    assert found.proven
    assert len(found.rings) == math.ceil(layers / HEIGHT.most)


def test_layers_nested_in_one_another_are_proven_and_no_worse_than_any_other_grouping() -> None:
    """One radius the same all through, the other in any order up the stack: against every ring there is."""
    draw = np.random.default_rng(3)
    height = RingHeight(8.5, 4.2, 4)
    for outer, inner in (
        (draw.uniform(50, 90, 11), np.full(11, 40.0)),
        (np.full(11, 90.0), draw.uniform(20, 80, 11)),
    ):
        found = grouped(outer, inner, height=height)
        assert found.proven
        best = least_by_mixed_integers(outer, inner, height=height, extra=0.0)
        assert found.volume == pytest.approx(best, rel=1e-9)


def test_a_cone_is_not_taken_for_nested() -> None:
    """Both radii rising, the best rings need not be runs: one wide ring for the two ends, one for what is alike."""
    outer = np.array([50.0, *[70.0] * 6, 90.0])
    cone = Blanks(outer, outer - 10, SEGMENTS, 0.0, RingHeight(40.0, 1.0, 6), 0.0)
    assert not cone.nested
    runs = [cone.cost((tuple(range(cut)), tuple(range(cut, 8)))) for cut in (2, 3, 4, 5, 6)]
    assert group_blanks(cone).volume < min(runs) * (1 - 1e-3)


def test_the_same_band_is_grouped_the_same_at_every_call() -> None:
    outer, inner = made_up_band(layers=60, seed=2)
    assert grouped(outer, inner) == grouped(outer.copy(), inner.copy())


@pytest.mark.parametrize("layers", [RELAXED_UP_TO + 1, 5000])
def test_thousands_of_layers_are_grouped_too_with_the_bound_that_shows_at_sight(layers: int) -> None:
    outer, inner = made_up_band(layers=layers, seed=0)
    found = grouped(outer, inner)
    assert covers_each_layer_once(found, layers, HEIGHT.most)
    # no layer takes less than its own face for its slice and a full ring's share of the rest
    own = sum(cost_of([k], outer, inner, height=RingHeight(8.5 / 7, 4.2, 1)) for k in range(layers))
    assert found.bound == pytest.approx(own, rel=1e-9)
    # the bound leaves out that a ring's layers differ; in 401 layers of a vase neighbours do by a tenth or so
    assert found.volume < 1.15 * found.bound


@modest
@given(st.integers(0, 10_000), st.integers(2, 5))
def test_the_ring_found_at_a_price_is_the_best_of_every_ring(seed: int, most: int) -> None:
    draw = np.random.default_rng(seed)
    outer = draw.choice([50.0, 55.0, 63.0, 80.0], 7)
    inner = outer - draw.choice([6.0, 9.0, 20.0], 7)
    sizes = Sizes.of(Blanks(outer, inner, SEGMENTS, 0.0, RingHeight(8.5, 4.2, most), 5e3))
    prices = Prices(draw.uniform(0, 9e4, len(sizes.counts)), ())
    reduced = reduced_costs(sizes, prices)
    height = RingHeight(8.5, 4.2, most)
    best = min(
        cost_of(ring, outer, inner, height=height, extra=5e3) - sum(prices.layers[sizes.kind_of[list(ring)]])
        for size in range(1, most + 1)
        for ring in combinations(range(7), size)
    )
    assert reduced.min() <= best + 1e-6
    wide, open_ = divmod(int(reduced.argmin()), reduced.shape[1])
    made = best_ring(sizes, prices, Size(wide, open_))
    if made.kinds:
        assert reduced.min() == pytest.approx(best, abs=1e-3)


@pytest.mark.parametrize("seed", range(12))
def test_the_relaxation_bounds_the_best_and_its_rings_lead_to_it_from_a_poor_start(seed: int) -> None:
    """From every layer in a ring of its own, so that nothing but the relaxation and the search finds the best."""
    draw = np.random.default_rng(200 + seed)
    outer = 70 + draw.uniform(-12, 12, 10)
    inner = outer - draw.uniform(8, 16, 10)
    height = RingHeight(8.5, 4.2, 2 + seed % 4)
    best = least_by_mixed_integers(outer, inner, height=height, extra=0.0)
    sizes = Sizes.of(Blanks(outer, inner, SEGMENTS, 0.0, height, 0.0))
    alone = tuple((layer,) for layer in range(10))
    relaxed = relax(sizes, [column_of(sizes, ring) for ring in alone], rounds=200, enough=math.inf)
    assert 0.8 * best < relaxed.bound <= best * (1 + 1e-9)
    rings, bound = choose_rings(sizes, relaxed, alone, choice=3000, nodes=500)
    assert sum(cost_of(ring, outer, inner, height=height) for ring in rings) == pytest.approx(best, rel=1e-8)
    assert bound == pytest.approx(best, rel=1e-8)


@pytest.mark.parametrize("seed", range(6))
def test_the_rings_that_could_matter_are_all_there(seed: int) -> None:
    """Beside every set of nine layers, some alike: those whose cost is little above their worth."""
    draw = np.random.default_rng(seed)
    outer = draw.choice([60.0, 64.0, 71.0, 80.0], 9)
    inner = outer - draw.choice([9.0, 14.0], 9)
    height = RingHeight(8.5, 4.2, 4)
    sizes = Sizes.of(Blanks(outer, inner, SEGMENTS, 0.0, height, 0.0))
    prices = Prices(draw.uniform(1.5e4, 3.5e4, len(sizes.counts)), ())
    over = {
        tuple(sorted(sizes.kind_of[list(ring)].tolist())): cost_of(ring, outer, inner, height=height)
        - sum(prices.layers[sizes.kind_of[list(ring)]])
        for size in range(1, 5)
        for ring in combinations(range(9), size)
    }
    room = float(np.median(list(over.values())))
    found = every_ring_within(sizes, prices, room=room, limit=5000)
    assert found is not None
    assert sorted(column.kinds for column in found) == sorted(ring for ring in over if over[ring] <= room)
    assert every_ring_within(sizes, prices, room=room, limit=len(found) // 2) is None


def test_a_search_among_some_of_the_rings_leaves_the_bound_as_it_was() -> None:
    outer, inner = made_up_band(layers=40, seed=2)
    sizes = Sizes.of(Blanks(outer, inner, SEGMENTS, 0.0, HEIGHT, 0.0))
    alone = tuple((layer,) for layer in range(40))
    relaxed = relax(sizes, [column_of(sizes, ring) for ring in alone], rounds=200, enough=math.inf)
    rings, bound = choose_rings(sizes, relaxed, alone, choice=100, nodes=5)
    assert bound == relaxed.bound
    assert sum(cost_of(ring, outer, inner) for ring in rings) < 0.6 * sizes.blanks.cost(alone)


def test_two_rings_parted_badly_are_parted_afresh() -> None:
    outer = np.array([80.0, 40.0, 80.0, 40.0])
    blanks = Blanks(outer, outer - 10, SEGMENTS, 0.0, RingHeight(8.5, 4.2, 3), 0.0)
    assert resplit(blanks, ((0, 1), (2, 3)), passes=5) == ((0, 2), (1, 3))
    assert resplit(blanks, ((0,), (1,), (2,), (3,)), passes=5) == ((0, 2), (1, 3))
