"""Lots of adhesive at the bench: kept once with their step, offered again, refused in words, and taken back."""

import datetime
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from projects.models import AdhesiveLot, BenchStep, BenchTap, Commission, Member, Studio
from projects.models.lots import LONGEST_LOT, LotPart
from projects.services.bench import bench_tap
from projects.services.bench_lots import is_past, last_lots, parts_of_adhesive, past_words
from tests.factories import AdhesiveFactory, BenchStepFactory, CommissionFactory, DesignFactory
from tests.factories_records import AdhesiveLotFactory


@pytest.fixture
def maker(alice: Any) -> Member:
    return alice.member


@pytest.fixture
def job(studio: Studio) -> Commission:
    glue = AdhesiveFactory(studio=studio, name="slow epoxy", usual=False)
    return CommissionFactory(
        studio=studio, stage="making", design=DesignFactory(studio=studio, adhesive=glue, shaped=False)
    )


@pytest.fixture
def step(job: Commission, maker: Member) -> BenchStep:
    """A glue-up that has begun."""
    return glue_up(job, maker)


def glue_up(job: Commission, maker: Member | None = None, **more: Any) -> BenchStep:
    step: BenchStep = BenchStepFactory(commission=job, glue_up=1, shares={"mix adhesive": [10, 1]}, **more)
    if maker is not None:
        bench_tap(member=maker, uuid=uuid4(), act="start", step=step)
    return step


def keep(maker: Member, step: BenchStep, *lots: tuple[str, str, str], **more: Any) -> BenchTap:
    payload = {"lots": [{"part": part, "lot": lot, "use_by": use_by} for part, lot, use_by in lots]}
    return bench_tap(member=maker, uuid=uuid4(), act="lot", step=step, payload=payload, **more)


def kept(step: BenchStep) -> list[tuple[str, str, datetime.date | None]]:
    return [(lot.part, lot.lot, lot.use_by) for lot in AdhesiveLot.objects.filter(step=step)]


def test_the_lots_of_both_parts_are_kept_with_the_step_as_typed(maker: Member, step: BenchStep) -> None:
    tap = keep(maker, step, ("a", "  EP-2291/B ", "2099-03-31"), ("b", "h 77", ""))
    assert tap.accepted
    assert tap.outcome == "Kept: resin (A) lot EP-2291/B, hardener (B) lot h 77."
    assert kept(step) == [("a", "EP-2291/B", datetime.date(2099, 3, 31)), ("b", "h 77", None)]
    row = AdhesiveLot.objects.filter(step=step).first()
    assert (row.name, row.adhesive, row.member, row.at) == (
        "slow epoxy",
        step.commission.design.adhesive,
        maker,
        tap.at,
    )


def test_the_same_tap_sent_again_keeps_nothing_twice(maker: Member, step: BenchStep) -> None:
    once = uuid4()
    payload = {"lots": [{"part": "one", "lot": "7", "use_by": ""}]}
    for _ in range(2):
        assert bench_tap(member=maker, uuid=once, act="lot", step=step, payload=payload).accepted
    assert kept(step) == [("one", "7", None)]


def test_a_second_lot_is_added_and_one_that_is_there_is_said_to_be(maker: Member, step: BenchStep) -> None:
    keep(maker, step, ("a", "1", ""))
    told = keep(maker, step, ("a", "1", ""), ("a", "2", ""))
    assert told.outcome == "Kept: resin (A) lot 2."
    again = keep(maker, step, ("a", "2", ""))
    assert (again.accepted, again.outcome) == (False, "This lot is kept with the step already.")
    assert [lot for _, lot, _ in kept(step)] == ["1", "2"]


def test_it_is_taken_back_and_nothing_else_with_it(maker: Member, step: BenchStep) -> None:
    keep(maker, step, ("a", "1", ""))
    wrong = keep(maker, step, ("a", "2", ""), ("b", "3", ""))
    keep(maker, step, ("b", "4", ""))
    undone = bench_tap(member=maker, uuid=uuid4(), act="undo", step=step, payload={"uuid": str(wrong.uuid)})
    assert undone.outcome == "Taken back: lot of adhesive."
    assert [lot for _, lot, _ in kept(step)] == ["1", "4"]
    step.refresh_from_db()
    assert step.state == "running"


@pytest.mark.parametrize(
    ("lots", "place", "words"),
    [
        (
            [("a", "x" * (LONGEST_LOT + 1), "")],
            "lot_a",
            "The lot of the resin (A) is too long: at most 60 char",
        ),
        ([("b", "", "2027-03-31")], "lot_b", "Type the lot of the hardener (B) beside its use-by date."),
        ([("one", "7", "31.3.27")], "use_by_one", "The use-by date of the adhesive cannot be read"),
        ([("one", "7", "0203-03-31")], "use_by_one", "cannot be right: 0203-03-31"),
        ([("a", " ", ""), ("b", "", "")], "lots", "Type the lot as it stands on the label."),
        ([("c", "7", "")], "lots", "A lot is of one of: a, b, one."),
        ([("a", str(n), "") for n in range(7)], "lots", "Give a list of lots."),
        ([], "lots", "Type the lot"),
    ],
)
def test_what_is_no_lot_is_refused_in_words_and_keeps_nothing(
    maker: Member, step: BenchStep, lots: list[Any], place: str, words: str
) -> None:
    with pytest.raises(ValidationError) as refusal:
        keep(maker, step, ("a", "good", ""), *lots) if place not in ("lots",) else keep(maker, step, *lots)
    assert set(refusal.value.message_dict) == {place}
    assert words in refusal.value.messages[0]
    assert kept(step) == []
    assert not BenchTap.objects.filter(act="lot").exists()


@pytest.mark.parametrize("payload", [{}, {"lots": "7"}, {"lots": ["7"]}, {"lots": {"part": "a"}}])
def test_a_payload_of_another_shape_is_refused(maker: Member, step: BenchStep, payload: Any) -> None:
    with pytest.raises(ValidationError, match="Give a list of lots"):
        bench_tap(member=maker, uuid=uuid4(), act="lot", step=step, payload=payload)


def test_a_lot_of_60_characters_is_kept(maker: Member, step: BenchStep) -> None:
    assert keep(maker, step, ("a", "x" * LONGEST_LOT, "")).accepted


def test_only_a_glue_up_that_has_begun_has_lots(maker: Member, job: Commission) -> None:
    waits = glue_up(job)
    assert keep(maker, waits, ("a", "1", "")).outcome == "Start the glue-up first."
    sawing = BenchStepFactory(commission=job, shares={"rip strips": [10, 1]})
    assert keep(maker, sawing, ("a", "1", "")).outcome == "No adhesive is mixed in this step."
    for state in ("done", "lost"):
        over = glue_up(job, state=state, started_at=timezone.now(), ended_at=timezone.now())
        assert keep(maker, over, ("a", "1", "")).accepted, "remembered later, or for what was spoilt"


def test_a_lot_past_its_last_day_is_kept_with_a_caution(maker: Member, step: BenchStep) -> None:
    zone = step.commission.studio.bench.zone
    today = timezone.now().astimezone(zone).date()
    before = today - datetime.timedelta(days=1)
    told = keep(maker, step, ("a", "old", before.isoformat()), ("b", "fresh", today.isoformat()))
    assert told.accepted
    assert told.outcome.count("is past its use-by date") == 1, "its last day is still good"
    assert "The resin (A) is past its use-by date" in told.outcome
    assert "unless its maker says" in told.outcome


@given(use_by=st.dates(), day=st.dates())
def test_a_lot_is_past_from_the_day_after_its_last(use_by: datetime.date, day: datetime.date) -> None:
    assert is_past(use_by, day) == ((day - use_by).days >= 1)
    assert bool(past_words("a", use_by, day=day)) == is_past(use_by, day)
    assert not is_past(None, day)
    assert past_words("a", None, day=day) == ""


def test_the_last_lot_of_an_adhesive_and_part_is_offered_and_of_no_other(
    studio: Studio, other_studio: Studio, job: Commission
) -> None:
    slow, quick = job.design.adhesive, AdhesiveFactory(studio=studio, name="quick epoxy", usual=False)
    step = glue_up(job)
    for part, lot, glue in (("a", "1", slow), ("b", "5", slow), ("a", "2", slow), ("a", "9", quick)):
        AdhesiveLotFactory(step=step, part=part, lot=lot, adhesive=glue, name=glue.name)
    AdhesiveLotFactory(step__commission__studio=other_studio, lot="theirs")
    found = last_lots(studio, [slow.pk])
    assert {key: lot.lot for key, lot in found.items()} == {(slow.pk, "a"): "2", (slow.pk, "b"): "5"}
    assert last_lots(studio, []) == {}


def test_an_adhesive_of_one_part_has_one_label() -> None:
    assert parts_of_adhesive(AdhesiveFactory.build(studio=None, ratio_b=0)) == [LotPart.BOTTLE]
    assert parts_of_adhesive(AdhesiveFactory.build(studio=None, ratio_b=1)) == [
        LotPart.RESIN,
        LotPart.HARDENER,
    ]
    assert parts_of_adhesive(None) == [LotPart.BOTTLE]


def test_the_database_keeps_a_lot_once_a_step_and_never_an_empty_one(step: BenchStep) -> None:
    AdhesiveLotFactory(step=step, lot="1")
    for wrong in ({"lot": "1"}, {"lot": ""}, {"name": ""}, {"part": "c"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            AdhesiveLotFactory(step=step, **wrong)


def test_another_studios_adhesive_or_member_is_refused(step: BenchStep, other_studio: Studio) -> None:
    lot = AdhesiveLotFactory(step=step)
    lot.adhesive = AdhesiveFactory(studio=other_studio, usual=False)
    with pytest.raises(ValidationError, match="Choose an adhesive of this studio"):
        lot.full_clean()
    lot.adhesive = None
    lot.member = (
        other_studio.members.first() or AdhesiveLotFactory(step__commission__studio=other_studio).member
    )
    with pytest.raises(ValidationError, match="Choose someone who works in this studio"):
        lot.full_clean()
