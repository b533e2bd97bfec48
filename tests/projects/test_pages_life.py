"""A quote's life on the maker's pages: what waits for whom, the private address, letters, answers, what was said."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from projects.models import ClientLink, Commission, Letter, Member, Quote, QuoteEvent, Studio
from projects.services.change_orders import change_ask
from projects.services.quote_life import quote_ask
from projects.services.quote_link import link_make, link_path
from projects.services.quotes import quote_draft, quote_issue
from projects.services.sign_offs import sign_off_answer, sign_off_ask
from tests.agreements import NAME, accepted, link_of, private_job, thicker
from tests.factories import CommissionFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("cheap_paper", "no_calendar")]
MARKUP = "<b>wide</b>"
ESCAPED = "&lt;b&gt;wide&lt;/b&gt;"


@pytest.fixture
def no_calendar(monkeypatch: Any) -> None:
    """An acceptance starts no search for days, which a process of its own would do."""
    from projects.services import quote_accept

    monkeypatch.setattr(quote_accept, "calendar_asked", lambda studio: None)


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A piece for somebody's home."""
    return private_job(studio)


@pytest.fixture
def quote(job: Commission) -> Quote:
    """Its quote, issued."""
    return quote_issue(quote=quote_draft(commission=job))


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice."""
    return alice.member


def test_an_address_is_made_shown_kept_and_revoked(as_alice: Browser, job: Commission, quote: Quote) -> None:
    """And opens the client's page while it may."""
    page = f"/jobs/{job.pk}/"
    assert "Make a private address" in as_alice.get(page).content.decode()
    as_alice.post(f"{page}link/")
    link = ClientLink.objects.get()
    path = link_path(link)
    assert f"http://testserver{path}" in as_alice.get(page).content.decode()
    assert Browser().get(path).status_code == 200
    day = timezone.localdate() + datetime.timedelta(days=90)
    as_alice.post(f"{page}link/keep/", {"link-expires_on": day.isoformat()})
    link.refresh_from_db()
    assert link.expires_on == day
    wrong = as_alice.post(f"{page}link/keep/", {"link-expires_on": "2020-01-01"})
    assert wrong.status_code == 400
    assert "This day has passed." in wrong.content.decode()
    as_alice.post(f"{page}link/revoke/")
    assert Browser().get(path).status_code == 404
    assert path not in as_alice.get(page).content.decode()
    assert as_alice.post(f"{page}link/keep/", {"link-expires_on": day.isoformat()}).status_code == 404


def test_a_quote_is_sent(as_alice: Browser, job: Commission, quote: Quote) -> None:
    """With its address; one that is no address is refused and the words stay."""
    path = f"/jobs/{job.pk}/send/"
    wrong = as_alice.post(path, {"send-to": "somewhere", "send-words": MARKUP})
    assert wrong.status_code == 400
    assert "This is no e-mail address." in wrong.content.decode()
    assert ESCAPED in wrong.content.decode()
    assert not Letter.objects.exists()
    as_alice.post(path, {"send-to": "perpetua@example.com", "send-words": "As we said."})
    letter = Letter.objects.get()
    assert letter.to == "perpetua@example.com"
    assert link_path(ClientLink.objects.get()) in letter.body
    assert "sent to perpetua@example.com" in as_alice.get(f"/jobs/{job.pk}/").content.decode()


def test_a_question_is_shown_and_answered(as_alice: Browser, job: Commission, quote: Quote) -> None:
    """It waits for the maker until it is answered; an empty answer is refused."""
    quote_ask(quote=quote, words=MARKUP, name=NAME, link=link_of(job))
    page = as_alice.get(f"/jobs/{job.pk}/").content.decode()
    assert "a question to answer" in page
    assert ESCAPED in page
    assert MARKUP not in page
    assert "a question" in as_alice.get("/").content.decode()
    path = f"/jobs/{job.pk}/answer/"
    assert as_alice.post(path, {"answer-words": " "}).status_code == 400
    as_alice.post(path, {"answer-words": "As wide as you like."})
    assert QuoteEvent.objects.get(what="answered").words == "As wide as you like."
    page = as_alice.get(f"/jobs/{job.pk}/").content.decode()
    assert "a question to answer" not in page
    assert "As wide as you like." in page


def test_what_was_said_by_telephone_is_taken_down(
    as_alice: Browser, job: Commission, quote: Quote, maker: Member
) -> None:
    """An acceptance has a name; the commission is agreed."""
    path = f"/jobs/{job.pk}/client-said/"
    assert "They accept" in as_alice.get(path).content.decode()
    for wrong in ({"agreed": "yes", "words": MARKUP}, {"name": NAME, "words": MARKUP}):
        answer = as_alice.post(path, wrong)
        assert answer.status_code == 400
        assert ESCAPED in answer.content.decode()
    assert not QuoteEvent.objects.exists()
    as_alice.post(path, {"agreed": "yes", "name": NAME, "words": "By telephone."})
    event = QuoteEvent.objects.get(what="accepted")
    assert (event.name, event.member, event.link) == (NAME, maker, None)
    job.refresh_from_db()
    assert job.stage == "agreed"
    page = as_alice.get(f"/jobs/{job.pk}/").content.decode()
    assert f"<b>{NAME}</b>" in page
    assert as_alice.post(path, {"agreed": "no"}).status_code == 400


def test_a_refusal_is_taken_down(as_alice: Browser, job: Commission, quote: Quote) -> None:
    """Without a name where none is given."""
    as_alice.post(f"/jobs/{job.pk}/client-said/", {"agreed": "no", "words": "Too dear."})
    assert QuoteEvent.objects.get(what="declined").words == "Too dear."


def test_a_quote_is_withdrawn_with_its_reason(as_alice: Browser, job: Commission) -> None:
    """An accepted one as well, and the commission goes back."""
    accepted(job)
    path = f"/jobs/{job.pk}/withdraw-quote/"
    assert as_alice.get(path).status_code == 200
    assert as_alice.post(path, {"words": ""}).status_code == 400
    as_alice.post(path, {"words": "The cherry has gone."})
    assert QuoteEvent.objects.get(what="withdrawn").words == "The cherry has gone."
    job.refresh_from_db()
    assert job.stage == "designing"


def test_what_waits_is_told_for_whom(as_alice: Browser, job: Commission, quote: Quote, maker: Member) -> None:
    """On the commission's page and on the list of jobs."""
    sign_off_ask(commission=job, kind="chip", words="Oil.", member=maker)
    for path in ("/", f"/jobs/{job.pk}/"):
        assert "colour chip to sign" in as_alice.get(path).content.decode()
    assert f"{quote.reference} issued" in as_alice.get("/").content.decode()
    page = as_alice.get(f"/jobs/{job.pk}/").content.decode()
    assert f"quote {quote.reference}, open until" in page


def test_a_design_that_differs_waits_for_the_maker(as_alice: Browser, job: Commission, maker: Member) -> None:
    """Until the change is priced; then it waits for the client."""
    accepted(job)
    thicker(job, "12.0")
    page = as_alice.get(f"/jobs/{job.pk}/").content.decode()
    assert "the design differs from what was agreed" in page
    change = change_ask(commission=job, title="A taller pot", member=maker)
    page = as_alice.get(f"/jobs/{job.pk}/").content.decode()
    assert "the design differs from what was agreed" not in page
    assert f"change {change.number}: A taller pot" in page


def test_what_happened_stands_in_order(
    as_alice: Browser, job: Commission, quote: Quote, maker: Member
) -> None:
    """The newest first, and by whom."""
    link = link_make(commission=job, member=maker)
    Browser().get(link_path(link))
    row = sign_off_ask(commission=job, kind="drawing", member=maker)
    sign_off_answer(sign_off=row, agreed=False, words="A wider foot.", link=link)
    told = [one.what for one in as_alice.get(f"/jobs/{job.pk}/").context["happened"]]
    assert told == [
        "drawing: refused",
        "drawing: put to the client",
        f"quote {quote.reference}: seen for the first time",
        "private address made",
        f"quote {quote.reference} issued",
    ]


def test_before_a_quote_there_is_nothing_to_do(as_alice: Browser, job: Commission) -> None:
    """The page says so, and what needs a quote is not there."""
    assert "No quote is issued yet" in as_alice.get(f"/jobs/{job.pk}/").content.decode()
    for path in ("send", "answer"):
        assert as_alice.post(f"/jobs/{job.pk}/{path}/", {}).status_code == 404
    for path in ("client-said", "withdraw-quote"):
        assert as_alice.get(f"/jobs/{job.pk}/{path}/").status_code == 404


def test_outsiders_find_nothing(as_charlie: Browser, job: Commission, quote: Quote) -> None:
    """At every address, whatever is sent."""
    link = link_of(job)
    sent = {
        "send-to": "c@example.com",
        "answer-words": "No.",
        "agreed": "yes",
        "name": NAME,
        "words": "Mine.",
        "link-expires_on": "2099-01-01",
    }
    for path in ("link", "link/keep", "link/revoke", "send", "answer", "client-said", "withdraw-quote"):
        assert as_charlie.post(f"/jobs/{job.pk}/{path}/", sent).status_code == 404
        assert Browser().post(f"/jobs/{job.pk}/{path}/", sent).status_code == 302
    assert not QuoteEvent.objects.exists()
    link.refresh_from_db()
    assert link.revoked_at is None
    assert ClientLink.objects.count() == 1


def test_the_list_asks_as_often_for_many_as_for_one(as_alice: Browser, studio: Studio, maker: Member) -> None:
    """Quotes, sign-offs and changes of one job or of four."""
    asked = []
    for more in (1, 3):
        for _ in range(more):
            job = CommissionFactory(studio=studio)
            accepted(job)
            sign_off_ask(commission=job, kind="chip", words="Oil.", member=maker)
            change_ask(commission=job, title="A box", amount=Decimal(40), member=maker)
        with CaptureQueriesContext(connection) as queries:
            page = as_alice.get("/").content.decode()
        asked.append(len(queries))
    assert asked[0] == asked[1]
    assert page.count("colour chip to sign") == page.count("change 1") == 4
