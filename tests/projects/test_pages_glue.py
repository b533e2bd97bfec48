"""What to glue, as a page: mixes add up, a card says what to do, studios keep to themselves, markup is shown."""

import html
import re

import pytest
from django.test import Client as Browser

from projects.estimates import estimate_design
from projects.models import Commission, Design, Studio
from projects.papers.glue_cards import CAUTIONS, cards_shown
from projects.services.shop import adhesive_update
from tests.factories import CommissionFactory, DesignFactory


@pytest.fixture
def design(studio: Studio) -> Design:
    return DesignFactory(studio=studio, title="Bowl <i>one</i>")


@pytest.fixture
def job(studio: Studio, design: Design) -> Commission:
    return CommissionFactory(studio=studio, design=design, title="Bowl <b>two</b>")


def said(answer: object) -> str:
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())  # type: ignore[attr-defined]
    return " ".join(html.unescape(text).split())


def test_the_page_answers_first_with_adhesive_mixes_and_glue_ups(
    as_bob: Browser, design: Design, job: Commission
) -> None:
    _, estimate = estimate_design(design)
    for address in (f"/designs/{design.pk}/glue/", f"/jobs/{job.pk}/glue/"):
        page = as_bob.get(address)
        assert page.status_code == 200
        words = said(page)
        assert f"{estimate.adhesive.volume_ml:,.0f} ml" in words
        assert f"of adhesive in {len(estimate.adhesive.mixes)} mix" in words
        assert len(page.context["cards"]) == len(estimate.glue_ups) > 0


def test_cups_of_all_cards_add_up_to_what_is_bought(as_bob: Browser, design: Design) -> None:
    page = as_bob.get(f"/designs/{design.pk}/glue/")
    mixes = [mix for one in page.context["cards"] for mix in one.card.mixes]
    bought = page.context["to_buy"]
    assert sum(mix.part_a_ml for mix in mixes) == pytest.approx(bought.part_a_ml)
    assert sum(mix.part_b_ml for mix in mixes) == pytest.approx(bought.part_b_ml)


def test_every_layer_goes_on_once_in_stacks_and_its_outer_faces_stay_dry(
    studio: Studio, design: Design
) -> None:
    _, estimate = estimate_design(design)
    stacks = [card for card in cards_shown(estimate, studio=studio) if card.kind == "stack"]
    layers = [course.layer for card in stacks for course in card.courses]
    assert layers
    assert len(layers) == len(set(layers))
    for card in stacks:
        assert [course.dry for course in card.courses] == ["under", *[""] * (len(card.courses) - 2), "top"]


def test_the_labels_pot_life_counts_and_its_cautions_stand_beside_the_cards(
    as_bob: Browser, studio: Studio, design: Design
) -> None:
    usual = studio.adhesives.get(usual=True)
    before = as_bob.get(f"/designs/{design.pk}/glue/").context["times"]
    adhesive_update(adhesive=usual, pot_life_min=5)
    page = as_bob.get(f"/designs/{design.pk}/glue/")
    assert page.context["times"].pot == pytest.approx(before.pot * 5 / 30)
    assert html.escape(CAUTIONS["sensitises"]) in page.content.decode()
    assert "safety data sheet" in said(page)


def test_titles_are_shown_and_not_run(as_bob: Browser, design: Design, job: Commission) -> None:
    for address in (f"/designs/{design.pk}/glue/", f"/jobs/{job.pk}/glue/"):
        page = as_bob.get(address).content.decode()
        assert "&lt;" in page
        assert "<i>one" not in page
        assert "<b>two" not in page


def test_what_cannot_be_worked_out_is_said_in_its_place(as_bob: Browser, design: Design) -> None:
    band = design.parts.get().bands.first()
    band.layers = 4000
    band.save()
    page = as_bob.get(f"/designs/{design.pk}/glue/")
    assert page.status_code == 200
    assert "bands" in said(page) or "layers" in said(page)
    assert "cards" not in page.context


def test_outsiders_get_nothing(as_charlie: Browser, client: Browser, design: Design, job: Commission) -> None:
    for address in (f"/designs/{design.pk}/glue/", f"/jobs/{job.pk}/glue/"):
        assert as_charlie.get(address).status_code == 404
        assert client.get(address).status_code == 302


def test_a_commission_without_a_design_leads_to_the_drawing_board(as_bob: Browser, studio: Studio) -> None:
    bare = CommissionFactory(studio=studio, design=None)
    answer = as_bob.get(f"/jobs/{bare.pk}/glue/")
    assert answer.status_code == 302
    assert answer["Location"].startswith("/designs/new/")
