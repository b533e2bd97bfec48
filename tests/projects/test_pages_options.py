"""Options side by side: the page works, keeps what was typed, is closed to outsiders, and escapes."""

import pytest
from django.test import Client as Browser
from django.urls import reverse

from projects.models import Commission, Studio
from tests.factories import CommissionFactory, FinishFactory

pytestmark = pytest.mark.django_db
EMPTY = {f"{n}-{name}": "" for n in (1, 2, 3) for name in ("wood", "by", "size", "finish", "quantity")}


@pytest.fixture
def job(studio: Studio) -> Commission:
    return CommissionFactory(studio=studio, title="Pot <b>")


def test_options_stand_beside_the_piece_as_it_is(as_alice: Browser, job: Commission, studio: Studio) -> None:
    finish = FinishFactory(studio=studio, name="Many coats", coats=11)
    url = reverse("job_options", args=[job.pk])
    asked = EMPTY | {
        "1-size": "120",
        "1-finish": finish.pk,
        "3-wood": "walnut",
        "3-by": "maple",
        "3-quantity": "2",
    }
    answer = as_alice.get(url, asked)
    assert answer.status_code == 200
    whole, larger, two = answer.context["columns"]
    assert [one["name"] for one in (whole, larger, two)] == ["as it is", "option 1", "option 3"]
    assert larger["estimate"].height == pytest.approx(1.2 * whole["estimate"].height)
    assert larger["estimate"].sheet.finish.coats == 11
    assert "walnut" not in two["estimate"].wood
    assert two["estimate"].sheet.quantity == 2
    assert larger["estimate"].price.retail > whole["estimate"].price.retail
    assert as_alice.get(url).status_code == 200


def test_wrong_options_are_marked_and_what_was_typed_stays(as_alice: Browser, job: Commission) -> None:
    answer = as_alice.get(
        reverse("job_options", args=[job.pk]),
        EMPTY | {"1-size": "9000", "2-wood": "walnut", "3-quantity": "x"},
    )
    page = answer.content.decode()
    assert answer.status_code == 400
    assert 'value="9000"' in page
    assert 'value="x"' in page
    assert "Choose the wood that stands in its place." in page


def test_an_option_that_cannot_be_made_says_why(as_alice: Browser, job: Commission, studio: Studio) -> None:
    """Four times as large, a segment is wider than the usual board."""
    studio.shop.usual_board_width = 60
    studio.shop.save()
    page = as_alice.get(reverse("job_options", args=[job.pk]), EMPTY | {"2-size": "400"})
    whole, large = page.context["columns"]
    assert whole["estimate"] is not None
    assert "estimate" not in large
    assert "no room for it" in page.content.decode()


def test_an_outsider_finds_no_options(as_charlie: Browser, job: Commission) -> None:
    assert as_charlie.get(reverse("job_options", args=[job.pk])).status_code == 404


def test_markup_is_escaped(as_alice: Browser, job: Commission) -> None:
    page = as_alice.get(reverse("job_options", args=[job.pk])).content.decode()
    assert "Pot <b>" not in page
    assert "Pot &lt;b&gt;" in page
