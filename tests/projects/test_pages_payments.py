"""Money's pages: payments are taken down and struck, statements read and mailed, and nobody else's are seen."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core import mail
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from projects.models import Commission, IssuedPaper, Letter, Payment, Studio
from projects.services.payments import payment_strike, payment_take
from tests.factories import CommissionFactory
from tests.factories_papers import IssuedPaperFactory, LetterFactory, PaymentFactory
from tests.projects.owing import accepted

pytestmark = pytest.mark.django_db
DAY = datetime.timedelta(days=1)
FIVE_HUNDRED = Decimal(500)


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A commission over 1,200.00 euros."""
    found: Commission = accepted(studio).commission
    found.title, found.client.name, found.client.email = (
        "Harbour <b>bowl",
        "Row & Sons",
        "row@harbour.example",
    )
    found.save()
    found.client.save()
    return found


@pytest.fixture
def late_request(job: Commission) -> IssuedPaper:
    """500.00 that were due three days ago."""
    return IssuedPaperFactory(commission=job, number="D-2027-001", due_on=timezone.localdate() - 3 * DAY)


def given(**changes: Any) -> dict[str, Any]:
    today = timezone.localdate().isoformat()
    return {"way": "in", "amount": "€500.00", "paid_on": today, "by": "transfer", **changes}


def page(browser: Browser, path: str) -> str:
    answer = browser.get(path)
    assert answer.status_code == 200
    return answer.content.decode()


# --- a payment ----------------------------------------------------------------------------------------------------


def test_a_payment_is_taken_down(as_bob: Browser, job: Commission, late_request: IssuedPaper) -> None:
    typed = given(paper=late_request.pk, reference="<i>77</i>", note="came by post")
    answer = as_bob.post(f"/jobs/{job.pk}/payments/new/", typed)
    assert answer["Location"] == f"/jobs/{job.pk}/#money"
    made = Payment.objects.get()
    assert (made.amount, made.paper, str(made.member)) == (500, late_request, "bob")
    shown = page(as_bob, f"/jobs/{job.pk}/")
    assert "<strong>€700.00</strong> still to be paid of €1,200.00" in shown
    assert "&lt;i&gt;77&lt;/i&gt;, came by post" in shown


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"amount": "0.001"}, "EUR has 2 decimals"),
        ({"amount": "-5"}, "at least"),
        ({"amount": "a lot"}, "Enter a number"),
        ({"amount": ""}, "required"),
        ({"paid_on": "2999-01-01"}, "still to come"),
        ({"way": "back"}, "More would go back than came in"),
        ({"by": "barter"}, "not one of the available choices"),
    ],
)
def test_a_wrong_payment_changes_nothing_and_keeps_what_was_typed(
    as_alice: Browser, job: Commission, wrong: dict[str, str], says: str
) -> None:
    answer = as_alice.post(f"/jobs/{job.pk}/payments/new/", given(reference="no. <b>12", **wrong))
    shown = answer.content.decode()
    assert answer.status_code == 400
    assert says in shown
    assert 'value="no. &lt;b&gt;12"' in shown
    assert not Payment.objects.exists()


def test_a_payment_that_is_there_is_asked_about_and_taken_down_when_ticked(
    as_alice: Browser, job: Commission
) -> None:
    place = f"/jobs/{job.pk}/payments/new/"
    assert 'name="again"' not in page(as_alice, place)
    as_alice.post(place, given())
    asked = as_alice.post(place, given())
    assert asked.status_code == 400
    assert 'name="again"' in asked.content.decode()
    assert Payment.objects.count() == 1
    assert as_alice.post(place, given(again="on")).status_code == 302
    assert Payment.objects.count() == 2


def test_a_paper_of_another_studio_cannot_be_named(
    as_alice: Browser, job: Commission, other_studio: Studio
) -> None:
    stranger = IssuedPaperFactory(commission=CommissionFactory(studio=other_studio), number="STRANGE-1")
    place = f"/jobs/{job.pk}/payments/new/"
    assert "STRANGE-1" not in page(as_alice, place)
    assert as_alice.post(place, given(paper=stranger.pk)).status_code == 400
    assert not Payment.objects.exists()


def test_a_payment_is_struck_with_a_reason(as_alice: Browser, job: Commission) -> None:
    made = payment_take(commission=job, amount=FIVE_HUNDRED)
    place = f"/payments/{made.pk}/strike/"
    assert "Strike a payment" in page(as_alice, place)
    refused = as_alice.post(place, {"struck_why": " "})
    assert refused.status_code == 400
    made.refresh_from_db()
    assert made.struck_at is None
    as_alice.post(place, {"struck_why": "it <b>bounced"})
    shown = page(as_alice, f"/jobs/{job.pk}/")
    assert "<s>€500.00</s>" in shown
    assert "by alice: it &lt;b&gt;bounced" in shown
    assert "<strong>€1,200.00</strong> still to be paid" in shown
    assert as_alice.post(place, {"struck_why": "again"}).status_code == 400
    assert "It was struck on" in page(as_alice, place)


def test_an_outsider_comes_to_none_of_it(
    as_charlie: Browser, job: Commission, late_request: IssuedPaper
) -> None:
    made = payment_take(commission=job, amount=FIVE_HUNDRED)
    letter = LetterFactory(commission=job, state="failed")
    for path in (
        f"/jobs/{job.pk}/payments/new/",
        f"/payments/{made.pk}/strike/",
        f"/jobs/{job.pk}/statement/",
    ):
        assert as_charlie.get(path).status_code == 404
    posts = {
        f"/jobs/{job.pk}/payments/new/": given(),
        f"/payments/{made.pk}/strike/": {"struck_why": "mischief"},
        f"/jobs/{job.pk}/statement/send/": {},
        f"/requests/{late_request.pk}/send/": {},
        f"/letters/{letter.pk}/again/": {},
    }
    for path, typed in posts.items():
        assert as_charlie.post(path, typed).status_code == 404
    assert (Payment.objects.count(), Letter.objects.count(), mail.outbox) == (1, 1, [])
    shown = page(as_charlie, "/money/")
    assert "Nothing is owed" in shown
    assert "Harbour" not in shown


# --- what is owed -------------------------------------------------------------------------------------------------


def test_money_says_what_is_owed_by_whom_the_latest_first(
    as_alice: Browser, job: Commission, late_request: IssuedPaper
) -> None:
    early = accepted(job.studio, number="2027-002").commission
    early.client.name = "Aardvark Hall"
    early.client.save()
    IssuedPaperFactory(commission=early)
    shown = page(as_alice, "/money/")
    assert "<strong>€2,400.00</strong> still to be paid to you" in shown
    assert '<strong class="overdue">€500.00</strong> of it overdue' in shown
    assert "Harbour &lt;b&gt;bowl" in shown
    assert shown.index("Row &amp; Sons") < shown.index("Aardvark Hall")


def test_what_is_paid_is_settled_and_what_is_paid_twice_is_owed_back(
    as_alice: Browser, job: Commission
) -> None:
    payment_take(commission=job, amount=Decimal(1200))
    assert "Everything is paid." in page(as_alice, "/money/")
    payment_take(commission=job, amount=Decimal(30))
    shown = page(as_alice, "/money/")
    assert "You owe <strong>€30.00</strong> back" in shown
    assert "You owe <strong>€30.00</strong> back" in page(as_alice, f"/jobs/{job.pk}/")


def test_money_asks_the_database_no_more_for_six_commissions_than_for_one(
    as_alice: Browser, studio: Studio
) -> None:
    def owing(number: int) -> None:
        row = accepted(studio, number=f"2027-{number:03}").commission
        PaymentFactory(commission=row, paper=IssuedPaperFactory(commission=row))

    owing(1)
    with CaptureQueriesContext(connection) as for_one:
        page(as_alice, "/money/")
    for number in range(2, 7):
        owing(number)
    with CaptureQueriesContext(connection) as for_six:
        page(as_alice, "/money/")
    assert len(for_six) == len(for_one)


def test_the_job_list_and_the_job_say_what_is_overdue(
    as_alice: Browser, job: Commission, late_request: IssuedPaper
) -> None:
    assert '<span class="overdue">payment overdue</span>' in page(as_alice, "/")
    shown = page(as_alice, f"/jobs/{job.pk}/")
    assert '<strong class="overdue">€500.00 overdue</strong> since' in shown
    payment_take(commission=job, amount=FIVE_HUNDRED)
    assert "overdue" not in page(as_alice, "/")


# --- the statement and letters ------------------------------------------------------------------------------------


def test_a_statement_shows_what_counts_and_adds_up(
    as_alice: Browser, job: Commission, late_request: IssuedPaper
) -> None:
    payment_take(commission=job, amount=Decimal(200), paper=late_request, note="for us alone")
    payment_strike(payment=payment_take(commission=job, amount=Decimal(77)), why="typed wrongly")
    shown = page(as_alice, f"/jobs/{job.pk}/statement/")
    assert "Harbour &lt;b&gt;bowl" in shown
    for figure in ("€1,200.00", "€500.00", "−€200.00", "€1,000.00", "€300.00 of it overdue"):
        assert figure in shown
    for kept in ("for us alone", "€77.00", "typed wrongly", "an hour"):
        assert kept not in shown


def test_a_statement_is_mailed(
    as_alice: Browser, job: Commission, late_request: IssuedPaper, django_capture_on_commit_callbacks: Any
) -> None:
    payment_take(commission=job, amount=Decimal(200))
    with django_capture_on_commit_callbacks(execute=True):
        answer = as_alice.post(f"/jobs/{job.pk}/statement/send/", {"words": "Thank you & see you."})
    assert answer["Location"] == f"/jobs/{job.pk}/#letters"
    (message,) = mail.outbox
    assert message.to == ["row@harbour.example"]
    due = f"{late_request.due_on:%-d %B %Y}"
    assert (
        "Agreed: €1,200.00\nReceived: €200.00\n"
        f"Open of deposit request D-2027-001: €300.00, due {due}, overdue\nStill to be paid: €1,000.00\n"
    ) in message.body
    assert "Thank you & see you." in message.body
    assert "How your payments stand" in page(as_alice, f"/jobs/{job.pk}/")


def test_without_an_address_nothing_is_mailed_and_the_pages_say_so(
    as_alice: Browser, job: Commission
) -> None:
    job.client.email = ""
    job.client.save()
    shown = page(as_alice, f"/jobs/{job.pk}/statement/")
    assert "Row &amp; Sons has no email address" in shown
    assert "no letter is written to them" in page(as_alice, f"/jobs/{job.pk}/")
    answer = as_alice.post(f"/jobs/{job.pk}/statement/send/", {}, follow=True)
    assert "There is no address to write to" in answer.content.decode()
    assert not Letter.objects.exists()


def test_a_late_request_is_reminded_of_with_its_paper(
    as_alice: Browser, job: Commission, late_request: IssuedPaper, django_capture_on_commit_callbacks: Any
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        as_alice.post(f"/requests/{late_request.pk}/send/", {})
    (message,) = mail.outbox
    assert message.subject == "A reminder: Deposit request D-2027-001, Harbour <b>bowl"
    assert "€500.00 was due on" in message.body
    assert message.attachments[0][0] == "D-2027-001.pdf"
    payment_take(commission=job, amount=FIVE_HUNDRED)
    answer = as_alice.post(f"/requests/{late_request.pk}/send/", {}, follow=True)
    assert "Nothing of this paper is open" in answer.content.decode()
    assert len(mail.outbox) == 1


def test_a_letter_that_failed_is_shown_and_sent_again(
    as_alice: Browser, job: Commission, django_capture_on_commit_callbacks: Any
) -> None:
    letter = LetterFactory(commission=job, state="failed", trouble="no <route> to host", body="Hello <b>")
    assert "A letter was not sent" in page(as_alice, "/")
    shown = page(as_alice, f"/jobs/{job.pk}/")
    assert "Not sent: no &lt;route&gt; to host" in shown
    assert "Hello &lt;b&gt;" in shown
    with django_capture_on_commit_callbacks(execute=True):
        as_alice.post(f"/letters/{letter.pk}/again/", {})
    letter.refresh_from_db()
    assert letter.state == "sent"
    assert "A letter was not sent" not in page(as_alice, "/")
    answer = as_alice.post(f"/letters/{letter.pk}/again/", {}, follow=True)
    assert "This letter has gone" in answer.content.decode()
