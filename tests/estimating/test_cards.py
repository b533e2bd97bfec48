"""Glue cards: how courses turn in the hand, what is coated, what comes first, and what is warned of."""

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.estimate import Estimate, estimate
from estimating.glue.card import Card
from estimating.shape.in_hand import turn_in_hand
from estimating.sheet import read_sheet
from tests.estimating.kinds import ZIGZAG, built, cut, disc, kinds
from tests.estimating.sheets import SHOP, Json, modest, without
from tests.estimating.test_assembly import tube
from tests.estimating.test_parts import jar


def cards(sheet: Json) -> tuple[Card, ...]:
    return estimate(read_sheet(sheet)).cards


def card(sheet: Json, kind: str, place: int = 0) -> Card:
    return [one for one in cards(sheet) if one.glue_up.kind == kind][place]


def flared(**changes: Any) -> Json:
    """A disc, and three rings turned half a segment each; they widen by 8 mm a layer."""
    form = {"outer": [[0, 40], [42, 68]], "inside": {"kind": "wall", "wall": 8, "floor": 12}}
    return built(disc(), cut(layers=3, woods=["maple", "walnut"], offset=0.5), form=form, **changes)


# --- the turn in the hand -----------------------------------------------------------------------------------------


@modest
@given(st.lists(st.floats(-3, 3), min_size=2, max_size=6), st.booleans())
def test_turns_on_the_card_are_those_of_marks_on_the_piece_turned_over(
    angles: list[float], from_rim: bool
) -> None:
    """Marks as points in space, upright or with the whole piece rolled over about a level axis, seen from above."""
    marks = np.array([[math.cos(a), math.sin(a), 10.0 * z] for z, a in enumerate(angles)])
    order = list(range(len(angles)))
    if from_rim:
        marks = marks * [1, -1, -1]  # half a turn about the x axis
        order.reverse()
    assert np.all(np.diff([marks[i, 2] for i in order]) > 0)
    for standing, placed in pairwise(order):
        seen = math.atan2(marks[placed, 1], marks[placed, 0]) - math.atan2(
            marks[standing, 1], marks[standing, 0]
        )
        said = turn_in_hand(angles[standing], angles[placed], from_rim=from_rim)
        assert math.remainder(said - seen, 2 * math.pi) == pytest.approx(0, abs=1e-9)


def test_each_course_is_turned_on_the_one_it_is_set_on() -> None:
    stack = card(flared(), "stack")
    assert [course.layer for course in stack.courses] == [1, 2, 3, 4]
    # the first of its band is turned too: half of a twelfth each
    assert [course.turn_deg for course in stack.courses] == [0, 15, 15, 15]
    assert [course.mark_deg for course in stack.courses] == [0, 15, 30, 45]
    assert stack.counts == "anticlockwise"


def test_brickwork_from_the_rim_takes_each_turn_from_the_layer_above_it() -> None:
    """Offsets +0.5 and -0.5 by turns, the first layer's own is nothing: upright 0, -15, +15, -15."""
    band = cut(layers=4, woods=["maple", "walnut"], offset=[0.5, -0.5])
    form = {"outer": [[0, 60], [40, 60]], "inside": {"kind": "wall", "wall": 8, "floor": 8}}
    upright, down = (card(built(band, form=form, build_from=end), "stack") for end in ("foot", "rim"))
    assert [(c.layer, c.turn_deg) for c in upright.courses] == [(1, 0), (2, -15), (3, 15), (4, -15)]
    assert [(c.layer, c.turn_deg) for c in down.courses] == [(4, 0), (3, -15), (2, 15), (1, -15)]
    assert down.counts == "clockwise"


def test_the_way_along_the_outside_is_that_of_the_smaller_flat() -> None:
    below, above = card(flared(), "stack").courses[1:3]
    apothem = below.outer / 2 * math.cos(math.pi / 12)
    assert above.along == pytest.approx(math.radians(15) * apothem)


# --- coated and dry -------------------------------------------------------------------------------------------------


def test_the_outer_faces_of_a_stack_stay_dry() -> None:
    sides = [(course.down, course.up) for course in card(flared(), "stack").courses]
    assert sides == [("dry", "coated"), ("coated", "coated"), ("coated", "coated"), ("coated", "dry")]


def test_a_flaring_stack_is_coated_to_the_line_and_the_margin_but_not_beyond_the_wood() -> None:
    for margin in (0.0, 3.0, 500.0):
        stack = card(flared(shop={**SHOP, "coat_margin": margin}), "stack")
        for joint, (lower, upper) in zip(stack.joints, pairwise(stack.courses), strict=True):
            assert joint.line_below[1] == pytest.approx(lower.outer)  # the narrower one, to its edge
            assert joint.line_above[1] == pytest.approx(min(upper.outer, lower.outer + 2 * margin))
            assert joint.line_below[0] == pytest.approx(max(lower.inner, upper.inner - 2 * margin))
            assert joint.line_above[0] == pytest.approx(upper.inner)


@modest
@given(kinds(), st.sampled_from([0.0, 3.0]), st.sampled_from(["foot", "rim"]))
def test_cards_hold_what_their_glue_ups_glue(sheet: Json, margin: float, build_from: str) -> None:
    sheet = sheet | {"build_from": build_from, "shop": {**sheet["shop"], "coat_margin": margin}}
    found = estimate(read_sheet(sheet))
    assert [one.glue_up for one in found.cards] == list(found.glue_ups)
    for one in found.cards:
        check_card(one, found)
    ends = sum(one.end_area for one in found.cards)
    assert ends == pytest.approx(found.adhesive.end_area, rel=1e-12)


def check_card(one: Card, found: Estimate) -> None:
    if one.joints:
        assert sum(joint.area for joint in one.joints) == pytest.approx(one.face_area)
        assert sum(joint.coated for joint in one.joints) == pytest.approx(one.coated_area)
    if one.rings:
        assert sum(ring.joints * ring.end_area for ring in one.rings) == pytest.approx(one.end_area)
    whole = sum(mix.needed_ml - found.sheet.shop.mix_loss_ml for mix in one.mixes)
    assert whole == pytest.approx(one.ml)
    for joint in one.joints:
        for inner, outer in (joint.line_below, joint.line_above):
            assert 0 <= inner < outer or joint.area == 0
            # the circles hold all that is coated of a face: polygons lie within them
        widest = max(joint.line_below[1], joint.line_above[1])
        assert joint.coated <= math.pi / 4 * widest**2 + 1e-6


# --- what comes first, and what holds it ---------------------------------------------------------------------------


def tasks(one: Card) -> list[str]:
    return [before.task for before in one.before]


def test_what_is_done_before_each_kind_of_glue_up() -> None:
    sheet = tube(layers=8, close_at=[40])
    assert tasks(card(sheet, "half_ring")) == ["spacers", "dry_fit"]
    assert tasks(card(sheet, "ring")) == ["true_halves", "dry_fit"]
    assert tasks(card(sheet, "stack")) == ["set_pins", "dry_fit"]
    assert tasks(card(sheet, "stack", 1)) == ["wax_mandrel", "dry_fit"]
    closing = card(sheet, "join")
    assert tasks(closing) == ["turn_inside", "true_faces", "dry_fit"]
    assert closing.before[0].of == (1, 8)
    assert (closing.before[1].of, closing.before[1].mm) == ((4, 5), 0.2)


def test_a_joint_that_closes_nothing_is_only_trued() -> None:
    assert tasks(card(tube(layers=14), "join")) == ["true_faces", "dry_fit"]


def test_of_three_bowls_the_first_joint_closes_two_and_the_second_the_others() -> None:
    sheet = tube(layers=12, close_at=[40, 80])
    spans = [one.before[0].of for one in cards(sheet) if one.glue_up.kind == "join"]
    assert spans == [(1, 8), (5, 12)]


def test_a_plug_says_its_wood_and_size_and_asks_for_the_bore() -> None:
    plug = card(built(cut(thickness=14, bore=20, plug="walnut"), cut(layers=3)), "plug")
    assert plug.plug == ("walnut", 20.0, 14.0)
    assert (plug.before[0].task, plug.before[0].mm) == ("bore", 20.0)
    assert plug.hold.clamps == 0


def test_oily_woods_are_wiped_just_before_in_laminates_too() -> None:
    oily = {key for key, wood in read_workshop().items() if wood.oily}
    assert "cocobolo" in oily
    strips = [{"wood": "maple", "width": 30}, {"wood": "cocobolo", "width": 40}]
    sheet = built(
        cut(thickness=14, woods=["zig", "maple"]),
        cut(layers=2),
        laminates={"zig": ZIGZAG | {"strips": strips}},
    )
    wiped = {one.glue_up.kind: before.woods for one in cards(sheet) for before in one.before if before.woods}
    assert wiped == dict.fromkeys(("panel", "half_ring", "ring", "stack"), ("cocobolo",))


def read_workshop() -> Any:
    from estimating.workshop import standing_workshop

    return standing_workshop().woods


def test_a_part_set_on_another_is_glued_over_the_face_they_share() -> None:
    seat = card(jar(), "join")
    assert tasks(seat) == ["dry_fit"]
    (joint,) = seat.joints
    assert joint.line_below == joint.line_above == (pytest.approx(0), pytest.approx(20))
    assert joint.area == pytest.approx(math.pi * 10**2)
    assert [course.turn_deg for course in seat.courses] == [0, 0]


def test_a_waste_block_is_pressed_over_the_face_it_covers() -> None:
    sheet = without(built(disc(), cut(layers=3)), ["allowance", "bottom"])
    block = card(sheet | {"holding": {"by": "waste_block", "depth": 25}}, "waste_block")
    assert block.hold.force is not None
    assert block.hold.force[0] == pytest.approx(0.02 * block.face_area)
    assert block.courses == ()


# --- cautions ---------------------------------------------------------------------------------------------------------


def test_epoxy_that_is_cleaned_with_alcohol_warns_of_skin_fire_and_load() -> None:
    assert card(flared(), "stack").cautions == ("sensitises", "cleaner_burns", "clamps_under_load")


def test_white_glue_warns_of_the_load_and_of_starved_joints_where_no_force_suits() -> None:
    sheet = flared(adhesive={"kind": "pva"})
    assert card(sheet, "stack").cautions == ("clamps_under_load",)
    # a wide disc under a narrow ring: 0.69 MPa on the one is more than 1.72 on the other
    form = {"outer": [[0, 90], [28, 90], [29, 30], [48, 30]]}
    wide = built(cut(layers=2, thickness=14), cut(layers=2), form=form, adhesive={"kind": "pva"})
    assert "starves" in card(wide, "stack").cautions


def test_a_cold_bench_a_large_mix_and_too_little_time_are_each_told() -> None:
    def codes(**shop: Any) -> set[str]:
        return set(card(flared(shop={**SHOP, **shop}), "stack").cautions)

    assert "too_cold" in codes(temperature_c=14)
    assert "too_cold" not in codes(temperature_c=15)
    assert "too_slow" in codes(coat_stack_min=11)
    assert "too_slow" not in codes(coat_stack_min=5.25)
    (mix,) = card(flared(), "stack").mixes
    for most, told in ((mix.ml - 0.1, True), (mix.ml, False), (0, False)):
        stack = card(flared(adhesive={"exotherm_ml": most}), "stack")
        assert ("mix_heats" in stack.cautions) == told


def test_minutes_to_coat_are_the_shop_s_own() -> None:
    sheet = flared()
    assert card(sheet, "half_ring").coat_minutes == pytest.approx(3 * 10 * 0.3)
    assert card(sheet, "ring").coat_minutes == pytest.approx(3 * 2 * 0.3)
    stack = card(sheet, "stack")
    assert stack.coat_minutes == 4 * 2
    assert stack.spreads_in_time
    assert not replace(stack, coat_minutes=21.1).spreads_in_time
