"""A gallery's page in a browser: what it owes, its payment written down and taken back, readable on any screen."""

import datetime
from decimal import Decimal
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page

from projects.models import Studio
from projects.services.record_places import place_add
from tests.browser.conftest import Heard
from tests.browser.test_every_page import RULES
from tests.factories import ClientFactory
from tests.factories_records import RecordFactory

MAY, JUNE = datetime.date(2026, 5, 1), datetime.date(2026, 6, 1)


def _sold_and_out(studio: Studio) -> int:
    """A gallery that keeps two fifths, with a piece sold at 500 and one that is late to be back; its key."""
    gallery = ClientFactory(studio=studio, kind="gallery", name="Sill", gallery_share=Decimal("0.4"))
    sold = RecordFactory(studio=studio, title="Tide bowl")
    place_add(record=sold, kind="consigned", since=MAY, client=gallery)
    place_add(record=sold, kind="sold", since=JUNE, price=Decimal(500))
    out = RecordFactory(studio=studio, title="Reed vase of many woods with a name that takes its room")
    place_add(record=out, kind="consigned", since=MAY, due_back=JUNE, client=gallery)
    return int(gallery.pk)


def test_what_a_gallery_paid_is_written_down(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, workshop: Studio
) -> None:
    address = f"{live_server.url}/log/consignment/{_sold_and_out(workshop)}/"
    page.goto(address)
    assert "Still due for pieces sold: $300.00" in page.inner_text(".answer")
    assert "1 June 2026 late" in page.inner_text("main")
    page.get_by_text("Sill paid").click()
    page.get_by_label("Tide bowl").fill("$120")
    page.get_by_label("Note").fill("statement of July")
    page.get_by_role("button", name="Write it down").click()
    assert "Still due for pieces sold: $180.00" in page.inner_text(".answer")
    assert "$120.00 for Tide bowl (statement of July)" in page.inner_text("#paid")
    for shown in (address, f"{live_server.url}/log/consignment/", f"{live_server.url}/log/table/?back=late"):
        page.goto(shown)
        page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
        found = Axe().run(page, options=RULES).response["violations"]
        assert [f"{rule['id']}: {node['html'][:160]}" for rule in found for node in rule["nodes"]] == []
        for width in (320, 390, 1280):
            page.set_viewport_size({"width": width, "height": 800})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, (shown, width)
    page.goto(address)
    page.get_by_role("button", name="Take back: $120.00 for Tide bowl").click()
    assert "Still due for pieces sold: $300.00" in page.inner_text(".answer")
