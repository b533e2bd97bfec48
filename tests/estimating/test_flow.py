"""Where the wood goes: whole mm3 and whole coins that add up exactly, beside a sum from the plan and a case by hand."""

from collections import defaultdict
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.estimate import Estimate, estimate
from estimating.price.money import minor_digits
from estimating.quantities import BOARD_FOOT
from estimating.sheet import read_sheet
from estimating.wood.account import WoodAccount
from estimating.wood.flow import PARTS, WoodFlow, all_woods, flow_of, shared_out
from estimating.wood.strips import CuttingPlan, Offcut, SawnBoard, Strip
from tests.estimating.kinds import kinds
from tests.estimating.sheets import PRICING, Json, bowl, modest, sheets


def flows(of: Estimate) -> tuple[WoodFlow, ...]:
    digits = minor_digits(of.sheet.pricing.currency)
    assert digits is not None
    return flow_of(of.wood, plan=of.cutting, charge=of.cost.wood, places=digits)


def estimated(sheet: Json) -> Estimate:
    return estimate(read_sheet(sheet))


def holds_exactly(of: Estimate) -> None:
    found = flows(of)
    assert [flow.wood for flow in found] == list(of.wood)
    assert sum((flow.charge for flow in found), Decimal(0)) == of.cost.wood
    digits = minor_digits(of.sheet.pricing.currency) or 0
    for flow in found:
        assert sum(flow.volumes) == flow.boards == round(of.wood[flow.wood].boards)
        assert all(volume >= 0 for volume in flow.volumes)
        assert all(money >= 0 for money in flow.money)
        assert all(money == round(money, digits) for money in flow.money)
        assert flow.node("boards") - flow.volume("kept") - flow.volume("rip_waste") == flow.node("strips")
        assert flow.node("strips") - flow.volume("crosscut_waste") == flow.node("rings")
        assert flow.node("rings") - flow.volume("slicing_waste") == flow.node("layers")
        assert flow.node("layers") - flow.volume("turning_waste") == flow.node("turned")
        assert flow.node("turned") == flow.volume("turned")
        if not of.sheet.pricing.whole_boards:
            assert flow.money[PARTS.index("kept")] == 0
        for step in (1e4, BOARD_FOOT / 100):
            assert sum(flow.in_steps(step)) == round(flow.boards / step)
            for whole, exact in zip(flow.in_steps(step), flow.volumes, strict=True):
                assert abs(whole - exact / step) < 1.5  # half a step of the sum may fall to one part
        assert sum(flow.in_shares(1000)) == 1000
    every = all_woods(found)
    assert every.charge == of.cost.wood
    assert every.boards == sum(flow.boards for flow in found)


@modest
@given(kinds(), st.booleans(), st.sampled_from(["USD", "JPY", "BHD"]))
def test_volumes_and_money_add_up_exactly_for_every_kind_of_making(
    sheet: Json, whole: bool, currency: str
) -> None:
    sheet["pricing"] = {**PRICING, "whole_boards": whole, "currency": currency}
    holds_exactly(estimated(sheet))


@modest
@given(sheets(most_layers=4, boards=True))
def test_they_add_up_where_there_are_boards_on_the_rack(sheet: Json) -> None:
    holds_exactly(estimated(sheet))


@modest
@given(kinds())
def test_each_step_is_what_the_plan_and_the_rings_measure(sheet: Json) -> None:
    """A second method: boards, strips and offcuts one by one, and rings and layers by their areas."""
    of = estimated(sheet)
    sums: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for board in of.cutting.boards:
        own = sums[board.wood]
        own["boards"] += board.length * board.width * board.thickness
        own["kept"] += sum(o.length * o.width * o.thickness for o in board.offcuts)
        own["strips"] += sum(s.length * s.width * s.height for s in board.strips)
    for shape in of.shapes:
        for ring in shape.rings:
            for wood, share in ring.wood_shares.items():
                sums[wood]["rings"] += ring.segment_area * share * ring.height * of.sheet.quantity
    plugged = {plug.wood for shape in of.shapes for plug in shape.plugs}
    for flow in flows(of):
        own, near = sums[flow.wood], 3  # each part is rounded to a whole mm3
        assert flow.boards == pytest.approx(own["boards"], abs=near)
        assert flow.volume("kept") == pytest.approx(own["kept"], abs=near)
        assert flow.node("strips") == pytest.approx(own["strips"], abs=near)
        if flow.wood not in plugged:
            assert flow.node("rings") == pytest.approx(own["rings"], abs=near)


# By hand, mm: a board 1000 x 100 x 25 at 10.00 gives a strip 500 x 40 x 20 and keeps an offcut 400 x 100 x 25.
STRIP = Strip(1, 25.0, 40.0, 20.0, 500.0, 12, (1,), rip_width=40.0, lies="flat")
BOARD = SawnBoard(
    "ash", 1000.0, 100.0, 25.0, Decimal("10.00"), False, (STRIP,), (Offcut(400.0, 100.0, 25.0, 600.0, 0.0),)
)
# Boards 2 500 000; kept 1 000 000; strip 400 000, so ripping 1 100 000. Of the strip the rings have 300 000,
# the layers 280 000, the piece 100 000.
ACCOUNT = WoodAccount(
    segments=12, strip_length=500.0, turned=100_000.0, turning_waste=180_000.0, slicing_waste=20_000.0,
    crosscut_waste=100_000.0, rip_waste=1_100_000.0, kept=1_000_000.0, boards=2_500_000.0,
)  # fmt: skip


def by_hand(board: SawnBoard, charge: str) -> WoodFlow:
    plan = CuttingPlan((board,), board.cost, board.cost, True, ())
    (flow,) = flow_of({"ash": ACCOUNT}, plan=plan, charge=Decimal(charge), places=2)
    return flow


def test_a_board_worked_out_by_hand() -> None:
    # Charged: 10.00 x (1 - 1 000 000 / 2 500 000) = 6.00, for 1 500 000 mm3: 0.40 a 100 000.
    flow = by_hand(BOARD, "6.00")
    assert dict(zip(PARTS, flow.volumes, strict=True)) == {
        "kept": 1_000_000, "rip_waste": 1_100_000, "crosscut_waste": 100_000, "slicing_waste": 20_000,
        "turning_waste": 180_000, "turned": 100_000,
    }  # fmt: skip
    assert [str(money) for money in flow.money] == ["0.00", "4.40", "0.40", "0.08", "0.72", "0.40"]
    assert flow.yield_share == pytest.approx(1 / 15, rel=1e-12)


def test_a_board_charged_whole_charges_what_is_kept_too() -> None:
    # 10.00 for 2 500 000 mm3: 0.40 a 100 000, the offcut included.
    whole = SawnBoard(
        "ash", 1000.0, 100.0, 25.0, Decimal("10.00"), False, (STRIP,), BOARD.offcuts, charged_whole=True
    )
    assert [str(money) for money in by_hand(whole, "10.00").money] == [
        "4.00", "4.40", "0.40", "0.08", "0.72", "0.40",
    ]  # fmt: skip


def test_a_coin_that_does_not_divide_goes_to_the_largest_rest() -> None:
    # 0.05 over 110 : 10 : 2 : 18 : 10 of 150: 3.67, 0.33, 0.07, 0.6, 0.33 coins; 3 given, two left: to .67 and .6.
    assert [str(money) for money in by_hand(BOARD, "0.05").money] == [
        "0.00", "0.04", "0.00", "0.00", "0.01", "0.00",
    ]  # fmt: skip


def test_two_woods_share_the_charge_by_what_their_own_boards_are_charged() -> None:
    of = estimated(bowl(boards=[
        {"wood": "walnut", "length": 900, "width": 120, "thickness": 30, "count": 5, "price": "90.00"},
        {"wood": "maple", "length": 900, "width": 120, "thickness": 30, "count": 5, "price": "9.00"},
    ]))  # fmt: skip
    for flow in flows(of):
        own = sum(board.cost for board in of.cutting.boards if board.wood == flow.wood)
        assert float(flow.charge) == pytest.approx(own, abs=0.011)


@given(st.integers(0, 10**12), st.lists(st.floats(0, 1e9), min_size=1, max_size=8))
def test_shares_add_up_and_none_is_a_whole_unit_off(total: int, weights: list[float]) -> None:
    if not sum(weights):
        return
    found = shared_out(total, weights)
    assert sum(found) == total
    for share, weight in zip(found, weights, strict=True):
        assert abs(share - total * weight / sum(weights)) < 1 + 1e-9 * total


def test_what_cannot_be_shared_is_refused() -> None:
    with pytest.raises(ValueError, match="weights"):
        shared_out(1, [0.0, 0.0])
    with pytest.raises(ValueError, match="weights"):
        shared_out(1, [2.0, -1.0])
    with pytest.raises(ValueError, match="finer"):
        by_hand(BOARD, "6.005")
