"""Clear parts of boards with defects, plates of boards resawn, matched rings: by hand, and in every plan."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidSheet
from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.cutting import StripNeed
from estimating.wood.sections import clear_sections, plate_thickness, ways_to_resaw
from estimating.wood.strips import CuttingPlan, SawnBoard
from tests.estimating.test_cutting import PLAIN, plan_of, square_need

ROUGH = ShopSettings(plane_face=1.2, resaw=True, resaw_kerf=1.4, resaw_clean=0.8, bandsaw_height=200.0)


def corners(defects: Sequence[tuple[float, ...]], **shop: float) -> list[tuple[float, float, float, float]]:
    settings = replace(PLAIN, **shop)
    return [
        (s.start, s.across, s.length, s.width)
        for s in clear_sections(length=2000.0, width=150.0, defects=defects, shop=settings)
    ]


def test_a_defect_across_the_board_leaves_the_wood_before_and_behind_it() -> None:
    assert corners([(800.0, 850.0)]) == [(0.0, 0.0, 800.0, 150.0), (850.0, 0.0, 1150.0, 150.0)]


def test_a_defect_narrower_than_the_kerf_costs_the_kerf() -> None:
    assert corners([(800.0, 800.5)])[1] == (802.0, 0.0, 1198.0, 150.0)


def test_an_end_sawn_at_a_defect_is_fresh_and_needs_no_trim() -> None:
    first, second = clear_sections(length=2000.0, width=150.0, defects=[(800.0, 850.0)], shop=PLAIN)
    assert (first.near_trim, first.far_trim) == (20.0, 0.0)
    assert (second.near_trim, second.far_trim) == (0.0, 20.0)


def test_a_long_knot_at_the_edge_is_ripped_out_and_a_short_one_in_the_middle_crosscut() -> None:
    # Crosscut out the long one would cost 900 x 150; ripped, 900 x 30 and the kerf are lost.
    assert corners([(500.0, 1400.0, 120.0, 150.0)]) == [
        (0.0, 0.0, 2000.0, 120.0),
        (0.0, 120.0, 500.0, 30.0),
        (1400.0, 120.0, 600.0, 30.0),
    ]
    assert corners([(900.0, 930.0, 60.0, 90.0)], min_rip_width=45.0) == [
        (0.0, 0.0, 900.0, 150.0),
        (930.0, 0.0, 1070.0, 150.0),
    ]


def test_pieces_too_short_or_too_narrow_to_rip_are_not_sections() -> None:
    assert corners([(100.0, 200.0), (1800.0, 1900.0)], min_rip_length=300.0) == [(200.0, 0.0, 1600.0, 150.0)]


@given(
    cuts=st.lists(
        st.tuples(st.floats(0, 1900), st.floats(1, 90), st.booleans(), st.floats(0, 140), st.floats(1, 60)),
        max_size=5,
    )
)
def test_no_section_holds_any_of_a_defect_and_none_overlap(
    cuts: list[tuple[float, float, bool, float, float]],
) -> None:
    defects = [(a, a + d, near, min(150.0, near + w)) if area else (a, a + d) for a, d, area, near, w in cuts]
    boxes = corners(defects)
    for defect in defects:
        near, far = defect[2:] if len(defect) == 4 else (0.0, 150.0)
        for start, across, length, width in boxes:
            along = min(defect[1], start + length) - max(defect[0], start)
            over = min(far, across + width) - max(near, across)
            assert min(along, over) <= 1e-9
    for at, one in enumerate(boxes):
        for other in boxes[at + 1 :]:
            along = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
            over = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
            assert min(along, over) <= 1e-9


def test_a_rough_board_loses_its_faces_and_a_resawn_one_its_cut_and_both_new_faces() -> None:
    assert plate_thickness(25.4, "surfaced", 1, ROUGH) == 25.4
    assert plate_thickness(25.4, "rough", 1, ROUGH) == pytest.approx(23.0)
    # 25.4 - 2 x 1.2 = 23; less 1.4 + 2 x 0.8 for a cut: 20 for two, 17 for three.
    assert plate_thickness(25.4, "rough", 2, ROUGH) == pytest.approx(10.0)
    assert plate_thickness(25.4, "rough", 3, ROUGH) == pytest.approx(17 / 3)


@pytest.mark.parametrize(
    ("shop", "plates"),
    [
        (ROUGH, [1, 2, 3]),
        (replace(ROUGH, resaw=False), [1]),
        (replace(ROUGH, bandsaw_height=149.0), [1]),
        (replace(ROUGH, bandsaw_height=0.0), [1]),  # nobody said how tall the saw cuts
        (replace(ROUGH, min_planer_length=2001.0), [1]),
    ],
)
def test_a_board_is_resawn_only_within_the_saw_and_the_planer(shop: ShopSettings, plates: list[int]) -> None:
    board = Board("ash", 2000.0, 150.0, 25.4, 1, Decimal(9), surface="rough")
    (section,) = clear_sections(length=2000.0, width=150.0, defects=(), shop=shop)
    assert list(ways_to_resaw(board, section, thinnest=5.6, shop=shop)) == plates


def thin_need(**more: object) -> StripNeed:
    return replace(square_need(height=10.0, width=30.0, rings=((1, 20),)), **more)


def test_thin_rings_from_a_thick_board_take_half_the_wood_once_it_is_resawn() -> None:
    board = Board("ash", 1200.0, 100.0, 25.0, 1, Decimal(40))
    flat = replace(PLAIN, strip_lies="flat")
    needs = [thin_need(rings=((1, 40),))]
    whole = plan_of(needs, [board], shop=flat)
    resawn = plan_of(needs, [board], shop=replace(flat, resaw=True, bandsaw_height=150.0))
    assert whole.boards[0].plates == 1
    assert (resawn.boards[0].plates, resawn.boards[0].plate_thickness) == (2, pytest.approx(11.0))
    assert resawn.cost < 0.7 * whole.cost
    assert resawn.bound <= resawn.cost + 1e-9


def test_only_as_much_of_a_board_is_resawn_as_is_used_and_the_spare_plate_goes_back() -> None:
    shop = replace(PLAIN, resaw=True, bandsaw_height=150.0)
    few = thin_need(rings=((1, 9),))
    (board,) = plan_of([few], [Board("ash", 1200.0, 100.0, 25.0, 1, Decimal(40))], shop=shop).boards
    assert board.plates == 2
    # The strip ends at 20 + 9 x 50 + 62 = 532: beyond the cut the board stays 25 thick.
    (far,) = [offcut for offcut in board.offcuts if offcut.thickness == 25.0]
    assert (far.start, far.length, far.width) == (pytest.approx(534.0), pytest.approx(666.0), 100.0)
    (spare,) = [o for o in board.offcuts if o.plate == 2]
    assert (spare.start, spare.length, spare.width) == (0.0, pytest.approx(532.0), 100.0)
    assert spare.thickness == pytest.approx(11.0)


def clear_of(board: SawnBoard) -> None:
    """No strip and no offcut holds any of a defect."""
    pieces = [(s.start, s.start + s.length, s.across, s.across + s.rip_width) for s in board.strips]
    pieces += [(o.start, o.start + o.length, o.across, o.across + o.width) for o in board.offcuts]
    for defect in board.defects:
        near, far = defect[2:] if len(defect) == 4 else (0.0, board.width)
        for begin, end, low, high in pieces:
            along, over = min(end, defect[1]) - max(begin, defect[0]), min(high, far) - max(low, near)
            assert min(along, over) <= 1e-6
    for begin, end, low, high in pieces:
        assert min(begin, low) >= -1e-6
        assert end <= board.length + 1e-6
        assert high <= board.width + 1e-6


@given(
    at=st.floats(100, 1500), long=st.floats(5, 300), area=st.booleans(), count=st.integers(6, 60), plates=st.booleans()
)  # fmt: skip
def test_plans_keep_clear_of_defects_and_pieces_off_one_another(
    at: float, long: float, area: bool, count: int, plates: bool
) -> None:
    defect = (at, at + long, 30.0, 80.0) if area else (at, at + long)
    boards = [
        Board("ash", 1900.0, 120.0, 25.0, 1, Decimal(40), defects=(defect,), ref="A"),
        Board("ash", 900.0, 100.0, 25.0, 1, Decimal(20), ref="B"),
    ]
    shop = replace(PLAIN, resaw=plates, bandsaw_height=200.0)
    plan = plan_of([thin_need(rings=((1, count),)), square_need(rings=((2, 9),))], boards, shop=shop)
    assert sum(strip.segments for board in plan.boards for strip in board.strips) == count + 9
    assert plan.bound <= plan.cost + 1e-9
    for board in plan.boards:
        clear_of(board)
        boxes = [
            (s.plate, s.start, s.start + s.length, s.across, s.across + s.rip_width) for s in board.strips
        ] + [(o.plate, o.start, o.start + o.length, o.across, o.across + o.width) for o in board.offcuts]
        for n, one in enumerate(boxes):
            for other in boxes[n + 1 :]:
                along = min(one[2], other[2]) - max(one[1], other[1])
                over = min(one[4], other[4]) - max(one[3], other[3])
                assert one[0] != other[0] or min(along, over) <= 1e-6
        taken = sum(s.volume for s in board.strips) + board.kept
        assert taken <= board.volume + 1e-6
        assert board.cost == pytest.approx(float(board.price) * (1 - board.kept / board.volume))


def boards_of(plan: CuttingPlan, ring: int) -> set[int]:
    return {at for at, board in enumerate(plan.boards) for strip in board.strips if ring in strip.rings}


def test_a_matched_ring_comes_from_one_board_though_two_short_ones_would_cost_less() -> None:
    short = Board("ash", 500.0, 50.0, 25.0, 4, Decimal(5))
    long = Board("ash", 1200.0, 50.0, 25.0, 1, Decimal(90))
    free = square_need(rings=((1, 14),))
    matched = replace(free, match="board")
    assert len(boards_of(plan_of([free], [short, long]), 1)) == 2
    plan = plan_of([matched], [short, long])
    assert [board.length for board in plan.boards] == [1200.0]


def test_a_matched_ring_longer_than_any_board_is_sawn_from_strips_side_by_side() -> None:
    plan = plan_of(
        [replace(square_need(rings=((1, 14),)), match="board")],
        [Board("ash", 620.0, 100.0, 25.0, 1, Decimal(9))],
    )
    (board,) = plan.boards
    assert [(strip.lane, strip.segments) for strip in board.strips] == [(1, 7), (2, 7)]
    assert board.strips[1].across - board.strips[0].across == pytest.approx(30.0 + 3.0)


def test_each_piece_of_a_pair_has_its_matched_ring_from_a_board_of_its_own_where_one_holds_no_two() -> None:
    need = replace(square_need(rings=((1, 20),)), match="board", sets=2)
    plan = plan_of([need], [Board("ash", 640.0, 50.0, 25.0, 3, Decimal(9))])
    assert [sum(strip.segments for strip in board.strips) for board in plan.boards] == [10, 10]


def test_a_strip_in_book_order_is_not_turned_over() -> None:
    # Wedges of 50 and 40: 10 x (50 + 2) + 2 + 60, each kerf slanting by the miter of 0.
    need = replace(square_need(rings=((1, 10),)), outer_edge=50.0, inner_edge=40.0, match="book")
    (board,) = plan_of([need], [Board("ash", 1200.0, 50.0, 25.0, 1, Decimal(9))]).boards
    assert board.strips[0].length == pytest.approx(582.0)


def test_a_matched_ring_that_no_board_holds_is_refused_in_words() -> None:
    need = replace(square_need(rings=((1, 200),)), match="board")
    with pytest.raises(InvalidSheet, match=r"200 matched segments of ash have to come from one board"):
        plan_of([need], usual=UsualBoard(length=500.0, width=60.0))


def test_the_strips_of_a_ring_lie_one_way_in_every_board() -> None:
    # In the thick board the narrower rip is on edge, which the thin one has no room for: one way for both.
    boards = [
        Board("ash", 500.0, 40.0, 32.0, 1, Decimal(9)),
        Board("ash", 500.0, 40.0, 22.0, 1, Decimal(6)),
    ]
    plan = plan_of([square_need(rings=((1, 14),))], boards)
    assert len(plan.boards) == 2
    assert {strip.lies for board in plan.boards for strip in board.strips} == {"flat"}


def test_nothing_is_ripped_shorter_or_narrower_than_the_shop_allows() -> None:
    shop = replace(PLAIN, min_rip_length=500.0, min_rip_width=35.0)
    short = Board("ash", 480.0, 100.0, 25.0, 9, Decimal(1))
    plan = plan_of([square_need(rings=((1, 4),))], [short], shop=shop)
    assert [board.buy for board in plan.boards] == [True]
    (board,) = plan.boards
    far = next(offcut for offcut in board.offcuts if offcut.width == board.width)
    assert far.start >= 20.0 + 500.0
    assert [strip.rip_width for strip in board.strips] == [35.0]


def test_a_usual_board_that_comes_rough_is_planed_on_both_faces_before_it_is_used() -> None:
    # 4/4 is 25.4 mm rough; 1.2 mm off each face leaves 23.0, too thin for a strip of 24 and enough for one of 23.
    # Neither board is thick enough for the 40 mm that a strip on edge would take.
    series = UsualBoard(thicknesses=(25.4, 31.75), surface="rough")
    shop = replace(PLAIN, plane_face=1.2)
    thick, thin = square_need(width=40.0, height=24.0), square_need(width=40.0, height=23.0)
    bought = {
        (need.height, usual.surface): plan_of([need], usual=usual, shop=shop).boards[0]
        for need in (thick, thin)
        for usual in (series, replace(series, surface="surfaced"))
    }
    assert {key: board.thickness for key, board in bought.items()} == {
        (24.0, "rough"): 31.75,
        (24.0, "surfaced"): 25.4,
        (23.0, "rough"): 25.4,
        (23.0, "surfaced"): 25.4,
    }
    assert all(board.surface == surface for (_, surface), board in bought.items())
