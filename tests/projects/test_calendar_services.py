"""The calendar planned and kept: inside bench hours, around what has happened, whole when two plan at once."""

import datetime
from collections.abc import Iterator
from itertools import pairwise
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError

from projects.calendar import inputs_of
from projects.models import BenchHours, BenchStep, CalendarPlan, Commission, JobDates, Member, Studio
from projects.services import bench_hours
from projects.services.bench import bench_tap
from projects.services.calendar import calendar_changes, calendar_plan, keep, promise_take
from projects.services.commissions import commission_move
from tests.factories import BoardFactory, CommissionFactory, DesignFactory

MONDAY = datetime.datetime(2027, 3, 1, 7, tzinfo=datetime.UTC)
HOUR = datetime.timedelta(hours=1)


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A pot of ten layers that is agreed."""
    return CommissionFactory(studio=studio, stage="agreed", title="Pot")


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice at the bench."""
    return alice.member


def _steps(job: Commission) -> dict[str, BenchStep]:
    return {step.key: step for step in BenchStep.objects.filter(commission=job).live()}


def _open(studio: Studio, at: datetime.datetime, until: datetime.datetime) -> bool:
    """Whether a span lies in one stretch of the bench's hours."""
    first, last = (moment.astimezone(studio.bench.zone) for moment in (at, until))
    hours = BenchHours.objects.for_studio(studio).filter(weekday=first.weekday())
    return first.date() == last.date() and any(
        one.opens <= first.time() and last.time() <= one.closes for one in hours
    )


def _short_work(job: Commission) -> Iterator[BenchStep]:
    """Hands-on steps that fit into one stretch, so that they are not parted."""
    return (step for step in _steps(job).values() if step.kind == "hands_on" and step.minutes < 120)


def test_every_step_is_planned_in_bench_hours_after_what_it_waits_for(job: Commission) -> None:
    plan = calendar_plan(studio=job.studio, now=MONDAY)
    steps = _steps(job)
    assert len(steps) > 30
    assert plan.trouble == ""
    assert plan.bound <= plan.finish == max(step.planned_end for step in steps.values())
    for step in steps.values():
        assert MONDAY <= step.planned_start <= step.planned_end
        assert all(steps[key].planned_end <= step.planned_start for key in step.after), step.key
    work = list(_short_work(job))
    assert len(work) > 15
    for step in work:
        assert _open(job.studio, step.planned_start, step.planned_end), step.key
    cure = steps["p1.stack.l1-10.cure"]
    assert cure.planned_end - cure.planned_start == 12 * HOUR


def test_the_dates_of_each_job_are_kept(job: Commission) -> None:
    other = CommissionFactory(studio=job.studio, stage="making", design=job.design)
    plan = calendar_plan(studio=job.studio, now=MONDAY)
    dates = {one.commission: one for one in JobDates.objects.for_studio(job.studio)}
    assert set(dates) == {job, other}
    for commission, one in dates.items():
        assert one.finish == max(step.planned_end for step in _steps(commission).values())
        assert one.finish <= one.likely
    assert plan.finish == max(one.finish for one in dates.values())


def test_one_person_does_one_thing_at_a_time(job: Commission) -> None:
    other = CommissionFactory(studio=job.studio, stage="making", design=job.design)
    calendar_plan(studio=job.studio, now=MONDAY)
    own = [*_short_work(job), *_short_work(other)]
    work = sorted((step.planned_start, step.planned_end) for step in own)
    assert all(first[1] <= second[0] for first, second in pairwise(work))


def test_only_what_is_agreed_or_made_stands_on_it(job: Commission) -> None:
    asked = CommissionFactory(studio=job.studio, stage="quoted", design=job.design)
    calendar_plan(studio=job.studio, now=MONDAY)
    assert not _steps(asked)
    commission_move(commission=job, to="declined")
    plan = calendar_plan(studio=job.studio, now=MONDAY + HOUR)
    assert (plan.finish, plan.bound) == (None, None)
    assert not _steps(job)
    assert not JobDates.objects.exists()


def test_a_job_that_cannot_be_worked_out_is_named_and_leaves_the_others_be(job: Commission) -> None:
    bare = CommissionFactory(studio=job.studio, stage="agreed", design=None, title="Unheard bowl")
    wrong = CommissionFactory(studio=job.studio, stage="agreed", title="Lopsided bowl")
    wrong.design.parts.get().bands.update(layers=3)
    plan = calendar_plan(studio=job.studio, now=MONDAY)
    assert "Unheard bowl has no design yet." in plan.trouble
    assert "Lopsided bowl cannot be worked out" in plan.trouble
    assert plan.finish is not None
    assert not _steps(bare)
    assert not _steps(wrong)


def test_planned_again_it_keeps_what_has_happened(job: Commission, maker: Member) -> None:
    now = datetime.datetime.now(datetime.UTC)
    calendar_plan(studio=job.studio, now=now - 4 * HOUR)
    before = _steps(job)
    bench_tap(member=maker, uuid=uuid4(), act="start", step=before["choose"], at=now - 3 * HOUR)
    bench_tap(member=maker, uuid=uuid4(), act="end", step=before["choose"], at=now - 2 * HOUR)
    bench_tap(member=maker, uuid=uuid4(), act="start", step=before["mill"], at=now - HOUR / 2)
    plan = calendar_plan(studio=job.studio)
    assert plan.planned_at >= now
    after = _steps(job)
    assert {key: step.pk for key, step in after.items()} == {key: step.pk for key, step in before.items()}
    assert (after["choose"].state, after["mill"].state) == ("done", "running")
    assert (after["choose"].started_at, after["choose"].ended_at) == (now - 3 * HOUR, now - 2 * HOUR)
    assert after["choose"].planned_start == before["choose"].planned_start, "as it was planned when it began"
    waiting = [step for step in after.values() if step.state == "waiting"]
    assert len(waiting) == len(after) - 2
    assert all(step.planned_start >= plan.planned_at for step in waiting)
    milled = now - HOUR / 2 + datetime.timedelta(minutes=after["mill"].minutes)
    # Milling goes on until it is over, to the minute that the calendar counts in; the wood then rests.
    assert abs(after["rest"].planned_start - max(milled, plan.planned_at)) <= datetime.timedelta(minutes=2)


def test_a_changed_design_is_drawn_up_anew_and_what_has_begun_stays(job: Commission, maker: Member) -> None:
    calendar_plan(studio=job.studio, now=MONDAY)
    before = _steps(job)
    bench_tap(member=maker, uuid=uuid4(), act="end", step=before["choose"], payload={"minutes": 20})
    part = job.design.parts.get()
    part.bands.update(segments=16)
    assert calendar_changes(CalendarPlan.objects.get()) == [
        "Pot is made otherwise: its drawing, its number of pieces, a rate or a setting has changed."
    ]
    plan = calendar_plan(studio=job.studio, now=MONDAY + HOUR)
    after = _steps(job)
    assert "cut.m15.000" in before
    assert "cut.m15.000" not in after
    assert "cut.m11.250" in after
    assert (after["choose"].pk, after["choose"].state) == (before["choose"].pk, "done")
    assert BenchStep.objects.get(pk=before["cut.m15.000"].pk).state == "dropped"
    assert calendar_changes(plan) == []
    part.bands.update(segments=12)
    calendar_plan(studio=job.studio, now=MONDAY + 2 * HOUR)
    again = _steps(job)["cut.m15.000"]
    assert (again.pk, again.state) == (before["cut.m15.000"].pk, "waiting"), "taken up again, not made twice"


def test_a_design_that_has_not_changed_is_not_estimated_again(job: Commission, monkeypatch: Any) -> None:
    calendar_plan(studio=job.studio, now=MONDAY)
    before = {key: (step.pk, step.minutes) for key, step in _steps(job).items()}

    def refuse(*args: Any, **more: Any) -> Any:
        raise AssertionError("it was estimated")

    monkeypatch.setattr("projects.calendar.estimated", refuse)
    calendar_plan(studio=job.studio, now=MONDAY + HOUR)
    assert {key: (step.pk, step.minutes) for key, step in _steps(job).items()} == before


def test_what_is_gathered_later_stands_whole_whichever_is_written_first(job: Commission) -> None:
    """Two who plan at once: the one whose inputs are older does not write over the other, in whole or in part."""
    studio = job.studio
    older = inputs_of(studio, now=MONDAY)
    newer = inputs_of(studio, now=MONDAY + 50 * HOUR)
    keep(studio, newer, newer.planned(effort=0), effort=0)
    written = {key: step.planned_start for key, step in _steps(job).items()}
    plan = keep(studio, older, older.planned(effort=0), effort=0)
    assert plan.planned_at == newer.now
    assert {key: step.planned_start for key, step in _steps(job).items()} == written
    assert JobDates.objects.get().planned_at == newer.now


def test_a_step_begun_while_the_plan_is_sought_keeps_what_has_happened(
    job: Commission, maker: Member
) -> None:
    studio = job.studio
    calendar_plan(studio=studio, now=MONDAY)
    inputs = inputs_of(studio, now=MONDAY + HOUR)
    found = inputs.planned(effort=0)
    bench_tap(member=maker, uuid=uuid4(), act="end", step=_steps(job)["choose"], payload={"minutes": 20})
    keep(studio, inputs, found, effort=0)
    choose = _steps(job)["choose"]
    assert choose.state == "done"
    assert choose.ended_by == maker


def test_a_step_begun_a_moment_after_the_planning_began_is_taken_as_of_now(
    job: Commission, maker: Member
) -> None:
    """Between looking at the clock and reading the steps somebody taps: that is no reason to refuse a plan."""
    now = datetime.datetime.now(datetime.UTC)
    calendar_plan(studio=job.studio, now=now - HOUR)
    bench_tap(member=maker, uuid=uuid4(), act="start", step=_steps(job)["choose"])
    plan = calendar_plan(studio=job.studio, now=now - datetime.timedelta(seconds=90))
    assert plan.trouble == ""
    assert _steps(job)["choose"].started_at >= now


def test_a_bench_that_is_never_open_is_refused(job: Commission) -> None:
    BenchHours.objects.for_studio(job.studio).delete()
    with pytest.raises(ValidationError, match="never open"):
        calendar_plan(studio=job.studio, now=MONDAY)
    assert not _steps(job)


def test_what_has_changed_is_named(job: Commission) -> None:
    plan = calendar_plan(studio=job.studio, now=MONDAY)
    assert calendar_changes(plan) == []
    bench_hours.day_off_add(studio=job.studio, first=datetime.date(2027, 3, 4))
    Commission.objects.filter(pk=job.pk).update(promised_on=datetime.date(2027, 6, 1))
    other = CommissionFactory(
        studio=job.studio, stage="making", title="Urn", design=DesignFactory(studio=job.studio)
    )
    assert set(calendar_changes(plan)) == {
        "The bench, its hours or its days off have changed.",
        "Pot is promised for another day.",
        "Urn has come.",
    }
    plan = calendar_plan(studio=job.studio, now=MONDAY)
    commission_move(commission=other, to="declined")
    assert calendar_changes(plan) == ["Urn is no longer to be made."]


def test_a_board_sawn_up_is_no_change(job: Commission) -> None:
    plan = calendar_plan(studio=job.studio, now=MONDAY)
    BoardFactory(wood=job.studio.woods.get(key="maple"))
    type(job.design).objects.filter(pk=job.design.pk).update(title="Another name")
    assert calendar_changes(plan) == []


def test_the_likely_day_is_taken_over_as_the_promise(job: Commission) -> None:
    with pytest.raises(ValidationError, match="Plan first"):
        promise_take(commission=job)
    calendar_plan(studio=job.studio, now=MONDAY)
    Commission.objects.filter(pk=job.pk).update(asked_on=datetime.date(2027, 2, 1))
    job.refresh_from_db()
    likely = job.dates.likely.astimezone(ZoneInfo("UTC")).date()
    promise_take(commission=job)
    job.refresh_from_db()
    assert job.promised_on >= likely
    assert job.promised_on.weekday() < 5
    first = job.promised_on
    promise_take(commission=job, buffer=0.5)
    job.refresh_from_db()
    assert job.promised_on > first
