"""What a sawing plan costs: ties, the outlay, and boards charged whole."""

from dataclasses import replace
from decimal import Decimal

import pytest

from estimating.errors import InvalidSheet
from estimating.piece import Board
from tests.estimating.test_cutting import PLAIN, plan_of, square_need


def test_of_plans_that_cost_the_same_the_one_of_fewest_boards_is_sawn() -> None:
    # 14 x 48 + 15 x 2 + 60 = 762 fits one long board's 960; two short ones give 7 each. Nothing is kept: 60 either way.
    shop = replace(PLAIN, keep_length=1e6)
    short_board = Board("ash", 500.0, 40.0, 25.0, 4, Decimal(30))
    long_board = Board("ash", 1000.0, 40.0, 25.0, 4, Decimal(60))
    wanted = square_need(width=20.0, rings=((1, 14),))
    plan = plan_of([wanted], [short_board, long_board], shop=shop)
    assert plan.cost == pytest.approx(60)
    assert [board.length for board in plan.boards] == [1000.0]


def test_of_plans_that_cost_the_same_the_one_of_least_wood_is_sawn() -> None:
    shop = replace(PLAIN, keep_length=1e6)
    thick, thin = (Board("ash", 1000.0, 40.0, thickness, 4, Decimal(60)) for thickness in (50.0, 25.0))
    plan = plan_of([square_need(width=20.0, rings=((1, 14),))], [thick, thin], shop=shop)
    assert [board.thickness for board in plan.boards] == [25.0]


def test_the_outlay_is_the_whole_price_of_what_is_bought_and_of_nothing_on_the_rack() -> None:
    rack = Board("ash", 1000.0, 120.0, 25.0, 1, Decimal(11))
    both = plan_of([square_need(), square_need(wood="walnut", rings=((2, 10),))], [rack])
    bought = [board for board in both.boards if board.buy]
    assert {board.wood for board in bought} == {"walnut"}
    # On edge 31.75 x 20 of board beats flat 25.4 x 30; 2400 x 150 x 31.75 mm at 0.000004 a mm3 is 45.72.
    assert both.outlay == Decimal("45.72") * len(bought) > 0
    assert plan_of([square_need()], [rack]).outlay == 0


def test_boards_charged_whole_cost_their_price_and_what_is_over_still_goes_back() -> None:
    rack = Board("ash", 2000.0, 200.0, 25.0, 2, Decimal(40))
    by_share, whole = (plan_of([square_need()], [rack], whole_boards=charged) for charged in (False, True))
    assert whole.cost == 40
    assert by_share.cost < 10
    assert whole.boards[0].kept > 0
    assert whole.bound <= whole.cost


def test_boards_charged_whole_are_opened_as_few_as_the_wood_allows() -> None:
    # Two thin lanes that would come cheapest out of two nearly fitting boards fit one larger board.
    narrow = Board("ash", 700.0, 34.0, 25.0, 4, Decimal(10))
    wide = Board("ash", 700.0, 70.0, 25.0, 4, Decimal(15))
    wanted = square_need(rings=((1, 20),))
    assert [b.width for b in plan_of([wanted], [narrow, wide], whole_boards=True).boards] == [70.0]


def test_strips_share_a_thickness_where_boards_are_charged_whole() -> None:
    # 30 x 20: on edge 31.75 x 20 of board beats flat 25.4 x 30. 24 x 20: 25.4 on edge. Flat, one board of 25.4 takes
    # both lanes, 30 + 24 + 2 kerfs of 3 of its 150; 2400 x 150 x 25.4 mm at 0.000002 a mm3 is 18.29.
    needs = [square_need(), square_need(width=24.0, rings=((2, 10),))]
    by_share, whole = (plan_of(needs, whole_boards=charged) for charged in (False, True))
    assert sorted(board.thickness for board in by_share.boards) == [25.4, 31.75]
    assert [(board.thickness, board.price) for board in whole.boards] == [(25.4, Decimal("18.29"))]
    assert whole.outlay == Decimal("18.29") < by_share.outlay
    assert whole.bound <= whole.cost == pytest.approx(18.29)
    assert {strip.lies for strip in whole.boards[0].strips if strip.width == 30.0} == {"flat"}


@pytest.mark.parametrize("charged", [False, True])
def test_a_strip_that_no_board_has_room_for_is_refused_however_boards_are_charged(charged: bool) -> None:
    with pytest.raises(InvalidSheet, match="has none either"):
        plan_of([square_need(width=180.0, height=160.0)], whole_boards=charged)


def test_of_plans_that_cost_the_same_the_one_that_shares_a_fence_with_the_wood_before_is_sawn() -> None:
    # Boards of 32 charged whole: the walnut's strips of 30 x 24 take one board on edge, ripped at 24, or flat, at 30.
    ash = Board("ash", 1000.0, 120.0, 25.0, 1, Decimal(11))
    walnut = Board("walnut", 1000.0, 120.0, 32.0, 1, Decimal(11))
    own = square_need(wood="walnut", height=24.0, rings=((2, 10),))
    (alone,) = plan_of([own], [walnut], whole_boards=True).boards
    assert [strip.rip_width for strip in alone.strips] == [24.0]
    # The ash is too thin to stand 30 x 20 on edge, so that the fence is set to 30 for it anyway.
    both = plan_of([square_need(), own], [ash, walnut], whole_boards=True)
    assert {strip.rip_width for board in both.boards for strip in board.strips} == {30.0}
    assert both.cost == 22
    # Where it would take more wood it is not done: of a board this narrow, three lanes of 24 and not of 30.
    narrow = replace(walnut, width=82.0, length=340.0, count=2)
    wanted = square_need(wood="walnut", height=24.0, rings=((2, 12),))
    dear = plan_of([square_need(), wanted], [ash, narrow], whole_boards=True)
    assert {strip.rip_width for board in dear.boards for strip in board.strips} == {24.0, 30.0}
    assert len(dear.boards) == 2
