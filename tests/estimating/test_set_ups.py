"""What is one setting of fence, planer and stop: for the plan, the saw list and the labour alike."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from math import radians
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.piece import Board, ShopSettings
from estimating.wood.items import Item
from estimating.wood.jobs import set_ups
from estimating.wood.saw_boards import boards_in_order, fences, planings
from estimating.wood.set_ups import NEARLY, settings, stops
from estimating.wood.strips import StripNeed
from tests.estimating.kinds import built, cut
from tests.estimating.test_cutting import PLAIN, plan_of, square_need
from tests.estimating.test_saw_list import board, listed, strip

SHOP = ShopSettings()
sizes = st.lists(st.floats(1, 40).map(lambda size: round(size, 3)), min_size=1, max_size=30)


@given(sizes)
def test_no_setting_is_smaller_than_asked_nor_more_than_a_tenth_larger(asked: list[float]) -> None:
    serving = settings(asked)
    assert set(serving) == set(asked)
    assert all(size <= setting <= size + NEARLY + 1e-9 for size, setting in serving.items())
    assert all(serving[setting] == setting for setting in serving.values())


@given(sizes)
def test_settings_are_as_few_as_can_be(asked: list[float]) -> None:
    # By another way: of all sizes at most a tenth apart, the smallest asks for a setting; so on above the rest.
    fewest, rest = 0, sorted(asked)
    while rest:
        fewest += 1
        rest = [size for size in rest if size > rest[0] + NEARLY + 1e-9]
    assert len(set(settings(asked).values())) == fewest


@given(sizes, sizes)
def test_stops_of_two_angles_never_count_as_one(here: list[float], there: list[float]) -> None:
    both = stops([*((0.1, size) for size in here), *((0.2, size) for size in there)])
    assert len(both) == len(set(settings(here).values())) + len(set(settings(there).values()))


@pytest.mark.parametrize(("apart", "together"), [(0.002, 1), (0.099, 1), (0.101, 2)])
def test_strips_nearer_than_a_tenth_share_fence_planer_and_stop(apart: float, together: int) -> None:
    one = strip(height=20.0, width=30.0)
    other = strip(lane=2, across=60.0, height=20.0 - apart, width=30.0 - apart, rip_width=30.0 - apart)
    (work,) = boards_in_order([board(one, other)], shop=SHOP)
    found = fences([work], shop=SHOP)
    assert len(found) == together
    assert found[0].width == 30.0
    assert [len(fence.lanes) for fence in found] == [2] if together == 1 else [1, 1]
    assert [planing.to for planing in planings([work], shop=SHOP)] == [20.0, 20.0 - apart][:together]


def test_a_strip_nearly_as_wide_as_its_lane_is_left_though_another_lane_would_part_them() -> None:
    # 30.15 serves 30.06 as well, but not 30.04, which is in one lane with it.
    lane = [strip(rip_width=30.06), strip(start=425.0, rip_width=30.04, length=100.0)]
    (work,) = boards_in_order([board(strip(lane=2, across=60.0, rip_width=30.15), *lane)], shop=SHOP)
    (fence,) = fences([work], shop=SHOP)
    assert (fence.width, fence.again, fence.carried) == (30.15, (), ())


def test_plans_are_ranked_by_the_same_settings() -> None:
    need = StripNeed("ash", 30.0, 20.0, radians(15), 50.0, 40.0, ((1, 12),))
    items = [Item(need, "flat"), Item(replace(need, width=29.998, outer_edge=49.95), "flat")]
    assert set_ups(items, SHOP) == 2
    items[1] = Item(replace(need, width=29.8, outer_edge=49.8), "flat")
    assert set_ups(items, SHOP) == 4
    # Nothing is ripped narrower than the shop rips: both stand at that setting.
    assert set_ups(items, replace(SHOP, min_rip_width=32.0)) == 3


def piece(apart: float) -> Any:
    """Two rings of one wood, the upper that much lower."""
    straight = {"outer": [[0, 60], [40 - apart, 60]], "inside": {"kind": "wall", "wall": 8, "floor": 0}}
    return built(cut(thickness=20), cut(thickness=20 - apart), form=straight)


@pytest.mark.parametrize(("apart", "settings_of_height"), [(0.002, 1), (0.5, 2)])
def test_plan_saw_list_and_labour_count_alike(apart: float, settings_of_height: int) -> None:
    data = piece(apart)
    data["shop"]["strip_lies"] = "on_edge"
    made, work = listed(data)
    counted = {operation.name: operation.setups for operation in made.labour.operations}
    assert len(work.fences) == counted["rip strips"] == settings_of_height
    assert work.stops == counted["crosscut segments"] == 1


def test_no_strip_lies_across_the_strips_of_a_matched_ring_in_front_of_it() -> None:
    # The two strips of 30 lie side by side, 63 with their saw cut: past their ends 60 would fit, but the first lane is
    # ripped at 30 from end to end.
    shop = replace(PLAIN, min_rip_length=0.0, keep_length=1e6)  # so that one board costs least
    matched = replace(square_need(rings=((1, 24),)), match="board")
    board = Board("ash", 1000.0, 63.0, 25.0, 9, Decimal(30))
    wide, narrow = (square_need(width=width, rings=((2, 3),)) for width in (60.0, 24.0))
    apart = plan_of([matched, wide], [board], shop=shop)
    assert [len({strip.width for strip in sawn.strips}) for sawn in apart.boards] == [1, 1]
    together = plan_of([matched, narrow], [board], shop=shop)
    assert len(together.boards) == 1
    for work in boards_in_order(apart.boards + together.boards, shop=shop):
        lanes = sorted(work.lanes, key=lambda lane: lane.across)
        assert all(lane.across + lane.width <= other.across for lane, other in pairwise(lanes))
