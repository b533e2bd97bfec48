"""Letters go out once what they are about is saved, are kept with what became of them, and hide nothing in a header."""

import datetime
from email.header import decode_header, make_header
from email.utils import parseaddr
from typing import Any

import pytest
from django.core import mail
from django.core.exceptions import ValidationError
from django.core.mail.backends.locmem import EmailBackend
from django.db import transaction
from django.utils import timezone

from projects import mailing
from projects.models import Commission, Letter, Studio
from projects.services.letters import not_sent, send_again, write
from tests.factories import ClientFactory, CommissionFactory, MemberFactory, QuoteFactory
from tests.factories_papers import IssuedPaperFactory, LetterFactory, SignOffFactory
from tests.projects.owing import accepted

TO = "perpetua@sash.example"
LINK = "/c/abc/"


class BrokenBackend(EmailBackend):
    """A mail server that takes nothing."""

    def send_messages(self, messages: Any) -> int:
        raise ConnectionRefusedError(111, "Connection refused\nBcc: x@example.com")


BROKEN = f"{__name__}.BrokenBackend"


@pytest.fixture
def job(studio: Studio) -> Commission:
    studio.email = "hello@ferngully.example"
    studio.save()
    client = ClientFactory(studio=studio, name="Sash & Sill", contact="Perpetua Lorn", email=TO)
    return CommissionFactory(studio=studio, client=client, title="Bowl <b> & lid")


def written(job: Commission, kind: str = "question", *, to: str = TO, **context: Any) -> Letter:
    letter = write(commission=job, to=to, kind=kind, context={"words": "Is oak & ash possible?", **context})
    assert letter is not None
    return letter


# --- when they go out ---------------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_a_letter_goes_out_after_the_commit_and_not_before(
    job: Commission, django_capture_on_commit_callbacks: Any
) -> None:
    with django_capture_on_commit_callbacks() as waiting:
        letter = written(job)
        assert (letter.state, mail.outbox) == ("waiting", [])
    for send in waiting:
        send()
    letter.refresh_from_db()
    assert letter.state == "sent"
    assert letter.sent_at is not None
    assert [message.to for message in mail.outbox] == [[TO]]


@pytest.mark.django_db(transaction=True)
def test_what_is_undone_sends_nothing() -> None:
    job = CommissionFactory()

    @transaction.atomic
    def accept() -> None:
        written(job)
        raise RuntimeError("the acceptance could not be saved")

    with pytest.raises(RuntimeError):
        accept()
    assert (mail.outbox, Letter.objects.count()) == ([], 0)
    written(job)
    assert len(mail.outbox) == 1


@pytest.mark.django_db(transaction=True)
def test_a_mail_server_that_fails_undoes_nothing_and_is_kept_with_the_letter(settings: Any) -> None:
    settings.EMAIL_BACKEND = BROKEN
    job = CommissionFactory()
    with transaction.atomic():
        letter = written(job)
        job.title = "Saved all the same"
        job.save()
    letter.refresh_from_db()
    job.refresh_from_db()
    assert (letter.state, letter.trouble) == (
        "failed",
        "[Errno 111] Connection refused Bcc: x@example.com",
    )
    assert (job.title, letter.sent_at) == ("Saved all the same", None)


@pytest.mark.django_db(transaction=True)
def test_a_letter_that_failed_is_sent_again_as_it_was_written(settings: Any) -> None:
    settings.EMAIL_BACKEND = BROKEN
    job = CommissionFactory()
    letter = written(job)
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    job.title = "Another title"
    job.save()
    send_again(letter=letter)
    was = letter.body
    letter.refresh_from_db()
    assert (letter.state, letter.trouble, letter.body) == ("sent", "", was)
    assert mail.outbox[0].body == was
    with pytest.raises(ValidationError, match="has gone"):
        send_again(letter=letter)
    assert len(mail.outbox) == 1


@pytest.mark.django_db
def test_a_letter_left_lying_may_be_sent_again_and_one_on_its_way_not(job: Commission) -> None:
    now = timezone.now()
    for minutes, may in [(1, False), (11, True)]:
        letter = LetterFactory(commission=job, written_at=now - datetime.timedelta(minutes=minutes))
        assert Letter.objects.filter(not_sent(now=now), pk=letter.pk).exists() is may
    with pytest.raises(ValidationError, match="on its way"):
        send_again(letter=LetterFactory(commission=job))
    send_again(letter=letter)  # tried again just now: a second press sends no second one
    with pytest.raises(ValidationError, match="on its way"):
        send_again(letter=letter)


# --- to whom ------------------------------------------------------------------------------------------------------


@pytest.mark.django_db
@pytest.mark.parametrize("to", ["", "  "])
def test_no_letter_is_written_to_nobody(job: Commission, to: str) -> None:
    assert write(commission=job, to=to, kind="question", context={}) is None
    assert not Letter.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    "to", ["a@example.com\nBcc: b@example.com", "a@example.com, b@example.com", "nobody", "a@b\r\n"]
)
def test_what_is_no_single_address_is_refused(job: Commission, to: str) -> None:
    with pytest.raises(ValidationError) as refusal:
        write(commission=job, to=to, kind="question", context={})
    assert "to" in refusal.value.message_dict
    assert not Letter.objects.exists()


@pytest.mark.django_db
def test_nothing_typed_becomes_a_header(job: Commission, django_capture_on_commit_callbacks: Any) -> None:
    Commission.objects.filter(pk=job.pk).update(title="Bowl\r\nBcc: everyone@example.com")
    Studio.objects.filter(pk=job.studio_id).update(name='Fern\n"Gully", Ltd\r\nCc: all@example.com')
    with django_capture_on_commit_callbacks(execute=True):
        written(Commission.objects.get(pk=job.pk))
    (message,) = mail.outbox
    sent = message.message()
    assert sent["Subject"] == "A question on Bowl Bcc: everyone@example.com"
    assert {name.lower() for name in sent} & {"bcc", "cc"} == set()
    assert message.recipients() == [TO]


@pytest.mark.django_db
@pytest.mark.parametrize("setting", ["bowls@lathe.example", "Bowls <bowls@lathe.example>"])
def test_a_letter_comes_from_the_studio_by_name(
    job: Commission, settings: Any, setting: str, django_capture_on_commit_callbacks: Any
) -> None:
    settings.DEFAULT_FROM_EMAIL = setting
    Studio.objects.filter(pk=job.studio_id).update(name="Müller & Søn, Dreher")
    with django_capture_on_commit_callbacks(execute=True):
        written(Commission.objects.get(pk=job.pk))
    sender = mail.outbox[0].message()["From"]
    assert parseaddr(sender)[1] == "bowls@lathe.example"
    assert str(make_header(decode_header(sender))).startswith("Müller & Søn, Dreher <")


@pytest.mark.django_db
def test_an_answer_goes_to_the_studio(job: Commission, django_capture_on_commit_callbacks: Any) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        written(job)
        written(job, to=job.studio.email)
    assert [message.reply_to for message in mail.outbox] == [["hello@ferngully.example"], []]


# --- what they say ------------------------------------------------------------------------------------------------


@pytest.mark.django_db
@pytest.mark.parametrize("kind", mailing.KINDS)
def test_every_letter_is_plain_names_the_piece_and_carries_the_address(
    job: Commission, settings: Any, kind: str
) -> None:
    settings.SITE_ADDRESS = "https://lathe.example"
    quote = accepted(job.studio)
    about = {
        "link": LINK,
        "quote": quote,
        "name": "P. Lorn & Co",
        "option": "in cherry",
        "sign_off": SignOffFactory(commission=job),
        "paper": IssuedPaperFactory(commission=job),
        "lines": ["Agreed: €1,200.00"],
    }
    letter = written(job, kind, **about)
    assert "Bowl <b> & lid" in letter.body
    assert "https://lathe.example/c/abc/" in letter.body
    assert "&amp;" not in letter.subject + letter.body
    assert "{" not in letter.body
    assert "\n" not in letter.subject
    assert "\n\n\n" not in letter.body, "empty lines stand alone"
    if kind != "accepted":
        assert "Is oak & ash possible?" in letter.body or kind in ("quote",)
    if kind not in mailing.TO_STUDIO:
        assert letter.body.startswith("Hello Perpetua Lorn,\n")
        assert letter.body.endswith(f"With kind regards\n{job.studio.name}\n")


@pytest.mark.django_db
def test_an_acceptance_is_told_to_each_in_their_own_words(job: Commission) -> None:
    quote = accepted(job.studio)
    theirs = written(job, "accepted", quote=quote, name="P. Lorn")
    ours = written(job, "accepted", to=job.studio.email, quote=quote, name="P. Lorn")
    assert theirs.subject == "Thank you: quote 2027-001 is accepted"
    assert ours.subject == "Accepted: Bowl <b> & lid, quote 2027-001"
    assert "P. Lorn has accepted quote 2027-001" in ours.body


@pytest.mark.django_db
def test_a_subject_is_cut_to_its_length(job: Commission) -> None:
    job.title = "x" * 160
    letter = written(job, "declined", quote=QuoteFactory(commission=job))
    assert len(letter.subject) <= 200


@pytest.mark.django_db
def test_an_unknown_kind_is_the_program_s_own_mistake(job: Commission) -> None:
    with pytest.raises(ValueError, match="no such letter"):
        written(job, "../jobs/job")


# --- what goes with them ------------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_papers_go_with_a_letter(job: Commission, django_capture_on_commit_callbacks: Any) -> None:
    paper = IssuedPaperFactory(commission=job, number="R-2027-004", pdf=b"%PDF-1.7 request")
    rows = [{"kind": "paper", "id": paper.pk}]
    with django_capture_on_commit_callbacks(execute=True):
        write(commission=job, to=TO, kind="request", context={"paper": paper}, attachments=rows,
              member=MemberFactory(studio=job.studio))  # fmt: skip
    (message,) = mail.outbox
    assert [(a[0], a[2]) for a in message.attachments] == [("R-2027-004.pdf", "application/pdf")]
    assert message.attachments[0][1] == b"%PDF-1.7 request"


@pytest.mark.django_db
@pytest.mark.parametrize("kind", ["paper", "quote_client", "letter", ""])
def test_another_commission_s_paper_never_goes_with_a_letter(job: Commission, kind: str) -> None:
    other = IssuedPaperFactory(commission=CommissionFactory(studio=job.studio))
    with pytest.raises(ValidationError) as refusal:
        write(commission=job, to=TO, kind="request", context={}, attachments=[{"kind": kind, "id": other.pk}])
    assert "attachments" in refusal.value.message_dict


@pytest.mark.django_db
def test_a_quote_s_copies_are_told_apart(job: Commission, django_capture_on_commit_callbacks: Any) -> None:
    quote = accepted(job.studio)
    rows = [{"kind": "quote_client", "id": quote.pk}, {"kind": "quote_trade", "id": quote.pk}]
    with django_capture_on_commit_callbacks(execute=True):
        write(commission=quote.commission, to=TO, kind="quote", context={"quote": quote}, attachments=rows)
    names = [attachment[0] for attachment in mail.outbox[0].attachments]
    assert names == ["2027-001A-client.pdf", "2027-001A-trade.pdf"]
