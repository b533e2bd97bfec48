"""The demo studio: complete, loaded once, and left alone afterwards."""

from collections.abc import Iterator
from decimal import Decimal
from io import StringIO
from typing import Any

import pytest
from django.contrib.auth import authenticate
from django.core.management import call_command
from django.db import transaction
from django.utils import timezone

from projects import demo, demo_life, demo_log
from projects.estimates import estimate_design
from projects.models import Board, Commission, Design, Letter, PieceRecord, PlacePayment, Quote, Studio
from projects.quote_state import standing
from projects.services.quote_life import open_questions
from projects.statement import statement

pytestmark = pytest.mark.django_db


class _NotKept(Exception):
    """Undoes what was loaded."""


def _load() -> str:
    said = StringIO()
    call_command("load_demo", stdout=said)
    return said.getvalue()


@pytest.fixture(scope="module", autouse=True)
def first(django_db_setup: None, _cheap_passwords: None, django_db_blocker: Any) -> Iterator[str]:
    """What was said when the demo was loaded. All tests see the same; what they change is undone."""
    with django_db_blocker.unblock():
        try:
            with transaction.atomic():
                yield _load()
                raise _NotKept
        except _NotKept:
            pass


def test_the_demo_is_loaded_once_and_says_how_to_log_in(first: str) -> None:
    studio = Studio.objects.get()
    Studio.objects.update(tagline="changed by its user")
    assert _load() == first
    assert Studio.objects.get().tagline == "changed by its user"
    assert demo.STUDIO in first
    assert demo.PASSWORD in first
    owner = authenticate(username=demo.LOG_IN, password=demo.PASSWORD)
    assert owner is not None
    assert owner.member.studio == studio


def test_the_demo_has_work_in_several_stages_a_stocked_rack_and_one_quote_out() -> None:
    stages = Commission.objects.exclude(stage="closed").values_list("stage", flat=True)
    assert sorted(stages) == ["agreed", "designing", "enquiry", "finished", "making", "quoted"]
    assert set(Commission.objects.values_list("client__kind", flat=True)) == {"gallery", "private"}
    assert Commission.objects.get(stage="making").readings.count() == len(demo.READ)
    proven = Commission.objects.get(stage="making").saw_settings
    assert list(proven.values_list("closed", flat=True)) == ["tight", "inside"]
    assert {setting.miter_deg for setting in proven.all()} == {Decimal("11.25")}  # 180 / 16 segments
    assert Board.objects.count() == len(demo.RACK)


def test_the_demos_vase_is_quoted_and_its_gallery_waits_for_an_answer() -> None:
    quote = Quote.objects.get(commission__stage="quoted")
    assert quote.trade_pdf[:5] == quote.client_pdf[:5] == b"%PDF-"
    assert standing(quote, today=timezone.localdate()) == "seen"
    assert [event.words for event in open_questions(quote)] == [demo_life.QUESTION]
    assert quote.commission.links.get().last_seen_at is not None


def test_the_demos_bowl_was_accepted_signed_and_paid_for_in_part_before_it_was_begun() -> None:
    bowl = Commission.objects.get(stage="making")
    quote = bowl.quotes.get()
    assert standing(quote, today=timezone.localdate()) == "accepted"
    assert bowl.sign_offs.get().answer == "agreed"
    assert {paper.kind for paper in bowl.papers.all()} == {"confirmation", "deposit"}
    found = statement(bowl, today=timezone.localdate())
    assert found.balance == Decimal(quote.estimate["price"]["balance"]) > 0
    assert not found.overdue
    assert not Letter.objects.exists()


def test_every_demo_design_can_be_built_and_none_is_dangerous() -> None:
    """Each stack fits its form: no error, no caution on its height, nothing marked as a danger."""
    for design in Design.objects.all():
        _, found = estimate_design(design)
        codes = {caution.code for caution in found.cautions}
        assert "stack_difference" not in codes, design
        assert "danger" not in {caution.severity for caution in found.cautions}, design


def test_the_demos_bowl_is_half_glued_and_all_that_is_left_is_planned() -> None:
    making, agreed = (Commission.objects.get(stage=stage) for stage in ("making", "agreed"))
    glued = making.steps.filter(kind="hands_on", key__contains="ring.")
    assert glued.filter(state="done").count() >= glued.count() // 2 > 1
    assert glued.filter(state="waiting").exists()
    assert making.steps.filter(kind="set", state="running").exists()
    assert making.steps.filter(key__contains=".stack.", kind="hands_on", state="done").count() == 0
    assert not making.steps.filter(state="waiting", planned_start=None).exists()
    done = making.steps.filter(kind="hands_on", state="done")
    logged = making.hours.filter(note__startswith="bench: ")
    spent = sum((step.ended_at - step.started_at).total_seconds() / 60 for step in done)
    assert float(sum(logged.values_list("minutes", flat=True))) == pytest.approx(
        spent, abs=0.01 * done.count()
    )
    assert making.dates.finish > timezone.now()
    assert agreed.dates.finish <= agreed.dates.likely


def test_the_demos_log_has_pieces_in_every_place_and_one_that_was_taken_out() -> None:
    log = PieceRecord.objects.all()
    assert set(log.values_list("place", flat=True)) == {"studio", "consigned", "sold", "lent", "given"}
    assert PieceRecord.everything.count() == log.count() + 1
    today = timezone.localdate()
    backs = log.filter(place="consigned").values_list("due_back", flat=True)
    assert sorted(day < today for day in backs) == [False, True]
    sale = PlacePayment.objects.get().place
    assert 0 < PlacePayment.objects.get().amount < sale.price


def test_the_demos_platter_was_glued_by_lots_and_says_why_its_sanding_took_long() -> None:
    platter = PieceRecord.objects.get(commission__stage="finished")
    assert demo_log.LOT[0]["lot"] in platter.adhesive_words
    assert platter.moisture_words
    sanding = platter.taken.get(key="sand through the grits")
    assert sanding.taken > sanding.estimated
    assert sanding.reason
    assert platter.made_again.get().design.title == "Platter with a walnut rim, large"
