"""Before the saw: the bench, the sawing plan and its saw list say what is unsigned, and no more once it is signed."""

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser

from projects.models import Band, Commission, Member, SignOff, Studio
from projects.pages.starting import Size, start_design
from projects.services import sawing_search
from projects.services.commissions import commission_create
from projects.services.sawing import plan_create
from projects.services.sign_offs import sign_off_answer, sign_off_ask
from projects.services.studios import client_create, studio_create
from tests.browser.bench import glue_up

pytestmark = pytest.mark.django_db
WAITS = "The drawing waits to be signed."


@pytest.fixture
def studio(db: None) -> Studio:
    """A studio as it is set up."""
    return studio_create(name="Larch Bench", owner=User.objects.create_user("lena"))


@pytest.fixture
def lena(client: Browser, studio: Studio) -> Browser:
    """Its owner's browser."""
    client.force_login(User.objects.get(username="lena"))
    return client


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A bowl that is being made, its title with markup in it."""
    gallery = client_create(studio=studio, kind="gallery", name="Harbour Row")
    size = Size(height=60, diameter=180, wall=8)
    design = start_design(studio=studio, title="Bowl", shape="bowl", size=size)
    job = commission_create(studio=studio, client=gallery, title="<i>Harbour</i> bowl", design=design)
    job.stage = "making"
    job.save()
    return job


@pytest.fixture
def drawing(job: Commission) -> SignOff:
    """Its drawing, put to the client."""
    return sign_off_ask(commission=job, kind="drawing", member=Member.objects.get())


def _text(browser: Browser, path: str) -> str:
    answer: Any = browser.get(path)
    assert answer.status_code == 200
    return str(answer.content.decode())


def _other(job: Commission) -> None:
    band = Band.objects.filter(part__design=job.design).order_by("position").last()
    assert band is not None
    band.woods = ["walnut"]
    band.save()


def test_the_bench_says_what_is_unsigned(lena: Browser, job: Commission, drawing: SignOff) -> None:
    """Above the list with the job's name, and at each step that waits."""
    glue_up(job)
    page = _text(lena, "/bench/")
    assert page.count(WAITS) > 1
    assert "&lt;i&gt;Harbour&lt;/i&gt; bowl</a>: The drawing waits" in page
    sign_off_answer(sign_off=drawing, agreed=True, name="P. Lorn", member=Member.objects.get())
    assert WAITS not in _text(lena, "/bench/")
    _other(job)
    assert "price the change" in _text(lena, "/bench/")


def test_the_sawing_plan_says_what_is_unsigned(
    lena: Browser, job: Commission, drawing: SignOff, monkeypatch: Any
) -> None:
    """On the plan and on its saw list."""
    monkeypatch.setattr(sawing_search, "search_start", lambda plan: None)
    plan = plan_create(studio=job.studio, commissions=[job], member=Member.objects.get())
    paths = (f"/sawing/{plan.pk}/", f"/sawing/{plan.pk}/saw-list/")
    for path in paths:
        assert WAITS in _text(lena, path)
    sign_off_answer(sign_off=drawing, agreed=True, name="P. Lorn", member=Member.objects.get())
    for path in paths:
        assert WAITS not in _text(lena, path)


def test_a_job_without_sign_offs_is_not_bothered(lena: Browser, job: Commission) -> None:
    """Nobody has to have drawings signed."""
    glue_up(job)
    page = _text(lena, "/bench/")
    assert "waits to be signed" not in page
    assert "price the change" not in page
    assert lena.post(f"/jobs/{job.pk}/move/", {"to": "finished"}).status_code == 302
