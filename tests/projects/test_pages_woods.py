"""The page of the woods used: what their dust does, and other woods beside them."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client as Browser

from projects.estimates import compare_woods
from projects.models import Commission, Studio
from projects.templatetags.turnery import grams, money
from tests.factories import WoodFactory
from tests.projects.test_pages_weather import dry_job, job, text_of

__all__ = ["dry_job", "job"]  # fixtures

pytestmark = pytest.mark.django_db


def test_dust_is_told_wood_by_wood_with_limits_and_their_sources(
    as_alice: Browser, job: Commission, studio: Studio
) -> None:
    studio.woods.filter(key="walnut").update(health_note="sensitizer", botanical="Juglans nigra")
    studio.woods.filter(key="maple").update(health_note="", botanical="Acer saccharum")
    page = text_of(as_alice.get(f"/jobs/{job.pk}/woods/"))
    assert "The dust of black walnut sensitises" in page
    assert "Of hard maple nothing is known here." in page
    for said in ("29 CFR 1910.1000", "NIOSH", "respirator", "the authority where the shop stands"):
        assert said in page


def test_other_woods_stand_beside_the_present_one_with_the_figures_reckoned(
    as_alice: Browser, dry_job: Commission, studio: Studio
) -> None:
    WoodFactory(studio=studio, key="cherry", name="black cherry", density=560, price_per_m3=Decimal(9000))
    assert dry_job.design is not None
    compared = compare_woods(
        dry_job.design,
        commission=Commission.objects.get(pk=dry_job.pk),
        wood="maple",
        alternatives=["cherry", "walnut"],
    )
    answer = as_alice.get(
        f"/jobs/{dry_job.pk}/woods/", {"wood": "maple", "other_1": "cherry", "other_3": "walnut"}
    )
    assert answer.status_code == 200
    page = text_of(answer)
    table = page[page.index("as it is, and others") :]
    names = [table.index(one.name) for one in (compared.present, *compared.others)]
    assert names == sorted(names)
    for one in (compared.present, *compared.others):
        assert money(one.price.retail, studio.currency) in table
        assert money(one.wood_cost, studio.currency) in table
        assert grams(one.mass_g) in table
    apart_by = compared.others[0].price.retail - compared.present.price.retail
    assert f"{money(abs(apart_by), studio.currency)} {'dearer' if apart_by > 0 else 'cheaper'}" in table
    assert "not known" in table  # nobody has given the cherry's shrinkage
    assert "From the shop, 21 °C and 45 % humidity, to where it will live, 22 °C and 20 % humidity" in table


def test_a_wood_without_a_price_beside_others_is_said_to_go_by_the_usual_one(
    as_alice: Browser, dry_job: Commission, studio: Studio
) -> None:
    WoodFactory(studio=studio, key="cherry", name="black cherry", price_per_m3=Decimal(9000))
    WoodFactory(studio=studio, key="wenge", name="wenge", price_per_m3=Decimal(0))
    page = text_of(
        as_alice.get(f"/jobs/{dry_job.pk}/woods/", {"wood": "maple", "other_1": "cherry", "other_2": "wenge"})
    )
    assert page.count("at the usual price") == 1
    assert "at the usual price: woods has none for wenge" in page


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"wood": "maple"}, "This field is required"),
        ({"wood": "maple", "other_1": "maple"}, "This is the wood it has now"),
        ({"wood": "maple", "other_1": "walnut", "other_2": "walnut"}, "stands above already"),
        ({"wood": "ebony", "other_1": "walnut"}, "Select a valid choice"),
        ({"wood": "maple", "other_1": "ebony"}, "Select a valid choice"),
    ],
    ids=str,
)
def test_woods_that_cannot_be_set_side_by_side_are_refused_in_words(
    as_alice: Browser, job: Commission, asked: dict[str, str], said: str
) -> None:
    answer = as_alice.get(f"/jobs/{job.pk}/woods/", asked)
    assert answer.status_code == 400
    page = answer.content.decode()
    assert said in page
    assert "side-by-side" not in page
    assert "Dust and health" in page


def test_a_wood_that_cannot_be_sawn_for_the_piece_is_said_so(
    as_alice: Browser, job: Commission, monkeypatch: Any
) -> None:
    from estimating.errors import InvalidInput, InvalidSheet

    def refuse(*_args: Any, **_kwargs: Any) -> None:
        raise InvalidSheet([InvalidInput("bands", "ring 1: no board has room for it")])

    monkeypatch.setattr("projects.pages.woods_used.compare_woods", refuse)
    answer = as_alice.get(f"/jobs/{job.pk}/woods/", {"wood": "maple", "other_1": "walnut"})
    assert answer.status_code == 400
    assert "no board has room for it" in answer.content.decode()
