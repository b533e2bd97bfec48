"""The saw list adds up to the plan: each strip ripped once, each segment cut once, set-ups counted, rings checked."""

from collections import Counter
from decimal import Decimal
from math import cos, degrees, pi, radians
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidSheet
from estimating.estimate import Estimate, estimate
from estimating.piece import ShopSettings
from estimating.sheet import read_sheet
from estimating.wood.needs import Needs
from estimating.wood.saw_boards import boards_in_order, fences, planings
from estimating.wood.saw_list import SawList, saw_list
from estimating.wood.saw_shares import share_out
from estimating.wood.strips import Offcut, SawnBoard, Strip
from tests.estimating.kinds import built, cut, kinds
from tests.estimating.sheets import bowl, modest, sheets


def listed(data: Any) -> tuple[Estimate, SawList]:
    made = estimate(read_sheet(data))
    return made, saw_list(
        made.cutting, needs=made.needs, rings=made.rings, pieces=made.sheet.quantity, shop=made.sheet.shop
    )


def add_up(made: Estimate, work: SawList) -> None:
    """Everything that the list must agree on with the plan and the needs."""
    strips = Counter(id(strip) for board in made.cutting.boards for strip in board.strips)
    named = [placed for board in work.boards for placed in board.strips]
    assert Counter(id(placed.strip) for placed in named) == strips
    assert len({placed.name for placed in named}) == len(named)

    wanted: Counter[tuple[int, str, str]] = Counter()
    for need in made.needs.strips:
        for ring, count in need.rings:
            wanted[ring, need.wood, need.cut] += count
    for one in made.needs.laminated:
        wanted[one.ring, one.key, "segment"] += one.cuts.segments
    got: Counter[tuple[int, str, str]] = Counter()
    fed: Counter[str] = Counter()
    for line in work.lines:
        got[line.ring, line.wood, line.cut] += line.count
        if not line.from_panels:
            assert sum(feed.count for feed in line.feeds) == line.count
        for feed in line.feeds:
            assert line.ring in feed.strip.strip.rings
            fed[feed.strip.name] += feed.count
    assert got == wanted
    assert fed == {placed.name: placed.strip.segments for placed in named}

    for ring in made.rings:
        own = [
            line for line in work.lines if line.ring == ring.number and line.cut not in ("plug", "lamination")
        ]
        assert sum(line.needed for line in own) == ring.segments * made.sheet.quantity
        assert all(line.spares >= (1 if made.sheet.shop.spare_segments else 0) for line in own)


@modest
@given(kinds())
def test_each_strip_and_each_segment_of_any_piece_stands_in_the_list_once(data: Any) -> None:
    add_up(*listed(data))


@modest
@given(sheets(boards=True))
def test_each_strip_and_each_segment_stands_once_where_boards_run_short(data: Any) -> None:
    try:
        made, work = listed(data)
    except InvalidSheet:  # a random piece that no board has room for
        return
    add_up(made, work)


@modest
@given(kinds())
def test_set_ups_are_those_that_the_labour_is_reckoned_by(data: Any) -> None:
    made, work = listed(data)
    counted = {operation.name: operation for operation in made.labour.operations}
    widths = [fence.width for fence in work.fences]
    assert widths == sorted(widths, reverse=True)
    assert work.fences or work.knifed
    assert not work.fences or counted["rip strips"].setups == len(work.fences)
    square = {line.cut for line in work.lines}
    if not square & {"veneer", "stave"}:  # labour counts a stave's edge, and a sheet's cut, as saw stops
        assert counted["crosscut segments"].setups == work.stops
    for angle in work.angles:
        lengths = [stop.length for stop in angle.stops]
        assert lengths == sorted(set(lengths), reverse=True)
    assert len({(angle.miter, angle.tilt, angle.knife) for angle in work.angles}) == len(work.angles)


def test_every_strip_is_ripped_last_at_its_own_setting() -> None:
    _, work = listed(bowl(quantity=3))
    last: dict[str, float] = {}
    for fence in work.fences:  # the widest first
        for lane in fence.lanes:
            last |= {placed.name: fence.width for placed in lane.strips}
        for rest in fence.again:
            assert all(last[placed.name] > fence.width for placed in rest.strips)
            last |= {placed.name: fence.width for placed in rest.strips}
    own = {placed.name: placed.strip.rip_width for board in work.boards for placed in board.strips}
    assert last == pytest.approx(own, abs=0.1)


def strip(**changes: Any) -> Strip:
    usual = {
        "lane": 1, "start": 25.0, "width": 30.0, "height": 20.0, "length": 400.0, "segments": 6, "rings": (1,),
        "rip_width": 30.0, "lies": "flat", "across": 7.0,
    }  # fmt: skip
    return Strip(**{**usual, **changes})


def board(*strips: Strip, **changes: Any) -> SawnBoard:
    usual: dict[str, Any] = {
        "wood": "maple", "length": 2000.0, "width": 150.0, "thickness": 25.0, "price": Decimal(30), "buy": False,
        "strips": strips, "offcuts": (),
    }  # fmt: skip
    return SawnBoard(**{**usual, **changes})


SHOP = ShopSettings(crosscut_kerf=3.0, min_planer_length=350.0)


def test_a_strip_narrower_than_its_lane_is_ripped_again_at_its_own_setting() -> None:
    wide, narrow = strip(), strip(start=425.0, width=24.0, rip_width=24.0)
    (work,) = boards_in_order([board(narrow, wide)], shop=SHOP)
    first, second = fences([work], shop=SHOP)
    assert [placed.name for lane in first.lanes for placed in lane.strips] == ["1-1-1", "1-1-2"]
    assert (first.width, first.again) == (30.0, ())
    assert (second.width, second.lanes, [rest.name for rest in second.again]) == (24.0, (), ["1-1-2"])


def test_what_is_narrower_than_its_lane_comes_off_it_in_one_and_is_parted_from_width_to_width() -> None:
    ends = [(30.0, 400.0), (24.0, 200.0), (24.0, 60.0), (20.0, 301.0)]
    starts = [25.0, 425.0, 625.0, 685.0]
    of = [strip(start=at, length=long, rip_width=wide) for at, (wide, long) in zip(starts, ends, strict=True)]
    (work,) = boards_in_order([board(*of)], shop=SHOP)
    _, second, third = fences([work], shop=SHOP)
    assert [(rest.name, rest.length) for rest in second.again] == [("1-1-2 to 1-1-4", 561.0)]
    assert [(rest.name, rest.length) for rest in third.again] == [("1-1-4", 301.0)]
    # Strips of 200 and 60 mm are never ripped by themselves: nothing goes past the blade shorter than 300.
    assert (second.carried, third.carried, second.rips) == ((), (), 1)


def test_what_is_narrower_between_wider_strips_comes_off_by_itself() -> None:
    of = [strip(rip_width=24.0), strip(start=425.0, rip_width=30.0), strip(start=825.0, rip_width=20.0)]
    (work,) = boards_in_order([board(*of)], shop=SHOP)
    assert [[rest.name for rest in fence.again] for fence in fences([work], shop=SHOP)] == [
        [], ["1-1-1"], ["1-1-3"],
    ]  # fmt: skip


@modest
@given(kinds())
def test_a_plan_rips_nothing_again_that_is_too_short(data: Any) -> None:
    """The planner sees to it by itself (`layouts.rips_safely`); the list must find the same."""
    made, work = listed(data)
    names = {rest.name for fence in work.fences for rest in fence.again}
    assert not names & {name for fence in work.fences for name in fence.carried}
    assert made.cutting.boards


def test_what_is_shorter_than_the_shop_rips_is_named() -> None:
    wide, narrow = strip(), strip(start=425.0, length=299.0, width=24.0, rip_width=24.0)
    (work,) = boards_in_order([board(narrow, wide)], shop=SHOP)
    assert [fence.carried for fence in fences([work], shop=SHOP)] == [(), ("1-1-2",)]
    (work,) = boards_in_order([board(strip(length=200.0), length=320.0)], shop=SHOP)
    assert [fence.carried for fence in fences([work], shop=SHOP)] == [("1-1",)]


def test_a_board_is_crosscut_where_clear_parts_end_and_where_a_whole_end_is_kept() -> None:
    near, far = strip(), strip(start=900.0, section=2)
    end = Offcut(597.0, 150.0, 25.0, 1403.0, 0.0)
    (work,) = boards_in_order([board(near, far, offcuts=(end,), defects=((430.0, 895.0),))], shop=SHOP)
    assert [(blank.start, blank.stop) for blank in work.blanks] == [(25.0, 425.0), (900.0, 1400.0)]


def test_clear_parts_side_by_side_are_one_length_and_the_far_end_is_left() -> None:
    near, beside = strip(), strip(start=300.0, section=2, across=80.0)
    (work,) = boards_in_order([board(near, beside)], shop=SHOP)
    assert [(blank.start, blank.stop) for blank in work.blanks] == [(25.0, None)]


def test_lanes_of_several_plates_and_clear_parts_are_numbered_through() -> None:
    strips = [strip(plate=plate, section=section, start=25.0 if section == 1 else 900.0)
              for section in (2, 1) for plate in (2, 1)]  # fmt: skip
    (work,) = boards_in_order([board(*strips, plates=2, plate_thickness=21.0, thickness=50.0)], shop=SHOP)
    assert [(lane.name, lane.section, lane.plate) for lane in work.lanes] == [
        ("1-1", 1, 1), ("1-2", 1, 2), ("1-3", 2, 1), ("1-4", 2, 2),
    ]  # fmt: skip
    assert work.is_resawn


def test_strips_are_planed_to_the_rings_height_or_on_edge_to_its_width() -> None:
    flat, edge = strip(), strip(lane=2, across=60.0, lies="on_edge", rip_width=20.0, width=22.0)
    (work,) = boards_in_order([board(flat, edge)], shop=SHOP)
    found = planings([work], shop=SHOP)
    assert [(planing.to, [placed.name for placed in planing.strips]) for planing in found] == [
        (22.0, ["1-2-1"]), (20.0, ["1-1-1"]),
    ]  # fmt: skip


def test_a_plate_is_planed_from_its_own_thickness_and_short_strips_are_carried() -> None:
    short = strip(length=200.0)
    (work,) = boards_in_order([board(short, plates=2, plate_thickness=20.0, thickness=50.0)], shop=SHOP)
    assert planings([work], shop=SHOP) == ()
    (work,) = boards_in_order([board(short)], shop=SHOP)
    (planing,) = planings([work], shop=SHOP)
    assert planing.carried == planing.strips


def test_square_cuts_come_first_and_a_turn_of_the_saw_serves_every_ring_of_its_angle() -> None:
    zig = {"kind": "stripes", "angle": 90, "strips": [{"wood": "maple", "width": 60}]}
    data = built(
        cut(segments=24),
        cut(segments=12, woods=["zig"], thickness=14),
        cut(segments=12),
        laminates={"zig": zig},
    )
    _, work = listed(data)
    assert [round(degrees(angle.miter), 6) for angle in work.angles] == [0.0, 7.5, 15.0]
    assert work.angles[2].rings == (2, 3)
    assert {line.cut for line in work.angles[0].stops[0].lines} == {"lamination"}


def test_spares_are_named_and_come_from_the_same_stop() -> None:
    data = bowl()
    data["shop"]["spare_segments"] = 0.05
    _, work = listed(data)
    foot = next(line for line in work.lines if line.ring == 1)
    assert (foot.count, foot.needed, foot.spares) == (13, 12, 1)
    side = [line for line in work.lines if line.ring == 2]
    assert [(line.wood, line.needed, line.spares) for line in side] == [("cherry", 6, 1), ("maple", 6, 1)]


def test_even_rings_are_checked_corner_to_corner_and_flat_to_flat() -> None:
    # A regular 12-gon of apothem 100 has corners at 100 / cos 15 = 103.5276 and sides 200 tan 15 = 53.5898.
    form = {"outer": [[0, 100], [10, 100]], "inside": {"kind": "solid"}}
    none = {"outside": 0, "inside": 0, "top": 0, "bottom": 0}
    _, work = listed(built(cut(segments=12), form=form, allowance=none))
    (check,) = work.checks
    assert check.flats == pytest.approx(200.0)
    assert check.corners == pytest.approx(2 * 103.5276, abs=1e-4)
    assert check.outer_edge == pytest.approx(53.5898, abs=1e-4)
    assert check.corner_to_flat is None


def test_odd_rings_are_checked_from_a_corner_to_the_flat_opposite() -> None:
    made, work = listed(built(cut(segments=9, thickness=20)))
    (check,), (ring,) = work.checks, made.rings
    # By coordinates: corners all round, the farthest along the direction square to one flat.
    reach = [ring.corner_radius * cos(pi / 9 + 2 * pi * k / 9) for k in range(9)]
    assert check.corner_to_flat == pytest.approx(max(reach) - min(reach))
    assert (check.corners, check.flats) == (None, None)
    _, gapped = listed(built(cut(thickness=20), cut(segments=9, gap=0.2)))
    assert gapped.checks[1].corner_to_flat is None


@given(st.lists(st.tuples(st.integers(1, 5), st.integers(1, 8)), min_size=1, max_size=12), st.randoms())
def test_any_sharing_that_there_is_is_found(true: list[tuple[int, int]], chance: Any) -> None:
    counts, may, wanted = [], [], Counter[int]()
    for ring, count in true:
        wanted[ring] += count
        counts.append(count)
        may.append(tuple({ring, chance.randint(1, 5)}))
    wanted.update({ring: 0 for rings in may for ring in rings if ring not in wanted})
    shares = share_out(counts, may, wanted)
    assert [sum(share.values()) for share in shares] == counts
    total: Counter[int] = Counter()
    for share in shares:
        total.update(share)
    assert total == +wanted


def test_a_plan_for_other_segments_is_refused() -> None:
    with pytest.raises(ValueError, match="wanted by none"):
        share_out([3], [(1,)], {1: 2})
    with pytest.raises(ValueError, match="come from no strip"):
        share_out([3], [(1,)], {1: 4})
    made, _ = listed(bowl())
    with pytest.raises(ValueError, match="for no segment"):
        saw_list(made.cutting, needs=Needs((), ()), rings=made.rings, pieces=1, shop=made.sheet.shop)


def test_leaning_staves_are_bevelled_at_their_ends_and_sawn_to_miter_and_tilt_along_their_edges() -> None:
    staves = {"layers": 1, "thickness": 60, "segments": 16, "made": "staves", "woods": ["maple"]}
    form = {"outer": [[0, 40], [10, 42], [70, 60]], "inside": {"kind": "wall", "wall": 8, "floor": 5}}
    made, work = listed(built(cut(), staves, form=form))
    ring = made.rings[1]
    (angle,) = [angle for angle in work.angles if angle.tilt]
    assert ring.lean is not None
    assert angle.tilt == pytest.approx(abs(ring.lean.flare))
    assert angle.stops[0].lines[0].edges == (ring.miter, ring.tilt)
    assert angle.tilt > radians(5)
