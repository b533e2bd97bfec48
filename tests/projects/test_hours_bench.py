"""Hours from the bench: shares of one stretch are no overlap, and no tap is refused for what the log holds."""

import datetime
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.models import BenchStep, BenchTap, Commission, HoursChange, HoursEntry, Member, Studio
from projects.services import hours, hours_rules
from projects.services.bench import bench_tap
from tests.factories import BenchStepFactory, CommissionFactory, RateFactory

pytestmark = pytest.mark.django_db

MINUTE = datetime.timedelta(minutes=1)


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice at the bench."""
    return alice.member


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A bowl that is made."""
    RateFactory(studio=studio, operation="sand")
    return CommissionFactory(studio=studio, stage="making", title="Bowl")


@pytest.fixture
def step(job: Commission) -> BenchStep:
    """A step of two operations."""
    shares = {"coat": [20, 4], "mix": [10, 1]}
    return BenchStepFactory(commission=job, name="Glue layers 1 to 4", shares=shares)


def _tap(maker: Member, step: BenchStep, act: str, **more: Any) -> BenchTap:
    return bench_tap(member=maker, uuid=uuid4(), act=act, step=step, **more)


def _sand(job: Commission, maker: Member, begins: Any, ends: Any) -> HoursEntry:
    return hours.hours_log(commission=job, member=maker, operation="sand", started_at=begins, ended_at=ends)


def test_the_shares_of_one_stretch_are_timed_and_no_overlap(
    maker: Member, step: BenchStep, job: Commission
) -> None:
    began = timezone.now() - 60 * MINUTE
    _tap(maker, step, "start", at=began)
    assert _tap(maker, step, "end", at=began + 30 * MINUTE).outcome == "Done. 30 min logged."
    one, two = HoursEntry.objects.all()
    assert one.stretch == two.stretch is not None
    assert {(row.started_at, row.ended_at) for row in (one, two)} == {(began, began + 30 * MINUTE)}
    assert one.minutes + two.minutes == 30
    with pytest.raises(ValidationError, match="This overlaps with “"):
        _sand(job, maker, began + 10 * MINUTE, began + 40 * MINUTE)
    _sand(job, maker, began + 31 * MINUTE, began + 40 * MINUTE)


def test_entries_of_one_stretch_meet_others_and_not_one_another(
    maker: Member, step: BenchStep, job: Commission
) -> None:
    began = timezone.now() - 60 * MINUTE
    _tap(maker, step, "start", at=began)
    _tap(maker, step, "end", at=began + 30 * MINUTE)
    one, two = HoursEntry.objects.all()
    assert hours_rules.met(one, [one, two]) is None
    two.stretch = uuid4()
    assert hours_rules.met(one, [one, two]) == two


def test_steps_of_several_commissions_tapped_one_after_the_other_are_no_overlap(
    maker: Member, job: Commission
) -> None:
    began = timezone.now() - 60 * MINUTE
    for number in range(3):
        other = CommissionFactory(studio=job.studio, stage="making")
        one = BenchStepFactory(
            commission=other, name="Crosscut", joint_key="saw", shares={"crosscut": [9, 9]}
        )
        _tap(maker, one, "start", at=began + 10 * number * MINUTE)
        told = _tap(maker, one, "end", at=began + 10 * (number + 1) * MINUTE)
        assert told.outcome == "Done. 10 min logged."
    assert all(row.is_timed for row in HoursEntry.objects.all())


def test_steps_ended_by_their_minutes_have_no_times_and_never_clash(maker: Member, job: Commission) -> None:
    for _ in range(2):
        one = BenchStepFactory(commission=job, name="Crosscut", shares={"crosscut": [9, 9]})
        assert _tap(maker, one, "end", payload={"minutes": 20}).accepted
    assert [(row.minutes, row.is_timed) for row in HoursEntry.objects.all()] == [(20, False)] * 2


def test_a_tap_whose_time_is_logged_already_is_done_and_keeps_its_minutes_without_times(
    maker: Member, step: BenchStep, job: Commission
) -> None:
    began = timezone.now() - 60 * MINUTE
    _tap(maker, step, "start", at=began)
    # Written by another device before the tap's own came in.
    row = {"commission": job, "member": maker, "operation": "sand", "worked_on": began.date()}
    times = {"started_at": began + 5 * MINUTE, "ended_at": began + 9 * MINUTE, "minutes": Decimal(4)}
    HoursEntry.objects.create(**row, **times)
    told = _tap(maker, step, "end", at=began + 30 * MINUTE)
    assert told.accepted
    assert "30 min logged. It overlaps with “sand” for Bowl" in told.outcome
    ours = HoursEntry.objects.exclude(operation="sand")
    assert sum(entry.minutes for entry in ours) == 30
    assert not any(entry.is_timed or entry.stretch for entry in ours)
    assert all("It overlaps with “sand”" in entry.note for entry in ours)


def test_a_clock_that_ran_on_over_night_keeps_its_minutes_without_times(
    maker: Member, step: BenchStep
) -> None:
    _tap(maker, step, "start", at=timezone.now() - 1000 * MINUTE)
    assert "If the clock ran on, mend it under Hours." in _tap(maker, step, "end").outcome
    assert sum(entry.minutes for entry in HoursEntry.objects.all()) == pytest.approx(1000, abs=1)
    assert not any(entry.is_timed for entry in HoursEntry.objects.all())


def test_a_step_that_begins_stops_the_members_clock(maker: Member, step: BenchStep, job: Commission) -> None:
    began = timezone.now() - 60 * MINUTE
    clock = hours.hours_start(commission=job, member=maker, operation="sand", started_at=began)
    told = _tap(maker, step, "start", at=began + 25 * MINUTE)
    assert told.outcome == "Started. Your clock on “sand” was stopped: 25 min logged."
    clock.refresh_from_db()
    assert (clock.minutes, clock.ended_at) == (25, began + 25 * MINUTE)
    assert _tap(maker, step, "undo").accepted
    assert HoursEntry.objects.get() == clock, "what was worked before the step stays"


def test_a_start_that_comes_late_leaves_a_later_clock_running_and_neither_is_lost(
    maker: Member, step: BenchStep, job: Commission
) -> None:
    now = timezone.now()
    clock = hours.hours_start(commission=job, member=maker, operation="sand", started_at=now - 20 * MINUTE)
    assert _tap(maker, step, "start", at=now - 40 * MINUTE).outcome == "Started."
    assert hours.hours_stop(entry=clock).is_timed
    assert "It overlaps with “sand”" in _tap(maker, step, "end").outcome


def test_a_share_whose_minutes_are_mended_leaves_the_stretch(maker: Member, step: BenchStep) -> None:
    began = timezone.now() - 60 * MINUTE
    _tap(maker, step, "start", at=began)
    _tap(maker, step, "end", at=began + 30 * MINUTE)
    entry = HoursEntry.objects.get(operation="coat")
    hours.hours_update(entry=entry, by=maker, quantity=Decimal(5))
    entry.refresh_from_db()
    assert entry.is_timed, "its time was not touched"
    RateFactory(studio=maker.studio, operation="coat")
    mended = hours.hours_update(entry=entry, by=maker, minutes=Decimal(12))
    assert (mended.minutes, mended.stretch, mended.started_at) == (12, None, None)
    assert HoursEntry.objects.get(operation="mix").is_timed


def test_hours_whose_tap_is_taken_back_stay_in_the_history(maker: Member, step: BenchStep) -> None:
    _tap(maker, step, "start", at=timezone.now() - 30 * MINUTE)
    _tap(maker, step, "end")
    assert _tap(maker, step, "undo").accepted
    assert not HoursEntry.objects.exists()
    assert {change.before["operation"] for change in HoursChange.objects.all()} == {"coat", "mix"}
    assert {(change.what, change.by) for change in HoursChange.objects.all()} == {("taken_out", maker)}
