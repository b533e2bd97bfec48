"""The client's page: what it shows and to whom, what can be answered there, and what it never tells."""

import datetime
import json
import re
import struct
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from projects.models import ClientLink, Commission, Quote, QuoteEvent, Studio
from projects.options import Choice
from projects.quote_state import Standing, standing
from projects.services import calendar_search, quote_life, quote_link
from projects.services.quote_accept import quote_accept
from projects.services.quote_options import options_set
from projects.services.quotes import quote_draft, quote_issue
from tests.factories import ClientFactory, CommissionFactory, MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("cheap_paper")]
TODAY = timezone.localdate()


@pytest.fixture(autouse=True)
def _no_planning(monkeypatch: Any) -> None:
    monkeypatch.setattr(calendar_search, "search_start", lambda plan, *, anew: None)


@pytest.fixture
def client() -> Browser:
    """A browser in which nobody is logged in, and which forms are checked for as in earnest."""
    return Browser(enforce_csrf_checks=True)


@pytest.fixture
def job(studio: Studio) -> Commission:
    buyer = ClientFactory(studio=studio, name="Wilmet <b>Sarrow</b>", kind="private")
    return CommissionFactory(studio=studio, client=buyer, title="Pot <i>for</i> the window")


@pytest.fixture
def quote(job: Commission) -> Quote:
    draft = quote_draft(commission=job, message="As <u>we</u> said.")
    options_set(quote=draft, options=[("A <s>pair</s>", Choice(quantity=2))])
    return quote_issue(quote=draft)


@pytest.fixture
def link(quote: Quote, job: Commission) -> ClientLink:
    return quote_link.link_make(commission=job)


def at(link: ClientLink, name: str = "client_page", *more: str) -> str:
    return reverse(name, args=[quote_link.link_token(link), *more])


def send(client: Browser, link: ClientLink, where: str, **typed: str) -> Any:
    """A form of the page, sent as a browser sends it: with what the page gave it against forgery."""
    page = client.get(at(link)).content.decode()
    token = re.search('name="csrfmiddlewaretoken" value="([^"]+)"', page)
    return client.post(at(link, where), {"csrfmiddlewaretoken": token[1] if token else "", **typed})


def test_the_quote_is_shown_and_noted_as_seen(client: Browser, link: ClientLink, quote: Quote) -> None:
    answer = client.get(at(link))
    page = answer.content.decode()
    assert answer.status_code == 200
    for shown in (quote.reference, quote.studio.name, "hard maple", "Acer saccharum", "Wood is wood."):
        assert shown in page
    for one in (quote, quote.options.get()):
        assert f"{one.estimate['price']['total']}"[:-3] in page.replace(",", "")
    assert quote.events.get(what="seen").link == link
    client.get(at(link))
    assert QuoteEvent.objects.count() == 1
    link.refresh_from_db()
    assert link.last_seen_at is not None


def test_nobody_on_the_way_keeps_it_and_no_other_site_hears_of_it(client: Browser, link: ClientLink) -> None:
    for answer in (
        client.get(at(link)),
        client.get(at(link, "client_model")),
        client.get(at(link, "client_quote_pdf", "client")),
        client.get("/c/nothing/"),
    ):
        assert answer["Cache-Control"] == "private, no-store"
        assert answer["X-Robots-Tag"] == "noindex, nofollow"
        assert answer["Referrer-Policy"] == "same-origin"
        assert "script-src 'self'" in answer["Content-Security-Policy"]
    assert '<meta name="robots" content="noindex, nofollow">' in client.get(at(link)).content.decode()


def test_unknown_revoked_and_expired_are_answered_alike(
    client: Browser, link: ClientLink, job: Commission
) -> None:
    unknown = client.get("/c/" + "A" * 43 + "/")
    quote_link.link_revoke(link=link)
    revoked = client.get(at(link))
    late = quote_link.link_make(commission=job)
    ClientLink.objects.filter(pk=late.pk).update(expires_on=TODAY - datetime.timedelta(days=1))
    expired = client.get(at(late))
    assert unknown.content == revoked.content == expired.content
    assert {unknown.status_code, revoked.status_code, expired.status_code} == {404}
    assert "ask the studio" in unknown.content.decode()
    names = ("client_accept", "client_decline", "client_ask")
    for url in [*(at(late, name) for name in names), at(late, "client_model")]:
        method = client.get if url.endswith(".glb") else Browser().post
        assert method(url, {"name": "P. Lorn", "words": "May I?"}).status_code == 404
    assert not QuoteEvent.objects.exists()


def test_markup_is_escaped(client: Browser, link: ClientLink, quote: Quote) -> None:
    quote_life.quote_ask(quote=quote, words="<script>ask</script>", name="<em>me</em>")
    page = client.get(at(link)).content.decode()
    for typed in ("<b>Sarrow", "<i>for", "<u>we", "<s>pair", "<script>ask", "<em>me"):
        assert typed not in page
        assert typed.replace("<", "&lt;").replace(">", "&gt;") in page


def test_what_the_studio_keeps_to_itself_is_not_told(client: Browser, link: ClientLink, quote: Quote) -> None:
    page = client.get(at(link)).content.decode()
    secret = ("margin", "labour", "left an hour", "overhead", "Trade copy", quote.trade_sha256)
    assert [word for word in secret if word in page] == []
    assert client.get(at(link, "client_quote_pdf", "trade")).status_code == 404


def test_it_is_accepted_by_name_as_the_option_chosen(client: Browser, link: ClientLink, quote: Quote) -> None:
    option = quote.options.get()
    answer = send(client, link, "client_accept", name="Wilmet Sarrow", option=str(option.pk))
    assert answer.status_code == 302
    event = QuoteEvent.objects.get(what="accepted")
    assert (event.name, event.option, event.link, event.member) == ("Wilmet Sarrow", option, link, None)
    page = client.get(at(link)).content.decode()
    assert "<strong>Accepted</strong> by Wilmet Sarrow" in page
    assert "Accept the quote" not in page
    assert "This is what was accepted." in page


def test_a_refused_acceptance_changes_nothing_and_keeps_what_was_typed(
    client: Browser, link: ClientLink, quote: Quote
) -> None:
    option = quote.options.get()
    answer = send(client, link, "client_accept", name=" ", option=str(option.pk))
    page = answer.content.decode()
    assert answer.status_code == 400
    assert "it stands for your signature" in page
    assert re.search(f'value="{option.pk}" required checked', page)
    answer = send(client, link, "client_accept", name="Wilmet", option="999999")
    assert answer.status_code == 400
    assert 'value="Wilmet"' in answer.content.decode()
    assert not QuoteEvent.objects.filter(what="accepted").exists()


def test_what_changed_meanwhile_is_said_and_what_was_typed_stays(
    client: Browser, link: ClientLink, quote: Quote
) -> None:
    quote_accept(quote=quote, name="Someone else")
    with pytest.raises(ValidationError):
        quote_accept(quote=quote, name="Wilmet")
    browser = Browser()
    answer = browser.post(at(link, "client_accept"), {"name": "Wilmet", "option": "drawn"})
    assert answer.status_code == 400
    assert "by Someone else" in answer.content.decode()
    assert QuoteEvent.objects.filter(what="accepted").count() == 1


def test_it_is_declined_with_a_reason(client: Browser, link: ClientLink, quote: Quote) -> None:
    assert send(client, link, "client_decline", words="Too <b>large</b>.", name="W. S.").status_code == 302
    assert standing(quote, today=TODAY) == Standing.DECLINED
    assert "Declined" in client.get(at(link)).content.decode()
    answer = Browser().post(at(link, "client_decline"), {"words": "Still too large."})
    assert answer.status_code == 400


def test_a_question_is_asked_and_its_answer_shown(client: Browser, link: ClientLink, quote: Quote) -> None:
    assert send(client, link, "client_ask", words="In cherry?", name="W. S.").status_code == 302
    quote_life.quote_answer(quote=quote, words="Gladly.", member=MemberFactory(studio=quote.studio))
    page = client.get(at(link)).content.decode()
    assert page.index("In cherry?") < page.index("Gladly.")
    answer = send(client, link, "client_ask", words="  ", name="Wilmet")
    assert answer.status_code == 400
    assert 'value="Wilmet"' in answer.content.decode()
    assert QuoteEvent.objects.filter(what="asked").count() == 1


def test_a_form_that_does_not_come_from_the_page_is_refused(client: Browser, link: ClientLink) -> None:
    assert client.post(at(link, "client_accept"), {"name": "Forged", "option": "drawn"}).status_code == 403
    assert not QuoteEvent.objects.filter(what="accepted").exists()


def test_the_model_is_that_of_the_frozen_sheet_and_of_each_option(
    client: Browser, link: ClientLink, quote: Quote
) -> None:
    url = at(link, "client_model")
    drawn = client.get(url)
    assert drawn["Content-Type"] == "model/gltf-binary"
    assert _title(drawn.content) == quote.title
    assert client.get(url, {"option": quote.options.get().pk}).status_code == 200
    for option in ("x", "0", str(quote.options.get().pk + 1)):
        assert client.get(url, {"option": option}).status_code == 404
    # The design may go on changing: the model does not.
    design = quote.commission.design
    assert design is not None
    design.parts.get().bands.all().delete()
    assert client.get(url).content == drawn.content
    # Without one of its woods there is no model, and the page stands all the same.
    quote.studio.woods.filter(key="maple").delete()
    assert client.get(url).status_code == 404
    assert client.get(at(link)).status_code == 200


def _title(glb: bytes) -> str:
    """The name of a binary glTF's scene. Source: glTF 2.0, 4.4: a header of 12 bytes, then a chunk of JSON."""
    (length,) = struct.unpack_from("<I", glb, 12)
    scene: str = json.loads(glb[20 : 20 + length])["scenes"][0]["name"]
    return scene


def test_its_paper_is_the_one_that_was_printed(client: Browser, link: ClientLink, quote: Quote) -> None:
    answer = client.get(at(link, "client_quote_pdf", "client"))
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content == bytes(Quote.objects.get(pk=quote.pk).client_pdf)


def test_a_gallery_has_both_papers_and_its_account(client: Browser, studio: Studio) -> None:
    gallery = ClientFactory(studio=studio, kind="gallery", gallery_share="0.45")
    job = CommissionFactory(studio=studio, client=gallery)
    quote = quote_issue(quote=quote_draft(commission=job))
    link = quote_link.link_make(commission=job)
    page = client.get(at(link)).content.decode()
    assert "Between gallery and studio" in page
    for copy in ("client", "trade"):
        answer = client.get(at(link, "client_quote_pdf", copy))
        assert f"{copy} copy of {quote.reference}".encode() in answer.content


def test_a_member_who_looks_is_not_the_client(as_alice: Browser, link: ClientLink, quote: Quote) -> None:
    page = as_alice.get(at(link)).content.decode()
    assert "This is what your client sees" in page
    assert "Accept the quote" not in page
    answer = as_alice.post(at(link, "client_accept"), {"name": "Alice", "option": "drawn"})
    assert answer.status_code == 400
    assert not QuoteEvent.objects.exists()


def test_a_member_of_another_studio_is_anyone(as_charlie: Browser, link: ClientLink, quote: Quote) -> None:
    assert "This is what your client sees" not in as_charlie.get(at(link)).content.decode()
    assert quote.events.filter(what="seen").exists()


def test_before_a_quote_is_issued_the_page_says_so(client: Browser, studio: Studio) -> None:
    link = quote_link.link_make(commission=CommissionFactory(studio=studio))
    page = client.get(at(link))
    assert page.status_code == 200
    assert "not ready yet" in page.content.decode()
    assert client.get(at(link, "client_model")).status_code == 404


@pytest.mark.parametrize("how", ["lapsed", "withdrawn", "replaced"])
def test_a_quote_that_is_over_says_so_and_cannot_be_accepted(
    client: Browser, link: ClientLink, quote: Quote, how: str, monkeypatch: Any
) -> None:
    if how == "withdrawn":
        quote_life.quote_withdraw(
            quote=quote, words="Wood is short.", member=MemberFactory(studio=quote.studio)
        )
    if how == "lapsed":
        late = timezone.now() + datetime.timedelta(days=31)
        monkeypatch.setattr(timezone, "now", lambda: late)
    if how == "replaced":
        quote_issue(quote=quote_draft(commission=quote.commission))
    page = client.get(at(link)).content.decode()
    said = {"lapsed": "was open until", "withdrawn": "Wood is short.", "replaced": f"{quote.number} B"}[how]
    assert said in page
    assert ("Accept the quote" in page) is (how == "replaced")
