"""The pages of the weather and the woods: they say what was reckoned, take what is right, and keep what was wrong."""

import re
from decimal import Decimal
from html import unescape
from typing import Any

import pytest
from django.test import Client as Browser
from django.utils import timezone

from estimating.estimate import Estimate
from estimating.wood.gluing import Finding
from projects.estimates import estimate_design
from projects.models import Commission, Design, MoistureReading, Studio, Wood
from projects.models.climate import USUAL_ROOMS, Room
from projects.templatetags.turnery import apart, grams, moved
from tests.factories import (
    BandFactory,
    ClientFactory,
    CommissionFactory,
    DesignFactory,
    FormFactory,
    MoistureReadingFactory,
    PartFactory,
)

pytestmark = pytest.mark.django_db
MARKUP = "<script>alert(1)</script>"
DRY = {"room_temperature_c": "22", "room_humidity": "20"}


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A pot with a solid base, of woods whose shrinkage is the handbook's for sugar maple and black walnut."""
    for key, (radial, tangential) in {"maple": (4.8, 9.9), "walnut": (5.5, 7.8)}.items():
        studio.woods.filter(key=key).update(shrink_radial_pct=radial, shrink_tangential_pct=tangential)
    design = DesignFactory(studio=studio, shaped=False, title="Pot")
    part = PartFactory(design=design, shaped=False)
    FormFactory(part=part)
    BandFactory(part=part, position=1, name="base", layers=1, made="solid", segments=None, woods=["walnut"])
    BandFactory(part=part, position=2, name="side", layers=9, woods=["maple"])
    return CommissionFactory(studio=studio, title="Harbour pot", design=design)


@pytest.fixture
def dry_job(job: Commission) -> Commission:
    """The same, for a heated room."""
    job.client.room_temperature_c, job.client.room_humidity = Decimal(22), Decimal(20)
    job.client.save()
    return job


def found(job: Commission) -> Estimate:
    assert job.design is not None
    return estimate_design(job.design, commission=Commission.objects.get(pk=job.pk))[1]


def text_of(answer: Any) -> str:
    """The page without its tags, spaces and breaks made one."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", answer.content.decode())))


def test_a_room_that_is_not_known_is_said_so_and_usual_ones_are_offered(
    as_alice: Browser, job: Commission
) -> None:
    answer = as_alice.get(f"/jobs/{job.pk}/weather/")
    assert answer.status_code == 200
    page = text_of(answer)
    assert "Nobody has said in what air it will live" in page
    assert "common practice, no source" in page
    for usual in USUAL_ROOMS.values():
        assert f"{usual.words}: {usual.room.temperature_c} °C, {usual.room.humidity} %" in page
    assert "Across the glue lines" not in page


def test_the_page_prints_the_figures_that_were_reckoned(
    as_alice: Browser, dry_job: Commission, studio: Studio
) -> None:
    movement = found(dry_job).movement
    assert movement is not None
    most = movement.moves_most
    assert most is not None
    page = text_of(as_alice.get(f"/jobs/{dry_job.pk}/weather/"))
    assert (
        f"Made at {movement.emc_shop:.1f} % moisture, it will live at {movement.emc_client:.1f} % :" in page
    )
    assert (
        f"layer {most.number}, which moves most, shrinks by up to {apart(most.width_change, studio)} mm"
        in page
    )
    at_risk = len(movement.at_risk)
    assert f"{at_risk} glue line{'' if at_risk == 1 else 's'} at risk" in page
    assert f"{movement.humidity_to_hold:.0f} % humidity" in page
    for layer in (movement.layers[0], movement.layers[-1]):
        assert moved(layer.width_change, studio) in page
        assert moved(layer.height_change, studio) in page
        assert moved(layer.width_change_least, studio) in page
    for joint in (movement.joints[0], max(movement.joints[1:], key=lambda one: one.held or 0)):
        assert apart(joint.held, studio) in page
        assert apart(joint.mismatch, studio) in page
    safe = movement.layers[0].safe_diameter
    assert safe is not None
    assert f"wider than the {safe:.1f} mm" in page


def test_the_page_prints_the_masses_that_were_reckoned(as_alice: Browser, dry_job: Commission) -> None:
    from estimating.wood.mass import mass_at

    estimate = found(dry_job)
    movement = estimate.movement
    assert movement is not None
    page = text_of(as_alice.get(f"/jobs/{dry_job.pk}/weather/"))
    bond_line = estimate.sheet.shop.bond_line
    for moisture in (movement.emc_shop, movement.emc_client):
        mass = mass_at(
            estimate.shapes,
            woods=estimate.workshop.woods,
            moisture=moisture,
            bond_line=bond_line,
            sized_at=movement.emc_shop,
        )
        assert grams(mass.finished_g) in page
        if moisture == movement.emc_shop:
            assert grams(mass.blank_g) in page


def test_every_change_opens_to_the_working_of_the_arithmetic(as_alice: Browser, dry_job: Commission) -> None:
    from estimating.wood.weather_words import joint_working, moisture_working, working

    estimate = found(dry_job)
    movement = estimate.movement
    assert movement is not None
    page = text_of(as_alice.get(f"/jobs/{dry_job.pk}/weather/?layer=7"))
    sentences = [
        *moisture_working(movement.climate.shop),
        *moisture_working(movement.climate.client),
        *working(movement, 1, woods=estimate.workshop.woods),
        *working(movement, 7, woods=estimate.workshop.woods),
        *joint_working(movement, movement.joints[0]),
    ]
    for sentence in sentences:
        assert sentence in page
    assert "Layer 7" in page


@pytest.mark.parametrize("layer", ["0", "11", "-1", "²", "x" * 50, "9" * 400])
def test_a_layer_that_is_not_there_is_passed_over(as_alice: Browser, dry_job: Commission, layer: str) -> None:
    answer = as_alice.get(f"/jobs/{dry_job.pk}/weather/", {"layer": layer})
    assert answer.status_code == 200
    assert 'id="layer"' not in answer.content.decode()


def test_layers_of_one_band_share_a_row_however_many_they_are(as_alice: Browser, studio: Studio) -> None:
    design = DesignFactory(studio=studio, shaped=False)
    part = PartFactory(design=design, shaped=False)
    FormFactory(part=part, outer=[[0, 60], [750, 60]])
    BandFactory(part=part, layers=300, thickness=Decimal("2.42"), woods=["maple"])
    studio.woods.update(shrink_radial_pct=4.8, shrink_tangential_pct=9.9)
    answer = as_alice.get(f"/designs/{design.pk}/weather/?usual=museum")
    page = answer.content.decode()
    assert answer.status_code == 200
    if "cannot be worked out" in page:
        pytest.fail(text_of(answer))
    layers = page[page.index('id="layers"') : page.index('id="bases"')]
    assert layers.count('<th scope="row">1–300</th>') == 1
    assert page.count("(eq. 13-3)") == 2  # one working, for both ways the growth rings may lie
    assert len(page) < 150_000


def test_a_room_is_saved_for_the_client_or_for_the_commission(as_alice: Browser, job: Commission) -> None:
    answer = as_alice.post(f"/jobs/{job.pk}/weather/", {**DRY, "for_client": "client"})
    assert answer.status_code == 302
    job.refresh_from_db()
    assert (job.client.room_humidity, job.room_humidity) == (20, None)
    as_alice.post(f"/jobs/{job.pk}/weather/", {**DRY, "room_humidity": "55.5", "for_client": "job"})
    job.refresh_from_db()
    assert (job.client.room_humidity, job.room_humidity) == (20, Decimal("55.5"))
    page = as_alice.get(f"/jobs/{job.pk}/weather/").content.decode()
    assert 'value="55.5"' in page
    as_alice.post(
        f"/jobs/{job.pk}/weather/", {"room_temperature_c": "", "room_humidity": "", "for_client": "job"}
    )
    job.refresh_from_db()
    assert job.room == Room(Decimal(22), Decimal(20))


def test_a_usual_room_is_taken_whatever_stands_in_the_fields(as_alice: Browser, job: Commission) -> None:
    given = {"room_temperature_c": "hot", "room_humidity": "", "for_client": "client", "usual": "museum"}
    assert as_alice.post(f"/jobs/{job.pk}/weather/", given).status_code == 302
    job.refresh_from_db()
    assert job.room == USUAL_ROOMS["museum"].room


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"room_humidity": "0.45"}, "Must be at least 5"),
        ({"room_humidity": "damp"}, "Enter a number"),
        ({"room_humidity": ""}, "one says nothing without the other"),
        ({"room_temperature_c": "900"}, "Must be at most 132.2"),
        ({"room_temperature_c": ""}, "one says nothing without the other"),
        ({"for_client": "mine"}, "Select a valid choice"),
    ],
    ids=str,
)
def test_a_room_that_cannot_be_changes_nothing_and_stays_typed(
    as_alice: Browser, dry_job: Commission, typed: dict[str, str], said: str
) -> None:
    answer = as_alice.post(
        f"/jobs/{dry_job.pk}/weather/",
        {"room_temperature_c": "20.5", "room_humidity": "61.5", "for_client": "job", **typed},
    )
    assert answer.status_code == 400
    page = answer.content.decode()
    assert said in page
    for kept in ("20.5", "61.5"):
        if kept in {"room_temperature_c": "20.5", "room_humidity": "61.5", **typed}.values():
            assert f'value="{kept}"' in page
    for value in typed.values():
        if value != "mine":
            assert f'value="{value}"' in page or not value
    dry_job.refresh_from_db()
    assert (dry_job.room_humidity, dry_job.client.room_humidity) == (None, 20)


def test_a_design_is_tried_in_a_room_and_nothing_is_kept(as_alice: Browser, job: Commission) -> None:
    design = job.design
    assert design is not None
    tried = as_alice.get(f"/designs/{design.pk}/weather/", DRY)
    movement = estimate_design(design, room=Room(Decimal(22), Decimal(20)))[1].movement
    assert movement is not None
    assert f"it will live at {movement.emc_client:.1f} %" in text_of(tried)
    assert 'href="?room_temperature_c=22&amp;room_humidity=20&amp;layer=2#layer"' in tried.content.decode()
    assert "Nobody has said" in text_of(as_alice.get(f"/designs/{design.pk}/weather/"))
    wrong = as_alice.get(
        f"/designs/{design.pk}/weather/", {"room_temperature_c": "22", "room_humidity": "300"}
    )
    assert wrong.status_code == 400
    assert 'value="300"' in wrong.content.decode()
    job.refresh_from_db()
    assert job.room is None


def test_a_client_has_a_room_on_their_own_page(as_alice: Browser, studio: Studio) -> None:
    client = ClientFactory(studio=studio)
    given = {"kind": "gallery", "name": "Harbour Row", **DRY}
    assert as_alice.post(f"/clients/{client.pk}/", given).status_code == 302
    client.refresh_from_db()
    assert client.room_humidity == 20
    wrong = as_alice.post(f"/clients/{client.pk}/", {**given, "room_humidity": ""})
    assert wrong.status_code == 400
    assert "one says nothing without the other" in wrong.content.decode()
    client.refresh_from_db()
    assert client.room_humidity == 20


def test_readings_are_written_down_judged_and_taken_out(
    as_alice: Browser, dry_job: Commission, studio: Studio
) -> None:
    woods = {wood.key: wood.pk for wood in studio.woods.all()}
    for key, percent in (("maple", "6.5"), ("walnut", "9.5")):
        given = {
            "wood": woods[key],
            "what": f"board {key}",
            "percent": percent,
            "read_on": timezone.localdate().isoformat(),
            "milled_on": timezone.localdate().isoformat(),
            "note": MARKUP,
        }
        answer = as_alice.post(f"/jobs/{dry_job.pk}/readings/", given)
        assert answer.status_code == 302
        assert answer["Location"].endswith("#gluing")
    answer = as_alice.get(f"/jobs/{dry_job.pk}/weather/")
    page = text_of(answer)
    assert "board walnut has 9.5 %" in page
    assert "3.0 % apart" in page
    assert "Milled 0 days ago; the shop lets wood rest 7 days" in page
    assert MARKUP not in answer.content.decode()
    reading = dry_job.readings.get(what="board maple")
    assert as_alice.post(f"/readings/{reading.pk}/take-out/").status_code == 302
    assert [left.what for left in dry_job.readings.all()] == ["board walnut"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"percent": "0"}, "Must be at least 0.1"),
        ({"percent": "85"}, "Must be at most 60"),
        ({"percent": "dry"}, "Enter a number"),
        ({"wood": ""}, "This field is required"),
        ({"read_on": "2999-01-01"}, "yet to come"),
        ({"milled_on": "2999-01-01"}, "after the day it was read"),
    ],
    ids=str,
)
def test_a_reading_that_cannot_be_is_not_kept_but_stays_typed(
    as_alice: Browser, job: Commission, studio: Studio, typed: dict[str, str], said: str
) -> None:
    wood = studio.woods.get(key="maple")
    given = {"wood": wood.pk, "what": "board Q", "percent": "8", "read_on": "2026-05-01", **typed}
    answer = as_alice.post(f"/jobs/{job.pk}/readings/", given)
    assert answer.status_code == 400
    page = answer.content.decode()
    assert said in page
    assert 'value="board Q"' in page
    for value in typed.values():
        assert f'value="{value}"' in page
    assert not MoistureReading.objects.exists()


def test_an_outsider_sees_and_changes_nothing(as_charlie: Browser, dry_job: Commission) -> None:
    reading = MoistureReadingFactory(commission=dry_job)
    design = dry_job.design_id
    for address in (f"/jobs/{dry_job.pk}/weather/", f"/designs/{design}/weather/"):
        assert as_charlie.get(address).status_code == 404
    for address in (f"/jobs/{dry_job.pk}/woods/", f"/designs/{design}/woods/?wood=maple&other_1=walnut"):
        assert as_charlie.get(address).status_code == 404
    for address in (f"/jobs/{dry_job.pk}/weather/", f"/jobs/{dry_job.pk}/readings/"):
        assert as_charlie.post(address, {**DRY, "percent": "8"}).status_code == 404
    assert as_charlie.post(f"/readings/{reading.pk}/take-out/").status_code == 404
    assert MoistureReading.objects.filter(pk=reading.pk).exists()


@pytest.mark.parametrize("page", ["weather", "woods"])
def test_a_commission_without_a_design_is_sent_to_draw_one(
    as_alice: Browser, studio: Studio, page: str
) -> None:
    job = CommissionFactory(studio=studio, design=None)
    answer = as_alice.get(f"/jobs/{job.pk}/{page}/")
    assert (answer.status_code, answer["Location"]) == (302, f"/designs/new/?job={job.pk}")
    assert as_alice.post(f"/jobs/{job.pk}/readings/", {"percent": "8"})["Location"].startswith(
        "/designs/new/"
    )


@pytest.mark.parametrize("page", ["weather", "woods"])
def test_markup_is_shown_escaped_and_a_design_that_cannot_be_made_says_why(
    as_alice: Browser, job: Commission, studio: Studio, page: str
) -> None:
    Commission.objects.filter(pk=job.pk).update(title=MARKUP)
    Design.objects.filter(pk=job.design_id).update(title=MARKUP)
    Wood.objects.filter(studio=studio, key="maple").update(name=MARKUP)
    MoistureReadingFactory(commission=job, what=MARKUP)
    for address in (f"/jobs/{job.pk}/{page}/", f"/designs/{job.design_id}/{page}/?usual=museum"):
        answer = as_alice.get(address)
        assert answer.status_code == 200
        assert MARKUP not in answer.content.decode()
        assert "&lt;script&gt;alert" in answer.content.decode()
    assert job.design is not None
    job.design.parts.get().bands.get(position=2).delete()
    answer = as_alice.get(f"/jobs/{job.pk}/{page}/")
    assert answer.status_code == 200
    assert "cannot be worked out" in answer.content.decode()


def test_in_inches_a_change_is_in_thousandths_and_its_working_in_inches_too(
    as_alice: Browser, dry_job: Commission, studio: Studio
) -> None:
    studio.length_unit = "in"
    studio.save()
    movement = found(dry_job).movement
    assert movement is not None
    most = movement.moves_most
    assert most is not None
    page = text_of(as_alice.get(f"/jobs/{dry_job.pk}/weather/"))
    inches = abs(most.width_change or 0) / 25.4
    assert f"shrinks by up to {inches:.3f} in" in page
    assert not re.search(r"\d mm\b", page)


def test_findings_of_gluing_show_their_severity_in_words(
    as_alice: Browser, job: Commission, monkeypatch: Any
) -> None:
    told = tuple(
        Finding("code", severity, f"About {severity} matters.")  # type: ignore[arg-type]  # each of the three
        for severity in ("note", "warning", "danger")
    )
    monkeypatch.setattr("estimating.wood.gluing.gluing_findings", lambda *_args, **_kwargs: told)
    page = text_of(as_alice.get(f"/jobs/{job.pk}/weather/"))
    for word, severity in (("Note.", "note"), ("Take care.", "warning"), ("Danger.", "danger")):
        assert re.search(rf"{re.escape(word)}\s+About {severity} matters\.", page)
