"""API v1 and the rooms: they are read and written with clients and commissions, and an estimate says what moves."""

import json
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client as Browser

from projects.estimates import sheet_data
from projects.models import Commission, Studio
from projects.models.climate import BOTH_OR_NEITHER, Room
from tests.factories import ClientFactory, CommissionFactory

pytestmark = pytest.mark.django_db
DRY = {"room_temperature_c": "22.0", "room_humidity": "30.0"}


def _patched(browser: Browser, path: str, data: dict[str, Any]) -> Any:
    return browser.patch(f"/api/v1/{path}/", json.dumps(data), content_type="application/json")


@pytest.mark.parametrize("kind", ["clients", "commissions"])
def test_a_room_is_read_and_written_and_half_of_one_refused(
    as_alice: Browser, studio: Studio, kind: str
) -> None:
    row = ClientFactory(studio=studio) if kind == "clients" else CommissionFactory(studio=studio)
    path = f"{kind}/{row.pk}"
    answer = _patched(as_alice, path, DRY)
    assert answer.status_code == 200
    assert {key: answer.json()[key] for key in DRY} == DRY
    for wrong, place in (
        ({"room_humidity": None}, "room_humidity"),
        ({"room_humidity": "0.3"}, "room_humidity"),
    ):
        refused = _patched(as_alice, path, wrong)
        assert refused.status_code == 400
        assert all(place in error for error in refused.json()["errors"])
    assert BOTH_OR_NEITHER in " ".join(_patched(as_alice, path, {"room_humidity": None}).json()["errors"])
    row.refresh_from_db()
    assert row.room_humidity == 30
    assert _patched(as_alice, path, dict.fromkeys(DRY)).status_code == 200


def test_a_sheet_with_a_climate_is_answered_with_what_moves(as_alice: Browser, studio: Studio) -> None:
    studio.woods.update(shrink_radial_pct=Decimal("4.8"), shrink_tangential_pct=Decimal("9.9"))
    job: Commission = CommissionFactory(studio=studio)
    assert job.design is not None
    sheet = sheet_data(job.design, commission=job, room=Room(Decimal(22), Decimal(30)))
    answer = as_alice.post("/api/v1/estimate/", json.dumps(sheet), content_type="application/json")
    assert answer.status_code == 200
    movement = answer.json()["movement"]
    assert movement["emc_shop"] > movement["emc_client"]
    assert len(movement["layers"]) == 10
    assert all(layer["width_change"] < 0 for layer in movement["layers"])
    sheet["climate"]["client"]["humidity"] = 0.3
    wrong = as_alice.post("/api/v1/estimate/", json.dumps(sheet), content_type="application/json")
    assert wrong.status_code == 400
    (error,) = wrong.json()["errors"]
    assert error.startswith("climate.client.humidity: must be at least 5, not 0.3")
