"""A commission's own terms reach its price, its quote and both papers; what is not said changes nothing."""

from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client as Browser
from django.urls import reverse

from projects.estimates import estimate_design
from projects.models import Commission, Studio
from projects.services import commissions, quotes, studios
from tests.factories import ClientFactory, CommissionFactory
from tests.projects.frozen import frozen_quote, text_of

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A gallery's commission; it keeps 45 %."""
    gallery = ClientFactory(studio=studio, name="Harbour Row", kind="gallery", gallery_share=D("0.45"))
    return CommissionFactory(studio=studio, client=gallery, title="Pot for the window")


def price_of(job: Commission) -> Any:
    assert job.design is not None
    return estimate_design(job.design, commission=job)[1].price


def test_a_quote_is_issued_at_the_price_that_was_named(job: Commission) -> None:
    commissions.commission_update(commission=job, offered_retail=D(1800), price_from="offer")
    issued = quotes.quote_issue(quote=quotes.quote_draft(commission=job))
    assert issued.estimate["price"]["retail"] == "1800.00"
    assert issued.estimate["price"]["net"] == "990.00"  # 55 % of it
    assert issued.estimate["money"]["price_from"] == "offer"
    assert "$1,800.00" in text_of(bytes(issued.client_pdf))


def test_without_a_price_named_the_quote_is_what_it_costs(job: Commission) -> None:
    before = price_of(job)
    commissions.commission_update(commission=job, price_from="offer")
    assert price_of(job) == before


def test_the_studio_s_step_and_fee_and_the_job_s_freight_reach_the_price(
    job: Commission, studio: Studio
) -> None:
    before = price_of(job)
    studios.pricing_update(studio=studio, price_step=D(50), payment_fee=D("0.03"))
    commissions.commission_update(commission=job, freight=D(80), stages="30, 30, 40")
    price = price_of(Commission.objects.get(pk=job.pk))
    assert price.retail % 50 == 0
    assert price.retail > before.retail
    assert price.total == price.retail_before_tax + price.tax + 80
    assert len(price.payments) == 3
    assert sum(payment.amount for payment in price.payments) == price.total


def test_somebody_at_home_pays_the_studio_whoever_takes_the_galleries_money(studio: Studio) -> None:
    home = CommissionFactory(studio=studio, client=ClientFactory(studio=studio, kind="private"))
    studios.pricing_update(studio=studio, payment_fee=D("0.03"), fee_borne_by="gallery")
    assert price_of(Commission.objects.get(pk=home.pk)).fee > 0


@pytest.mark.parametrize("stages", ["30, 30", "30, x, 40", "-10, 110", "nan, 100", "50; 50"])
def test_stages_that_do_not_add_up_are_refused(job: Commission, stages: str) -> None:
    with pytest.raises(ValidationError) as refusal:
        commissions.commission_update(commission=job, stages=stages)
    assert list(refusal.value.error_dict) == ["stages"]


# --- the papers -------------------------------------------------------------------------------------------------


def test_the_paper_of_a_gallery_that_buys_asks_what_it_pays() -> None:
    quote = frozen_quote(pricing={"gallery_mode": "purchase", "freight": "80.00"})
    price, money = quote.estimate["price"], quote.estimate["money"]
    said = text_of(_paper(quote, "client"))
    assert f"to the gallery ${D(money['work']):,.2f}" in said
    assert "Freight $80.00" in said
    assert f"Total ${D(price['total']):,.2f}" in said
    assert f"{D(price['retail']):,.2f}" not in said


def test_a_discount_and_stages_stand_on_the_client_s_paper() -> None:
    quote = frozen_quote(pricing={"discount": 0.1, "stage_shares": [0.3, 0.3]})
    money = quote.estimate["money"]
    said = text_of(_paper(quote, "client"))
    assert f"${D(money['listed']):,.2f}" in said
    assert f"Discount, 10 % −${D(money['discount']):,.2f}" in said
    for words, payment in zip(
        ("With the order, 30", "Payment 2, 30", "Before delivery, 40"), money["payments"], strict=True
    ):
        assert words in said
        assert f"${D(payment['amount']):,.2f}" in said


def test_a_quote_issued_before_there_were_such_terms_prints_as_it_did() -> None:
    old, new = frozen_quote(), frozen_quote()
    del old.estimate["money"]
    assert text_of(_paper(old, "trade")) == text_of(_paper(new, "trade"))


def _paper(quote: Any, copy: Any) -> bytes:
    from projects.papers.quote import quote_pdf

    return quote_pdf(quote, copy=copy)


# --- the pages --------------------------------------------------------------------------------------------------


def test_terms_are_typed_and_the_quote_page_says_what_they_come_to(
    as_alice: Browser, job: Commission
) -> None:
    sent = {"offered_retail": "1800", "price_from": "offer", "freight": "80", "gallery_mode": "consignment"}
    answer = as_alice.post(reverse("job_terms", args=[job.pk]), sent | {"tax_inclusive": "unknown"})
    assert answer.status_code == 302
    page = as_alice.get(reverse("job_quote", args=[job.pk])).content.decode()
    assert "issued at the price that Harbour Row named" in page
    assert "$1,880.00" in page


def test_wrong_terms_change_nothing_and_keep_what_was_typed(as_alice: Browser, job: Commission) -> None:
    sent = {"stages": "30, 30", "discount": "10", "tax_inclusive": "unknown"}
    answer = as_alice.post(reverse("job_terms", args=[job.pk]), sent)
    assert answer.status_code == 400
    assert "They add up to 60 %, not to 100 %." in answer.content.decode()
    assert 'value="30, 30"' in answer.content.decode()
    job.refresh_from_db()
    assert job.discount == 0


def test_an_outsider_finds_no_terms(as_charlie: Browser, job: Commission) -> None:
    assert as_charlie.get(reverse("job_terms", args=[job.pk])).status_code == 404
