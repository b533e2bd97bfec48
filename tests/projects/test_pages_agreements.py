"""The maker's pages of sign-offs and changes: what they do, what they keep, and whom they let in."""

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
from projects.services.change_orders import change_answer, change_ask
from projects.services.sign_offs import sign_off_ask
from tests.agreements import NAME, accepted, private_job, thicker
from tests.factories import RateFactory

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
    """A piece for somebody's home."""
    RateFactory(studio=studio)
    return private_job(studio)


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice."""
    return alice.member


def photo() -> SimpleUploadedFile:
    """A small photo."""
    held = io.BytesIO()
    Image.new("RGB", (20, 10), "peru").save(held, "JPEG")
    return SimpleUploadedFile("photo.jpg", held.getvalue())


def test_a_drawing_is_put_to_the_client(as_alice: Browser, job: Commission) -> None:
    """The form shows the drawing as it is now; what is sent is frozen on a page of its own."""
    path = f"/jobs/{job.pk}/sign-offs/new/"
    shown = as_alice.get(path).content.decode()
    assert "<svg" in shown
    answer = as_alice.post(path, {"kind": "drawing", "words": MARKUP}, follow=True)
    row = SignOff.objects.get()
    assert answer.redirect_chain[-1][0] == f"/sign-offs/{row.pk}/"
    page = answer.content.decode()
    assert "<svg" in page
    assert ESCAPED in page
    assert MARKUP not in page
    assert row.sha256 in page
    assert "waits for the client" in page


def test_a_refused_sign_off_keeps_what_was_typed(as_alice: Browser, job: Commission, maker: Member) -> None:
    """And nothing is sent; nor where the design cannot be worked out."""
    sign_off_ask(commission=job, kind="chip", words="Oil.", member=maker)
    path = f"/jobs/{job.pk}/sign-offs/new/"
    answer = as_alice.post(path, {"kind": "chip", "words": "Darker oil."})
    assert answer.status_code == 400
    assert "Darker oil." in answer.content.decode()
    assert "waiting for the client already" in answer.content.decode()
    form = job.design.parts.get().form
    form.outer = [[0, 60], [400, 60]]
    form.save()
    answer = as_alice.post(path, {"kind": "drawing", "words": "The pot."})
    assert answer.status_code == 400
    assert "cannot be worked out yet" in answer.content.decode()
    assert SignOff.objects.count() == 1


def test_an_answer_is_taken_down(as_alice: Browser, job: Commission, maker: Member) -> None:
    """With the maker's name beside the client's; without a name it is refused and what was typed stays."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    act = f"/sign-offs/{row.pk}/act/"
    refused = as_alice.post(act, {"act": "agreed", "name": "", "words": "By telephone."})
    assert refused.status_code == 400
    assert "Whose agreement is it?" in refused.content.decode()
    assert "By telephone." in refused.content.decode()
    assert as_alice.post(act, {"name": NAME}).status_code == 400
    row.refresh_from_db()
    assert row.is_waiting
    page = as_alice.post(act, {"act": "agreed", "name": NAME, "words": "By telephone."}, follow=True)
    row.refresh_from_db()
    assert (row.answer, row.answered_by) == ("agreed", maker)
    assert f"signed by {NAME}" in page.content.decode()
    assert "They sign it" not in page.content.decode()
    late = as_alice.post(act, {"act": "withdraw"})
    assert late.status_code == 400
    assert "answered already" in late.content.decode()


def test_a_sample_s_photo_is_shown_in_the_studio_alone(
    as_alice: Browser, as_charlie: Browser, job: Commission, maker: Member, folder: Path
) -> None:
    """As a picture and nothing else; outsiders, strangers and a lost file get 404 or the log-in."""
    as_alice.post(f"/jobs/{job.pk}/sign-offs/new/", {"kind": "chip", "photo": photo()})
    row = SignOff.objects.get()
    path = f"/sign-offs/{row.pk}/photo/"
    assert path in as_alice.get(f"/sign-offs/{row.pk}/").content.decode()
    answer = as_alice.get(path)
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer["Content-Security-Policy"]
    assert as_charlie.get(path).status_code == 404
    assert Browser().get(path).status_code == 302
    next(one for one in folder.rglob("*") if one.is_file()).unlink()
    assert as_alice.get(path).status_code == 404
    drawing = sign_off_ask(commission=job, kind="drawing", member=maker)
    assert as_alice.get(f"/sign-offs/{drawing.pk}/photo/").status_code == 404


def test_a_change_is_priced_and_put_to_the_client(as_alice: Browser, job: Commission) -> None:
    """The page names what differs and what it comes to, and offers that figure."""
    path = f"/jobs/{job.pk}/changes/new/"
    assert "issue a revision" in as_alice.get(path).content.decode()
    accepted(job)
    assert "The design is as it was agreed" in as_alice.get(path).content.decode()
    thicker(job, "12.0")
    answer = as_alice.get(path)
    page = answer.content.decode()
    proposal, form = answer.context["proposal"], answer.context["form"]
    assert "layer thickness of band 1 (wall): 9.93 mm, now 12 mm" in page
    assert f"${proposal.amount:,.2f}" in page
    typed = {name: form[name].value() for name in ("amount", "seen")}
    sent = {**typed, "title": MARKUP, "days": "3", "with_drawing": "on"}
    page = as_alice.post(path, sent, follow=True).content.decode()
    change = ChangeOrder.objects.get()
    assert (change.amount, change.days) == (proposal.amount, 3)
    assert change.drawing
    assert ESCAPED in page
    assert MARKUP not in page
    assert "It is ready 3 days later." in page


def test_a_change_in_words_goes_without_the_drawing(as_alice: Browser, job: Commission) -> None:
    """Where the box is not ticked, and where nothing differs."""
    accepted(job)
    path = f"/jobs/{job.pk}/changes/new/"
    as_alice.post(path, {"title": "A box for it", "amount": "40"})
    change = ChangeOrder.objects.get()
    assert (change.amount, change.drawing, change.sheet) == (Decimal(40), "", {})


def test_a_refused_change_keeps_what_was_typed(as_alice: Browser, job: Commission) -> None:
    """No amount, an odd one, a day that has passed, and a design that was changed meanwhile."""
    accepted(job)
    path = f"/jobs/{job.pk}/changes/new/"
    past = timezone.localdate() - datetime.timedelta(days=1)
    for wrong in (
        {"amount": ""},
        {"amount": "1.005"},
        {"amount": "40", "valid_until": past},
        {"amount": "x"},
    ):
        answer = as_alice.post(path, {"title": "A box for it", "words": "Of oak.", **wrong})
        assert answer.status_code == 400
        assert "A box for it" in answer.content.decode()
        assert "Of oak." in answer.content.decode()
    thicker(job, "12.0")
    seen = as_alice.get(path).context["proposal"].mark
    thicker(job, "13.0")
    sent = {"title": "Taller", "amount": "10", "seen": seen, "with_drawing": "on"}
    answer = as_alice.post(path, sent)
    assert answer.status_code == 400
    assert "has been changed since this page was opened" in answer.content.decode()
    assert not ChangeOrder.objects.exists()


def test_a_change_is_agreed_to_or_taken_back(as_alice: Browser, job: Commission, maker: Member) -> None:
    """Taken down by the maker, once."""
    accepted(job)
    change = change_ask(commission=job, title="A box", amount=Decimal(40), member=maker)
    act = f"/changes/{change.pk}/act/"
    assert as_alice.post(act, {"act": "agreed"}).status_code == 400
    page = as_alice.post(act, {"act": "withdraw", "words": "A cheaper box."}, follow=True).content.decode()
    assert "A cheaper box." in page
    change.refresh_from_db()
    assert change.answer == "withdrawn"
    assert as_alice.post(act, {"act": "agreed", "name": NAME}).status_code == 400


def test_outsiders_find_nothing(as_charlie: Browser, job: Commission, maker: Member) -> None:
    """Another studio's maker, at every address, whatever is sent."""
    accepted(job)
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    change = change_ask(commission=job, title="A box", amount=Decimal(40), member=maker)
    pages = (
        f"/jobs/{job.pk}/sign-offs/new/",
        f"/jobs/{job.pk}/changes/new/",
        f"/sign-offs/{row.pk}/",
        f"/changes/{change.pk}/",
    )
    for path in pages:
        assert as_charlie.get(path).status_code == 404
        assert Browser().get(path).status_code == 302
    for path in (f"/sign-offs/{row.pk}/act/", f"/changes/{change.pk}/act/"):
        assert as_charlie.post(path, {"act": "agreed", "name": NAME}).status_code == 404
        assert as_charlie.get(path).status_code == 405
    assert as_charlie.post(pages[0], {"kind": "chip", "words": "Oil."}).status_code == 404
    assert SignOff.objects.get().is_waiting
    assert ChangeOrder.objects.get().is_waiting


def test_the_cut_page_says_what_is_unsigned(as_alice: Browser, job: Commission, maker: Member) -> None:
    """While the drawing waits, and where the design differs from what was signed; silent once it is signed."""
    path = f"/jobs/{job.pk}/cut/"
    assert "waits to be signed" not in as_alice.get(path).content.decode()
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    assert "The drawing waits to be signed." in as_alice.get(path).content.decode()
    as_alice.post(f"/sign-offs/{row.pk}/act/", {"act": "agreed", "name": NAME})
    assert "waits to be signed" not in as_alice.get(path).content.decode()
    thicker(job, "10.0")
    page = as_alice.get(path).content.decode()
    assert "price the change" in page
    assert "layer thickness of band 1 (wall): 9.93 mm, now 10 mm" in page
    assert f"/jobs/{job.pk}/changes/new/" in page


def test_making_what_is_unsigned_takes_a_second_press(
    as_alice: Browser, job: Commission, maker: Member
) -> None:
    """Asked once more, never forbidden; asked nothing where all is signed."""
    accepted(job)
    sign_off_ask(commission=job, kind="chip", words="Oil.", member=maker)
    move = f"/jobs/{job.pk}/move/"
    answer = as_alice.post(move, {"to": "making"})
    assert answer.status_code == 409
    assert "The colour chip waits to be signed." in answer.content.decode()
    assert 'name="anyway"' in answer.content.decode()
    job.refresh_from_db()
    assert job.stage == "agreed"
    as_alice.post(move, {"to": "making", "anyway": "yes"})
    job.refresh_from_db()
    assert job.stage == "making"


def test_making_what_is_signed_takes_one(as_alice: Browser, job: Commission, maker: Member) -> None:
    """A change that was agreed to is signed as well."""
    accepted(job)
    thicker(job, "12.0")
    change = change_ask(commission=job, title="Taller", member=maker)
    change_answer(change=change, agreed=True, name=NAME, member=maker)
    as_alice.post(f"/jobs/{job.pk}/move/", {"to": "making"})
    job.refresh_from_db()
    assert job.stage == "making"
