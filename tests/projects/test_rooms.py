"""Rooms and moisture readings as records: what they take, what they refuse, and what the piece sheet gets of them."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from estimating.wood.climate import HUMIDITIES, TEMPERATURES
from projects.estimates import compare_woods, estimate_design, sheet_data
from projects.models import Commission, MoistureReading, ShopSettings, Studio, Wood
from projects.models.climate import BOTH_OR_NEITHER, USUAL_ROOMS, Room
from projects.pages.weather_forms import RoomForm, TriedRoomForm
from projects.services.moisture import reading_add, reading_delete
from projects.services.rooms import room_set
from projects.services.shop import wood_delete
from projects.services.studios import studio_create
from tests.factories import (
    BoardFactory,
    ClientFactory,
    CommissionFactory,
    MemberFactory,
    MoistureReadingFactory,
    StudioFactory,
    UserFactory,
    WoodFactory,
)

pytestmark = pytest.mark.django_db
DRY = {"room_temperature_c": Decimal(22), "room_humidity": Decimal(30)}
HALVES: list[dict[str, Any]] = [
    {"room_temperature_c": Decimal(22), "room_humidity": None},
    {"room_temperature_c": None, "room_humidity": Decimal(30)},
]


@pytest.fixture
def job(studio: Studio) -> Commission:
    return CommissionFactory(studio=studio)


@pytest.mark.parametrize("factory", [ClientFactory, CommissionFactory])
@pytest.mark.parametrize("half", HALVES, ids=["no humidity", "no temperature"])
def test_half_a_room_is_refused_at_what_is_missing_and_by_the_database(
    factory: Any, half: dict[str, Any], studio: Studio
) -> None:
    row = factory(studio=studio)
    for name, value in half.items():
        setattr(row, name, value)
    with pytest.raises(ValidationError) as refusal:
        row.full_clean()
    (missing,) = (name for name, value in half.items() if value is None)
    assert refusal.value.message_dict == {missing: [BOTH_OR_NEITHER]}
    with pytest.raises(IntegrityError), transaction.atomic():
        type(row).objects.filter(pk=row.pk).update(**half)


@pytest.mark.parametrize("factory", [ClientFactory, CommissionFactory])
def test_a_room_takes_what_the_published_table_takes_and_no_more(factory: Any, studio: Studio) -> None:
    row = factory(studio=studio)
    spans = {"room_temperature_c": TEMPERATURES, "room_humidity": HUMIDITIES}
    for name, (low, high) in spans.items():
        for value in (low, high):
            row.room_temperature_c, row.room_humidity = 21, 50
            setattr(row, name, value)
            row.full_clean()
            row.save()
        for value in (low - 0.1, high + 0.1):
            row.room_temperature_c, row.room_humidity = 21, 50
            setattr(row, name, value)
            with pytest.raises(ValidationError) as refusal:
                row.full_clean()
            assert name in refusal.value.message_dict
            with pytest.raises(IntegrityError), transaction.atomic():
                type(row).objects.filter(pk=row.pk).update(**{name: Decimal(str(round(value, 1)))})


@pytest.mark.parametrize(
    ("name", "value"), [("air_temperature_c", 140), ("air_humidity", 4), ("acclimatise_days", 366)]
)
def test_the_shops_air_and_rest_have_their_range(name: str, value: int, studio: Studio) -> None:
    setattr(studio.shop, name, value)
    with pytest.raises(ValidationError) as refusal:
        studio.shop.full_clean()
    assert name in refusal.value.message_dict
    with pytest.raises(IntegrityError), transaction.atomic():
        ShopSettings.objects.filter(studio=studio).update(**{name: value})


def test_a_new_studio_has_air_and_a_week_of_rest() -> None:
    shop = studio_create(name="Fern", owner=UserFactory()).shop
    shop.refresh_from_db()
    assert (shop.air_temperature_c, shop.air_humidity, shop.acclimatise_days) == (21, 45, 7)


def test_every_usual_room_is_one_that_a_client_may_have(studio: Studio) -> None:
    for usual in USUAL_ROOMS.values():
        room_set(
            commission=CommissionFactory(studio=studio),
            for_client=True,
            room_temperature_c=usual.room.temperature_c,
            room_humidity=usual.room.humidity,
        )


def test_a_commissions_own_room_stands_for_its_clients(job: Commission) -> None:
    assert job.room is None
    room_set(commission=job, for_client=True, **DRY)
    job.refresh_from_db()
    assert job.room == Room(Decimal(22), Decimal(30))
    assert CommissionFactory(studio=job.studio, client=job.client).room == job.room
    room_set(commission=job, for_client=False, room_temperature_c=Decimal(20), room_humidity=Decimal(60))
    job.refresh_from_db()
    assert job.room == Room(Decimal(20), Decimal(60))
    assert job.client.room_humidity == 30


def test_a_room_said_to_be_the_clients_counts_for_a_commission_that_had_its_own(job: Commission) -> None:
    room_set(commission=job, for_client=False, room_temperature_c=Decimal(20), room_humidity=Decimal(60))
    room_set(commission=job, for_client=True, **DRY)
    job.refresh_from_db()
    assert job.room == Room(Decimal(22), Decimal(30))


def test_a_clients_room_that_is_refused_leaves_the_commissions_as_it_is(job: Commission) -> None:
    room_set(commission=job, for_client=False, **DRY)
    with pytest.raises(ValidationError):
        room_set(commission=job, for_client=True, room_temperature_c=Decimal(21), room_humidity=Decimal(99))
    job.refresh_from_db()
    assert job.room == Room(Decimal(22), Decimal(30))


def test_the_sheet_has_a_climate_once_a_room_is_known(job: Commission) -> None:
    design = job.design
    assert design is not None
    assert "climate" not in sheet_data(design)
    assert "climate" not in sheet_data(design, commission=job)
    assert estimate_design(design, commission=job)[1].movement is None
    room_set(commission=job, for_client=True, **DRY)
    climate = sheet_data(design, commission=job)["climate"]
    assert climate == {
        "shop": {"temperature_c": 21.0, "humidity": 45.0},
        "client": {"temperature_c": 22.0, "humidity": 30.0},
    }
    assert "climate" not in sheet_data(design)
    assert sheet_data(design, room=Room(Decimal(5), Decimal(90)))["climate"]["client"]["humidity"] == 90.0


def test_a_reading_is_named_after_its_wood_and_counts_its_rest(job: Commission) -> None:
    today = timezone.localdate()
    reading = reading_add(
        commission=job,
        member=MemberFactory(studio=job.studio),
        wood=job.studio.woods.get(key="maple"),
        what="",
        percent=Decimal("7.4"),
        milled_on=today - datetime.timedelta(9),
    )
    assert (reading.what, reading.read_on, reading.rested_days) == ("hard maple", today, 9)
    assert MoistureReadingFactory(commission=job).rested_days is None
    reading_delete(reading=reading)
    assert [left.what for left in job.readings.all()] == ["board A"]


TOMORROW = timezone.localdate() + datetime.timedelta(1)


@pytest.mark.parametrize(
    ("wrong", "place"),
    [
        ({"percent": Decimal(0)}, "percent"),
        ({"percent": Decimal("60.1")}, "percent"),
        ({"what": "", "wood": None}, "what"),
        ({"read_on": TOMORROW}, "read_on"),
        ({"read_on": datetime.date(2026, 5, 1), "milled_on": datetime.date(2026, 5, 2)}, "milled_on"),
    ],
    ids=str,
)
def test_a_reading_that_cannot_be_is_refused(job: Commission, wrong: dict[str, Any], place: str) -> None:
    with pytest.raises(ValidationError) as refusal:
        reading_add(
            commission=job,
            member=MemberFactory(studio=job.studio),
            **{"what": "A", "percent": Decimal(8), **wrong},
        )
    assert set(refusal.value.message_dict) == {place}
    assert not MoistureReading.objects.exists()


@pytest.mark.parametrize(
    "wrong",
    [{"percent": 0}, {"percent": 61}, {"what": ""}, {"milled_on": datetime.date(2999, 1, 1)}],
    ids=str,
)
def test_the_database_holds_what_a_reading_may_be(job: Commission, wrong: dict[str, Any]) -> None:
    reading = MoistureReadingFactory(commission=job)
    with pytest.raises(IntegrityError), transaction.atomic():
        MoistureReading.objects.filter(pk=reading.pk).update(**wrong)


def test_a_reading_takes_no_member_or_wood_of_another_studio(job: Commission, other_studio: Studio) -> None:
    reading = MoistureReadingFactory(commission=job)
    reading.member = MemberFactory(studio=other_studio)
    reading.wood = other_studio.woods.first()
    with pytest.raises(ValidationError) as refusal:
        reading.full_clean()
    assert set(refusal.value.message_dict) == {"member", "wood"}


def test_readings_stop_at_a_number_that_no_piece_needs(job: Commission, monkeypatch: Any) -> None:
    monkeypatch.setattr("projects.services.moisture.MOST_READINGS", 1)
    MoistureReadingFactory(commission=job)
    with pytest.raises(ValidationError, match="1 readings are kept"):
        reading_add(commission=job, member=MemberFactory(studio=job.studio), what="B", percent=Decimal(8))


def test_a_wood_taken_off_the_list_leaves_what_was_read_of_it(job: Commission, studio: Studio) -> None:
    wood = WoodFactory(studio=studio, key="elm", name="elm")
    reading = MoistureReadingFactory(commission=job, wood=wood, what="elm")
    wood_delete(wood=wood)
    reading.refresh_from_db()
    assert (reading.wood, reading.what) == (None, "elm")


def test_other_woods_are_reckoned_with_the_boards_that_lie_there(studio: Studio, job: Commission) -> None:
    assert job.design is not None
    cherry = WoodFactory(studio=studio, key="cherry", name="black cherry", density=560)
    bought = compare_woods(job.design, commission=job, wood="maple", alternatives=["cherry"])
    BoardFactory(wood=cherry, length=2400, width=200, thickness=40, count=30, price=Decimal(1))
    lying = compare_woods(job.design, commission=job, wood="maple", alternatives=["cherry"])
    (before,), (after,) = bought.others, lying.others
    assert before.short
    assert not after.short
    assert after.wood_cost < before.wood_cost
    assert lying.present == bought.present
    assert Wood.objects.filter(key="cherry").count() == 1


def test_what_is_wrong_with_a_figure_is_said_once() -> None:
    studio = StudioFactory.build()
    for form in (
        RoomForm({"room_temperature_c": "123456", "room_humidity": "1.234567"}, studio=studio),
        TriedRoomForm({"room_temperature_c": "123456", "room_humidity": "1.234567"}),
    ):
        for field in ("room_temperature_c", "room_humidity"):
            said = form.errors[field]
            assert any("digits in total" in words for words in said)
            assert len(said) == len(set(said)), said
