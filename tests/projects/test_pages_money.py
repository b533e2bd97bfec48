"""Where the money goes, on the estimate's page: what is left an hour, and a price that leaves less than nothing."""

from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse

from projects.models import Commission, Studio
from projects.services import commissions
from tests.factories import ClientFactory, CommissionFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(studio: Studio) -> Commission:
    return CommissionFactory(studio=studio, client=ClientFactory(studio=studio, kind="gallery"), title="Pot")


def test_the_page_draws_where_the_money_goes(as_alice: Browser, job: Commission) -> None:
    answer = as_alice.get(reverse("job_estimate", args=[job.pk]))
    page, price = answer.content.decode(), answer.context["estimate"].price
    assert "Where the money goes" in page
    assert page.count("data-amount=") == 2 * (page.count("data-amount=") // 2) > 0
    assert f"${answer.context['money_left']['slow']:,.2f} if it goes slowly" in page
    assert answer.context["money_left"]["slow"] < price.per_hour < answer.context["money_left"]["median"]


def test_a_price_that_does_not_pay_the_costs_is_said_and_not_drawn(
    as_alice: Browser, job: Commission
) -> None:
    commissions.commission_update(commission=job, offered_retail=Decimal("0.50"), price_from="offer")
    page = as_alice.get(reverse("job_estimate", args=[job.pk])).content.decode()
    assert "the work costs you" in page
    assert "data-amount=" not in page
    assert "Worked backwards from the price named, $0.50." in page


def test_every_term_has_its_working(as_alice: Browser, job: Commission, studio: Studio) -> None:
    commissions.commission_update(
        commission=job, discount=Decimal("0.1"), discount_borne_by="studio", freight=80, rush=Decimal("0.2")
    )
    studio.pricing.payment_fee, studio.pricing.lathe_loss = Decimal("0.03"), Decimal("0.05")
    studio.pricing.save()
    page = as_alice.get(reverse("job_estimate", args=[job.pk])).content.decode()
    for words in (
        "(1 + haste 20 %)",
        "3 % of all that is paid.",
        "which you bear alone",
        "at the lathe $",
        "at cost",
    ):
        assert words in page.replace("\xa0", " "), words


def test_each_rate_of_tax_and_a_pair_s_price_have_their_working(
    as_alice: Browser, job: Commission, studio: Studio
) -> None:
    commissions.commission_update(
        commission=job, freight=80, freight_tax=Decimal(0), sold="set", quantity=2, tax=Decimal("0.2")
    )
    studio.pricing.price_step = 25
    studio.pricing.save()
    answer = as_alice.get(reverse("job_estimate", args=[job.pk]))
    page, price = answer.content.decode().replace("\xa0", " "), answer.context["estimate"].price
    assert price.retail % 25 == 0
    assert f"20 % of ${price.retail:,.2f} + 0 % of $80.00, each rounded once." in page
    assert "The pair has one price. Rounded up to a multiple of $25.00 for the set." in page
    assert ">freight<" in page  # the picture's own words: no crate, no stand
    quote = as_alice.get(reverse("job_quote", args=[job.pk])).content.decode()
    assert "a pair under one price" in quote


def test_markup_in_the_tax_s_name_is_escaped(as_alice: Browser, job: Commission, studio: Studio) -> None:
    studio.pricing.tax_name, studio.pricing.tax = "<i>Tax", Decimal("0.1")
    studio.pricing.save()
    page = as_alice.get(reverse("job_estimate", args=[job.pk])).content.decode()
    assert "<i>Tax" not in page
    assert "&lt;i&gt;Tax" in page


def test_an_outsider_sees_none_of_it(as_charlie: Browser, job: Commission) -> None:
    assert as_charlie.get(reverse("job_estimate", args=[job.pk])).status_code == 404
