"""Strips, boards and offcuts by hand; and what every sawing plan must keep to, on random pieces."""

from collections import Counter, defaultdict
from decimal import Decimal
from math import cos, pi, tan

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimating.errors import InvalidSheet
from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.cutting import (
    CuttingPlan,
    SawnBoard,
    StripNeed,
    plan_cutting,
    pool_needs,
    strip_rule,
    wood_use,
)
from estimating.wood.layouts import offcuts

PRICE = {"ash": Decimal("0.000002"), "walnut": Decimal("0.000004")}
PLAIN = ShopSettings(
    rip_kerf=3.0,
    crosscut_kerf=2.0,
    board_end_trim=20.0,
    board_edge_trim=0.0,
    keep_length=300.0,
    keep_width=40.0,
    strip_hold=60.0,
    min_rip_length=0.0,
    min_rip_width=0.0,
    min_planer_length=0.0,
)


def square_need(
    *,
    wood: str = "ash",
    width: float = 30.0,
    height: float = 20.0,
    edge: float = 48.0,
    rings: tuple[tuple[int, int], ...] = ((1, 10),),
) -> StripNeed:
    """Segments with square ends, so that a strip is easy to reckon: N x edge + (N + 1) x kerf + hold."""
    return StripNeed(wood, width, height, 0.0, edge, edge, rings)


def plan_of(needs: list[StripNeed], boards: list[Board] | None = None, **others: object) -> CuttingPlan:
    given: dict[str, object] = {"usual": UsualBoard(), "price_per_mm3": PRICE, "shop": PLAIN, **others}
    return plan_cutting(needs=needs, boards=boards or [], **given)  # type: ignore[arg-type]


def test_a_strip_by_hand() -> None:
    # 12 segments a ring, radii 100 and 70: phi = 15 deg, L_o = 2 x 100 tan 15 = 53.590,
    # A_i = 70 cos 15 = 67.615, L_i = 36.235, w = 32.385, m = 44.912; kerf 2.8 / cos 15 = 2.8988.
    # 13 segments: 13 x 44.912 + 14 x 2.8988 + 32.385 tan 15 + 75 = 583.86 + 40.58 + 8.68 + 75 = 708.12.
    phi = pi / 12
    inner = 70 * cos(phi)
    need = StripNeed("ash", 100 - inner, 20.0, phi, 200 * tan(phi), 2 * inner * tan(phi), ((1, 13),))
    rule = strip_rule(need=need, shop=ShopSettings(crosscut_kerf=2.8, strip_hold=75.0))
    assert rule.length(13) == pytest.approx(708.12, abs=0.02)
    assert rule.segments_in(708.2) == 13
    assert rule.segments_in(708.0) == 12


def test_a_plan_by_hand() -> None:
    # 10 segments of 48: strip 10 x 48 + 11 x 2 + 60 = 562 long, 30 wide. On a board of 1000 x 100 x 25, price 50:
    # the near end loses 20, a crosscut at 562 leaves 1000 - 20 - 562 - 2 = 416 in the whole width, and beside
    # the lane 100 - 30 - 3 = 67 x 562. Kept 416 x 100 + 562 x 67 = 79254 of 100000 mm2, so 50 x 0.20746 = 10.373.
    # Two lanes of 5 (5 x 48 + 6 x 2 + 60 = 312): far 666 x 100, beside 312 x 34 is too narrow: 16.70. One is best.
    plan = plan_of([square_need()], [Board("ash", 1000.0, 100.0, 25.0, 1, Decimal(50))])
    (board,) = plan.boards
    (strip,) = board.strips
    assert (strip.lane, strip.start, strip.length, strip.segments) == (1, 20.0, 562.0, 10)
    assert (strip.rip_width, strip.lies, strip.rings) == (30.0, "flat", (1,))
    assert [(o.length, o.width) for o in board.offcuts] == [(416.0, 100.0), (562.0, 67.0)]
    assert board.kept == pytest.approx(79254 * 25)
    assert board.used == pytest.approx(562 * 30 * 20 / (1000 * 100 * 25))
    assert plan.cost == pytest.approx(10.373)
    assert plan.proven
    assert plan.bound == pytest.approx(10.373)
    assert plan.short == ()


def test_the_boards_to_buy_are_the_usual_one_in_the_next_thickness() -> None:
    plan = plan_of([square_need(height=26.0)], usual=UsualBoard(length=1000.0, width=100.0))
    (board,) = plan.boards
    assert board.buy
    # flat: 31.75 thick x 30; on edge: 31.75 thick x 26 needs less
    assert (board.thickness, board.strips[0].lies, board.strips[0].rip_width) == (31.75, "on_edge", 26.0)
    assert board.price == Decimal("6.35")  # 1000 x 100 x 31.75 x 0.000002
    assert [(short.wood, short.rings, short.segments) for short in plan.short] == [("ash", (1,), 10)]


@pytest.mark.parametrize(
    ("lies", "thickness", "expected"),
    [
        ("either", 40.0, ("on_edge", 20.0)),  # both fit: the narrower rip
        ("flat", 40.0, ("flat", 30.0)),
        ("on_edge", 40.0, ("on_edge", 20.0)),
        ("on_edge", 25.0, ("flat", 30.0)),  # preferred, but 25 is less than the strip's 30
    ],
)
def test_strips_lie_as_preferred_where_they_fit(
    lies: str, thickness: float, expected: tuple[str, float]
) -> None:
    shop = ShopSettings(**{**{name: getattr(PLAIN, name) for name in PLAIN.__slots__}, "strip_lies": lies})
    plan = plan_of([square_need()], [Board("ash", 1000.0, 100.0, thickness, 1, Decimal(50))], shop=shop)
    strip = plan.boards[0].strips[0]
    assert (strip.lies, strip.rip_width) == expected


def test_one_strip_serves_rings_alike_in_their_order() -> None:
    needs = [
        square_need(rings=((4, 3),)),
        square_need(rings=((2, 5),)),
        square_need(width=25.0, rings=((3, 2),)),
    ]
    plan = plan_of(needs, [Board("ash", 1000.0, 100.0, 25.0, 1, Decimal(50))])
    strips = {strip.width: strip for board in plan.boards for strip in board.strips}
    assert (strips[30.0].segments, strips[30.0].rings) == (8, (2, 4))
    assert (strips[25.0].segments, strips[25.0].rings) == (2, (3,))


def test_the_rack_is_used_before_anything_is_bought() -> None:
    # A lane of the board on the rack holds floor((340 - 40 - 62) / 50) = 4 segments, and with 30 + 3 + 30 of 70 wide
    # there are two lanes: 8 of 10 segments, though to buy costs less.
    rack = [Board("ash", 340.0, 70.0, 20.0, 1, Decimal(900))]
    plan = plan_of([square_need()], rack, usual=UsualBoard(length=1000.0, width=100.0))
    assert [board.buy for board in plan.boards] == [False, True]
    assert sum(strip.segments for strip in plan.boards[0].strips) == 8
    assert [(short.wood, short.segments) for short in plan.short] == [("ash", 2)]


def test_what_no_board_given_has_room_for_is_bought() -> None:
    needs = [square_need(), square_need(height=60.0, width=70.0, rings=((2, 3),))]
    plan = plan_of(needs, [Board("ash", 1000.0, 100.0, 25.0, 2, Decimal(9))])
    assert [(short.rings, short.segments) for short in plan.short] == [((2,), 3)]
    assert {board.buy: board.thickness for board in plan.boards} == {False: 25.0, True: 63.5}


def test_a_wood_that_is_not_on_the_rack_is_bought() -> None:
    plan = plan_of([square_need(wood="walnut")], [Board("ash", 1000.0, 100.0, 25.0, 1, Decimal(9))])
    assert [(board.wood, board.buy) for board in plan.boards] == [("walnut", True)]


@pytest.mark.parametrize(
    "need",
    [
        square_need(height=120.0, width=110.0),  # thicker than any on offer
        square_need(width=160.0, height=110.0),  # wider than the board
        square_need(edge=2400.0),  # one segment longer than a lane
    ],
)
def test_what_fits_no_board_at_all_is_refused_by_ring_and_size(need: StripNeed) -> None:
    with pytest.raises(
        InvalidSheet, match=r"^bands: ring 1: a ash strip for one segment is [\d.]+ x"
    ) as refused:
        plan_of([need])
    assert [error.place for error in refused.value.errors] == ["bands"]


def test_every_strip_that_fits_no_board_is_refused_at_once() -> None:
    wide = [
        square_need(width=160.0, height=height, rings=((ring, 4),))
        for ring, height in ((1, 110.0), (3, 115.0))
    ]
    with pytest.raises(InvalidSheet) as refused:
        plan_of([*wide, square_need(rings=((2, 4),))])
    assert [str(error)[:14] for error in refused.value.errors] == ["bands: ring 1:", "bands: ring 3:"]


def test_free_boards_cost_nothing_and_are_spared_all_the_same() -> None:
    boards = [
        Board("ash", 3000.0, 200.0, 25.0, 1, Decimal(0)),
        Board("ash", 700.0, 100.0, 25.0, 1, Decimal(0)),
    ]
    plan = plan_of([square_need()], boards)
    assert (plan.cost, plan.bound, plan.proven) == (0.0, 0.0, True)
    assert len(plan.boards) == 1


def test_no_needs_no_boards() -> None:
    plan = plan_of([square_need(rings=((1, 0),))])
    assert plan == CuttingPlan((), 0.0, 0.0, True, ())


def test_an_offcut_takes_the_untrimmed_end_and_edge_along() -> None:
    shop = ShopSettings(board_end_trim=25.0, board_edge_trim=4.0, rip_kerf=3.0, crosscut_kerf=2.8)
    kept = offcuts(length=2000.0, width=150.0, lanes=[(30.0, 500.0), (30.0, 480.0)], shop=shop)
    # far: 2000 - 25 - 500 - 2.8; beside: 150 - (4 + 3) - 2 x 33
    # Their corners: 25 + 500 + 2.8 along; at the near trim, and 7 + 2 x 33 across.
    assert kept == (
        pytest.approx((1472.2, 150.0, 527.8, 0.0)),
        pytest.approx((500.0, 77.0, 25.0, 73.0)),
    )


def test_a_crosscut_is_made_later_where_that_makes_the_side_piece_long_enough() -> None:
    # At 250, where the lane ends, 250 x 67 would be too short to keep; at 300 it is kept, for 50 x 100 less beyond.
    kept = offcuts(length=1000.0, width=100.0, lanes=[(30.0, 250.0)], shop=PLAIN)
    assert [piece[:2] for piece in kept] == [(678.0, 100.0), (300.0, 67.0)]


@settings(max_examples=200, deadline=None)
@given(
    lanes=st.lists(st.tuples(st.floats(5, 45), st.floats(40, 900)), min_size=1, max_size=3),
    crosscut=st.floats(0, 1000),
)
def test_no_crosscut_keeps_more(lanes: list[tuple[float, float]], crosscut: float) -> None:
    longest = max(used for _, used in lanes)
    along, beside = 980.0, 200 - sum(width + 3 for width, _ in lanes)
    at = longest + crosscut * (along - 2 - longest) / 1000
    pieces = [(along - at - 2, 200.0), (at, beside), *((at - used - 2, width) for width, used in lanes)]
    by_this = sum(a * b for a, b in pieces if a >= 300 and b >= 40)
    best = sum(a * b for a, b, _, _ in offcuts(length=1000.0, width=200.0, lanes=lanes, shop=PLAIN))
    assert best >= by_this - 1e-6


# What every plan must keep to


@st.composite
def random_needs(draw: st.DrawFn) -> list[StripNeed]:
    """Rings of one piece in two woods, some of one shape."""
    needs = []
    for ring in range(1, draw(st.integers(1, 9)) + 1):
        segments = draw(st.sampled_from([6, 12, 16, 24]))
        outer, width = (
            draw(st.sampled_from([45.0, 62.5, 80.0, 110.0])),
            draw(st.sampled_from([12.0, 21.0, 34.5, 44.0])),
        )
        phi = pi / segments
        needs.append(
            StripNeed(
                wood=draw(st.sampled_from(["ash", "walnut"])),
                width=width,
                height=draw(st.sampled_from([14.0, 22.0, 41.0])),
                miter=phi,
                outer_edge=2 * outer * tan(phi),
                inner_edge=2 * (outer - width) * tan(phi),
                rings=((ring, draw(st.integers(1, 40))),),
            )
        )
    return needs


racks = st.lists(
    st.builds(
        Board,
        wood=st.sampled_from(["ash", "walnut"]),
        length=st.sampled_from([600.0, 1150.0, 2000.0]),
        width=st.sampled_from([75.0, 140.0, 210.0]),
        thickness=st.sampled_from([15.0, 25.4, 45.0]),
        count=st.integers(0, 3),
        price=st.sampled_from([Decimal(0), Decimal("7.50"), Decimal(24)]),
    ),
    max_size=4,
)
shops = st.builds(
    ShopSettings,
    board_edge_trim=st.sampled_from([0.0, 4.0]),
    board_end_trim=st.sampled_from([0.0, 25.0]),
    keep_length=st.sampled_from([150.0, 300.0]),
    keep_width=st.sampled_from([20.0, 40.0]),
    strip_hold=st.sampled_from([0.0, 75.0]),
    strip_lies=st.sampled_from(["either", "flat", "on_edge"]),
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(needs=random_needs(), boards=racks, shop=shops)
def test_every_plan_can_be_sawn_and_gives_every_segment(
    needs: list[StripNeed], boards: list[Board], shop: ShopSettings
) -> None:
    plan = plan_of(needs, boards, shop=shop)
    for board in plan.boards:
        check_board(board, shop)
    check_segments(plan, needs, shop)
    check_rack(plan, boards)
    assert plan.bound <= plan.cost
    assert plan.cost == pytest.approx(sum(board.cost for board in plan.boards))
    assert plan.proven == (plan.cost <= plan.bound * (1 + 1e-9))
    for use in wood_use(plan).values():
        assert use.strips + use.rip_waste + use.kept == pytest.approx(use.boards, rel=1e-12)
        assert use.rip_waste > 0
    assert repr(plan_of(needs, boards, shop=shop)) == repr(plan)


def test_a_wide_strip_never_fills_up_a_narrow_lane() -> None:
    # A second lane of 30 does not fit beside the first (30 + 3 + 30 + 2 x 5 = 73 of 70), one of 8 does; the wide
    # segment left over must not end up in it.
    shop = ShopSettings(
        rip_kerf=3.0, crosscut_kerf=2.0, board_end_trim=10.0, board_edge_trim=2.0, keep_length=90.0, keep_width=30.0,
        strip_hold=25.0, strip_lies="flat", min_rip_length=0.0, min_rip_width=0.0, min_planer_length=0.0,
    )  # fmt: skip
    needs = [
        StripNeed("ash", 30.001, 20.0, 0.2618, 63.0, 60.0, ((1, 4),)),
        StripNeed("ash", 8.002, 20.0, 0.2618, 26.0, 20.0, ((2, 1),)),
    ]
    plan = plan_of(needs, [Board("ash", 300.0, 70.0, 30.0, 2, Decimal(2))], shop=shop)
    for board in plan.boards:
        check_board(board, shop)


def check_board(board: SawnBoard, shop: ShopSettings) -> None:
    """Strips lie in lanes that fit, end to end; offcuts are big enough and have room beside them."""
    lanes = defaultdict(list)
    for strip in board.strips:
        lanes[strip.lane].append(strip)
        depth = strip.height if strip.lies == "flat" else strip.width
        assert strip.rip_width == (strip.width if strip.lies == "flat" else strip.height)
        assert depth <= board.thickness + 1e-9
    assert sorted(lanes) == list(range(1, len(lanes) + 1))
    for strips in lanes.values():
        at = shop.board_end_trim
        for strip in strips:
            assert strip.start == pytest.approx(at)
            at += strip.length
        assert at <= board.length - shop.board_end_trim + 1e-6
    widths = [max(strip.rip_width for strip in strips) for strips in lanes.values()]
    edge = shop.board_edge_trim + shop.rip_kerf if shop.board_edge_trim else 0.0
    assert sum(widths) + (len(widths) - 1) * shop.rip_kerf + 2 * edge <= board.width + 1e-6
    for length, width in ((o.length, o.width) for o in board.offcuts):
        assert length >= shop.keep_length - 1e-6
        assert width >= shop.keep_width - 1e-6
    taken = sum(strip.length * strip.rip_width for strip in board.strips)
    assert taken + sum(o.length * o.width for o in board.offcuts) < board.length * board.width
    assert board.kept == pytest.approx(board.thickness * sum(o.length * o.width for o in board.offcuts))


def check_segments(plan: CuttingPlan, needs: list[StripNeed], shop: ShopSettings) -> None:
    """Each shape's segments are sawn, none more; each strip is as long as its segments need."""
    pooled = {(need.wood, need.width, need.height, need.outer_edge): need for need in pool_needs(needs)}
    sawn: Counter[tuple[str, float, float, float]] = Counter()
    for board in plan.boards:
        for strip in board.strips:
            key = next(
                key
                for key, need in pooled.items()
                if key[:3] == (board.wood, strip.width, strip.height)
                and strip_length(need, strip.segments, shop) == pytest.approx(strip.length, abs=1e-9)
                and set(strip.rings) <= {ring for ring, _ in need.rings}
            )
            sawn[key] += strip.segments
    assert sawn == {key: sum(count for _, count in need.rings) for key, need in pooled.items()}
    bought = Counter({short.wood: short.segments for short in plan.short})
    assert bought == Counter(
        {
            wood: sum(
                s.segments for board in plan.boards if board.buy and board.wood == wood for s in board.strips
            )
            for wood in {board.wood for board in plan.boards if board.buy}
        }
    )


def strip_length(need: StripNeed, segments: int, shop: ShopSettings) -> float:
    mean = (need.outer_edge + need.inner_edge) / 2
    kerfs = (segments + 1) * shop.crosscut_kerf / cos(need.miter)
    return segments * mean + kerfs + need.width * tan(need.miter) + shop.strip_hold


def check_rack(plan: CuttingPlan, boards: list[Board]) -> None:
    """No board is used that is not there."""
    there: Counter[tuple[object, ...]] = Counter()
    for board in boards:
        there[(board.wood, board.length, board.width, board.thickness, board.price)] += board.count
    used = Counter(
        (board.wood, board.length, board.width, board.thickness, board.price)
        for board in plan.boards
        if not board.buy
    )
    assert used <= there
