"""What a client sees of payments and papers at the private address: theirs alone, and none of the maker's notes."""

import base64
import datetime
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.utils import timezone

from projects.models import Commission, Studio
from projects.services.payments import payment_strike, payment_take
from projects.services.quote_link import link_make, link_path, link_revoke
from tests.factories import CommissionFactory
from tests.factories_papers import IssuedPaperFactory

pytestmark = pytest.mark.django_db
PDF = {"pdf": b"%PDF-1.7 of ours", "sha256": "0" * 64}


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A commission without a quote, of which 500.00 were asked for; its client has an address."""
    studio.bank_details = "Bank of <b>Gully\nIBAN XX00"
    studio.save()
    return CommissionFactory(studio=studio, title="Tall <b>vase")


@pytest.fixture
def address(job: Commission) -> str:
    return link_path(link_make(commission=job))


def page(address: str) -> str:
    answer = Browser().get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def test_before_anything_is_asked_nothing_is_said_of_payments(address: str) -> None:
    assert "Payments and papers" not in page(address)


def test_what_is_owed_and_overdue_is_said_with_where_to_pay(job: Commission, address: str) -> None:
    day = timezone.localdate() - datetime.timedelta(days=2)
    paper = IssuedPaperFactory(commission=job, number="D-2027-001", due_on=day, **PDF)
    payment_take(commission=job, amount=Decimal(120), note="rang her twice", reference="A <b>77")
    payment_strike(payment=payment_take(commission=job, amount=Decimal(33)), why="typed wrongly")
    shown = page(address)
    assert "<strong>$380.00</strong> is still to be paid of $500.00" in shown
    assert '<strong class="overdue">$380.00 of it overdue</strong> since' in shown
    assert f"{address}papers/{paper.pk}.pdf" in shown
    assert "A &lt;b&gt;77" in shown
    assert "Bank of &lt;b&gt;Gully<br>IBAN XX00" in shown
    for kept in ("rang her twice", "$33.00", "typed wrongly", "/strike/", "/send/"):
        assert kept not in shown


def test_all_paid_is_said_with_thanks_and_no_bank(job: Commission, address: str) -> None:
    IssuedPaperFactory(commission=job)
    payment_take(commission=job, amount=Decimal(500))
    shown = page(address)
    assert "All is paid: <strong>$500.00</strong>. Thank you." in shown
    assert "Where to pay" not in shown


def test_a_paper_is_opened_through_its_own_commission_s_address_alone(job: Commission, address: str) -> None:
    mine = IssuedPaperFactory(commission=job, kind="delivery", base=None, tax=None, amount=None, **PDF)
    other = IssuedPaperFactory(commission=CommissionFactory(studio=job.studio), **PDF)
    answer = Browser().get(f"{address}papers/{mine.pk}.pdf")
    assert (answer.status_code, answer.content, answer["Content-Type"]) == (
        200,
        PDF["pdf"],
        "application/pdf",
    )
    assert (answer["Cache-Control"], answer["X-Robots-Tag"]) == ("private, no-store", "noindex, nofollow")
    assert f"{address}papers/{mine.pk}.pdf" in page(address)
    assert Browser().get(f"{address}papers/{other.pk}.pdf").status_code == 404
    assert Browser().get(f"/c/unknown/papers/{mine.pk}.pdf").status_code == 404


@pytest.mark.parametrize(("kind", "seen"), [("private", b"%PDF buyer"), ("gallery", b"%PDF-1.7 of ours")])
def test_the_trade_copy_is_a_gallery_s_alone(job: Commission, address: str, kind: str, seen: bytes) -> None:
    job.client.kind = kind
    job.client.save()
    buyers = {"client_pdf": base64.b64encode(b"%PDF buyer").decode()}
    paper = IssuedPaperFactory(
        commission=job, kind="delivery", base=None, tax=None, amount=None, content=buyers, **PDF
    )
    assert Browser().get(f"{address}papers/{paper.pk}.pdf").content == seen


def test_a_revoked_address_opens_no_paper(job: Commission, address: str) -> None:
    mine = IssuedPaperFactory(commission=job, **PDF)
    link_revoke(link=job.links.get())
    assert Browser().get(f"{address}papers/{mine.pk}.pdf").status_code == 404
