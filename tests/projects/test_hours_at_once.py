"""Two windows of one member at once, each with a connection of its own: no overlap slips in, no tap is lost."""

import datetime
from collections.abc import Callable
from itertools import pairwise
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.models import BenchStep, BenchTap, Commission, HoursChange, HoursEntry, Member
from projects.services import hours
from projects.services.bench import bench_tap
from tests.factories import BenchStepFactory, CommissionFactory, MemberFactory, RateFactory
from tests.projects.threads import at_once

pytestmark = pytest.mark.django_db(transaction=True)
TIMES = 10
MINUTE = datetime.timedelta(minutes=1)


@pytest.fixture
def maker() -> Member:
    """Somebody with a bowl to sand."""
    member = MemberFactory()
    RateFactory(studio=member.studio, operation="sand")
    return member


@pytest.fixture
def job(maker: Member) -> Commission:
    """The bowl."""
    return CommissionFactory(studio=maker.studio, stage="making")


def _logging(job: Commission, maker: Member, begins: datetime.datetime, minutes: int) -> Callable[[], Any]:
    # Each thread reads its own rows, as two requests would.
    what, who = job.pk, maker.pk

    def logging() -> Any:
        return hours.hours_log(
            commission=Commission.objects.get(pk=what),
            member=Member.objects.get(pk=who),
            operation="sand",
            started_at=begins,
            ended_at=begins + minutes * MINUTE,
        )

    return logging


def _no_overlap(maker: Member) -> None:
    rows = HoursEntry.objects.filter(member=maker, ended_at__isnull=False).order_by("started_at")
    spans = sorted(
        {(row.stretch or row.pk, row.started_at, row.ended_at) for row in rows}, key=lambda one: one[1]
    )
    for one, two in pairwise(spans):
        assert one[2] <= two[1]


def test_of_two_entries_that_overlap_typed_in_two_windows_at_once_one_is_logged(
    maker: Member, job: Commission
) -> None:
    for number in range(TIMES):
        begins = timezone.now() - datetime.timedelta(days=2 + number)
        came = at_once(_logging(job, maker, begins, 60), _logging(job, maker, begins + 30 * MINUTE, 60))
        refused = [one for one in came if isinstance(one, ValidationError)]
        assert len(refused) == 1, came
        assert "This overlaps with “sand”" in " ".join(refused[0].messages)
        assert HoursEntry.objects.count() == number + 1
    _no_overlap(maker)


def test_an_entry_moved_onto_one_that_is_typed_at_once_does_not_land_on_it(
    maker: Member, job: Commission
) -> None:
    for number in range(TIMES):
        begins = timezone.now() - datetime.timedelta(days=2 + number)
        entry = _logging(job, maker, begins - 120 * MINUTE, 60)()

        def moving(pk: int = entry.pk, begins: datetime.datetime = begins) -> Any:
            row = HoursEntry.objects.get(pk=pk)
            return hours.hours_update(entry=row, started_at=begins, ended_at=begins + 40 * MINUTE)

        came = at_once(moving, _logging(job, maker, begins + 10 * MINUTE, 60))
        assert sum(isinstance(one, ValidationError) for one in came) == 1, came
    _no_overlap(maker)


def test_two_windows_start_one_clock(maker: Member, job: Commission) -> None:
    for _ in range(TIMES):

        def starting() -> Any:
            row, member = Commission.objects.get(pk=job.pk), Member.objects.get(pk=maker.pk)
            return hours.hours_start(commission=row, member=member, operation="sand")

        came = at_once(starting, starting)
        assert sum(isinstance(one, ValidationError) for one in came) == 1, came
        hours.hours_stop(entry=HoursEntry.objects.get(minutes=None))


def test_a_tap_that_ends_a_step_while_its_time_is_typed_is_never_lost(maker: Member, job: Commission) -> None:
    """Whichever comes first has the times; the tap is done and its minutes are logged either way."""
    for number in range(TIMES):
        step = BenchStepFactory(commission=job, shares={"coat": [2, 4], "mix": [1, 1]})
        began = timezone.now() - datetime.timedelta(days=2 + number)
        bench_tap(member=maker, uuid=uuid4(), act="start", step=step, at=began)

        def ending(pk: int = step.pk, at: datetime.datetime = began + 30 * MINUTE) -> BenchTap:
            who, what = Member.objects.get(pk=maker.pk), BenchStep.objects.get(pk=pk)
            return bench_tap(member=who, uuid=uuid4(), act="end", step=what, at=at)

        came = at_once(ending, _logging(job, maker, began + 10 * MINUTE, 60))
        assert isinstance(came[0], BenchTap), came
        assert came[0].accepted
        shares = HoursEntry.objects.filter(operation__in=("coat", "mix"), worked_on=began.date())
        assert sum(row.minutes for row in shares) == 30
    _no_overlap(maker)


def test_an_entry_taken_out_in_two_windows_is_taken_out_once(maker: Member, job: Commission) -> None:
    for number in range(TIMES):
        entry = _logging(job, maker, timezone.now() - datetime.timedelta(days=2 + number), 60)()

        def taking(pk: int = entry.pk) -> None:
            hours.hours_delete(
                entry=HoursEntry(pk=pk, member_id=maker.pk), by=Member.objects.get(pk=maker.pk)
            )

        came = at_once(taking, taking)
        assert sum(isinstance(one, ValidationError) for one in came) == 1, came
        assert HoursChange.objects.count() == number + 1
