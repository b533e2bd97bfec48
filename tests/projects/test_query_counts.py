"""Lists ask the database as often for many rows as for one: no query a row."""

from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext

from projects.models import Studio
from tests.factories import (
    AdhesiveFactory,
    BandFactory,
    BoardFactory,
    ClientFactory,
    CommissionFactory,
    DesignFactory,
    FinishFactory,
    HoursEntryFactory,
    MemberFactory,
    PartFactory,
    QuoteFactory,
    RateFactory,
    WoodFactory,
)

pytestmark = pytest.mark.django_db

LISTS: dict[str, Callable[[Studio], Any]] = {
    "/": lambda studio: CommissionFactory(studio=studio),
    "/designs/": lambda studio: BandFactory(
        part=PartFactory(design=DesignFactory(studio=studio), position=2, name="lid"), position=2
    ),
    "/clients/": lambda studio: CommissionFactory(studio=studio, client=ClientFactory(studio=studio)),
    "/rack/": lambda studio: BoardFactory(wood=WoodFactory(studio=studio)),
    "/rack/woods/": lambda studio: WoodFactory(studio=studio),
    "/shop/adhesives/": lambda studio: AdhesiveFactory(studio=studio),
    "/shop/finishes/": lambda studio: FinishFactory(studio=studio),
    "/shop/rates/": lambda studio: RateFactory(studio=studio, operation=f"task {studio.rates.count()}"),
    "/studio/": lambda studio: MemberFactory(studio=studio),
    "/api/v1/woods/": lambda studio: WoodFactory(studio=studio),
    "/api/v1/boards/": lambda studio: BoardFactory(wood=WoodFactory(studio=studio)),
    "/api/v1/clients/": lambda studio: ClientFactory(studio=studio),
    "/api/v1/designs/": lambda studio: BandFactory(
        part=PartFactory(design=DesignFactory(studio=studio), position=2, name="lid"), position=2
    ),
    "/api/v1/commissions/": lambda studio: CommissionFactory(studio=studio),
    "/api/v1/quotes/": lambda studio: QuoteFactory(commission=CommissionFactory(studio=studio)),
}


def _queries(browser: Browser, path: str) -> int:
    with CaptureQueriesContext(connection) as asked:
        assert browser.get(path).status_code == 200
    return len(asked)


@pytest.mark.parametrize("path", LISTS)
def test_a_list_asks_the_database_no_more_for_six_rows_than_for_one(
    as_alice: Browser, studio: Studio, path: str
) -> None:
    LISTS[path](studio)
    for_one = _queries(as_alice, path)
    for _ in range(5):
        LISTS[path](studio)
    assert _queries(as_alice, path) == for_one


def test_a_commission_asks_the_database_no_more_for_six_entries_of_its_hours_than_for_one(
    as_alice: Browser, alice: User, studio: Studio
) -> None:
    job = CommissionFactory(studio=studio)
    HoursEntryFactory(commission=job)
    for_one = _queries(as_alice, f"/jobs/{job.pk}/")
    for _ in range(5):
        HoursEntryFactory(commission=job)
    assert _queries(as_alice, f"/jobs/{job.pk}/") == for_one
