"""Steps: every minute of the labour once, every wait kept, nothing in a circle, and keys that stay what they were."""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.estimate import Estimate, estimate
from estimating.sheet import read_sheet
from estimating.steps.book import run_of
from estimating.steps.of_job import steps_of
from estimating.steps.step import PERSON, Step
from estimating.work.operations import Job
from tests.estimating.kinds import built, cut, disc, in_parts, kinds, part
from tests.estimating.sheets import Json, bowl, changed, modest, sheets


def made(sheet: Json, *, session: float = 120.0) -> tuple[Estimate, tuple[Step, ...]]:
    found = estimate(read_sheet(sheet))
    job = Job(found.sheet, found.shapes, found.needs, found.cutting, found.glue_ups, found.adhesive)
    return found, steps_of(job, found.labour, session=session)


def by_key(steps: Iterable[Step]) -> dict[str, Step]:
    return {step.key: step for step in steps}


def before(steps: Mapping[str, Step], key: str) -> set[str]:
    """Everything that has to be done before a step, however far back."""
    found: set[str] = set()
    edge = [key]
    while edge:
        new = set(steps[edge.pop()].after) - found
        found |= new
        edge += new
    return found


def check_all(found: Estimate, steps: Sequence[Step]) -> None:
    """What holds of the steps of any piece."""
    keys = by_key(steps)
    assert len(keys) == len(steps)
    check_minutes(found, steps)
    seen: set[str] = set()
    for step in steps:  # in order: no step before one it waits for, so nothing goes in a circle
        assert set(step.after) <= seen, step.key
        assert step.at_once_after in {"", *step.after}
        assert all(held.until in keys for held in step.holds)
        assert len(step.key) <= 120
        assert len(step.name) <= 200
        assert step.is_hands_on == ((PERSON, 1) in step.uses)
        seen.add(step.key)
    check_stacks(found, keys)


def check_minutes(found: Estimate, steps: Sequence[Step]) -> None:
    """Operation by operation, set-ups, quantities and means are those of the labour, save for the design."""
    shared: dict[str, list[Any]] = defaultdict(list)
    for step in steps:
        if step.is_hands_on:
            assert step.minutes == pytest.approx(sum(share.minutes for share in step.shares), rel=1e-12)
        else:
            assert not step.shares
            assert step.minutes > 0
        for share in step.shares:
            shared[share.operation].append(share)
    done = [operation for operation in found.labour.operations if operation.stage != "design"]
    assert set(shared) == {operation.name for operation in done}
    for operation in done:
        of = shared[operation.name]
        assert math.fsum(s.minutes for s in of) == pytest.approx(operation.mean, rel=1e-9)
        assert math.fsum(s.setups for s in of) == pytest.approx(operation.setups, rel=1e-9)
        assert math.fsum(s.quantity for s in of) == pytest.approx(operation.quantity, rel=1e-9)
    hands_on = math.fsum(step.minutes for step in steps if step.is_hands_on)
    assert hands_on == pytest.approx(math.fsum(o.mean for o in done), rel=1e-9)


def check_stacks(found: Estimate, keys: Mapping[str, Step]) -> None:
    """Each layer is glued after its ring is closed, and each glue-up after those it names."""
    for piece in range(1, found.sheet.quantity + 1):
        glued = {
            step.glue_up: step
            for step in keys.values()
            if step.is_hands_on and step.piece in (0, piece) and step.glue_up and "down" not in step.key
            and "#" not in step.key
        }  # fmt: skip
        assert set(glued) == {one.number for one in found.glue_ups}
        for one in found.glue_ups:
            earlier = before(keys, glued[one.number].key)
            assert {glued[number].key for number in one.after} <= earlier
            if one.kind not in ("panel", "half_ring", "ring"):
                rings = {found_ring(found, layer) for layer in one.layers}
                closing = {
                    glued[o.number].key for o in found.glue_ups if o.kind == "ring" and rings & set(o.rings)
                }
                assert closing <= earlier


def found_ring(found: Estimate, layer: int) -> int:
    return next(shape.ring(layer).number for shape in found.shapes if layer in shape.layers)


# --- any piece ----------------------------------------------------------------------------------------------------


@modest
@given(kinds(), st.sampled_from([45.0, 120.0, 1e6]))
def test_steps_of_every_kind_of_layer_add_up_and_wait_for_what_they_need(sheet: Json, session: float) -> None:
    found, steps = made(sheet, session=session)
    check_all(found, steps)


@modest
@given(sheets())
def test_steps_of_random_pieces_add_up_and_wait_for_what_they_need(sheet: Json) -> None:
    check_all(*made(sheet))


def test_a_jar_with_a_lid_and_a_finial_is_joined_when_its_parts_are_turned() -> None:
    wall = {"kind": "wall", "wall": 8, "floor": 12}
    jar = built(cut(layers=4, thickness=15), form={"outer": [[0, 45], [60, 60]], "inside": wall})
    finial = built(disc(), cut(), form={"outer": [[0, 20], [22, 12]], "inside": {"kind": "solid"}})
    sheet = in_parts(part("body", jar), part("finial", finial, sits={"on": "body"}))
    found, steps = made(sheet)
    check_all(found, steps)
    keys = by_key(steps)
    (join,) = [key for key in keys if key.endswith(".join.l4-5")]
    assert {"p1.part1.foot", "p1.part2.foot"} <= before(keys, join)
    assert f"{join}.down" in before(keys, "coat1")


def test_a_closed_form_is_turned_inside_before_it_is_closed() -> None:
    form = {"outer": [[0, 40], [60, 70], [120, 40]], "inside": {"kind": "wall", "wall": 8, "floor": 12}}
    found, steps = made({**built(cut(layers=8, thickness=15), form=form), "close_at": [60]})
    check_all(found, steps)
    keys = by_key(steps)
    (closing,) = [step for step in steps if step.key.endswith("join.l4-5")]
    assert {"p1.part1.inside1", "p1.part1.inside2"} <= before(keys, closing.key)
    assert closing.key in before(keys, "p1.part1.outside")
    assert "p1.part1.inside" not in keys


# --- one piece, on paper -----------------------------------------------------------------------------------------


@cache
def plain() -> dict[str, Step]:
    return by_key(made(bowl())[1])


def test_a_bowls_stack_is_held_on_its_jig_until_it_goes_to_the_press() -> None:
    stack, press = plain()["p1.stack.l1-4"], plain()["p1.stack.l1-4.press"]
    assert ("jig", 1) in stack.uses
    assert [(held.resource, held.until, held.to_end) for held in stack.holds] == [("jig", press.key, False)]
    assert plain()["p1.stack.l1-4.set"].at_once_after == stack.key
    assert (press.attended, press.uses, press.minutes) == (True, (("press", 1),), 120)
    assert plain()["p1.stack.l1-4.cure"].minutes == 720


def test_rings_are_held_in_as_many_clamps_as_there_are_rings() -> None:
    assert plain()["p1.half_ring.r1-4"].uses == (("person", 1), ("ring_clamp", 4))
    assert plain()["p1.half_ring.r1-4.set"].uses == (("ring_clamp", 4),)
    assert "p1.ring.r1-4.press" not in plain()


def test_wood_rests_joints_settle_and_the_finish_dries_as_the_sheet_says() -> None:
    waits = {key: step.minutes for key, step in plain().items() if step.kind in ("rest", "dry")}
    assert waits["rest"] == 7 * 24 * 60
    assert waits["p1.part1.settle"] == 48 * 60
    assert [waits[f"coat{number}.dry"] for number in (1, 2, 3, 4)] == [18 * 60] * 4
    assert waits["hard"] == 10 * 24 * 60
    assert "coat5.dry" not in waits


def test_the_joints_settle_from_the_hour_they_are_glued() -> None:
    assert plain()["p1.part1.settle"].after == ("p1.stack.l1-4",)
    assert "p1.part1.settle" in plain()["p1.part1.sand"].after


def test_waits_of_no_time_are_no_steps() -> None:
    sheet = bowl(finish={"coats": 2, "dry_h": 0, "hard_days": 0}, adhesive={"press_min": 0, "cure_min": 0})
    sheet["shop"] |= {"acclimatise_days": 0, "sand_wait_h": 0}
    found, steps = made(sheet)
    check_all(found, steps)
    assert {step.kind for step in steps} == {"hands_on", "set"}
    assert not by_key(steps)["p1.stack.l1-4"].holds


def test_an_operation_that_nobody_has_a_rate_for_drops_out_and_its_order_stays() -> None:
    _, steps = made(bowl(finish={"coats": 0}))
    keys = by_key(steps)
    assert not [key for key in keys if key.startswith(("coat", "hard"))]
    assert keys["pack"].after == ("p1.part1.foot",)


def shares(key: str) -> dict[str, tuple[float, float]]:
    """What a step of the bowl does of each operation: set-ups and quantity."""
    return {
        share.operation: (pytest.approx(share.setups), pytest.approx(share.quantity))
        for share in plain()[key].shares
    }  # fmt: skip


def test_work_of_a_bowls_glue_ups_is_that_counted_on_paper() -> None:
    """Four rings of 12 in halves: 10 joints each and then 2; four layers in one stack; a mix for each glue-up."""
    assert shares("p1.half_ring.r1-4") == {"glue ring": (4, 40), "mix adhesive": (0, 1)}
    assert shares("p1.ring.r1-4") == {
        "glue ring": (0, 8), "true half rings and join": (0, 4), "mix adhesive": (0, 1),
    }  # fmt: skip
    assert shares("p1.stack.l1-4") == {
        "coat, stack and align layers": (1, 4),
        "clamp, clean squeeze-out, check": (0, 1),
        "mix adhesive": (0, 1),
    }
    assert shares("p1.stack.l1-4.down") == {"take down, check run-out, true joint face": (0, 1)}


def test_work_at_saw_and_lathe_is_that_counted_on_paper() -> None:
    """One angle; the foot's stop and three of the side's; three mountings, two of them for a solid's outside."""
    assert shares("prove.m15.000") == {"set miter and prove with a test ring": (0, 1)}
    assert shares("cut.m15.000") == {"crosscut segments": (4, 48)}
    assert shares("p1.layout.r1-4") == {"clean, sort and lay out segments": (4, 48)}
    assert shares("p1.flatten.r1-4") == {"flatten ring face": (2, 8)}
    mounting = "mount on lathe (waste block, faceplate, chuck)"
    assert shares("p1.part1.outside")[mounting] == (0, 2)
    assert shares("p1.part1.foot") == {mounting: (0, 1), "finish foot, sign and number": (0, 1)}


# --- sessions -----------------------------------------------------------------------------------------------------


def test_long_work_is_parted_in_equal_sessions_and_a_glue_up_is_not() -> None:
    sheet = bowl(quantity=3)
    _, whole = made(sheet, session=1e6)
    _, parted = made(sheet, session=60)
    keys = by_key(parted)
    for step in whole:
        glue_up = step.glue_up is not None
        sessions = [keys[step.key], *(k for k in parted if k.key.startswith(f"{step.key}#"))]
        count = 1 if glue_up or not step.is_hands_on else max(1, math.ceil(step.minutes / 60))
        assert [one.minutes for one in sessions] == pytest.approx([step.minutes / count] * count)
        assert [one.after for one in sessions[1:]] == [(one.key,) for one in sessions[:-1]]
    followers = [step for step in parted if "mill" in step.after and step.key != "mill#2"]
    assert not followers  # what waits for the milling waits for the last of it


def test_a_parted_steps_first_session_keeps_its_key() -> None:
    assert {step.key for step in made(bowl(), session=1e6)[1]} <= {
        step.key for step in made(bowl(), session=30)[1]
    }


# --- keys ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (["title"], "Another name"),
        (["pricing", "labour_rate"], "55.00"),
        (["shop", "film"], 0.15),
        (["shop", "temperature_c"], 20),
        (["shop", "coat_stack_min"], 1.5),
        (["finish"], {"dry_h": 24}),
        (["adhesive"], {"set_min": 20, "cure_min": 1440}),
        (["bands", 1, "woods"], ["ash", "walnut"]),
    ],
)
def test_keys_stay_when_something_else_changes(path: list[str | int], value: Any) -> None:
    assert set(by_key(made(changed(bowl(), path, value))[1])) == set(plain())


@modest
@given(kinds())
def test_keys_of_any_piece_stay_when_prices_and_times_change(sheet: Json) -> None:
    dearer = changed(sheet, ["pricing", "labour_rate"], "99.00")
    slower = {**dearer, "adhesive": {"cure_min": 2000}, "finish": {"hard_days": 20}}
    assert set(by_key(made(slower)[1])) == set(by_key(made(sheet)[1]))


def test_keys_of_other_rings_stay_when_one_band_gets_more_segments() -> None:
    """The numbers of glue-ups may change; what is not touched keeps its key."""
    sheet = changed(bowl(), ["shop", "layers_per_glue_up"], 2)
    two_stacks = set(by_key(made(sheet)[1]))
    assert {"p1.stack.l1-2", "p1.stack.l3-4", "p1.join.l2-3"} <= two_stacks
    assert {key for key in plain() if "stack" not in key} <= two_stacks


def test_runs_of_numbers_are_short_and_told_apart() -> None:
    assert run_of("l", [5, 1, 2, 3]) == "l1-3+5"
    odd, other = run_of("r", range(1, 400, 2)), run_of("r", range(1, 402, 2))
    assert odd != other
    assert max(len(odd), len(other)) < 60
