"""Ticks for a catalogue in a browser: kept from page to page with the script and without, put in order, printed."""

import io
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect
from pypdf import PdfReader

from projects.models import PieceRecord, Studio
from projects.pages.log import ROWS_A_PAGE
from tests.browser.conftest import Heard
from tests.browser.test_every_page import RULES
from tests.factories_records import RecordFactory


@pytest.fixture
def pieces(workshop: Studio) -> list[PieceRecord]:
    """More than a page of the table."""
    return [RecordFactory(studio=workshop, title=f"Bowl {n:02}", year=2024) for n in range(ROWS_A_PAGE + 3)]


def _accessible(page: Page) -> None:
    found = Axe().run(page, options=RULES).response["violations"]
    assert [f"{rule['id']}: {node['html'][:160]}" for rule in found for node in rule["nodes"]] == []


def _tick(page: Page, title: str) -> Any:
    return page.get_by_label(f"{title}, for the catalogue")


def test_ticks_are_kept_from_page_to_page_and_printed_in_order(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, pieces: list[PieceRecord]
) -> None:
    count = page.locator("[data-count]")
    page.goto(f"{live_server.url}/log/table/?sort=title")
    expect(page.get_by_role("button", name="Keep these ticks")).to_be_hidden()
    for title in ("Bowl 07", "Bowl 03"):
        _tick(page, title).check()
    expect(count).to_have_text("2")
    page.get_by_role("link", name="Next").click()
    _tick(page, "Bowl 51").check()
    expect(count).to_have_text("3")
    page.get_by_label("Any word").fill("no such piece")
    page.get_by_role("button", name="Search", exact=True).click()
    expect(count).to_have_text("3")
    page.goto(f"{live_server.url}/log/table/?sort=title")
    expect(_tick(page, "Bowl 03")).to_be_checked()
    _tick(page, "Bowl 03").uncheck()
    expect(count).to_have_text("2")
    _accessible(page)

    page.get_by_role("link", name="2 pieces chosen").click()
    listed = page.locator(".chosen-list li")
    expect(listed).to_have_count(2)
    page.get_by_label("Title").fill("Autumn show")
    page.get_by_label("Introduction").fill("Turned by the sea.")
    page.get_by_role("button", name="Bowl 51: up").click()
    expect(listed.first).to_contain_text("Bowl 51")
    expect(page.get_by_label("Title")).to_have_value("Autumn show")
    _accessible(page)
    for width in (320, 390):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.get_by_role("button", name="Keep it as it is").click()
    paper = page.request.get(f"{live_server.url}/log/catalogue.pdf")
    words = " ".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(paper.body())).pages)
    assert "Turned by the sea." in words
    assert words.index("Bowl 51") < words.index("Bowl 07")
    assert "Bowl 03" not in words


def test_a_lost_connection_is_said_and_the_ticks_can_be_kept_by_hand(
    as_alice: BrowserContext, page: Page, live_server: Any, pieces: list[PieceRecord]
) -> None:
    page.goto(f"{live_server.url}/log/table/?sort=title")
    page.route("**/log/catalogue/choose/", lambda route: route.abort())
    _tick(page, "Bowl 05").check()
    expect(page.locator("[data-said]")).to_contain_text("could not be kept")
    page.unroute("**/log/catalogue/choose/")
    page.get_by_role("button", name="Keep these ticks").click()
    expect(page.locator("[data-count]")).to_have_text("1")
    expect(_tick(page, "Bowl 05")).to_be_checked()


def test_without_the_script_a_button_keeps_them(
    as_alice: BrowserContext, browser: Browser, live_server: Any, pieces: list[PieceRecord]
) -> None:
    plain = browser.new_context(java_script_enabled=False, storage_state=as_alice.storage_state())
    page = plain.new_page()
    page.goto(f"{live_server.url}/log/table/?sort=title&page=2")
    _tick(page, "Bowl 52").check()
    page.get_by_role("button", name="Keep these ticks").click()
    assert "page=2" in page.url
    assert "sort=title" in page.url
    expect(page.locator("[data-count]")).to_have_text("1")
    expect(_tick(page, "Bowl 52")).to_be_checked()
    plain.close()
