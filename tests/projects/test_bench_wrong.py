"""It went wrong: what is lost is planned and cut again, the new date is said, and it can be taken back."""

import datetime
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from projects.models import BenchStep, BenchTap, Commission, HoursEntry, JobDates, Member, Mishap, Studio
from projects.remakes import cut_again, still_to_saw
from projects.services.bench import bench_tap
from projects.services.calendar import calendar_plan
from tests.factories import CommissionFactory

HOUR = datetime.timedelta(hours=1)
HALVES, RING, STACK = "p1.half_ring.r1-4", "p1.ring.r1-4", "p1.stack.l1-10"


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice at the bench."""
    return alice.member


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A pot of ten layers on the calendar, of which nothing is done."""
    made = CommissionFactory(studio=studio, stage="making", title="Pot")
    calendar_plan(studio=studio, now=timezone.now() - 20 * 24 * HOUR)
    return made


def _step(job: Commission, key: str, run: int | None = None) -> BenchStep:
    rows = BenchStep.objects.filter(commission=job, key=key)
    return (rows if run is None else rows.filter(run=run)).order_by("-run")[0]


def _tap(maker: Member, step: BenchStep, act: str, **more: Any) -> BenchTap:
    return bench_tap(member=maker, uuid=uuid4(), act=act, step=step, **more)


def _done_before(job: Commission, key: str) -> None:
    """Everything that stands before a step on the plan is done, long since."""
    step = _step(job, key)
    at = timezone.now() - 10 * 24 * HOUR
    BenchStep.objects.filter(commission=job, position__lt=step.position).update(
        state="done", started_at=at, ended_at=at + HOUR
    )


def test_a_ring_that_slid_is_cut_and_glued_again_and_the_new_date_is_said(
    maker: Member, job: Commission
) -> None:
    _done_before(job, HALVES)
    calendar_plan(studio=job.studio)
    before = JobDates.objects.get(commission=job).finish
    halves = _step(job, HALVES)
    _tap(maker, halves, "start", at=timezone.now() - HOUR)
    told = _tap(
        maker, halves, "wrong", payload={"kind": "slipped", "rings": [3], "note": "Slid at the last turn."}
    )
    assert told.accepted
    assert "Lost: ring 3." in told.outcome
    after = JobDates.objects.get(commission=job)
    day = after.likely.date()
    assert f"New date: {day:%Y-%m-%d}, was " in told.outcome
    assert after.finish > before
    mishap = Mishap.objects.get()
    assert (mishap.kind, mishap.rings, mishap.note, mishap.member) == (
        "slipped",
        [3],
        "Slid at the last turn.",
        maker,
    )
    assert HoursEntry.objects.filter(commission=job).exists(), (
        "what was worked is logged, whatever came of it"
    )
    again = {step.key: step for step in BenchStep.objects.filter(commission=job, run=1)}
    assert {"rip", "cut.m15.000", "p1.layout.r1-4", HALVES} == {*again} & {
        "rip",
        "cut.m15.000",
        "p1.layout.r1-4",
        HALVES,
    }
    assert RING not in again, "it is still to come"
    assert again["cut.m15.000"].minutes < _step(job, "cut.m15.000", 0).minutes / 3, "one ring of ten"
    assert again[HALVES].rings == [3]
    assert again[HALVES].name.endswith(", again for ring 3")
    assert (_step(job, HALVES, 0).state, again[HALVES].state) == ("done", "waiting"), (
        "three of four are sound"
    )


def test_what_waits_for_a_ring_waits_for_it_made_again(maker: Member, job: Commission) -> None:
    _done_before(job, HALVES)
    halves = _step(job, HALVES)
    _tap(maker, halves, "start", at=timezone.now() - HOUR)
    _tap(maker, halves, "wrong", payload={"kind": "starved", "rings": [3]})
    closing, again = _step(job, RING), _step(job, HALVES, 1)
    cut, cure = _step(job, "cut.m15.000", 1), _step(job, f"{HALVES}.cure", 0)
    assert cut.planned_end <= again.planned_start
    assert again.planned_end <= closing.planned_start
    assert cure.planned_end <= closing.planned_start
    other = _step(job, "p1.half_ring.r5-8")
    assert other.planned_start < cut.planned_start, "rings that are sound need not wait for it"


def test_a_stack_glued_wrongly_is_glued_again_without_the_saw(maker: Member, job: Commission) -> None:
    _done_before(job, STACK)
    stack = _step(job, STACK)
    _tap(maker, stack, "start", at=timezone.now() - HOUR)
    told = _tap(maker, stack, "wrong", payload={"kind": "wrong_offset"})
    assert "1 step is planned again" in told.outcome
    assert _step(job, STACK, 0).state == "lost"
    assert [(step.key, step.state) for step in BenchStep.objects.filter(commission=job, run=1)] == [
        (STACK, "waiting")
    ]
    after = _step(job, f"{STACK}.set")
    assert after.run == 0
    assert after.planned_start >= _step(job, STACK, 1).planned_end
    assert _tap(maker, _step(job, STACK, 0), "start").outcome == (
        "This went wrong and is planned again as a new step."
    )
    assert _tap(maker, _step(job, STACK, 1), "start").accepted


def test_lost_layers_cost_their_rings_and_the_stack(maker: Member, job: Commission) -> None:
    _done_before(job, STACK)
    stack = _step(job, STACK)
    _tap(maker, stack, "start", at=timezone.now() - 10 * HOUR)
    _tap(maker, stack, "end", at=timezone.now() - 9 * HOUR)
    _tap(maker, stack, "wrong", payload={"kind": "starved", "layers": [2, 9]})
    again = {step.key: step for step in BenchStep.objects.filter(commission=job, run=1)}
    assert Mishap.objects.get().rings == [2, 9]
    assert again["p1.half_ring.r1-4"].rings == [2]
    assert again["p1.half_ring.r9-10"].rings == [9]
    assert again[STACK].layers == list(range(1, 11))
    assert _step(job, f"{STACK}.set", 0).state in ("lost", "waiting")
    assert _step(job, STACK).planned_start >= again["p1.flatten.r9-10"].planned_end


def test_what_is_to_be_cut_again_is_cut_from_the_rack_until_it_is_done(
    maker: Member, job: Commission
) -> None:
    assert cut_again(job) is None
    _done_before(job, HALVES)
    halves = _step(job, HALVES)
    _tap(maker, halves, "start", at=timezone.now() - HOUR)
    _tap(maker, halves, "wrong", payload={"kind": "slipped", "rings": [2, 3]})
    assert dict(still_to_saw(job)) == {2: 1, 3: 1}
    found = cut_again(job)
    assert found is not None
    assert {ring for board in found.cutting.boards for strip in board.strips for ring in strip.rings} == {
        2,
        3,
    }
    for key in ("choose", "mill", "rip", "prove.m15.000", "cut.m15.000"):
        _tap(maker, _step(job, key), "end", payload={"minutes": 5})
    assert cut_again(job) is None


def test_the_cut_page_shows_what_is_to_be_cut_again(as_alice: Any, maker: Member, job: Commission) -> None:
    assert b"To cut again" not in as_alice.get(reverse("job_cut", args=[job.pk])).content
    _done_before(job, HALVES)
    halves = _step(job, HALVES)
    _tap(maker, halves, "start", at=timezone.now() - HOUR)
    _tap(maker, halves, "wrong", payload={"kind": "slipped", "rings": [2, 3], "note": "<b>bad</b>"})
    page = as_alice.get(reverse("job_cut", args=[job.pk])).content.decode()
    assert "To cut again" in page
    assert "rings 2, 3, lost at the bench" in page
    assert "28 segments, 4 of them spare" in page, "two rings of twelve, and a spare of each wood for each"
    assert "<b>bad</b>" not in page


def test_a_ring_lost_twice_is_cut_twice(maker: Member, job: Commission) -> None:
    _done_before(job, HALVES)
    halves = _step(job, HALVES)
    _tap(maker, halves, "start", at=timezone.now() - HOUR)
    _tap(maker, halves, "wrong", payload={"kind": "slipped", "rings": [3]})
    for key in ("choose", "mill", "rest", "rip", "prove.m15.000", "cut.m15.000", "p1.layout.r1-4"):
        row = _step(job, key)
        row.state, row.started_at, row.ended_at = "done", timezone.now() - HOUR, timezone.now() - HOUR
        row.save()
    second = _step(job, HALVES, 1)
    _tap(maker, second, "start")
    _tap(maker, second, "wrong", payload={"kind": "late", "rings": [3]})
    assert (_step(job, HALVES, 1).state, _step(job, HALVES, 2).state) == ("lost", "waiting")
    assert dict(still_to_saw(job)) == {3: 1}, "the first is cut already"
    assert _step(job, HALVES, 2).name.count("again") == 1


def test_it_is_taken_back_whole(maker: Member, job: Commission) -> None:
    _done_before(job, HALVES)
    calendar_plan(studio=job.studio)
    halves = _step(job, HALVES)
    _tap(maker, halves, "start", at=timezone.now() - HOUR)
    before = {(step.key, step.run): step.state for step in BenchStep.objects.filter(commission=job).live()}
    _tap(maker, halves, "wrong", payload={"kind": "slipped", "rings": [1, 2, 3, 4]})
    assert _step(job, HALVES, 0).state == "lost"
    told = _tap(maker, halves, "undo")
    assert told.accepted
    assert "New date" in told.outcome
    assert {
        (step.key, step.run): step.state for step in BenchStep.objects.filter(commission=job).live()
    } == before
    assert not Mishap.objects.exists()
    assert not HoursEntry.objects.exists()
    assert cut_again(job) is None


def test_once_the_remake_has_begun_it_is_not_taken_back(maker: Member, job: Commission) -> None:
    _done_before(job, HALVES)
    halves = _step(job, HALVES)
    _tap(maker, halves, "start", at=timezone.now() - HOUR)
    _tap(maker, halves, "wrong", payload={"kind": "slipped", "rings": [3]})
    _tap(maker, _step(job, "choose", 1), "start")
    assert not _tap(maker, halves, "undo").accepted


@pytest.mark.parametrize(
    ("payload", "place"),
    [
        ({"rings": [99]}, "rings"),
        ({"layers": [11]}, "layers"),
        ({"kind": ""}, "kind"),
        ({"note": "x" * 5000}, "note"),
    ],
)
def test_what_is_not_there_cannot_be_lost(
    maker: Member, job: Commission, payload: dict[str, Any], place: str
) -> None:
    halves = _step(job, HALVES)
    with pytest.raises(ValidationError) as refusal:
        _tap(maker, halves, "wrong", payload={"kind": "slipped", **payload})
    assert set(refusal.value.message_dict) == {place}
    assert not Mishap.objects.exists()
    assert not BenchStep.objects.filter(run__gt=0).exists()


def test_a_design_that_cannot_be_worked_out_any_more_keeps_the_mishap_all_the_same(
    maker: Member, job: Commission
) -> None:
    _done_before(job, HALVES)
    halves = _step(job, HALVES)
    _tap(maker, halves, "start", at=timezone.now() - HOUR)
    job.design.parts.get().bands.update(layers=3)
    told = _tap(maker, halves, "wrong", payload={"kind": "slipped", "rings": [1, 2, 3, 4]})
    assert told.accepted
    assert "Not planned again: the saw's work. Pot cannot be worked out" in told.outcome
    assert Mishap.objects.get().rings == [1, 2, 3, 4]
    assert _step(job, HALVES, 1).state == "waiting"


def test_sent_twice_it_is_lost_once(maker: Member, job: Commission) -> None:
    _done_before(job, HALVES)
    halves, once = _step(job, HALVES), uuid4()
    _tap(maker, halves, "start", at=timezone.now() - HOUR)
    told = [
        bench_tap(
            member=maker, uuid=once, act="wrong", step=halves, payload={"kind": "slipped", "rings": [3]}
        )
        for _ in range(2)
    ]
    assert told[0].outcome == told[1].outcome
    assert Mishap.objects.count() == 1
    assert BenchStep.objects.filter(commission=job, key=HALVES).count() == 2
