"""The table of carriage: kept on its page, and what it makes of a commission's freight and crate."""

from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.urls import reverse

from projects.models import CarriageRate, Commission, Studio
from projects.services import commissions, shop, studios
from tests.factories import ClientFactory, CommissionFactory
from tests.factories_papers import CarriageFactory

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def job(studio: Studio) -> Commission:
    return CommissionFactory(studio=studio, client=ClientFactory(studio=studio, kind="gallery"), title="Pot")


@pytest.fixture
def table(studio: Studio) -> list[CarriageRate]:
    """Three steps, entered in no order."""
    steps = ((20, "31.00"), (2, "8.40"), (5, "12.50"))
    return [CarriageFactory(studio=studio, up_to_kg=D(kg), price=D(price)) for kg, price in steps]


# --- the page ---------------------------------------------------------------------------------------------------


def test_a_step_is_added_changed_and_taken_off(as_alice: Browser, studio: Studio) -> None:
    assert "The table is empty" in as_alice.get(reverse("carriage_list")).content.decode()
    assert as_alice.post(reverse("carriage_new"), {"up_to_kg": "5", "price": "12.50"}).status_code == 302
    step = studio.carriage.get()
    page = as_alice.get(reverse("carriage_list")).content.decode()
    assert "5 kg" in page
    assert "$12.50" in page
    changed = as_alice.post(reverse("carriage_edit", args=[step.pk]), {"up_to_kg": "6.5", "price": "13"})
    assert changed.status_code == 302
    step.refresh_from_db()
    assert (step.up_to_kg, step.price) == (D("6.5"), 13)
    assert as_alice.post(reverse("carriage_delete", args=[step.pk])).status_code == 302
    assert not studio.carriage.exists()


def test_steps_are_listed_lightest_first(as_alice: Browser, table: list[CarriageRate]) -> None:
    page = as_alice.get(reverse("carriage_list")).content.decode()
    assert page.index("2 kg") < page.index("5 kg") < page.index("20 kg")


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"up_to_kg": "5", "price": "1"}, "already has a step"),
        ({"up_to_kg": "0", "price": "1"}, "Must be at least 0.001"),
        ({"up_to_kg": "7", "price": "-2"}, "Must be at least 0"),
        ({"up_to_kg": "<b>7", "price": "2"}, "&lt;b&gt;7"),
    ],
)
def test_a_wrong_step_changes_nothing_and_keeps_what_was_typed(
    as_alice: Browser, table: list[CarriageRate], sent: dict[str, str], said: str
) -> None:
    answer = as_alice.post(reverse("carriage_new"), sent)
    page = answer.content.decode()
    assert answer.status_code == 400
    assert said in page
    assert "<b>7" not in page
    assert CarriageRate.objects.count() == 3
    assert f'value="{sent["price"]}"' in page


def test_an_outsider_finds_no_step(as_charlie: Browser, table: list[CarriageRate]) -> None:
    for name in ("carriage_edit", "carriage_delete"):
        assert as_charlie.post(reverse(name, args=[table[0].pk]), {"price": "1"}).status_code == 404
    assert "31.00" not in as_charlie.get(reverse("carriage_list")).content.decode()
    assert CarriageRate.objects.count() == 3


# --- a commission whose freight is worked out -------------------------------------------------------------------


def worked_out(job: Commission) -> None:
    commissions.commission_update(commission=job, freight_from="worked_out", crate_from="worked_out")


def test_the_estimate_says_how_freight_and_crate_came_about(
    as_alice: Browser, job: Commission, studio: Studio, table: list[CarriageRate]
) -> None:
    studios.pricing_update(studio=studio, crate_per_m2=D(60), crate_fixed=D(15))
    worked_out(job)
    answer = as_alice.get(reverse("job_estimate", args=[job.pk]))
    found, page = answer.context["estimate"], answer.content.decode().replace("\xa0", " ")
    box = found.carriage.box
    assert box.width == pytest.approx(found.largest_diameter + 100)
    assert found.price.pass_through == (found.carriage.freight, found.carriage.crate, 0)
    for said in (
        "What it costs to send",
        "with 50 mm of padding on every side",
        f"{box.chargeable_kg:.3f} kg",
        "cm³ ÷ 5,000 cm³ a kg",
        f"charged at up to {found.carriage.step.up_to_kg:g} kg",
        f"${found.carriage.crate:,.2f}",
        "a m² + $15.00",
        "Worked out from the box, below.",
    ):
        assert said in page, said


def test_a_box_above_the_table_is_refused_with_the_way_to_mend_it(
    as_alice: Browser, job: Commission, studio: Studio
) -> None:
    CarriageFactory(studio=studio, up_to_kg=D("0.01"), price=D(1))
    worked_out(job)
    answer = as_alice.get(reverse("job_estimate", args=[job.pk]))
    page = answer.content.decode()
    assert "the table of carriage and ends at 0.01 kg" in page
    assert reverse("job_terms", args=[job.pk]) in page
    assert reverse("carriage_list") in page
    assert "mend it on its drawing" not in page


def test_freight_that_is_typed_stands_whatever_the_table_says(
    job: Commission, studio: Studio, table: list[CarriageRate]
) -> None:
    from projects.estimates import estimate_design

    commissions.commission_update(commission=job, freight=D(80))
    assert job.design is not None
    sheet, found = estimate_design(job.design, commission=job)
    assert found.carriage is None
    assert found.price.pass_through[0] == 80
    shop.carriage_delete(carriage=table[0])
    assert estimate_design(job.design, commission=job)[1].price == found.price
    assert sheet.pricing.freight_from == "given"


def test_a_sheet_of_the_api_is_sent_by_the_studio_s_own_table(
    as_alice: Browser, studio: Studio, table: list[CarriageRate]
) -> None:
    from tests.estimating.sheets import bowl

    sheet = bowl()
    sheet["bands"] = [{**band, "woods": [studio.woods.first().key]} for band in sheet["bands"]]
    sheet["pricing"] = {"freight_from": "worked_out", "freight_tax": 0.05, "tax": 0.2, "sold": "set"}
    answer = as_alice.post("/api/v1/estimate/", sheet, content_type="application/json")
    assert answer.status_code == 200, answer.content
    money = answer.json()["money"]
    assert money["carriage"]["step"] == {"up_to_kg": 2.0, "price": "8.40"}
    assert money["taxes"][1] == {"rate": 0.05, "base": "8.40", "tax": "0.42"}


def test_a_studio_in_inches_pads_by_two_inches(as_alice: Browser, job: Commission, studio: Studio) -> None:
    from django.contrib.auth.models import User

    owner = User.objects.create_user("inch")
    made = studios.studio_create(name="Inch", owner=owner, length_unit="in")
    assert made.pricing.box_padding == D("50.8")
    assert studio.pricing.box_padding == 50
