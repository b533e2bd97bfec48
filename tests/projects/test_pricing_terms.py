"""A commission's own terms reach its price, its quote and both papers; what is not said changes nothing."""

from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client as Browser
from django.urls import reverse

from estimating.errors import InvalidSheet
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


# --- terms that clash -------------------------------------------------------------------------------------------

CLASHES = [
    ({"discount": "50", "discount_borne_by": "gallery"}, "discount", "no more than the gallery&#x27;s share"),
    ({"discount": "60", "discount_borne_by": "studio"}, "discount", "The discount leaves nothing"),
    ({"gallery_share": "95", "payment_fee": "0.05"}, "gallery_share", "The payment fee leaves nothing"),
    ({"freight_from": "worked_out"}, "freight_from", "needs a table of carriage"),
    ({"stages": ", ".join(["5"] * 20)}, "stages", "must be at most 12 payments"),
]


@pytest.mark.parametrize(("sent", "field", "said"), CLASHES, ids=lambda value: str(value)[:30])
def test_terms_that_leave_no_price_are_refused_at_their_field_and_kept_as_typed(
    as_alice: Browser, job: Commission, studio: Studio, sent: dict[str, str], field: str, said: str
) -> None:
    studio.pricing.payment_fee = D(sent.get("payment_fee", 0))
    studio.pricing.save()
    typed = {name: value for name, value in sent.items() if name != "payment_fee"}
    before = Commission.objects.values().get(pk=job.pk)
    answer = as_alice.post(
        reverse("job_terms", args=[job.pk]), typed | {"rush": "7", "tax_inclusive": "unknown"}
    )
    page = answer.content.decode()
    assert answer.status_code == 400
    assert list(answer.context["form"].errors) == [field]
    assert said in page
    assert 'value="7"' in page
    for value in typed.values():
        assert f'value="{value}"' in page
    assert Commission.objects.values().get(pk=job.pk) == before


@pytest.mark.parametrize(("sent", "field", "said"), CLASHES[:3], ids=lambda value: str(value)[:30])
def test_the_estimate_refuses_the_same_in_the_same_words(
    job: Commission, studio: Studio, sent: dict[str, str], field: str, said: str
) -> None:
    """Were they saved by another way, the sheet is held to the same rule."""
    shares = {name: D(sent[name]) / 100 for name in ("discount", "gallery_share") if name in sent}
    rest = {name: sent[name] for name in ("discount_borne_by",) if name in sent}
    Commission.objects.filter(pk=job.pk).update(**shares, **rest)
    studio.pricing.payment_fee = D(sent.get("payment_fee", 0))
    studio.pricing.save()
    with pytest.raises(InvalidSheet) as refusal:
        price_of(Commission.objects.get(pk=job.pk))
    words = said.removeprefix("The discount ").removeprefix("The payment fee ").replace("&#x27;", "'")
    assert words in str(refusal.value.errors[0])


def test_other_fields_of_a_commission_are_saved_whatever_its_terms(job: Commission, studio: Studio) -> None:
    Commission.objects.filter(pk=job.pk).update(discount=D("0.6"), discount_borne_by="gallery")
    again = Commission.objects.get(pk=job.pk)
    assert commissions.commission_update(commission=again, title="Pot, renamed").title == "Pot, renamed"


def test_prices_that_leave_nothing_are_refused_at_their_field(as_alice: Browser, studio: Studio) -> None:
    page = as_alice.get(reverse("shop_pricing"))
    sent = {field.html_name: field.value() for field in page.context["form"]}
    sent = {name: value for name, value in sent.items() if value not in (None, False)}
    sent |= {"gallery_share": "95", "payment_fee": "5", "crate_fixed": "12.25"}
    answer = as_alice.post(reverse("shop_pricing"), sent)
    assert answer.status_code == 400
    assert list(answer.context["form"].errors) == ["payment_fee"]
    assert 'value="12.25"' in answer.content.decode()
    studio.pricing.refresh_from_db()
    assert studio.pricing.payment_fee == 0


def test_the_box_and_taxes_of_their_own_are_kept_with_the_prices(as_alice: Browser, studio: Studio) -> None:
    page = as_alice.get(reverse("shop_pricing"))
    sent = {field.html_name: field.value() for field in page.context["form"]}
    sent = {name: value for name, value in sent.items() if value not in (None, False)}
    sent |= {"freight_tax": "0", "crate_tax": "5", "box_padding": "40", "volume_divisor": "6000"}
    assert as_alice.post(reverse("shop_pricing"), sent).status_code == 302
    studio.pricing.refresh_from_db()
    kept = studio.pricing
    assert (kept.freight_tax, kept.crate_tax, kept.stand_tax) == (0, D("0.05"), None)
    assert (kept.box_padding, kept.volume_divisor) == (40, 6000)


def test_a_commission_s_own_tax_goes_before_the_studio_s_and_that_before_the_pieces(
    job: Commission, studio: Studio
) -> None:
    studios.pricing_update(studio=studio, tax=D("0.2"), freight_tax=D("0.1"), crate_tax=D("0.15"))
    commissions.commission_update(commission=job, freight=D(80), crate=D(40), stand=D(20), freight_tax=D(0))
    price = price_of(Commission.objects.get(pk=job.pk))
    assert [(one.rate, one.tax) for one in price.at_rates[1:]] == [(0, 0), (D("0.15"), D(6))]
    assert price.at_rates[0].base == price.retail_before_tax + 20
