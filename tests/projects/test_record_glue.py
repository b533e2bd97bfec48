"""Which pieces have a lot of adhesive: from the bench into the record, and found again when the lot is recalled."""

import datetime
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from projects.models import Adhesive, Commission, Member, PieceRecord, Studio
from projects.record_search import search
from projects.services import records
from projects.services.bench import bench_tap
from projects.services.record_glue import glued_with
from projects.services.record_out import record_take_out
from projects.services.record_recall import jobs_with_lot
from tests.factories import AdhesiveFactory, BenchStepFactory, CommissionFactory, DesignFactory
from tests.factories_records import AdhesiveLotFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def glue(studio: Studio) -> Adhesive:
    return AdhesiveFactory(studio=studio, name="slow epoxy", usual=False, kind="epoxy")


def a_job(studio: Studio, glue: Adhesive, title: str, **more: Any) -> Commission:
    design = DesignFactory(studio=studio, adhesive=glue, title=title)
    return CommissionFactory(studio=studio, title=title, design=design, stage="finished", **more)


def glued(job: Commission, maker: Member, number: int, *, piece: int = 1, **lots: str) -> None:
    """A glue-up as it goes at the bench: begun, its lots kept, mixed, ended."""
    step = BenchStepFactory(
        commission=job,
        key=f"g{number}.{piece}",
        glue_up=number,
        piece=piece,
        shares={"mix adhesive": [10, 1]},
    )
    payload = {"lots": [{"part": part, "lot": lot, "use_by": ""} for part, lot in lots.items()]}
    for act, more in (("start", {}), ("lot", {"payload": payload}), ("mixed", {}), ("end", {})):
        assert bench_tap(member=maker, uuid=uuid4(), act=act, step=step, **more).accepted, act


def found(studio: Studio, asked: str) -> set[str]:
    return {record.title for record in search(PieceRecord.objects.for_studio(studio), asked)}


def test_a_recalled_lot_leads_to_every_piece_that_has_it_and_to_no_other(
    studio: Studio, glue: Adhesive, alice: Any, as_alice: Browser
) -> None:
    bowl, vase, dish = (a_job(studio, glue, title) for title in ("Bowl", "Vase", "Dish"))
    glued(bowl, alice.member, 1, a="EP-2291/B", b="H-7")
    glued(bowl, alice.member, 2, a="EP-2292", b="H-7")
    glued(vase, alice.member, 1, a="EP-2291/B", b="H-8")
    glued(dish, alice.member, 1, a="EP-3300", b="H-8")
    for job in (bowl, vase, dish):
        records.record_finish(commission=job)
    assert found(studio, "EP-2291/B") == {"Bowl", "Vase"}
    assert found(studio, "ep 2291 b") == {"Bowl", "Vase"}, "however it is typed"
    assert found(studio, "H-8") == {"Vase", "Dish"}
    assert found(studio, "EP-9999") == set()
    page = as_alice.get(reverse("log_table"), {"q": "EP-2291/B"}).content.decode()
    assert "Bowl" in page
    assert "Vase" in page
    assert "Dish" not in page


def test_the_words_of_a_record_say_each_lot_with_the_glue_ups_it_went_into(
    studio: Studio, glue: Adhesive, alice: Any
) -> None:
    job = a_job(studio, glue, "Bowl")
    for number, resin in enumerate(("R 1", "R 1", "R 1", "R 2"), start=1):
        glued(job, alice.member, number, a=resin, b="H 7")
    job.steps.get(glue_up=1).lots.filter(part="a").update(use_by=datetime.date(2027, 3, 31))
    record = records.record_finish(commission=job)
    day = timezone.localdate()
    assert record.adhesive_words.splitlines() == [
        f"slow epoxy, mixed on {day.day} {day:%B %Y}",
        "resin (A) lot R 1, use by 31 March 2027, glue-ups 1–3",
        "hardener (B) lot H 7, glue-ups 1–4",
        "resin (A) lot R 2, glue-up 4",
    ]


def test_each_piece_of_several_has_its_own_lots_and_those_of_all(
    studio: Studio, glue: Adhesive, alice: Any
) -> None:
    job = a_job(studio, glue, "Pair", quantity=2)
    glued(job, alice.member, 1, piece=1, a="first")
    glued(job, alice.member, 1, piece=2, a="second")
    glued(job, alice.member, 2, piece=0, a="both")
    lots = [[lot["lot"] for row in glued_with(job, piece=n) for lot in row["lots"]] for n in (1, 2)]
    assert lots == [["first", "both"], ["second", "both"]]


def test_a_lot_is_found_though_the_words_were_changed_and_one_kept_late_once_the_figures_are_taken_again(
    studio: Studio, glue: Adhesive, alice: Any
) -> None:
    job = a_job(studio, glue, "Bowl")
    glued(job, alice.member, 1, a="EP-1")
    record = records.record_finish(commission=job)
    records.record_update(record=record, adhesive_words="epoxy")
    assert found(studio, "EP-1") == {"Bowl"}
    AdhesiveLotFactory(step=job.steps.get(), lot="EP-late", adhesive=glue, name=glue.name)
    assert found(studio, "EP-late") == set()
    records.figures_again(record=record)
    assert found(studio, "EP-late") == {"Bowl"}


def test_lots_of_an_adhesive_the_design_names_no_more_stand_under_its_old_name(
    studio: Studio, glue: Adhesive, alice: Any
) -> None:
    job = a_job(studio, glue, "Bowl")
    glued(job, alice.member, 1, a="EP-1")
    job.design.adhesive = AdhesiveFactory(studio=studio, name="quick epoxy", usual=False)
    job.design.save()
    glue.delete()
    rows = glued_with(Commission.objects.get(pk=job.pk), piece=1)
    assert [(row["name"], row["kind"], len(row.get("lots", []))) for row in rows] == [
        ("quick epoxy", "epoxy", 0),
        ("slow epoxy", "", 1),
    ]


def test_a_lot_of_what_was_spoilt_counts_too(studio: Studio, glue: Adhesive, alice: Any) -> None:
    job = a_job(studio, glue, "Bowl")
    glued(job, alice.member, 1, a="EP-1")
    job.steps.update(state="lost")
    assert glued_with(job, piece=1)[0]["lots"][0]["lot"] == "EP-1"


def test_a_lot_that_looks_like_a_length_stays_as_it_is_in_an_inch_shop(
    studio: Studio, glue: Adhesive, alice: Any
) -> None:
    studio.length_unit = "in"
    studio.save()
    job = a_job(studio, glue, "Bowl")
    glued(job, alice.member, 1, one="12 mm")
    assert "adhesive lot 12 mm" in records.record_finish(commission=job).adhesive_words


def test_a_piece_without_lots_says_what_it_did_before(studio: Studio, glue: Adhesive) -> None:
    job = a_job(studio, glue, "Bowl")
    assert glued_with(job, piece=1) == [{"name": "slow epoxy", "kind": "epoxy", "mixed_on": []}]
    assert records.record_finish(commission=job).adhesive_words == "slow epoxy"


def test_a_recall_also_names_what_is_not_in_the_log_yet(
    studio: Studio, glue: Adhesive, alice: Any, as_alice: Browser, other_studio: Studio
) -> None:
    done, pair, other = (
        a_job(studio, glue, title, quantity=count)
        for title, count in (("Done", 1), ("<b>Pair</b>", 2), ("Other", 1))
    )
    for job in (done, pair):
        glued(job, alice.member, 1, a="EP-2291")
    glued(other, alice.member, 1, a="EP-3300")
    AdhesiveLotFactory(lot="EP-2291", step__commission__studio=other_studio)
    for job in (done, pair):
        records.record_finish(commission=job)
    assert jobs_with_lot(studio, " ep-2291 ") == [pair], "one of the two is still to be written down"
    assert jobs_with_lot(studio, "EP-9") == jobs_with_lot(studio, " ") == []
    assert jobs_with_lot(studio, "EP") == [], "two letters stand in many numbers, and are none"
    page = as_alice.get(reverse("log"), {"q": "EP-2291"}).content.decode()
    assert f'<a href="{reverse("job", args=[pair.pk])}">&lt;b&gt;Pair' in page
    assert reverse("job", args=[other.pk]) not in page
    record_take_out(record=done.records.get(), reason="twice")
    assert jobs_with_lot(studio, "EP-2291") == [done, pair]
