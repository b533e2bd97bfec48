"""Sign-offs and changes on the client's private page: signed, agreed to, refused; nobody else's are there."""

import datetime
import io
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.utils import timezone
from PIL import Image

from projects.models import ChangeOrder, Commission, Member, SignOff, Studio
from projects.services.change_orders import change_ask, change_withdraw
from projects.services.quote_link import link_path, link_revoke
from projects.services.sign_offs import sign_off_answer, sign_off_ask, sign_off_withdraw
from tests.agreements import NAME, accepted, link_of, private_job, thicker
from tests.factories import CommissionFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("cheap_paper")]
MARKUP = "<b>wide</b>"
ESCAPED = "&lt;b&gt;wide&lt;/b&gt;"


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> Path:
    """Photos of a test are kept in a folder of its own."""
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A piece whose quote was accepted."""
    job = private_job(studio)
    accepted(job)
    return job


@pytest.fixture
def page(job: Commission) -> str:
    """The private address of its client."""
    return link_path(link_of(job))


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice."""
    return alice.member


def _photo() -> SimpleUploadedFile:
    held = io.BytesIO()
    Image.new("RGB", (20, 10), "peru").save(held, "JPEG")
    return SimpleUploadedFile("photo.jpg", held.getvalue())


def test_a_drawing_is_signed(job: Commission, maker: Member, page: str) -> None:
    """It is shown with the text that is signed; after that there is nothing to press."""
    row = sign_off_ask(commission=job, kind="drawing", words=MARKUP, member=maker)
    shown = Browser().get(page).content.decode()
    assert "data:image/svg+xml;base64," in shown
    assert ESCAPED in shown
    assert MARKUP not in shown
    assert "SHA-256 of the drawing" in shown
    path = f"{page}sign-offs/{row.pk}/"
    sent = {"answer": "yes", f"sign-{row.pk}-yes-name": NAME}
    answer = Browser().post(path, sent, follow=True)
    assert answer.redirect_chain[-1][0] == f"{page}#sign-{row.pk}"
    assert f"<strong>Signed</strong> by {NAME}" in answer.content.decode()
    assert "Sign it" not in answer.content.decode()
    row.refresh_from_db()
    assert (row.answer, row.answered_name, row.answered_by_link.commission) == ("agreed", NAME, job)


def test_a_name_and_words_are_asked_for(job: Commission, maker: Member, page: str) -> None:
    """What was typed stays where it was typed, and nothing is written."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    path = f"{page}sign-offs/{row.pk}/"
    answer = Browser().post(path, {"answer": "yes", f"sign-{row.pk}-yes-name": " "})
    assert answer.status_code == 400
    assert "Type your name" in answer.content.decode()
    answer = Browser().post(path, {"answer": "yes", f"sign-{row.pk}-yes-name": MARKUP * 20})
    assert answer.status_code == 400
    assert ESCAPED in answer.content.decode()
    answer = Browser().post(path, {"answer": "no", f"sign-{row.pk}-no-words": ""})
    assert answer.status_code == 400
    assert "Say what should be different." in answer.content.decode()
    row.refresh_from_db()
    assert row.is_waiting
    Browser().post(path, {"answer": "no", f"sign-{row.pk}-no-words": "A wider foot."})
    row.refresh_from_db()
    assert (row.answer, row.answered_words) == ("refused", "A wider foot.")


def test_a_change_is_agreed_to(job: Commission, maker: Member, page: str) -> None:
    """With its figures, what differs, and the sum with it."""
    thicker(job, "12.0")
    change = change_ask(commission=job, title=MARKUP, amount=Decimal("120.50"), days=3, member=maker)
    shown = Browser().get(page).content.decode()
    for said in ("$120.50", "layer thickness of band 1 (wall)", "With this change", "3 days later", ESCAPED):
        assert said in shown
    assert MARKUP not in shown
    sent = {"answer": "yes", f"change-{change.pk}-yes-name": NAME}
    answer = Browser().post(f"{page}changes/{change.pk}/", sent, follow=True)
    assert f"<strong>Agreed</strong> by {NAME}" in answer.content.decode()
    change.refresh_from_db()
    assert change.answer == "agreed"


def test_a_change_is_refused_without_a_word(job: Commission, maker: Member, page: str) -> None:
    """Everything stays as it was agreed."""
    change = change_ask(commission=job, title="A box", amount=Decimal(40), member=maker)
    answer = Browser().post(f"{page}changes/{change.pk}/", {"answer": "no"}, follow=True)
    assert "<strong>Refused</strong>" in answer.content.decode()
    change.refresh_from_db()
    assert change.answer == "refused"


def test_a_lapsed_change_cannot_be_answered(job: Commission, maker: Member, page: str) -> None:
    """It says so; one that is sent all the same is refused."""
    past = timezone.now() - datetime.timedelta(days=60)
    change = change_ask(commission=job, title="A box", amount=Decimal(40), member=maker, now=past)
    shown = Browser().get(page).content.decode()
    assert "This offer stood until" in shown
    assert "Agree to the change" not in shown
    sent = {"answer": "yes", f"change-{change.pk}-yes-name": NAME}
    answer = Browser().post(f"{page}changes/{change.pk}/", sent)
    assert answer.status_code == 400
    assert "lapsed" in answer.content.decode()
    change.refresh_from_db()
    assert change.is_waiting


def test_what_was_answered_meanwhile_says_so(job: Commission, maker: Member, page: str) -> None:
    """The second of two who press."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    sign_off_answer(sign_off=row, agreed=True, name=NAME, member=maker)
    sent = {"answer": "no", f"sign-{row.pk}-no-words": "Wider."}
    answer = Browser().post(f"{page}sign-offs/{row.pk}/", sent)
    assert answer.status_code == 400
    assert "answered already" in answer.content.decode()


def test_a_sample_s_photo_is_shown_by_the_address(job: Commission, maker: Member, page: str) -> None:
    """And no more once it is revoked, nor by another's address."""
    row = sign_off_ask(commission=job, kind="ring", photo=_photo(), member=maker)
    path = f"{page}sign-offs/{row.pk}/photo.jpg"
    assert path in Browser().get(page).content.decode()
    answer = Browser().get(path)
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Cache-Control"] == "private, no-store"
    other = link_path(link_of(CommissionFactory(studio=job.studio)))
    assert Browser().get(f"{other}sign-offs/{row.pk}/photo.jpg").status_code == 404
    drawing = sign_off_ask(commission=job, kind="drawing", member=maker)
    assert Browser().get(f"{page}sign-offs/{drawing.pk}/photo.jpg").status_code == 404
    link_revoke(link=job.links.get())
    assert Browser().get(path).status_code == 404


def test_nobody_answers_by_another_address(job: Commission, maker: Member, page: str) -> None:
    """Another commission's, a made-up one; and what was taken back is not there."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    change = change_ask(commission=job, title="A box", amount=Decimal(40), member=maker)
    other = link_path(link_of(CommissionFactory(studio=job.studio)))
    sent = {
        "answer": "yes",
        f"sign-{row.pk}-yes-name": NAME,
        f"change-{change.pk}-yes-name": NAME,
    }
    ends = (f"sign-offs/{row.pk}/", f"changes/{change.pk}/")
    for address in (other, "/c/nobody/"):
        for end in ends:
            assert Browser().post(f"{address}{end}", sent).status_code == 404
    sign_off_withdraw(sign_off=row, member=maker)
    change_withdraw(change=change, member=maker)
    for end in ends:
        assert Browser().post(f"{page}{end}", sent).status_code == 404
    assert "A box" not in Browser().get(page).content.decode()
    assert {SignOff.objects.get().answer, ChangeOrder.objects.get().answer} == {"withdrawn"}


def test_the_maker_cannot_sign_for_the_client(
    as_alice: Browser, job: Commission, maker: Member, page: str
) -> None:
    """Looking at the client's page while logged in."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    assert "Sign it" not in as_alice.get(page).content.decode()
    sent = {"answer": "yes", f"sign-{row.pk}-yes-name": NAME}
    assert as_alice.post(f"{page}sign-offs/{row.pk}/", sent).status_code == 400
    row.refresh_from_db()
    assert row.is_waiting


def test_a_form_from_elsewhere_is_refused(job: Commission, maker: Member, page: str) -> None:
    """Django's token has to come with it."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    browser = Browser(enforce_csrf_checks=True)
    sent = {"answer": "yes", f"sign-{row.pk}-yes-name": NAME}
    assert browser.post(f"{page}sign-offs/{row.pk}/", sent).status_code == 403
    row.refresh_from_db()
    assert row.is_waiting
