"""Taps at the bench: each done once, hours logged once, refused where it cannot be, and taken back."""

import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from projects.models import AsBuilt, BenchStep, BenchTap, Commission, HoursEntry, Member, StepNote, Studio
from projects.services.bench import bench_tap, settle
from projects.services.bench_taps import split
from tests.factories import BenchStepFactory, CommissionFactory, MemberFactory

MINUTE = datetime.timedelta(minutes=1)


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice at the bench."""
    return alice.member


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A commission that is made."""
    return CommissionFactory(studio=studio, stage="making")


@pytest.fixture
def coat(job: Commission) -> BenchStep:
    """A glue-up that waits, with what follows on it: 45 minutes to set, twelve hours to cure, then taken down."""
    first = BenchStepFactory(
        commission=job, key="g", name="Glue layers 1 to 4", glue_up=1, layers=[1, 2, 3, 4], position=1
    )
    first.shares = {"coat, stack and align layers": [20, 4], "mix adhesive": [10, 1]}
    first.save()
    wait = {"commission": job, "glue_up": 1, "layers": [1, 2, 3, 4], "shares": {}}
    BenchStepFactory(
        key="g.set", kind="set", minutes=45, after=["g"], at_once_after="g", position=2, name="Set", **wait
    )
    BenchStepFactory(key="g.cure", kind="cure", minutes=720, after=["g.set"], position=3, name="Cure", **wait)
    BenchStepFactory(commission=job, key="g.down", after=["g.cure"], position=4, name="Take down", minutes=13)
    return first


def _tap(maker: Member, step: BenchStep, act: str, uuid: UUID | None = None, **more: Any) -> BenchTap:
    return bench_tap(member=maker, uuid=uuid or uuid4(), act=act, step=step, **more)


def _state(job: Commission, key: str) -> str:
    return (
        BenchStep.objects.filter(commission=job, key=key).order_by("-run").values_list("state", flat=True)[0]
    )


def test_start_and_end_log_the_time_worked_shared_over_the_operations(
    maker: Member, coat: BenchStep, job: Commission
) -> None:
    began = timezone.now() - 40 * MINUTE
    assert _tap(maker, coat, "start", at=began).accepted
    told = _tap(maker, coat, "end", at=began + 33 * MINUTE)
    assert told.outcome == "Done. 33 min logged."
    logged = {entry.operation: entry for entry in HoursEntry.objects.filter(commission=job)}
    assert {name: entry.minutes for name, entry in logged.items()} == {
        "coat, stack and align layers": Decimal(22),
        "mix adhesive": Decimal(11),
    }
    assert logged["coat, stack and align layers"].quantity == 4
    assert logged["mix adhesive"].note == "bench: Glue layers 1 to 4"
    assert {entry.member for entry in logged.values()} == {maker}


def test_what_is_left_alone_begins_by_itself_and_ends_by_the_clock(
    maker: Member, coat: BenchStep, job: Commission
) -> None:
    began = timezone.now() - 90 * MINUTE
    _tap(maker, coat, "start", at=began)
    _tap(maker, coat, "end", at=began + 30 * MINUTE)
    settled, cures = (BenchStep.objects.get(commission=job, key=key) for key in ("g.set", "g.cure"))
    assert (settled.state, settled.started_at) == ("done", began + 30 * MINUTE)
    assert settled.ended_at == began + 75 * MINUTE
    assert (cures.state, cures.started_at, cures.ended_at) == ("running", settled.ended_at, None)
    assert cures.ends_at == settled.ended_at + 720 * MINUTE
    settle(studio=job.studio, now=cures.ends_at - MINUTE)
    assert _state(job, "g.cure") == "running"
    settle(studio=job.studio, now=cures.ends_at)
    assert _state(job, "g.cure") == "done"
    assert _state(job, "g.down") == "waiting", "work by hand begins by no clock"


def test_the_same_tap_sent_again_does_nothing_and_says_the_same(maker: Member, coat: BenchStep) -> None:
    _tap(maker, coat, "start")
    once = uuid4()
    first = _tap(maker, coat, "end", once)
    second = _tap(maker, coat, "end", once)
    assert (first.pk, first.outcome) == (second.pk, second.outcome)
    assert HoursEntry.objects.count() == 2, "one entry an operation"
    assert BenchTap.objects.count() == 2


def test_a_second_step_of_work_is_refused_while_one_runs_and_kept_as_refused(
    maker: Member, coat: BenchStep, job: Commission
) -> None:
    other = BenchStepFactory(commission=job, name="Rip strips")
    _tap(maker, coat, "start")
    refused = _tap(maker, other, "start")
    assert not refused.accepted
    assert refused.outcome == "“Glue layers 1 to 4” is running. End it first."
    other.refresh_from_db()
    assert (other.state, other.started_at) == ("waiting", None)
    assert refused.changed == {}


def test_another_member_may_work_beside(maker: Member, coat: BenchStep, job: Commission, bob: Any) -> None:
    other = BenchStepFactory(commission=job)
    _tap(maker, coat, "start")
    assert _tap(bob.member, other, "start").accepted
    assert not _tap(bob.member, coat, "start").accepted


def test_the_database_holds_one_running_step_a_member(
    maker: Member, coat: BenchStep, job: Commission
) -> None:
    _tap(maker, coat, "start")
    with pytest.raises(IntegrityError), transaction.atomic():
        BenchStepFactory(commission=job, state="running", started_at=timezone.now(), started_by=maker)


def test_started_too_early_is_done_and_said(maker: Member, coat: BenchStep, job: Commission) -> None:
    _tap(maker, coat, "start", at=timezone.now() - 60 * MINUTE)
    _tap(maker, coat, "end", at=timezone.now() - 50 * MINUTE)
    down = BenchStep.objects.get(commission=job, key="g.down")
    told = _tap(maker, down, "start")
    assert told.accepted
    assert "Too early: “Cure” has 11 h 55 min to go." in told.outcome


def test_a_step_that_was_not_started_is_ended_by_its_minutes(maker: Member, coat: BenchStep) -> None:
    assert not _tap(maker, coat, "end").accepted
    assert _tap(maker, coat, "end", payload={"minutes": 24}).outcome == "Done. 24 min logged."
    assert sum(HoursEntry.objects.values_list("minutes", flat=True)) == 24


def test_the_minutes_said_stand_in_place_of_a_clock_that_ran_on(maker: Member, coat: BenchStep) -> None:
    _tap(maker, coat, "start", at=timezone.now() - 900 * MINUTE)
    _tap(maker, coat, "end", payload={"minutes": "25.5"})
    assert sum(HoursEntry.objects.values_list("minutes", flat=True)) == Decimal("25.5")


def test_a_clock_that_ran_on_is_logged_and_said(maker: Member, coat: BenchStep) -> None:
    _tap(maker, coat, "start", at=timezone.now() - 900 * MINUTE)
    assert "15 h 0 min logged. If the clock ran on" in _tap(maker, coat, "end").outcome


def test_mixed_is_kept_from_when_it_was_tapped(maker: Member, coat: BenchStep) -> None:
    assert not _tap(maker, coat, "mixed").accepted
    at = timezone.now() - 5 * MINUTE
    _tap(maker, coat, "start", at=at - MINUTE)
    assert _tap(maker, coat, "mixed", at=at).accepted
    coat.refresh_from_db()
    assert coat.mixed_at == at


def test_an_end_before_the_start_is_refused(maker: Member, coat: BenchStep) -> None:
    _tap(maker, coat, "start")
    assert not _tap(maker, coat, "end", at=timezone.now() - 5 * MINUTE).accepted
    assert HoursEntry.objects.count() == 0


def test_notes_and_measures_are_kept(maker: Member, coat: BenchStep, job: Commission) -> None:
    _tap(maker, coat, "note", payload={"text": "Ring 3 <b>proud</b>."})
    _tap(maker, coat, "measure", payload={"height_mm": "39.6", "run_out_mm": 0.4})
    assert StepNote.objects.get(step=coat).text == "Ring 3 <b>proud</b>."
    built = AsBuilt.objects.get(commission=job)
    assert (built.height, built.run_out, built.glue_up) == (Decimal("39.6"), Decimal("0.4"), 1)


@pytest.mark.parametrize(
    ("act", "payload", "place"),
    [
        ("dance", {}, "act"),
        ("note", {}, "text"),
        ("note", {"text": "x" * 5000}, "text"),
        ("measure", {"height_mm": "tall"}, "height_mm"),
        ("measure", {"height_mm": float("inf")}, "payload"),
        ("measure", {"height_mm": -4}, "height"),
        ("measure", {}, "__all__"),
        ("end", {"minutes": 5000}, "minutes"),
        ("end", {"minutes": [1]}, "minutes"),
        ("photo", {}, "photo"),
        ("wrong", {"kind": "cursed"}, "kind"),
        ("wrong", {"kind": "slipped", "layers": "all"}, "layers"),
        ("wrong", {"kind": "slipped", "rings": [True]}, "rings"),
        ("undo", {"uuid": "yesterday"}, "uuid"),
        ("note", {"text": "x", "more": "y" * 30_000}, "payload"),
    ],
)
def test_what_cannot_be_read_is_refused_by_its_place_and_not_kept(
    maker: Member, coat: BenchStep, act: str, payload: dict[str, Any], place: str
) -> None:
    with pytest.raises(ValidationError) as refusal:
        _tap(maker, coat, act, payload=payload)
    assert set(refusal.value.message_dict) == {place}
    assert BenchTap.objects.count() == 0
    assert StepNote.objects.count() == AsBuilt.objects.count() == 0


@pytest.mark.parametrize("days", [31, -1])
def test_a_clock_that_cannot_be_is_refused(maker: Member, coat: BenchStep, days: int) -> None:
    with pytest.raises(ValidationError) as refusal:
        _tap(maker, coat, "start", at=timezone.now() - datetime.timedelta(days))
    assert set(refusal.value.message_dict) == {"at"}


def test_a_clock_a_little_ahead_is_taken_as_now(maker: Member, coat: BenchStep) -> None:
    tap = _tap(maker, coat, "start", at=timezone.now() + MINUTE)
    assert tap.at == tap.received_at


def test_another_studios_step_is_refused(coat: BenchStep, charlie: Any) -> None:
    with pytest.raises(ValidationError) as refusal:
        _tap(charlie.member, coat, "start")
    assert set(refusal.value.message_dict) == {"step"}
    coat.refresh_from_db()
    assert coat.state == "waiting"


def test_the_same_uuid_in_another_studio_is_another_tap(maker: Member, coat: BenchStep, charlie: Any) -> None:
    once = uuid4()
    theirs = BenchStepFactory(commission__studio=charlie.member.studio)
    assert _tap(maker, coat, "start", once).pk != _tap(charlie.member, theirs, "start", once).pk


def test_an_end_is_taken_back_with_its_hours_and_what_began_after_it(
    maker: Member, coat: BenchStep, job: Commission
) -> None:
    began = timezone.now() - 120 * MINUTE
    _tap(maker, coat, "start", at=began)
    _tap(maker, coat, "end", at=began + 30 * MINUTE)
    assert _tap(maker, coat, "undo").accepted
    coat.refresh_from_db()
    assert (coat.state, coat.started_at, coat.ended_at) == ("running", began, None)
    assert HoursEntry.objects.count() == 0
    assert [_state(job, key) for key in ("g.set", "g.cure")] == ["waiting", "waiting"]
    assert _tap(maker, coat, "undo").accepted, "and the start before it"
    coat.refresh_from_db()
    assert (coat.state, coat.started_at, coat.started_by) == ("waiting", None, None)
    assert not _tap(maker, coat, "undo").accepted, "there is nothing left"


def test_an_undo_sent_twice_takes_back_one_tap(maker: Member, coat: BenchStep) -> None:
    _tap(maker, coat, "start")
    _tap(maker, coat, "mixed")
    once = uuid4()
    for _ in range(2):
        _tap(maker, coat, "undo", once)
    coat.refresh_from_db()
    assert (coat.state, coat.mixed_at) == ("running", None)


def test_nobody_takes_back_what_another_tapped(maker: Member, coat: BenchStep, bob: Any) -> None:
    _tap(maker, coat, "start")
    assert not _tap(bob.member, coat, "undo").accepted


def test_what_has_gone_on_since_is_not_taken_back(maker: Member, coat: BenchStep) -> None:
    start = _tap(maker, coat, "start")
    _tap(maker, coat, "end", payload={"minutes": 20})
    refused = _tap(maker, coat, "undo", payload={"uuid": str(start.uuid)})
    assert not refused.accepted
    assert "Work has gone on since" in refused.outcome


def test_a_note_is_taken_back(maker: Member, coat: BenchStep) -> None:
    _tap(maker, coat, "note", payload={"text": "wrong step"})
    _tap(maker, coat, "undo")
    assert StepNote.objects.count() == 0


def test_members_of_one_studio_only(maker: Member, coat: BenchStep) -> None:
    stranger = MemberFactory()
    coat.started_by = stranger
    with pytest.raises(ValidationError) as refusal:
        coat.full_clean()
    assert "started_by" in refusal.value.message_dict


@given(
    spent=st.decimals(0, 1500, places=2),
    shares=st.dictionaries(st.text(min_size=1, max_size=3), st.floats(0, 500), min_size=1, max_size=9),
)
def test_minutes_are_split_to_the_hundredth_by_share(spent: Decimal, shares: dict[str, float]) -> None:
    parts = split(spent, shares)
    assert sum(parts.values()) == spent
    assert all(part >= 0 for part in parts.values())
    total = sum(shares.values())
    if total > 0:
        assert all(
            abs(float(parts[name]) - float(spent) * (shares[name] / total)) <= 0.0101 for name in shares
        )
