"""Two who tap at once, each with a connection of their own: every tap is done once, and hours are logged once."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest

from projects.models import BenchStep, BenchTap, HoursEntry, Member
from projects.services.bench import bench_tap, settle
from tests.factories import BenchStepFactory, MemberFactory
from tests.projects.threads import at_once

pytestmark = pytest.mark.django_db(transaction=True)
TIMES = 8


def _tapping(member: Member, step: BenchStep, act: str, uuid: Any) -> Callable[[], BenchTap]:
    # Each thread reads its own rows, as two requests would.
    who, what = member.pk, step.pk

    def tapping() -> BenchTap:
        return bench_tap(
            member=Member.objects.get(pk=who), uuid=uuid, act=act, step=BenchStep.objects.get(pk=what)
        )

    return tapping


def test_one_tap_sent_twice_at_once_is_one_tap_and_logs_once() -> None:
    maker = MemberFactory()
    for _ in range(TIMES):
        step = BenchStepFactory(commission__studio=maker.studio)
        bench_tap(member=maker, uuid=uuid4(), act="start", step=step)
        once = uuid4()
        came = at_once(*[_tapping(maker, step, "end", once)] * 3)
        assert {type(one) for one in came} == {BenchTap}, came
        assert len({one.pk for one in came}) == 1
        assert {one.outcome for one in came} == {"Done. 0 min logged."}
        assert HoursEntry.objects.filter(commission=step.commission).count() == 1


def test_two_ends_of_one_step_log_its_hours_once() -> None:
    """Two devices of one maker: both say that it is done, each by a tap of its own."""
    maker = MemberFactory()
    for _ in range(TIMES):
        step = BenchStepFactory(commission__studio=maker.studio)
        bench_tap(member=maker, uuid=uuid4(), act="start", step=step)
        came = at_once(*(_tapping(maker, step, "end", uuid4()) for _ in range(2)))
        assert sorted(one.accepted for one in came) == [False, True], came
        assert HoursEntry.objects.filter(commission=step.commission).count() == 1


def test_of_two_steps_started_at_once_by_one_member_one_runs() -> None:
    maker = MemberFactory()
    for _ in range(TIMES):
        steps = [BenchStepFactory(commission__studio=maker.studio) for _ in range(2)]
        came = at_once(*(_tapping(maker, step, "start", uuid4()) for step in steps))
        assert sorted(one.accepted for one in came) == [False, True], came
        (running,) = BenchStep.objects.filter(started_by=maker, state="running")
        bench_tap(member=maker, uuid=uuid4(), act="end", step=running)


def test_of_two_members_who_start_one_step_at_once_one_has_it() -> None:
    maker = MemberFactory()
    other = MemberFactory(studio=maker.studio)
    for _ in range(TIMES):
        step = BenchStepFactory(commission__studio=maker.studio)
        came = at_once(*(_tapping(who, step, "start", uuid4()) for who in (maker, other)))
        assert sorted(one.accepted for one in came) == [False, True], came
        step.refresh_from_db()
        (whose,) = (one.member_id for one in came if one.accepted)
        assert step.started_by_id == whose
        bench_tap(member=Member.objects.get(pk=whose), uuid=uuid4(), act="end", step=step)


def test_a_page_that_settles_while_another_taps_breaks_nothing() -> None:
    maker = MemberFactory()
    for _ in range(TIMES):
        step = BenchStepFactory(commission__studio=maker.studio, key="g")
        cure = BenchStepFactory(commission=step.commission, key="g.cure", kind="cure", minutes=0, after=["g"])
        bench_tap(member=maker, uuid=uuid4(), act="start", step=step)
        came = at_once(
            _tapping(maker, step, "end", uuid4()),
            lambda: settle(studio=maker.studio),
            lambda: settle(studio=maker.studio),
        )
        assert not any(isinstance(one, Exception) for one in came), came
        settle(studio=maker.studio)
        cure.refresh_from_db()
        assert cure.state == "done"
        assert BenchTap.objects.filter(step=step).count() == 2
