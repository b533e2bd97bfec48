"""The page of an adhesive: its label in groups, figures of a kind filled in, what is wrong with what was typed."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client as Browser

from estimating.glue.kinds import usual_adhesives
from projects.models import Adhesive, Studio
from projects.pages.adhesive_form import GROUPS
from tests.factories import AdhesiveFactory

pytestmark = pytest.mark.django_db

NEW = "/shop/adhesives/new/"


def typed(form: Any, **changes: str) -> dict[str, str]:
    """What the browser would send of a page as it stands, and some of it typed over."""
    values = {field.name: field.value() for field in form}
    sent = {
        name: str(form[name].field.prepare_value(value))
        for name, value in values.items()
        if value is not None and value is not False
    }
    return {"price_per_ml": "0.05", **sent, **changes}


def test_every_field_of_the_label_is_asked_for_in_a_group(as_alice: Browser) -> None:
    asked = {name for names in GROUPS.values() for name in names}
    own = {field.name for field in Adhesive._meta.concrete_fields if field.editable}
    assert asked == own - {"id", "studio"}
    page = as_alice.get(NEW).content.decode()
    assert all(f"<legend>{title}</legend>" in page for title in GROUPS)
    assert "replace them with those on the label" in page


@pytest.mark.parametrize("key", usual_adhesives())
def test_the_figures_of_a_kind_are_filled_in_and_can_be_saved(
    as_alice: Browser, studio: Studio, key: str
) -> None:
    answer = as_alice.get(f"{NEW}?start={key}")
    assert "not saved yet" in answer.content.decode()
    name = f"Ours {key}"
    assert as_alice.post(NEW, typed(answer.context["form"], name=name)).status_code == 302
    made, usual = studio.adhesives.get(name=name), usual_adhesives()[key]
    assert (made.kind, float(made.pot_life_min)) == (usual.label.kind, usual.pot_life_min)
    assert (float(made.slower_c), float(made.least_c)) == (usual.label.slower_c, usual.label.least_c)
    assert (float(made.pressure_low), float(made.pressure_high)) == usual.label.pressure
    assert (float(made.exotherm_ml), made.cleaner) == (usual.label.exotherm_ml, usual.label.cleaner)
    assert not made.label_read


def test_filling_in_keeps_name_note_and_price_and_saves_nothing(as_alice: Browser, studio: Studio) -> None:
    glue = AdhesiveFactory(
        studio=studio, name="Ours", note="Shelf B", price_per_ml=Decimal("0.07"), label_read=True, set_min=33
    )
    answer = as_alice.get(f"/shop/adhesives/{glue.pk}/?start=polyurethane")
    form = answer.context["form"]
    assert [form[name].value() for name in ("name", "note", "kind")] == ["Ours", "Shelf B", "polyurethane"]
    assert form["price_per_ml"].value() == "0.07"
    assert not form["label_read"].value()
    assert "Where these figures come from" in answer.content.decode()
    glue.refresh_from_db()
    assert (glue.kind, glue.set_min, glue.label_read) == ("epoxy", 33, True)


def test_a_start_that_is_no_kind_fills_nothing_in(as_alice: Browser) -> None:
    answer = as_alice.get(f"{NEW}?start=%3Cscript%3E")
    assert answer.status_code == 200
    assert answer.context["form"].start is None
    assert "<script>" not in answer.content.decode().replace("<script src=", "")


WRONG = [
    ({"slower_c": "2"}, "slower_c", "Must be at least 5, or 0 where no such rule holds."),
    ({"mass_a": "100"}, "mass_b", "Give both parts by mass, or neither."),
    (
        {"pressure_low": "0.5", "pressure_high": "0.2"},
        "pressure_high",
        "The most must not be below the least.",
    ),
    ({"least_c": "99"}, "least_c", "Must be at most 60."),
    ({"open_min": "a while"}, "open_min", "Enter a number."),
]


@pytest.mark.parametrize(("change", "field", "message"), WRONG, ids=[field for _, field, _ in WRONG])
def test_what_cannot_be_is_said_at_its_field_and_what_was_typed_stays(
    as_alice: Browser, studio: Studio, change: dict[str, str], field: str, message: str
) -> None:
    glue = AdhesiveFactory(studio=studio, set_min=33)
    at = f"/shop/adhesives/{glue.pk}/"
    answer = as_alice.post(at, typed(as_alice.get(at).context["form"], set_min="44", **change))
    assert answer.status_code == 400
    assert set(answer.context["form"].errors[field]) == {message}
    page = answer.content.decode()
    assert 'value="44"' in page
    assert all(f'value="{text}"' in page for text in change.values())
    glue.refresh_from_db()
    assert glue.set_min == 33


def test_parts_by_mass_are_kept_and_may_be_left_empty_again(as_alice: Browser, studio: Studio) -> None:
    glue = AdhesiveFactory(studio=studio)
    at = f"/shop/adhesives/{glue.pk}/"
    as_alice.post(at, typed(as_alice.get(at).context["form"], mass_a="100", mass_b="44"))
    glue.refresh_from_db()
    assert (glue.mass_a, glue.mass_b) == (100, 44)
    as_alice.post(at, typed(as_alice.get(at).context["form"], mass_a="", mass_b=""))
    glue.refresh_from_db()
    assert (glue.mass_a, glue.mass_b) == (None, None)


def test_markup_in_a_cleaner_is_shown_as_it_is(as_alice: Browser, studio: Studio) -> None:
    glue = AdhesiveFactory(studio=studio, cleaner="<b>wipe</b>", cautions="</textarea><b>x</b>")
    page = as_alice.get(f"/shop/adhesives/{glue.pk}/").content.decode()
    assert "&lt;b&gt;wipe&lt;/b&gt;" in page
    assert "<b>x</b>" not in page


def test_another_studios_adhesive_is_not_there(as_alice: Browser, other_studio: Studio) -> None:
    theirs = AdhesiveFactory(studio=other_studio)
    assert as_alice.get(f"/shop/adhesives/{theirs.pk}/?start=pva").status_code == 404


def test_the_api_takes_the_whole_label_and_names_what_is_wrong(as_alice: Browser, studio: Studio) -> None:
    label = {"name": "Ours", "mass_a": "100", "mass_b": "44", "slower_c": "8.3", "cleaner": "water"}
    made = as_alice.post("/api/v1/adhesives/", label, content_type="application/json")
    assert made.status_code == 201
    glue = studio.adhesives.get(name="Ours")
    assert (glue.mass_b, glue.slower_c, glue.cleaner) == (44, Decimal("8.3"), "water")
    wrong = {"name": "Other", "pressure_low": "0.5", "pressure_high": "0.2"}
    refused = as_alice.post("/api/v1/adhesives/", wrong, content_type="application/json")
    assert refused.status_code == 400
    assert "The most must not be below the least." in refused.content.decode()
    assert not studio.adhesives.filter(name="Other").exists()
