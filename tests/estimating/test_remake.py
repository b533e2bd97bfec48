"""What is done again after a mishap: the glue-up that failed, what stood on it, and lost rings in their share."""

from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.estimate import Estimate, estimate
from estimating.remake import (
    Mishap,
    is_sawing,
    needs_again,
    of_rings,
    plan_again,
    rings_of,
    sawing_again,
    steps_again,
)
from estimating.sheet import read_sheet
from estimating.steps.of_job import steps_of
from estimating.steps.step import Step
from estimating.work.operations import Job


def _pot(**more: Any) -> Estimate:
    """A cylinder of ten layers of twelve segments, two woods."""
    sheet = {
        "title": "Pot",
        "unit": "mm",
        "form": {"outer": [[0, 60], [100, 60]], "inside": {"kind": "wall", "wall": 8, "floor": 10}},
        "allowance": {"outside": 3, "inside": 3},
        "bands": [
            {
                "name": "wall",
                "layers": 10,
                "thickness": 10,
                "segments": 12,
                "woods": ["maple", "walnut"],
                "offset": 0.5,
            }
        ],
    }
    return estimate(read_sheet(sheet | more))


def _steps(of: Estimate) -> tuple[Step, ...]:
    job = Job(of.sheet, of.shapes, of.needs, of.cutting, of.glue_ups, of.adhesive)
    return steps_of(job, of.labour)


def _begun(steps: tuple[Step, ...], until: str) -> set[str]:
    """All steps up to one of them, in order."""
    keys = [step.key for step in steps]
    return set(keys[: keys.index(until) + 1])


POT = _pot()
STEPS = _steps(POT)
BY_KEY = {step.key: step for step in STEPS}


def test_a_stack_that_slid_with_no_wood_lost_is_glued_again_and_nothing_else_is() -> None:
    begun = _begun(STEPS, "p1.stack.l1-10")
    again = steps_again(STEPS, begun=begun, mishap=Mishap("p1.stack.l1-10", 1))
    assert [step.key for step in again.steps] == ["p1.stack.l1-10"]
    assert again.steps[0] == BY_KEY["p1.stack.l1-10"]
    assert again.lost == {"p1.stack.l1-10"}


def test_what_was_begun_on_a_stack_is_lost_with_it() -> None:
    """A starved joint found at the lathe: everything from the stack on is done again."""
    begun = _begun(STEPS, "p1.part1.inside")
    again = steps_again(STEPS, begun=begun, mishap=Mishap("p1.stack.l1-10", 1))
    assert [step.key for step in again.steps] == [
        "p1.stack.l1-10",
        "p1.stack.l1-10.set",
        "p1.stack.l1-10.press",
        "p1.stack.l1-10.cure",
        "p1.stack.l1-10.down",
        "p1.part1.outside",
        "p1.part1.inside",
    ]


def test_a_lost_layer_takes_the_glue_up_it_was_in_with_it_whatever_was_tapped() -> None:
    begun = _begun(STEPS, "p1.part1.outside")
    mishap = Mishap("p1.part1.outside", 1, rings=frozenset({3}), layers=frozenset({3}))
    again = steps_again(STEPS, begun=begun, mishap=mishap)
    assert {"p1.stack.l1-10", "p1.part1.outside"} <= again.lost
    assert "p1.ring.r1-4" not in again.lost, "three of its rings are sound"


def test_one_ring_of_four_is_a_quarter_of_the_work_on_them_and_one_clamp() -> None:
    begun = _begun(STEPS, "p1.ring.r1-4")
    mishap = Mishap("p1.ring.r1-4", 1, rings=frozenset({3}))
    again = steps_again(STEPS, begun=begun, mishap=mishap, sawing=sawing_again(POT, Counter([3])))
    by_key = {step.key: step for step in again.steps}
    assert not again.lost
    for key in ("p1.layout.r1-4", "p1.half_ring.r1-4", "p1.ring.r1-4"):
        step, whole = by_key[key], BY_KEY[key]
        assert step.rings == (3,)
        assert step.minutes == pytest.approx(whole.minutes / 4)
        assert sum(share.minutes for share in step.shares) == pytest.approx(step.minutes)
        assert sum(share.quantity for share in step.shares) == pytest.approx(
            sum(share.quantity for share in whole.shares) / 4
        )
    assert dict(by_key["p1.half_ring.r1-4"].uses)["ring_clamp"] == 1
    assert by_key["p1.half_ring.r1-4.cure"].minutes == BY_KEY["p1.half_ring.r1-4.cure"].minutes
    assert not any(step.key.startswith("p1.stack") for step in again.steps), "it is still to come"
    assert not any(5 in step.rings for step in again.steps)


def test_all_rings_of_a_glue_up_lost_is_the_glue_up_lost() -> None:
    begun = _begun(STEPS, "p1.half_ring.r1-4")
    again = steps_again(
        STEPS, begun=begun, mishap=Mishap("p1.half_ring.r1-4", 1, rings=frozenset({1, 2, 3, 4}))
    )
    assert again.lost == {"p1.layout.r1-4", "p1.half_ring.r1-4"}


def test_another_piece_is_left_alone() -> None:
    two = _pot(quantity=2)
    steps = _steps(two)
    begun = {step.key for step in steps}
    mishap = Mishap("p2.stack.l1-10", 2, rings=frozenset({3}), layers=frozenset({3}))
    again = steps_again(steps, begun=begun, mishap=mishap)
    pieces = {step.piece for step in again.steps if step.key.startswith("p")}
    # What is done to all pieces together after it, coats and packing, is done again for want of one of them.
    assert 1 not in pieces
    assert 2 in pieces


def test_what_is_still_to_come_is_not_planned_twice() -> None:
    again = steps_again(STEPS, begun=set(), mishap=Mishap("p1.stack.l1-10", 1, rings=frozenset({3})))
    assert again.steps == ()


def test_a_step_that_is_none_is_refused() -> None:
    with pytest.raises(InvalidInput) as refusal:
        steps_again(STEPS, begun=set(), mishap=Mishap("p1.dance", 1))
    assert refusal.value.place == "step"


def test_rings_are_found_by_their_layers() -> None:
    sliced = _pot(
        bands=[
            {
                "name": "wall",
                "layers": 10,
                "thickness": 10,
                "segments": 12,
                "woods": ["maple"],
                "made": "sliced",
                "ring_height": 60,
            }
        ]
    )
    of_layers = {layer: ring.number for ring in sliced.rings for layer in ring.layers}
    for layer, ring in of_layers.items():
        assert rings_of(sliced.shapes, [layer]) == {ring}
    assert rings_of(POT.shapes, [2, 9]) == {2, 9}


def test_only_the_lost_rings_are_sawn_again_with_spares_as_for_any() -> None:
    """Twelve segments a ring, six of each wood, and a spare of each at the least."""
    needs = needs_again(POT, Counter([3]))
    assert {ring for need in needs.strips for ring, _ in need.rings} == {3}
    segments = {need.wood: sum(count for _, count in need.rings) for need in needs.strips}
    spare = POT.sheet.shop.spare_segments
    assert segments == dict.fromkeys(("maple", "walnut"), 6 + (1 if spare else 0))
    twice = needs_again(POT, Counter([3, 3, 5]))
    counts = {ring: sum(n for need in twice.strips for r, n in need.rings if r == ring) for ring in (3, 5)}
    assert counts[3] > counts[5] >= 12


def test_the_cut_list_of_what_is_lost_holds_what_is_lost() -> None:
    plan = plan_again(POT, Counter([3]))
    assert {ring for board in plan.boards for strip in board.strips for ring in strip.rings} == {3}
    assert plan.cost < POT.cutting.cost


def test_the_saws_work_for_one_ring_is_counted_for_that_ring() -> None:
    own, whole = sawing_again(POT, Counter([3])), {step.key: step for step in STEPS}
    assert all(is_sawing(step) for step in own)
    assert {step.key for step in own} == {step.key for step in STEPS if is_sawing(step)}
    for step in own:
        assert step.minutes <= whole[step.key].minutes
    cut = next(step for step in own if step.key == "cut.m15.000")
    (share,) = cut.shares
    assert share.quantity == sum(n for need in needs_again(POT, Counter([3])).strips for _, n in need.rings)
    proof = next(step for step in own if step.key.startswith("prove"))
    assert proof.minutes == pytest.approx(whole[proof.key].minutes), (
        "a setting is proven whole, however few follow"
    )


def test_a_ring_that_is_none_is_refused() -> None:
    with pytest.raises(InvalidInput) as refusal:
        plan_again(POT, Counter([99]))
    assert refusal.value.place == "rings"


def test_a_step_of_all_its_rings_is_itself() -> None:
    step = BY_KEY["p1.ring.r1-4"]
    assert of_rings(step, step.rings) is step
    assert of_rings(step, [1]) != step
    assert replace(of_rings(step, [1]), rings=()).rings == ()


@given(
    done=st.integers(1, len(STEPS)),
    at=st.integers(0, len(STEPS) - 1),
    rings=st.frozensets(st.integers(1, 10), max_size=4),
)
def test_whatever_goes_wrong_what_is_done_again_was_begun_and_hangs_together(
    done: int, at: int, rings: frozenset[int]
) -> None:
    """Nothing that is still to come is planned twice, no work grows, and what is lost is done again."""
    begun = {step.key for step in STEPS[:done]}
    mishap = Mishap(STEPS[at % done].key, 1, rings=rings, layers=rings)
    again = steps_again(STEPS, begun=begun, mishap=mishap)
    keys = [step.key for step in again.steps]
    assert set(keys) <= begun
    assert len(set(keys)) == len(keys)
    assert again.lost <= set(keys)
    for step in again.steps:
        assert step.minutes <= BY_KEY[step.key].minutes + 1e-9
        assert set(step.rings) <= set(BY_KEY[step.key].rings)
    for step in STEPS[:done]:
        stands_on_lost = {*step.after, step.at_once_after} & again.lost
        glued = step.glue_up is not None and not step.rings
        if glued and (stands_on_lost & {key for key in again.lost if BY_KEY[key].glue_up == step.glue_up}):
            assert step.key in again.lost, "what followed on a lost glue-up is lost with it"
