"""Estimates through the studio's door: API, saved design and bare functions give the same figures."""

import json
from decimal import Decimal
from typing import Any

import pytest
from django.core.validators import MaxValueValidator, MinValueValidator
from django.test import Client as Browser

from estimating.answer import as_json
from estimating.errors import InvalidSheet
from estimating.estimate import estimate
from estimating.reading import read_json
from estimating.sheet import read_sheet
from projects.estimates import estimate_design, sheet_data, workshop_of
from projects.models import Studio
from projects.places import form_places
from tests.factories import (
    AdhesiveFactory,
    BandFactory,
    CommissionFactory,
    DesignFactory,
    FormFactory,
    PartFactory,
    WoodFactory,
)
from tests.projects.test_api import BROKEN_BODIES

pytestmark = pytest.mark.django_db

SHEET: dict[str, Any] = {
    "title": "Pot",
    "unit": "mm",
    "form": {"outer": [[0, 60], [100, 60]], "inside": {"kind": "wall", "wall": 8, "floor": 10}},
    "allowance": {"outside": 3, "inside": 3},
    "bands": [{"layers": 10, "thickness": 9.93, "segments": 12, "woods": ["maple", "walnut"]}],
}


def _estimate(browser: Browser, body: Any) -> Any:
    raw = body if isinstance(body, bytes) else json.dumps(body)
    return browser.post("/api/v1/estimate/", raw, content_type="application/json")


def test_the_api_answers_with_the_contract(as_bob: Browser, studio: Studio) -> None:
    answer = _estimate(as_bob, SHEET)
    assert answer.status_code == 200, answer.content
    workshop = workshop_of(studio)
    direct = as_json(estimate(read_sheet(SHEET, workshop=workshop), workshop))
    assert answer.json() == json.loads(json.dumps(direct))
    assert {
        "title",
        "form",
        "layers",
        "rings",
        "wood",
        "cutting",
        "adhesive",
        "labour",
        "cost",
        "price",
    } <= set(answer.json())


def test_where_a_sheet_is_silent_the_studios_own_settings_stand(as_alice: Browser, studio: Studio) -> None:
    """Twice the labour rate, and nothing else changed, doubles the labour line of the cost."""
    studio.pricing.labour_rate = Decimal(30)
    studio.pricing.save()
    single = Decimal(_estimate(as_alice, SHEET).json()["cost"]["labour"])
    studio.pricing.labour_rate = Decimal(60)
    studio.pricing.save()
    double = Decimal(_estimate(as_alice, SHEET).json()["cost"]["labour"])
    assert abs(double - 2 * single) <= Decimal("0.01")  # each is rounded to the cent once
    said = SHEET | {"pricing": {"labour_rate": "30"}}
    assert Decimal(_estimate(as_alice, said).json()["cost"]["labour"]) == single


def test_a_studios_own_wood_is_known_to_it_and_to_no_other(
    as_alice: Browser, as_charlie: Browser, studio: Studio
) -> None:
    WoodFactory(studio=studio, key="moon_oak")
    sheet = SHEET | {"bands": [SHEET["bands"][0] | {"woods": ["moon_oak"]}]}
    assert list(_estimate(as_alice, sheet).json()["wood"]) == ["moon_oak"]
    refused = _estimate(as_charlie, sheet)
    assert refused.status_code == 400
    assert refused.json()["errors"][0].startswith("bands[0].woods")
    assert "moon_oak" in refused.json()["errors"][0]


def test_every_error_of_a_sheet_comes_at_once_with_its_place(as_alice: Browser) -> None:
    sheet = SHEET | {"unit": "furlong", "nonsense": 1, "bands": [SHEET["bands"][0] | {"thickness": -1}]}
    answer = _estimate(as_alice, sheet)
    assert answer.status_code == 400
    places = {error.split(": ")[0] for error in answer.json()["errors"]}
    assert {"unit", "nonsense", "bands[0].thickness"} <= places


@pytest.mark.parametrize("body", BROKEN_BODIES.values(), ids=BROKEN_BODIES.keys())
def test_a_body_that_is_no_sheet_is_refused(as_alice: Browser, body: bytes) -> None:
    answer = _estimate(as_alice, body)
    assert answer.status_code == 400
    assert answer.json()["errors"]
    assert all(": " in error for error in answer.json()["errors"])


@pytest.mark.parametrize(
    "name", ["an empty body", "half a sentence", "a list", "ten thousand brackets", "null"]
)
def test_what_is_no_json_object_is_refused_as_the_command_refuses_it(as_alice: Browser, name: str) -> None:
    with pytest.raises(InvalidSheet) as refusal:
        read_sheet(read_json(BROKEN_BODIES[name]))
    errors = [str(error) for error in refusal.value.errors]
    assert len(errors) == 1
    assert errors[0].startswith("sheet: ")
    assert _estimate(as_alice, BROKEN_BODIES[name]).json() == {"errors": errors}


@pytest.mark.parametrize("place", ['"KEY": 1', '"unit": "KEY"', '"title": "KEY"', '"form": {"KEY": "KEY"}'])
def test_half_a_character_anywhere_is_refused_in_letters_that_can_be_sent(
    as_alice: Browser, place: str
) -> None:
    answer = _estimate(as_alice, ("{" + place.replace("KEY", "\\ud800") + "}").encode())
    assert answer.status_code == 400
    answer.content.decode("utf-8")


def test_markup_in_a_sheets_title_comes_back_as_text(as_alice: Browser) -> None:
    title = "<b>Pot</b> & 'lid'"
    assert _estimate(as_alice, SHEET | {"title": title}).json()["title"] == title


def test_a_saved_design_a_sheet_and_the_api_agree(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio)
    _, direct = estimate_design(design)
    answer = as_alice.get(f"/api/v1/designs/{design.pk}/estimate/").json()
    assert answer == json.loads(json.dumps(as_json(direct)))
    sheet = as_alice.get(f"/api/v1/designs/{design.pk}/sheet/").json()
    assert _estimate(as_alice, sheet).json() == answer


def test_a_sheet_stands_alone_whatever_the_workshop_says(studio: Studio, other_studio: Studio) -> None:
    """A frozen sheet computed in a shop with other saws, glue and prices gives the same figures."""
    data = sheet_data(DesignFactory(studio=studio))
    other_studio.shop.rip_kerf, other_studio.shop.film = Decimal(5), Decimal("0.5")
    other_studio.shop.save()
    other_studio.pricing.margin = Decimal("0.5")
    other_studio.pricing.save()
    answers = []
    for shop in (studio, Studio.objects.get(pk=other_studio.pk)):
        workshop = workshop_of(shop)
        answers.append(as_json(estimate(read_sheet(data, workshop=workshop), workshop)))
    assert answers[0] == answers[1]


def test_a_commissions_quantity_makes_more_of_everything_but_the_piece(studio: Studio) -> None:
    commission = CommissionFactory(studio=studio)
    _, one = estimate_design(commission.design, commission=commission)
    commission.quantity = 3
    _, three = estimate_design(commission.design, commission=commission)
    first, second = as_json(one), as_json(three)
    assert second["form"] == first["form"]
    # Half a board and half a board is one board: the wood sawn triples, what is bought need not.
    for wood in ("maple", "walnut"):
        assert second["wood"][wood]["turned"] == pytest.approx(3 * first["wood"][wood]["turned"], rel=1e-12)


def test_a_design_that_cannot_be_estimated_says_which_field_to_mend(
    as_alice: Browser, studio: Studio
) -> None:
    design = DesignFactory(studio=studio, shaped=False)
    part = PartFactory(design=design, shaped=False)
    FormFactory(part=part, outer=[[0, 60], [-5, 60], [100, 60]])
    BandFactory(part=part)
    with pytest.raises(InvalidSheet) as refusal:
        estimate_design(design)
    assert ("form", "outer") in {(place.section, place.field) for place in form_places(refusal.value)}
    answer = as_alice.get(f"/api/v1/designs/{design.pk}/estimate/")
    assert answer.status_code == 400
    assert answer.json()["errors"][0].startswith("form.outer")


def test_a_stack_that_does_not_fit_its_form_is_an_error_of_the_bands(studio: Studio) -> None:
    design = DesignFactory(studio=studio, shaped=False)
    part = PartFactory(design=design, shaped=False)
    FormFactory(part=part)
    BandFactory(part=part, layers=9)
    with pytest.raises(InvalidSheet) as refusal:
        estimate_design(design)
    (place,) = form_places(refusal.value)
    assert (place.section, place.index) == ("band", None)
    assert "10" in place.message  # how many would fit


def _limits(record: Any) -> list[tuple[str, Decimal]]:
    """Every decimal field of a record with the least and the most that its form takes."""
    return [
        (field.name, limit.limit_value)
        for field in record._meta.concrete_fields
        for limit in field.validators
        if isinstance(limit, MinValueValidator | MaxValueValidator) and field.editable
    ]


def test_whatever_the_shops_pages_take_the_sheet_takes_too(studio: Studio) -> None:
    """Each setting at its least and its most: the sheet refuses none of them for its own sake."""
    design = DesignFactory(studio=studio)
    adhesive, finish = studio.adhesives.get(), studio.finishes.get()
    design.adhesive, design.finish = adhesive, finish
    refused = []
    for record in (studio.shop, studio.pricing, adhesive, finish):
        for name, extreme in _limits(record):
            if (name, extreme) == ("ratio_b", 0):
                continue  # one part alone: the next test
            before = getattr(record, name)
            setattr(record, name, extreme)
            try:
                read_sheet(sheet_data(design), workshop=workshop_of(studio))
            except InvalidSheet as refusal:
                places = ("shop.", "usual_board.", "finish.", "pricing.")
                refused += [(name, extreme, str(e)) for e in refusal.errors if e.place.startswith(places)]
            setattr(record, name, before)
    assert refused == []


def test_an_adhesive_of_one_part_is_measured_as_one(studio: Studio) -> None:
    """A one-part glue has nothing to mix: all of every mix is part A, in whole marks of the cup."""
    glue = AdhesiveFactory(studio=studio, kind="pva", ratio_a=1, ratio_b=0)
    _, found = estimate_design(DesignFactory(studio=studio, adhesive=glue))
    mixes = as_json(found)["adhesive"]["mixes"]
    assert mixes
    assert {mix["part_b_ml"] for mix in mixes} == {0}
    assert all(mix["part_a_ml"] > 0 and mix["part_a_ml"] % 2.5 == 0 for mix in mixes)


def test_the_adhesives_label_reaches_the_estimate(studio: Studio) -> None:
    """11 °C is 10 colder than the label's 21: set and cure take twice as long."""
    glue = AdhesiveFactory(
        studio=studio, mass_a=100, mass_b=90, set_min=30, slower_c=10, least_c=5, pressure_low=Decimal("0.1")
    )
    studio.shop.temperature_c = 11
    studio.shop.save()
    sheet, found = estimate_design(DesignFactory(studio=studio, adhesive=glue))
    assert (sheet.label.name, sheet.label.mass_ratio) == (glue.name, (100.0, 90.0))
    assert (sheet.label.least_c, sheet.label.pressure[0]) == (5.0, 0.1)
    answer = as_json(found)["adhesive"]
    assert answer["times"]["set"] == pytest.approx(60)
    assert all(mix["part_a_g"] > mix["part_b_g"] > 0 for mix in answer["mixes"])


def test_a_sheet_that_is_silent_has_the_usual_adhesives_label(studio: Studio) -> None:
    studio.adhesives.filter(usual=True).update(cure_min=600, kind="other")
    label = workshop_of(studio).label
    assert (label.cure_min, label.kind) == (600, "other")
