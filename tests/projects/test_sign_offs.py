"""Sign-offs: frozen as they are shown, answered once, by the client or for them; photos as bare pictures."""

import hashlib
import io
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from projects.agreed import agreed_piece, drawing_state
from projects.design_differs import fingerprint
from projects.models import Commission, Letter, Member, SignOff, Studio
from projects.services.sign_offs import sign_off_answer, sign_off_ask, sign_off_withdraw
from tests.agreements import NAME, link_of, private_job, thicker
from tests.factories import CommissionFactory, MemberFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> Path:
    """Photos of a test are kept in a folder of its own."""
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A piece for somebody's home."""
    return private_job(studio)


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice."""
    return alice.member


def photo(size: tuple[int, int] = (200, 100), **more: Any) -> SimpleUploadedFile:
    """A photo as a telephone sends it."""
    held = io.BytesIO()
    Image.new("RGB", size, "peru").save(held, "JPEG", **more)
    return SimpleUploadedFile("photo.jpg", held.getvalue())


def refused(doing: Any, **values: Any) -> ValidationError:
    """What a service refuses with."""
    with pytest.raises(ValidationError) as refusal:
        doing(**values)
    return refusal.value


def test_a_drawing_is_frozen_with_its_sheet(job: Commission, maker: Member) -> None:
    """What was shown stays as it was when the design goes on, and the text ties both together."""
    row = sign_off_ask(commission=job, kind="drawing", words="Look at the rim.", member=maker)
    stored, sheet = SignOff.objects.get(pk=row.pk), row.sheet
    assert stored.drawing.startswith("<svg")
    assert stored.sheet["bands"][0]["thickness"] == 9.93
    assert stored.sheet["finish"]["name"] == "Varnish"
    assert stored.sha256 == hashlib.sha256(stored.text.encode()).hexdigest()
    for said in (
        "Tall pot",
        "Perpetua Lorn",
        "Look at the rim.",
        "100 mm high, 120 mm across",
        "hard maple (Acer saccharum)",
        "Varnish, 5 coats",
        hashlib.sha256(stored.drawing.encode()).hexdigest(),
        fingerprint(sheet),
    ):
        assert said in stored.text
    thicker(job)
    stored.refresh_from_db()
    assert stored.sheet == sheet


def test_the_client_signs_it_and_it_counts(job: Commission, maker: Member) -> None:
    """By the private page, with a typed name and its time; the studio's row of it cannot be changed after."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    link = link_of(job)
    signed = sign_off_answer(sign_off=row, agreed=True, name=f" {NAME} ", link=link)
    assert (signed.answer, signed.answered_name, signed.answered_by_link, signed.answered_by) == (
        "agreed",
        NAME,
        link,
        None,
    )
    assert signed.answered_at >= signed.asked_at
    assert agreed_piece(job).is_signed
    assert drawing_state(job).is_quiet
    signed.words = "Something else."
    with pytest.raises(ValidationError):
        signed.save()


def test_it_is_answered_once(job: Commission, maker: Member) -> None:
    """A second answer, of whatever kind, changes nothing."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    link = link_of(job)
    sign_off_answer(sign_off=row, agreed=False, words="A wider foot, please.", link=link)
    for again in (
        lambda: sign_off_answer(sign_off=row, agreed=True, name=NAME, link=link),
        lambda: sign_off_withdraw(sign_off=row, member=maker),
    ):
        assert refused(again).code == "answered"
    assert SignOff.objects.get(pk=row.pk).answered_words == "A wider foot, please."


def test_an_agreement_has_a_name_and_a_refusal_words(job: Commission, maker: Member) -> None:
    """Whoever gives it."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    link = link_of(job)
    assert "name" in refused(sign_off_answer, sign_off=row, agreed=True, name=" ", link=link).message_dict
    assert "name" in refused(sign_off_answer, sign_off=row, agreed=True, member=maker).message_dict
    assert "words" in refused(sign_off_answer, sign_off=row, agreed=False, link=link).message_dict
    assert (
        "name" in refused(sign_off_answer, sign_off=row, agreed=True, name="x" * 121, link=link).message_dict
    )
    assert SignOff.objects.get(pk=row.pk).is_waiting
    taken = sign_off_answer(sign_off=row, agreed=True, name=NAME, member=maker)
    assert taken.answered_by == maker


def test_nobody_answers_for_another_commission_or_studio(job: Commission, maker: Member) -> None:
    """Another commission's address, another studio's member, both or neither."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    other = link_of(CommissionFactory(studio=job.studio))
    refused(sign_off_answer, sign_off=row, agreed=True, name=NAME, link=other)
    refused(sign_off_answer, sign_off=row, agreed=True, name=NAME, member=MemberFactory())
    for who in ({}, {"link": link_of(job), "member": maker}):
        with pytest.raises(TypeError):
            sign_off_answer(sign_off=row, agreed=True, name=NAME, **who)
    assert SignOff.objects.get(pk=row.pk).is_waiting


def test_one_of_a_kind_waits_and_what_is_signed_is_not_asked_again(job: Commission, maker: Member) -> None:
    """A chip may wait beside a drawing; a drawing signed already may not be asked for as long as it is the same."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    refused(sign_off_ask, commission=job, kind="drawing", member=maker)
    sign_off_ask(commission=job, kind="chip", words="Oil on walnut.", member=maker)
    sign_off_answer(sign_off=row, agreed=True, name=NAME, member=maker)
    assert "kind" in refused(sign_off_ask, commission=job, kind="drawing", member=maker).message_dict
    thicker(job)
    assert sign_off_ask(commission=job, kind="drawing", member=maker).is_waiting


def test_a_withdrawn_one_makes_room(job: Commission, maker: Member) -> None:
    """It stays, and another is asked."""
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    withdrawn = sign_off_withdraw(sign_off=row, member=maker, words="Sent too early.")
    assert (withdrawn.answer, withdrawn.answered_by) == ("withdrawn", maker)
    assert sign_off_ask(commission=job, kind="drawing", member=maker).pk != row.pk


def test_a_design_that_cannot_be_worked_out_is_not_put_to_the_client(job: Commission, maker: Member) -> None:
    """And nothing is kept of it; nor is one that is not there, nor of what is delivered."""
    form = job.design.parts.get().form
    form.outer = [[0, 60], [400, 60]]
    form.save()
    assert "design" in refused(sign_off_ask, commission=job, kind="drawing", member=maker).message_dict
    job.design = None
    job.save()
    assert "design" in refused(sign_off_ask, commission=job, kind="drawing", member=maker).message_dict
    Commission.objects.filter(pk=job.pk).update(stage="delivered")
    refused(sign_off_ask, commission=job, kind="chip", words="Oil.", member=maker)
    assert not SignOff.objects.exists()


def test_a_sample_s_photo_is_the_bare_picture(job: Commission, maker: Member, folder: Path) -> None:
    """Drawn anew without what the camera wrote, under its studio, and named by its hash in the text."""
    exif = Image.Exif()
    exif[0x010F] = "Telephone maker"
    row = sign_off_ask(commission=job, kind="chip", photo=photo(exif=exif), member=maker)
    kept = row.photo.read()
    assert b"Telephone" not in kept
    assert hashlib.sha256(kept).hexdigest() in row.text
    (file,) = [one for one in folder.rglob("*") if one.is_file()]
    assert file.parent == folder / "samples" / str(job.studio_id)
    assert not row.sheet


def test_a_refused_sample_keeps_no_file(job: Commission, maker: Member, folder: Path) -> None:
    """What is no photo, what says nothing at all, and a second that has to wait."""
    bad = SimpleUploadedFile("photo.jpg", b"<script>")
    assert "photo" in refused(sign_off_ask, commission=job, kind="chip", photo=bad, member=maker).message_dict
    assert "words" in refused(sign_off_ask, commission=job, kind="ring", member=maker).message_dict
    sign_off_ask(commission=job, kind="chip", words="Oil.", member=maker)
    refused(sign_off_ask, commission=job, kind="chip", photo=photo(), member=maker)
    assert [one for one in folder.rglob("*") if one.is_file()] == []
    assert (
        "kind" in refused(sign_off_ask, commission=job, kind="song", words="La.", member=maker).message_dict
    )


def test_letters_go_out_and_come_back(
    job: Commission, maker: Member, mailoutbox: list[Any], django_capture_on_commit_callbacks: Any
) -> None:
    """The client hears of it with the address of the page; the studio of the answer, but not of its own."""
    job.studio.email = "studio@example.com"
    job.studio.save()
    link = link_of(job)
    with django_capture_on_commit_callbacks(execute=True):
        row = sign_off_ask(commission=job, kind="drawing", words="Look at the rim.", member=maker)
        sign_off_answer(sign_off=row, agreed=True, name=NAME, words="Lovely.", link=link)
        chip = sign_off_ask(commission=job, kind="chip", words="Oil.", member=maker)
        sign_off_answer(sign_off=chip, agreed=True, name=NAME, member=maker)
    to = [letter.to for letter in Letter.objects.order_by("pk")]
    assert to == ["perpetua@example.com", "studio@example.com", "perpetua@example.com"]
    assert [one.to for one in mailoutbox] == [[one] for one in to]
    first, answered = mailoutbox[0], mailoutbox[1]
    assert "Look at the rim." in first.body
    assert "/c/" in first.body
    assert f"{NAME} has signed off the drawing" in answered.body
    assert f"/jobs/{job.pk}/" in answered.body
