"""The bench's constraints hold in full_clean, with a message, and in the database for whoever goes past it."""

import datetime
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from projects.models import BenchHours, BenchStep, Studio
from tests.factories import (
    AsBuiltFactory,
    BenchStepFactory,
    BenchTapFactory,
    CalendarPlanFactory,
    DayOffFactory,
    FeedAddressFactory,
    JobDatesFactory,
    MemberFactory,
    MishapFactory,
    StepNoteFactory,
)

pytestmark = pytest.mark.django_db

NOW = timezone.now()
EARLIER = NOW - datetime.timedelta(hours=1)

# One broken rule a row: who makes it, what is wrong, and the place full_clean names.
BROKEN = [
    (BenchStepFactory, {"kind": "dance"}, "kind"),
    (BenchStepFactory, {"state": "asleep"}, "state"),
    (BenchStepFactory, {"minutes": -1}, "minutes"),
    (BenchStepFactory, {"minutes": 60 * 24 * 60 + 1}, "__all__"),
    (BenchStepFactory, {"state": "running"}, "__all__"),
    (BenchStepFactory, {"state": "running", "started_at": EARLIER, "ended_at": NOW}, "__all__"),
    (BenchStepFactory, {"state": "done", "started_at": EARLIER}, "__all__"),
    (BenchStepFactory, {"state": "done", "started_at": NOW, "ended_at": EARLIER}, "__all__"),
    (BenchStepFactory, {"state": "waiting", "started_at": NOW}, "__all__"),
    (BenchStepFactory, {"planned_start": NOW, "planned_end": EARLIER}, "__all__"),
    (BenchTapFactory, {"act": "dance"}, "act"),
    (MishapFactory, {"kind": "cursed"}, "kind"),
    (StepNoteFactory, {"text": ""}, "__all__"),
    (AsBuiltFactory, {"height": None}, "__all__"),
    (AsBuiltFactory, {"height": 0}, "height"),
    (AsBuiltFactory, {"run_out": -1}, "run_out"),
    (AsBuiltFactory, {"verdict": "burn"}, "verdict"),
    (DayOffFactory, {"last": datetime.date(2026, 12, 1)}, "__all__"),
    (CalendarPlanFactory, {"effort": 9}, "effort"),
    (CalendarPlanFactory, {"finish": EARLIER, "bound": NOW}, "__all__"),
    (CalendarPlanFactory, {"runner": "someone"}, "__all__"),
    (JobDatesFactory, {"finish": NOW, "likely": EARLIER}, "__all__"),
]


@pytest.mark.parametrize(("make", "values", "place"), BROKEN)
def test_a_broken_rule_is_refused_with_its_place_and_by_the_database(
    make: Any, values: dict[str, Any], place: str
) -> None:
    record = make()
    for name, value in values.items():
        setattr(record, name, value)
    with pytest.raises(ValidationError) as refusal:
        record.full_clean()
    assert place in refusal.value.message_dict
    with pytest.raises(IntegrityError), transaction.atomic():
        record.save()


STRANGE = [BenchTapFactory, StepNoteFactory, MishapFactory, AsBuiltFactory, FeedAddressFactory]


@pytest.mark.parametrize("make", STRANGE)
def test_a_member_of_another_studio_is_refused(make: Any) -> None:
    record = make()
    record.member = MemberFactory()
    with pytest.raises(ValidationError) as refusal:
        record.full_clean()
    assert set(refusal.value.message_dict) == {"member"}


def test_a_tap_of_another_studios_step_is_refused() -> None:
    tap = BenchTapFactory()
    tap.step = BenchStepFactory()
    with pytest.raises(ValidationError) as refusal:
        tap.full_clean()
    assert set(refusal.value.message_dict) == {"step"}


def test_a_run_of_a_step_is_there_once_and_a_tap_comes_once() -> None:
    step, tap = BenchStepFactory(), BenchTapFactory()
    BenchStepFactory(commission=step.commission, key=step.key, run=1)
    with pytest.raises(IntegrityError), transaction.atomic():
        BenchStepFactory(commission=step.commission, key=step.key)
    with pytest.raises(IntegrityError), transaction.atomic():
        BenchTapFactory(step=tap.step, member=tap.member, uuid=tap.uuid)


def test_hours_that_close_before_they_open_are_refused_by_the_database(studio: Studio) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        BenchHours.objects.create(studio=studio, weekday=6, opens=datetime.time(9), closes=datetime.time(9))


def test_a_step_says_when_it_is_over() -> None:
    waiting = BenchStepFactory(minutes=45)
    running = BenchStepFactory(minutes=45, state="running", started_at=EARLIER)
    done = BenchStepFactory(minutes=45, state="done", started_at=EARLIER, ended_at=NOW)
    assert [one.ends_at for one in (waiting, running, done)] == [
        None,
        EARLIER + datetime.timedelta(minutes=45),
        NOW,
    ]


def test_live_steps_are_those_that_count_by_time(studio: Studio) -> None:
    later = BenchStepFactory(commission__studio=studio, planned_start=NOW, planned_end=NOW)
    undated = BenchStepFactory(commission=later.commission)
    sooner = BenchStepFactory(commission=later.commission, planned_start=EARLIER, planned_end=EARLIER)
    for state in ("lost", "dropped"):
        BenchStepFactory(commission=later.commission, state=state)
    assert list(BenchStep.objects.for_studio(studio).live().by_time()) == [sooner, later, undated]
