"""Thick rings: how tall they are, and which layers share one, against every grouping there is."""

import math
from itertools import accumulate, combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.piece import Band, ShopSettings
from estimating.shape.slicing import EXACT_UP_TO, group_layers, ring_height
from tests.estimating import reference
from tests.estimating.sheets import modest

SHOP = ShopSettings(flatten=0.5, slice_hold=8.0, slice_sanding=0.5, slice_kerf=1.2)


def band(*, layers: int = 5, thickness: float = 2.5, height: float = 40.0) -> Band:
    return Band("", layers, thickness, 16, ("maple",), made="sliced", ring_height=height)


def settings_of(shop: ShopSettings, extra: float = 0.0) -> dict[str, float]:
    return {
        "flatten": shop.flatten, "slice_hold": shop.slice_hold, "slice_sanding": shop.slice_sanding,
        "slice_kerf": shop.slice_kerf, "extra_ring": extra,
    }  # fmt: skip


def test_a_held_ring_is_one_trued_face_its_layers_with_a_kerf_each_and_the_hold() -> None:
    # 0.5 + 7 (2.5 + 0.5 + 1.2) + 8 = 37.9; an eighth layer would need 42.1, more than 40
    height = ring_height(band(), shop=SHOP, place="bands[0]")
    assert height.of(7) == pytest.approx(37.9, abs=1e-12)
    assert height.most == 7


def test_a_ring_with_nothing_held_is_two_trued_faces_and_a_kerf_between_layers() -> None:
    shop = ShopSettings(flatten=0.5, slice_hold=0.0, slice_sanding=0.5, slice_kerf=1.2)
    height = ring_height(band(height=41.8), shop=shop, place="bands[0]")
    # 2 x 0.5 + 10 x 3.0 + 9 x 1.2 = 41.8, exactly what the band allows
    assert height.of(10) == pytest.approx(41.8, abs=1e-12)
    assert height.most == 10


@pytest.mark.parametrize(("allowed", "layers"), [(12.7, 1), (12.69, 0), (16.9, 2), (16.899, 1)])
def test_a_ring_gives_a_layer_only_where_the_whole_of_it_fits(allowed: float, layers: int) -> None:
    if layers:
        assert ring_height(band(height=allowed), shop=SHOP, place="bands[0]").most == layers
    else:
        with pytest.raises(InvalidInput, match=r"bands\[4\]\.ring_height.*at least 12\.7 mm"):
            ring_height(band(height=allowed), shop=SHOP, place="bands[4]")


def group(
    outer: list[float], inner: list[float], *, most: int, shop: ShopSettings = SHOP, extra: float = 0.0
) -> list[list[int]]:
    ceiling = reference.ring_height(layers=most, thickness=2.5, sliced=True, shop=settings_of(shop))
    height = ring_height(band(height=ceiling), shop=shop, place="bands[0]")
    assert height.most == most
    groups = group_layers(
        np.array(outer), np.array(inner), segments=16, gap=0.0, height=height, extra_ring=extra
    )
    return [list(ring) for ring in groups]


def best(
    outer: list[float], inner: list[float], *, most: int, shop: ShopSettings = SHOP, extra: float = 0.0
) -> tuple[float, list[list[int]]]:
    settings = settings_of(shop, extra)
    ceiling = reference.ring_height(layers=most, thickness=2.5, sliced=True, shop=settings)
    return reference.best_grouping(
        outer=outer, inner=inner, thickness=2.5, segments=16, gap=0.0, ceiling=ceiling, shop=settings
    )


def cost_of(
    groups: list[list[int]], outer: list[float], inner: list[float], *, shop: ShopSettings, extra: float
) -> float:
    total = 0.0
    for ring in groups:
        blank = reference.ring(
            outer=max(outer[k] for k in ring), inner=min(inner[k] for k in ring), segments=16, gap=0.0
        )
        height = reference.ring_height(layers=len(ring), thickness=2.5, sliced=True, shop=settings_of(shop))
        total += blank["area"] * 16 * height + extra
    return total


# Few radii to choose from, so that equal layers, and with them ties, come often.
radii = st.lists(st.sampled_from([40.0, 45.0, 60.0, 61.5, 90.0]), min_size=1, max_size=6)
walls = st.lists(st.sampled_from([5.0, 8.0, 40.0]), min_size=6, max_size=6)


@modest
@given(radii, walls, st.integers(1, 6), st.sampled_from([0.0, 8.0]), st.sampled_from([0.0, 0.0, 3e4]))
def test_layers_are_grouped_as_the_best_of_every_grouping(
    outer: list[float], wall: list[float], most: int, hold: float, extra: float
) -> None:
    inner = [r - w for r, w in zip(outer, wall, strict=False)]
    shop = ShopSettings(flatten=0.5, slice_hold=hold, slice_sanding=0.5, slice_kerf=1.2)
    assert (
        group(outer, inner, most=most, shop=shop, extra=extra)
        == best(outer, inner, most=most, shop=shop, extra=extra)[1]
    )


@pytest.mark.parametrize(
    ("layers", "most", "rings"),
    [
        (4, 3, [[0, 1, 2], [3]]),
        (5, 3, [[0, 1, 2], [3, 4]]),
        (5, 5, [[0, 1, 2, 3, 4]]),
        (7, 3, [[0, 1, 2], [3, 4, 5], [6]]),
    ],
)
def test_equal_layers_fill_the_lowest_ring_first(layers: int, most: int, rings: list[list[int]]) -> None:
    assert group([60.0] * layers, [50.0] * layers, most=most) == rings


def test_a_tie_of_wood_goes_to_fewer_rings() -> None:
    """With nothing held, no flattening and no kerf a second ring costs no wood; one ring it is all the same."""
    shop = ShopSettings(flatten=0.0, slice_hold=0.0, slice_sanding=0.5, slice_kerf=0.0)
    assert group([60.0] * 4, [50.0] * 4, most=4, shop=shop) == [[0, 1, 2, 3]]


def test_layers_that_are_alike_share_a_ring_though_others_lie_between() -> None:
    """Feet and rims of one width, a waist between: two rings, not three runs."""
    outer, inner = [80.0, 40.0, 80.0, 40.0], [70.0, 30.0, 70.0, 30.0]
    assert group(outer, inner, most=3) == [[0, 2], [1, 3]]


def test_a_ring_that_costs_extra_is_saved_where_wood_is_cheap() -> None:
    outer, inner = [60.0, 60.0, 50.0, 50.0], [50.0, 50.0, 40.0, 40.0]
    assert group(outer, inner, most=4) == best(outer, inner, most=4)[1]
    assert len(group(outer, inner, most=4, extra=1e9)) == 1


@pytest.mark.parametrize("layers", [EXACT_UP_TO + 1, 24, 60])
def test_a_tall_band_that_widens_is_cut_into_the_best_runs(layers: int) -> None:
    """Outer and inner radius both rising, neighbours belong together, and the best cut into runs is found by
    trying every end of the last ring (a second way: forwards, on the reference's own volumes)."""
    outer = [40 + 30 * math.sin(k / layers) for k in range(layers)]
    inner = [radius - 6 for radius in outer]
    least = [0.0]
    for end in range(1, layers + 1):
        least.append(
            min(
                least[start] + cost_of([list(range(start, end))], outer, inner, shop=SHOP, extra=0.0)
                for start in range(max(0, end - 7), end)
            )
        )
    found = group(outer, inner, most=7)
    assert cost_of(found, outer, inner, shop=SHOP, extra=0.0) <= least[-1] * (1 + 1e-12)
    assert sorted(layer for ring in found for layer in ring) == list(range(layers))


@modest
@given(
    st.lists(st.floats(-6, 6), min_size=30, max_size=40),
    st.floats(4, 12),
    st.integers(2, 8),
)
def test_no_two_rings_of_a_tall_band_could_be_one_for_less(
    steps: list[float], wall: float, most: int
) -> None:
    outer = [80 + max(-50.0, min(60.0, step)) for step in accumulate(steps)]
    inner = [radius - wall for radius in outer]
    found = group(outer, inner, most=most)
    assert sorted(layer for ring in found for layer in ring) == list(range(len(outer)))
    assert all(len(ring) <= most for ring in found)
    assert [ring[0] for ring in found] == sorted(ring[0] for ring in found)
    for one, other in combinations(found, 2):
        if len(one) + len(other) <= most:
            apart = cost_of([one, other], outer, inner, shop=SHOP, extra=0.0)
            assert cost_of([one + other], outer, inner, shop=SHOP, extra=0.0) >= apart * (1 - 1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_a_band_of_ten_layers_is_grouped_within_a_hair_of_the_best_there_is(seed: int) -> None:
    """Beyond the exact method's reach: every grouping of ten layers, by subsets, on the reference's volumes."""
    random = np.random.default_rng(seed)
    outer = (70 + np.cumsum(random.uniform(-4, 8, 10))).tolist()
    inner = [radius - wall for radius, wall in zip(outer, random.uniform(5, 9, 10), strict=True)]
    found = group(outer, inner, most=4)
    cost = cost_of(found, outer, inner, shop=SHOP, extra=0.0)
    assert cost <= _least_over_subsets(outer, inner, most=4) * 1.005


def _least_over_subsets(outer: list[float], inner: list[float], *, most: int) -> float:
    count = len(outer)
    single = {
        mask: cost_of([[k for k in range(count) if mask >> k & 1]], outer, inner, shop=SHOP, extra=0.0)
        for mask in range(1, 1 << count)
        if mask.bit_count() <= most
    }
    least = [0.0] + [math.inf] * ((1 << count) - 1)
    for mask in range(1, 1 << count):
        lowest = mask & -mask
        for ring, cost in single.items():
            if ring & lowest and ring & mask == ring:
                least[mask] = min(least[mask], least[mask ^ ring] + cost)
    return least[-1]
