"""The pages of papers: looked at, handed out and taken back; the studio's, a client's and a commission's lines."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client as Browser

from projects.models import Client, Commission, IssuedPaper, Letter, PaperDefaults, Studio
from projects.services import papers
from projects.services.studios import studio_update
from tests.projects.agreed_orders import accepted_order

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("line_paper")]


@pytest.fixture
def job(studio: Studio) -> Commission:
    return accepted_order(studio, pricing={"tax": 0.2}, client={"email": "ilse@varrow.example"})


def page(browser: Browser, address: str) -> str:
    answer = browser.get(address)
    assert answer.status_code == 200, answer.content
    return answer.content.decode()


def test_the_commission_offers_what_can_be_handed_out_and_lists_what_was(
    as_alice: Browser, job: Commission
) -> None:
    text = page(as_alice, f"/jobs/{job.pk}/")
    for words in ("Order confirmation", "Deposit request", "Balance request", "Delivery note"):
        assert f">{words}</a>" in text
    paper = papers.paper_issue(commission=job, kind="deposit")
    text = page(as_alice, f"/jobs/{job.pk}/")
    assert f'<a href="/papers/{paper.pk}/">Deposit request {paper.number}</a>' in text
    assert f"/papers/{paper.pk}/credit/" in text
    assert ">Deposit request</a>" not in text


@pytest.mark.parametrize("kind", ["confirmation", "deposit", "balance", "delivery"])
def test_a_paper_is_looked_at_and_handed_out(as_alice: Browser, job: Commission, kind: str) -> None:
    address = f"/jobs/{job.pk}/papers/{kind}/"
    assert "not handed out yet" in page(as_alice, address)
    assert not IssuedPaper.objects.exists()
    answer = as_alice.post(address)
    assert answer["Location"] == f"/jobs/{job.pk}/#papers"
    paper = IssuedPaper.objects.get()
    assert (paper.kind, paper.issued_by) == (kind, as_alice_member(job))
    shown = as_alice.get(f"/papers/{paper.pk}/")
    assert shown["Content-Type"] == "application/pdf"
    assert shown.content == bytes(paper.pdf)


def as_alice_member(job: Commission) -> Any:
    return job.studio.members.get(user__username="alice")


def test_a_preview_shows_the_figures_that_are_then_handed_out(as_alice: Browser, job: Commission) -> None:
    text = page(as_alice, f"/jobs/{job.pk}/papers/deposit/")
    paper = papers.paper_issue(commission=job, kind="deposit")
    for amount in (paper.base, paper.tax, paper.amount):
        assert f"${amount:,.2f}" in text


def test_a_preview_can_be_seen_as_it_will_be_printed_and_takes_no_number(
    as_alice: Browser, job: Commission
) -> None:
    from tests.projects.frozen import text_of

    answer = as_alice.get(f"/jobs/{job.pk}/papers/deposit/?print=client")
    assert "Deposit request preview" in text_of(answer.content)
    assert not IssuedPaper.objects.exists()


def test_a_request_is_due_when_it_is_said_and_mailed_where_that_is_ticked(
    as_alice: Browser, job: Commission, django_capture_on_commit_callbacks: Any
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        as_alice.post(f"/jobs/{job.pk}/papers/deposit/", {"due_on": "2099-03-01", "by_mail": "on"})
    assert IssuedPaper.objects.get().due_on.isoformat() == "2099-03-01"
    assert Letter.objects.get().to == "ilse@varrow.example"


def test_a_wrong_day_hands_nothing_out_and_keeps_what_was_typed(as_alice: Browser, job: Commission) -> None:
    answer = as_alice.post(f"/jobs/{job.pk}/papers/deposit/", {"due_on": "2001-01-01"})
    assert answer.status_code == 400
    assert "This day has passed." in answer.content.decode()
    assert 'value="2001-01-01"' in answer.content.decode()
    assert not IssuedPaper.objects.exists()


def test_what_cannot_be_made_out_says_why(as_alice: Browser, studio: Studio, job: Commission) -> None:
    papers.paper_issue(commission=job, kind="deposit")
    assert "asked for already" in page(as_alice, f"/jobs/{job.pk}/papers/deposit/")
    assert as_alice.post(f"/jobs/{job.pk}/papers/deposit/").status_code == 400
    assert IssuedPaper.objects.count() == 1
    assert as_alice.get(f"/jobs/{job.pk}/papers/ransom/").status_code == 404


def test_a_request_is_taken_back_with_a_reason(as_alice: Browser, job: Commission) -> None:
    paper = papers.paper_issue(commission=job, kind="deposit")
    address = f"/papers/{paper.pk}/credit/"
    wrong = as_alice.post(address, {"amount": "99999999", "reason": "Keep <b>me</b>"})
    assert wrong.status_code == 400
    assert "Give an amount above nothing" in wrong.content.decode()
    assert "Keep &lt;b&gt;me&lt;/b&gt;" in wrong.content.decode()
    assert IssuedPaper.objects.count() == 1
    assert as_alice.post(address, {"amount": "50", "reason": "As agreed."}).status_code == 302
    note = IssuedPaper.objects.get(kind="credit")
    assert (note.amount, note.corrects, note.content["reason"]) == (Decimal(50), paper, "As agreed.")
    as_alice.post(address, {"amount": "", "reason": "The rest."})
    assert as_alice.get(address).status_code == 404


def test_outsiders_find_no_paper_of_another_studio(as_charlie: Browser, job: Commission) -> None:
    paper = papers.paper_issue(commission=job, kind="deposit")
    for address in (
        f"/jobs/{job.pk}/papers/balance/",
        f"/papers/{paper.pk}/",
        f"/papers/{paper.pk}/credit/",
        f"/jobs/{job.pk}/delivery/",
    ):
        assert as_charlie.get(address).status_code == 404
        assert as_charlie.post(address, {"reason": "x"}).status_code in (404, 405)
    assert IssuedPaper.objects.count() == 1


def test_markup_is_shown_as_it_was_typed(as_alice: Browser, studio: Studio) -> None:
    studio_update(studio=studio, name="<i>S</i>", bank_details="<i>B</i>")
    job = accepted_order(studio, title="<i>T</i>", client={"name": "<i>C</i>"})
    for kind in ("deposit", "confirmation"):
        text = page(as_alice, f"/jobs/{job.pk}/papers/{kind}/")
        assert "&lt;i&gt;C&lt;/i&gt;" in text
        assert "&lt;i&gt;T&lt;/i&gt;" in text
        assert "<i>S" not in text
        assert "<i>C" not in text


# The studio's own lines

PARTY = {
    "legal_name": "Fern Gully Ltd",
    "company_number": "0778",
    "tax_status": "charged",
    "bank_details": "Bank\n0042",
    "payment_days": "21",
}
USUAL = {
    "title_passes": "delivered",
    "risk_passes": "handed_over",
    "report_days": "5",
    "return_days": "14",
    "warranty_months": "24",
    "warranty_humidity_low": "35",
    "warranty_humidity_high": "60",
}


def test_the_owner_says_who_the_studio_is_and_what_it_usually_agrees(
    as_alice: Browser, studio: Studio
) -> None:
    assert "Who you are" in page(as_alice, "/studio/papers/")
    assert as_alice.post("/studio/papers/", PARTY).status_code == 302
    assert "Joints" in page(as_alice, "/studio/papers/usual/")
    assert as_alice.post("/studio/papers/usual/", USUAL).status_code == 302
    studio.refresh_from_db()
    assert (studio.legal_name, studio.bank_details, studio.payment_days) == (
        "Fern Gully Ltd",
        "Bank\n0042",
        21,
    )
    row = PaperDefaults.objects.get(studio=studio)
    assert (row.title_passes, row.return_days, row.warranty_humidity_high) == ("delivered", 14, 60)


def test_tax_invoices_without_a_number_are_refused_and_what_was_typed_stays(
    as_alice: Browser, studio: Studio
) -> None:
    answer = as_alice.post("/studio/papers/", {**PARTY, "sends_invoices": "on"})
    assert answer.status_code == 400
    assert "Write your tax number on the letterhead first." in answer.content.decode()
    assert "Fern Gully Ltd" in answer.content.decode()
    studio.refresh_from_db()
    assert (studio.legal_name, studio.sends_invoices) == ("", False)


def test_a_range_of_humidity_that_ends_below_its_beginning_is_refused(
    as_alice: Browser, studio: Studio
) -> None:
    answer = as_alice.post("/studio/papers/usual/", {**USUAL, "warranty_humidity_low": "70"})
    assert answer.status_code == 400
    assert "above where the range begins" in answer.content.decode()
    assert PaperDefaults.objects.get(studio=studio).warranty_months == 12


def test_only_the_owner_changes_them_and_own_terms_are_said_to_stand_first(
    as_bob: Browser, as_alice: Browser, studio: Studio
) -> None:
    for address, given in (("/studio/papers/", PARTY), ("/studio/papers/usual/", USUAL)):
        as_bob.post(address, given)
    studio.refresh_from_db()
    assert studio.legal_name == ""
    assert PaperDefaults.objects.get(studio=studio).report_days == 3
    studio_update(studio=studio, terms="Joints. Mine <i>hold</i>.")
    assert "have a paragraph of their own on Joints." in page(as_alice, "/studio/papers/usual/")


def test_a_clients_tax_is_kept_and_as_usual_where_nothing_is_said(as_alice: Browser, studio: Studio) -> None:
    given = {
        "kind": "private",
        "name": "Ilse",
        "tax_number": "IV-1",
        "tax_status": "reverse",
        "payment_days": "7",
    }
    assert as_alice.post("/clients/new/", given).status_code == 302
    assert as_alice.post("/clients/new/", {"kind": "private", "name": "Perpetua"}).status_code == 302
    ilse, perpetua = Client.objects.order_by("name")
    assert (ilse.tax_status, ilse.tax_number, ilse.payment_days) == ("reverse", "IV-1", 7)
    assert (perpetua.tax_status, perpetua.payment_days) == ("usual", None)


def test_what_is_agreed_of_delivery_is_kept_or_says_what_is_wrong(as_alice: Browser, job: Commission) -> None:
    address = f"/jobs/{job.pk}/delivery/"
    given = {
        "ready_from": "2027-05-03",
        "ready_to": "2027-05-14",
        "ships": "gallery",
        "edition": "series",
        "edition_number": "3",
        "edition_size": "12",
        "deposit_via": "direct",
    }
    assert "Delivery and rights" in page(as_alice, address)
    wrong = as_alice.post(address, {**given, "ready_to": "2027-05-01"})
    assert wrong.status_code == 400
    assert "before the first day of the window" in wrong.content.decode()
    assert as_alice.post(address, given).status_code == 302
    job.refresh_from_db()
    assert (job.ships, job.edition_number, str(job.ready_to)) == ("gallery", 3, "2027-05-14")
