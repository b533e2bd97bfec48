"""What is known of a wood besides its figures: in a new studio, in one of before, on its form, in its estimates."""

from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse

from estimating.wood.species import Species, published_species
from projects.estimates import workshop_of
from projects.models import Studio, Wood
from projects.services import shop
from projects.services.studios import studio_create
from tests.conftest import Migrate
from tests.factories import UserFactory

TRAITS = ("health_detail", "oily", "dust_stains", "fades", "protected_note", "traits_source")


def new_studio() -> Studio:
    return studio_create(name="Fern Gully", owner=UserFactory())


def traits_of(wood: Wood | Species) -> dict[str, Any]:
    return {name: getattr(wood, name) for name in TRAITS}


@pytest.mark.django_db
def test_a_new_studio_s_woods_have_the_traits_of_the_table_and_its_estimates_see_them() -> None:
    studio = new_studio()
    estimated = workshop_of(studio).woods
    for key, species in published_species().items():
        wood = Wood.objects.for_studio(studio).get(key=key)
        assert traits_of(wood) == traits_of(species) == traits_of(estimated[key])


@pytest.mark.django_db
def test_what_a_studio_says_of_its_wood_holds_in_its_estimates() -> None:
    studio = new_studio()
    wood = Wood.objects.for_studio(studio).get(key="maple")
    shop.wood_update(wood=wood, oily=True, fades="greys", protected_note="")
    found = workshop_of(studio).woods["maple"]
    assert (found.oily, found.fades, found.protected_note) == (True, "greys", "")
    assert not workshop_of(new_studio()).woods["maple"].oily


@pytest.mark.django_db(transaction=True)
def test_woods_of_before_get_the_table_s_traits_and_own_woods_are_left_alone(migrate: Migrate) -> None:
    apps = migrate("0014_saw_settings")
    studio = apps.get_model("projects", "Studio").objects.create(name="Fern Gully")
    for key, botanical in (
        ("padauk", "Pterocarpus soyauxii"),
        ("rosewood", "own grove"),
        ("bog_oak", "Quercus"),
    ):
        apps.get_model("projects", "Wood").objects.create(
            studio=studio, key=key, name=key, botanical=botanical, density=600
        )
    woods = {
        wood.key: wood for wood in migrate("0013_wood_traits").get_model("projects", "Wood").objects.all()
    }
    assert traits_of(woods["padauk"]) == traits_of(published_species()["padauk"])
    for own in ("rosewood", "bog_oak"):
        assert not any(traits_of(woods[own]).values())


@pytest.mark.django_db
def test_the_form_of_a_wood_shows_and_keeps_its_traits(client: Browser) -> None:
    studio = new_studio()
    client.force_login(studio.members.first().user)
    wood = Wood.objects.for_studio(studio).get(key="padauk")
    page = reverse("wood_edit", args=[wood.pk])
    form = client.get(page).context["form"]
    assert form.initial["fades"] == "turns from bright orange-red to a dark brown"
    data = {name: form[name].value() for name in form.fields}
    data = {name: value for name, value in data.items() if value not in (None, False)}
    sent = client.post(page, {**data, "fades": "browns <b>", "oily": ""})
    assert sent.status_code == 302, sent.context["form"].errors
    wood.refresh_from_db()
    assert (wood.fades, wood.oily, wood.dust_stains) == ("browns <b>", False, True)
    assert "browns &lt;b&gt;" in client.get(page).content.decode()
