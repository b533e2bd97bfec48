"""What to buy: a case worked by hand, the plan's own totals, and least sizes that hold the strips."""

from collections import Counter
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given

from estimating.estimate import Estimate, estimate
from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.sawing import SawingJob, plan_sawing
from estimating.sheet import read_sheet
from estimating.wood.cutting import plan_cutting
from estimating.wood.layouts import width_room
from estimating.wood.strips import CuttingPlan, SawnBoard, Short, Strip, StripNeed
from estimating.wood.to_buy import ToBuy, least_size, nominal_of, to_buy, without_spares
from tests.estimating.kinds import kinds
from tests.estimating.sheets import Json, bowl, modest, sheets

SHOP = ShopSettings(
    board_end_trim=25, board_edge_trim=4, rip_kerf=3, crosscut_kerf=3, strip_hold=75, plane_face=1.5
)


def listed(of: Estimate) -> ToBuy:
    wanted = without_spares(of.needs.strips, rings=of.rings, pieces=of.sheet.quantity)
    return to_buy(
        of.cutting, needs=of.needs.strips, wanted=wanted, boards=of.sheet.boards, shop=of.sheet.shop
    )


def estimated(sheet: Json) -> Estimate:
    return estimate(read_sheet(sheet))


def strip(**changes: Any) -> Strip:
    made: dict[str, Any] = {
        "lane": 1, "start": 25.0, "width": 40.0, "height": 22.0, "length": 590.0, "segments": 10, "rings": (2, 3),
        "rip_width": 40.0, "lies": "flat", "across": 7.0,
    }  # fmt: skip
    return Strip(**{**made, **changes})


def sawn(*strips: Strip, **changes: Any) -> SawnBoard:
    made: dict[str, Any] = {
        "wood": "ash", "length": 2438.4, "width": 152.4, "thickness": 25.4, "price": Decimal("58.00"), "buy": True,
        "strips": strips, "offcuts": (),
    }  # fmt: skip
    return SawnBoard(**{**made, **changes})


# By hand: a lane 40 wide from 7 to 47, one 41 wide from 50 to 91; the longer strip ends at 615.
TWO_LANES = (strip(), strip(lane=2, across=50.0, width=41.0, rip_width=41.0, length=500.0, rings=(5,)))


def test_the_least_board_holds_both_lanes_and_its_trimming() -> None:
    # 615 + 25 at the far end; 91 + 7 at the far edge (4 trimmed and a kerf of 3); as thick as the strips are high.
    least = least_size(sawn(*TWO_LANES), shop=SHOP)
    assert (least.length, least.width, least.thickness) == (640, 98, 22)


def test_a_rough_board_is_planed_on_both_faces_first() -> None:
    assert least_size(sawn(*TWO_LANES, surface="rough"), shop=SHOP).thickness == 22 + 2 * 1.5


def test_no_board_is_asked_for_that_is_shorter_than_the_shop_rips() -> None:
    """A strip of 140 and its trimming would fit in 190 mm, which nobody should pass by the blade."""
    short = sawn(strip(length=140.0))
    assert least_size(short, shop=SHOP).length == SHOP.min_rip_length == 300
    assert least_size(short, shop=replace(SHOP, min_rip_length=150)).length == 190


def test_a_strip_on_edge_needs_its_width_in_thickness() -> None:
    on_edge = strip(lies="on_edge", width=45.0, height=22.0, rip_width=22.0)
    least = least_size(sawn(on_edge, thickness=50.8), shop=SHOP)
    assert (least.width, least.thickness) == (7 + 22 + 7, 45)


def test_a_board_resawn_in_thickness_is_wanted_as_thick_as_it_is() -> None:
    assert least_size(sawn(strip(), plates=2, plate_thickness=11.0), shop=SHOP).thickness == 25.4


def test_boards_for_the_same_use_stand_in_one_line_and_others_in_their_own() -> None:
    """NHLA tally, by hand: 8 ft x 6 in x 4/4 is 4 board feet, so three are 12; 25.4 x 152.4 x 2438.4 is 9.44 dm3."""
    plan = CuttingPlan(
        (sawn(*TWO_LANES), sawn(*TWO_LANES), sawn(strip(length=300.0))), 0.0, 0.0, False,
        (Short("ash", (2, 3, 5), 50),),
    )  # fmt: skip
    need = StripNeed("ash", 40, 22, 0.1, 50, 40, ((2, 44),))
    found = to_buy(plan, needs=[need], wanted={"ash": 45}, boards=[], shop=SHOP)
    (four_quarter,) = found.thicknesses
    assert (four_quarter.nominal, four_quarter.count) == ("4/4", 3)
    assert [(line.count, line.least.length, line.rings) for line in four_quarter.boards] == [
        (2, 640, (2, 3, 5)),
        (1, 350, (2, 3)),
    ]
    assert [line.together for line in four_quarter.boards] == [Decimal("116.00"), Decimal("58.00")]
    assert found.outlay == plan.outlay == Decimal("174.00")
    assert found.board_feet == pytest.approx(12, rel=1e-12)
    assert found.volume / 1e6 == pytest.approx(3 * 9.4390, rel=1e-4)
    assert four_quarter.per_board_foot == pytest.approx(Decimal("14.50"))  # 174 for 12
    # 14.50 / (144 x 25.4^3 mm3) a mm3, so x 423.776 board feet in a cubic metre.
    assert float(four_quarter.per_m3) == pytest.approx(14.50 * 423.776, rel=1e-6)
    (check,) = found.rack
    assert (check.pieces, check.spares, check.lacking, check.given) == (50, 5, 50, 0)


def test_the_rack_gives_what_it_has_and_the_rest_is_lacking() -> None:
    need = StripNeed("ash", 40, 22, 0.26, 60, 50, ((1, 40),))
    boards = [
        Board("ash", 700, 60, 25, 1, Decimal(9)),
        Board("ash", 90, 60, 25, 3, Decimal(1)),  # too short for any strip
        Board("oak", 700, 60, 25, 2, Decimal(9)),
    ]
    plan = plan_cutting(
        needs=[need], boards=boards, usual=UsualBoard(), price_per_mm3={"ash": Decimal("0.000003")}, shop=SHOP
    )
    (check,) = to_buy(plan, needs=[need], wanted={"ash": 36}, boards=boards, shop=SHOP).rack
    assert (check.on_rack, check.taken, check.pieces, check.spares) == (4, 1, 40, 4)
    assert check.on_rack_volume == 700 * 60 * 25 + 3 * 90 * 60 * 25
    assert check.taken_volume == 700 * 60 * 25
    # A strip of 650 holds n segments of 55 + 3/cos(0.26): 3.1 + 40 tan(0.26) + 75 + n x 58.1 <= 650, so n = 9.
    assert (check.given, check.lacking, check.lacking_rings) == (9, 31, (1,))


def test_nothing_to_buy_is_an_empty_list() -> None:
    of = estimated(bowl(boards=[
        {"wood": wood, "length": 2000, "width": 200, "thickness": 40, "count": 5, "price": "9.00"}
        for wood in ("walnut", "maple", "cherry")
    ]))  # fmt: skip
    found = listed(of)
    assert (found.thicknesses, found.count, found.outlay) == ((), 0, Decimal(0))
    assert all(check.lacking == 0 and check.given == check.pieces for check in found.rack)


def test_only_the_trades_own_thicknesses_have_a_name() -> None:
    """1, 1 1/4 and 2 in. rough are 4/4, 5/4 and 8/4 (NHLA rules); a metric 27 is none of them."""
    assert [nominal_of(mm) for mm in (25.4, 31.75, 50.8, 27.0)] == ["4/4", "5/4", "8/4", ""]


def holds(of: Estimate) -> None:
    found = listed(of)
    assert found.outlay == of.cutting.outlay
    bought = [board for board in of.cutting.boards if board.buy]
    assert found.count == len(bought)
    assert found.volume == pytest.approx(sum(board.volume for board in bought), rel=1e-12)
    segments = Counter[str]()
    for part in found.thicknesses:
        segments[part.wood] += part.segments
        assert part.price == sum(
            board.price for board in bought if (board.wood, board.thickness) == (part.wood, part.thickness)
        )
    wanted = Counter[str]()
    for need in of.needs.strips:
        wanted[need.wood] += sum(count for _, count in need.rings)
    assert {check.wood: check.pieces for check in found.rack} == wanted
    for check in found.rack:
        assert check.lacking == segments[check.wood]
        assert check.taken_volume <= check.on_rack_volume * (1 + 1e-12)
        assert 0 <= check.spares <= check.pieces


@modest
@given(kinds())
def test_totals_are_the_plans_for_every_kind_of_making(sheet: Json) -> None:
    holds(estimated(sheet))


@modest
@given(sheets(most_layers=4, boards=True))
def test_totals_are_the_plans_with_boards_on_the_rack(sheet: Json) -> None:
    holds(estimated(sheet))


@modest
@given(sheets(most_layers=4))
def test_lanes_and_strips_fit_a_board_of_the_least_size(sheet: Json) -> None:
    """A second method: the planner's own rule of what a board has room for."""
    of = estimated(sheet)
    for board in of.cutting.boards:
        least, near = least_size(board, shop=of.sheet.shop), 1e-6
        lanes = {strip.lane: strip.rip_width for strip in board.strips}
        ends = Counter[int]()
        for one in board.strips:
            ends[one.lane] += one.length  # type: ignore[assignment]
        room = width_room(least.width, of.sheet.shop)
        assert sum(width + of.sheet.shop.rip_kerf for width in lanes.values()) <= room + near
        assert max(ends.values()) <= least.length - 2 * of.sheet.shop.board_end_trim + near
        assert all(
            (s.height if s.lies == "flat" else s.width) <= least.thickness + near for s in board.strips
        )
        assert least.length <= board.length
        assert least.width <= board.width
        assert least.thickness <= board.thickness


def test_one_list_serves_several_jobs_sawn_together() -> None:
    """Two bowls from one rack: the totals are the joint plan's, and each ring is still known by its job."""
    one, two = estimated(bowl()), estimated(bowl(quantity=2))
    plan = plan_sawing(
        [SawingJob("first", one.needs), SawingJob("second", two.needs)],
        boards=[Board("walnut", 900, 120, 30, 1, Decimal(20))],
        usual=one.sheet.usual_board,
        price_per_mm3={wood: Decimal("0.000003") for wood in one.wood},
        shop=one.sheet.shop,
    )
    wanted = Counter[str]()
    for of in (one, two):
        wanted.update(without_spares(of.needs.strips, rings=of.rings, pieces=of.sheet.quantity))
    found = to_buy(
        plan.cutting,
        needs=plan.needs,
        wanted=wanted,
        boards=[Board("walnut", 900, 120, 30, 1, Decimal(20))],
        shop=one.sheet.shop,
    )
    assert found.outlay == plan.cutting.outlay
    assert {check.wood: check.pieces for check in found.rack} == {"walnut": 36, "maple": 54, "cherry": 54}
    assert all(check.spares == 0 for check in found.rack)
    rings = {ring for part in found.thicknesses for ring in part.rings}
    assert {plan.ring(ring)[0] for ring in rings} == {0, 1}


@pytest.mark.parametrize("spare", [0.0, 0.1])
def test_spares_are_what_is_sawn_beyond_the_pieces(spare: float) -> None:
    """12 walnut; 3 layers of 6 maple and 6 cherry, two pieces: a tenth, at least one a ring and wood."""
    sheet = bowl(quantity=2)
    sheet["shop"]["spare_segments"] = spare
    checks = {check.wood: check for check in listed(estimated(sheet)).rack}
    # 24 of walnut need 2.4, so 3; each of three rings needs 12 of maple: 1.2, so 2, thrice; cherry likewise.
    assert {wood: check.spares for wood, check in checks.items()} == (
        {"walnut": 3, "maple": 6, "cherry": 6} if spare else {"walnut": 0, "maple": 0, "cherry": 0}
    )
    assert {wood: check.pieces - check.spares for wood, check in checks.items()} == {
        "walnut": 24, "maple": 36, "cherry": 36,
    }  # fmt: skip
