"""Two who plan one calendar at once, each with a connection of their own: one plan stands, whole."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest

from projects.models import BenchStep, CalendarPlan, JobDates, Member, Studio
from projects.services.bench import bench_tap
from projects.services.calendar import calendar_plan
from tests.factories import CommissionFactory, MemberFactory
from tests.projects.threads import at_once

pytestmark = pytest.mark.django_db(transaction=True)
MONDAY = datetime(2026, 11, 2, 7, tzinfo=UTC)


def _planning(studio: Studio, now: datetime) -> Callable[[], CalendarPlan]:
    key = studio.pk
    return lambda: calendar_plan(studio=Studio.objects.get(pk=key), now=now)


def test_of_two_plans_made_at_once_the_later_gathered_stands_whole() -> None:
    studio = MemberFactory().studio
    jobs = [CommissionFactory(studio=studio, stage="making") for _ in range(2)]
    moments = [MONDAY, MONDAY + timedelta(days=3)]
    for turn in range(2):
        came = at_once(*(_planning(studio, now) for now in (moments if turn else reversed(moments))))
        assert not any(isinstance(one, Exception) for one in came), came
        plan = CalendarPlan.objects.get()
        assert plan.planned_at == moments[1]
        assert {dates.planned_at for dates in JobDates.objects.all()} == {moments[1]}
        for job in jobs:
            steps = BenchStep.objects.filter(commission=job)
            assert len(set(steps.values_list("key", "run"))) == steps.count()
            assert min(steps.live().values_list("planned_start", flat=True)) >= moments[1]
            assert job.dates.finish == max(steps.live().values_list("planned_end", flat=True))
            job.refresh_from_db()


def test_a_tap_while_the_calendar_is_planned_is_neither_lost_nor_undone() -> None:
    maker = MemberFactory()
    job = CommissionFactory(studio=maker.studio, stage="making")
    calendar_plan(studio=maker.studio, now=MONDAY)
    step, who = BenchStep.objects.get(commission=job, key="choose").pk, maker.pk

    def tapping() -> Any:
        return bench_tap(
            member=Member.objects.get(pk=who),
            uuid=uuid4(),
            act="end",
            step=BenchStep.objects.get(pk=step),
            payload={"minutes": 12},
        )

    came = at_once(_planning(maker.studio, MONDAY + timedelta(hours=1)), tapping)
    assert not any(isinstance(one, Exception) for one in came), came
    done = BenchStep.objects.get(pk=step)
    assert (done.state, done.ended_by) == ("done", maker)
