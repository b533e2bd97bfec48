"""Lots of adhesive on the bench page: asked and shown with their card, refused with what was typed kept, escaped."""

import datetime
import re
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from projects.models import Adhesive, AdhesiveLot, BenchStep, BenchTap, Commission, Studio
from projects.pages.starting import Size, start_design
from projects.services.commissions import commission_create
from projects.services.studios import client_create, studio_create
from tests.browser.bench import glue_up
from tests.factories_records import AdhesiveLotFactory

JSON = {"HTTP_ACCEPT": "application/json", "HTTP_HX_REQUEST": "true"}


@pytest.fixture
def studio(db: None) -> Studio:
    return studio_create(name="Larch Bench", owner=User.objects.create_user("lena"))


@pytest.fixture
def step(studio: Studio) -> BenchStep:
    """A glue-up that has begun."""
    design = start_design(
        studio=studio, title="Bowl", shape="bowl", size=Size(height=60, diameter=180, wall=8)
    )
    gallery = client_create(studio=studio, kind="gallery", name="Harbour Row")
    job: Commission = commission_create(studio=studio, client=gallery, title="Bowl", design=design)
    Commission.objects.filter(pk=job.pk).update(stage="making")
    made = glue_up(job)["up"]
    BenchStep.objects.filter(pk=made.pk).update(state="running", started_at=timezone.now())
    return made


@pytest.fixture
def lena(client: Client, studio: Studio) -> Client:
    client.force_login(User.objects.get(username="lena"))
    return client


def send(client: Client, step: BenchStep, act: str = "lot", *, script: bool = False, **more: Any) -> Any:
    data = {"uuid": str(uuid4()), "act": act, "step": step.pk, **more}
    return client.post("/bench/taps/", data, **(JSON if script else {}))


def text_of(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def test_both_labels_are_asked_kept_and_shown_with_the_card(lena: Client, step: BenchStep) -> None:
    asked = text_of(lena.get("/bench/"))
    assert "Lot of the resin (A)" in asked
    assert "Lot of the hardener (B)" in asked
    assert "data-offered hidden" in lena.get("/bench/").content.decode()
    answer = send(lena, step, lot_a="EP-2291", use_by_a="2099-03-31", lot_b="H 7")
    assert answer["Location"] == f"/bench/#step-{step.pk}"
    assert {lot.lot for lot in AdhesiveLot.objects.filter(step=step)} == {"EP-2291", "H 7"}
    said = text_of(lena.get("/bench/"))
    assert "Resin (A): EP-2291 , use by 31 March 2099" in said
    assert "Another lot" in said
    assert said.count("take these lots back") == 1, "one tap kept both"


def test_the_last_lot_of_the_same_adhesive_is_offered_on_the_next_card(
    lena: Client, step: BenchStep, studio: Studio
) -> None:
    glue = Adhesive.objects.for_studio(studio).get(usual=True)
    past = timezone.localdate() - datetime.timedelta(2)
    AdhesiveLotFactory(
        step__commission__studio=studio, adhesive=glue, name=glue.name, lot="EP-9", use_by=past
    )
    page = lena.get("/bench/")
    assert re.search(r'name="lot_a" value="EP-9"', page.content.decode())
    assert f'name="use_by_a" value="{past.isoformat()}"' in page.content.decode()
    said = text_of(page)
    assert '<p class="help" data-offered>As kept last of this adhesive' in page.content.decode()
    assert "The resin (A) is past its use-by date" in said
    assert not AdhesiveLot.objects.filter(step=step).exists(), "offered is not kept"


def test_an_adhesive_of_one_part_has_one_field(lena: Client, step: BenchStep, studio: Studio) -> None:
    Adhesive.objects.for_studio(studio).filter(usual=True).update(ratio_b=0)
    page = lena.get("/bench/").content.decode()
    assert 'name="lot_one"' in page
    assert 'name="lot_a"' not in page
    assert "Kept: adhesive lot 4." in send(lena, step, script=True, lot_one="4").json()["words"]


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"lot_a": "<b>" + "7" * 60}, "The lot of the resin (A) is too long: at most 60 characters."),
        ({"lot_a": "<b>7", "use_by_a": "31 March"}, "The use-by date of the resin (A) cannot be read"),
        (
            {"lot_a": " ", "use_by_b": "2027-03-31"},
            "Type the lot of the hardener (B) beside its use-by date.",
        ),
        ({"lot_a": ""}, "Type the lot as it stands on the label."),
    ],
)
def test_what_is_no_lot_is_refused_and_what_was_typed_stays(
    lena: Client, step: BenchStep, sent: dict[str, str], words: str
) -> None:
    by_script = send(lena, step, script=True, **sent)
    assert (by_script.status_code, words in by_script.json()["reason"]) == (422, True)
    answer = send(lena, step, **sent)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert f"Not done: {words}" in page
    for name, typed in sent.items():
        escaped = typed.replace("<", "&lt;").replace(">", "&gt;")
        assert f'name="{name}" value="{escaped}"' in page
    assert not AdhesiveLot.objects.exists()
    assert not BenchTap.objects.exists()


def test_it_is_taken_back_from_its_own_line(lena: Client, step: BenchStep) -> None:
    send(lena, step, lot_a="1")
    send(lena, step, lot_a="2")
    page = lena.get("/bench/").content.decode()
    first = BenchTap.objects.order_by("pk").first()
    assert f'name="tap" value="{first.uuid}"' in page
    assert send(lena, step, "undo", tap=str(first.uuid)).status_code == 302
    assert [lot.lot for lot in AdhesiveLot.objects.all()] == ["2"]


def test_a_lot_is_shown_as_the_text_it_is(lena: Client, step: BenchStep) -> None:
    send(lena, step, lot_a="<u>7</u>")
    page = lena.get("/bench/").content.decode()
    assert "&lt;u&gt;7&lt;/u&gt;" in page
    assert "<u>7" not in page


def test_an_outsider_keeps_and_sees_none(lena: Client, step: BenchStep) -> None:
    send(lena, step, lot_a="EP-2291")
    studio_create(name="Elsewhere", owner=User.objects.create_user("otto"))
    stranger = Client()
    stranger.force_login(User.objects.get(username="otto"))
    assert send(stranger, step, lot_a="7").status_code == 404
    assert send(stranger, step, script=True, lot_a="7").status_code == 404
    assert "EP-2291" not in stranger.get("/bench/").content.decode()
    assert AdhesiveLot.objects.count() == 1


def test_what_it_asks_of_the_database_does_not_grow_with_the_lots(
    lena: Client, step: BenchStep, studio: Studio
) -> None:
    glue = Adhesive.objects.for_studio(studio).get(usual=True)
    AdhesiveLotFactory(step=step, adhesive=glue)
    lena.get("/bench/")
    with CaptureQueriesContext(connection) as few:
        lena.get("/bench/")
    for _ in range(8):
        AdhesiveLotFactory(step=step, adhesive=glue)
    with CaptureQueriesContext(connection) as many:
        lena.get("/bench/")
    assert len(many) == len(few)
