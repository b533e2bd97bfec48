"""The whole job once, from an empty database to a quote on paper."""

import re
from io import BytesIO
from typing import Any

from playwright.sync_api import Page, expect
from pypdf import PdfReader

from projects.models import Quote
from tests.browser.conftest import Heard


def test_from_an_empty_database_to_a_quote_on_paper(
    page: Page, heard: Heard, live_server: Any, transactional_db: None
) -> None:
    page.goto(live_server.url)
    expect(page.get_by_role("heading")).to_have_text("Make the first account")
    page.fill("#id_username", "maker")
    page.fill("#id_password1", "plane-and-gouge")
    page.fill("#id_password2", "plane-and-gouge")
    page.get_by_role("button", name="Make the account").click()
    page.fill("#id_name", "Fern Gully Turning")
    page.get_by_role("button", name="Set it up").click()

    page.get_by_role("link", name="Add the first client").click()
    page.select_option("#id_kind", "gallery")
    page.fill("#id_name", "Harbour Row")
    page.get_by_role("button", name="Save").click()
    page.fill("#id_title", "Tall <b>vase</b>")
    page.get_by_role("button", name="Take it on").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Tall <b>vase</b>")

    page.get_by_role("link", name="Draw the piece").click()
    page.check("#id_start_vase")
    page.fill("#id_height", "9 1/2 in")
    page.fill("#id_diameter", "170 mm")
    page.get_by_role("button", name="Put it on the drawing board").click()
    page.select_option("#parts-0-bands-1-wood-1", "cherry")
    expect(page.locator("#picture .ring dl")).to_contain_text("cherry")
    page.click("#save")
    expect(page.locator("#state")).to_contain_text("Saved at")

    page.get_by_role("link", name="Estimate", exact=True).click()
    expect(page.locator("#rings tbody tr")).not_to_have_count(0)
    page.fill("#id_offered_retail", "1500")
    page.get_by_role("button", name="See what it leaves").click()
    expect(page.locator(".offer")).to_contain_text("At $1,500.00 you are paid")

    page.get_by_role("link", name="Draw up the quote").click()
    page.fill("#id_message", "As we talked about.")
    page.get_by_role("button", name="Issue the quote").click()
    expect(page.locator("#notices")).to_contain_text(re.compile(r"Issued: quote \d{4}-001"))

    paper = page.request.get(
        f"{live_server.url}{page.get_by_role('link', name='client copy').get_attribute('href')}"
    )
    assert paper.headers["content-type"] == "application/pdf"
    words = "".join(sheet.extract_text() for sheet in PdfReader(BytesIO(paper.body())).pages)
    assert "Fern Gully Turning" in words
    assert "Tall <b>vase</b>" in words
    assert Quote.objects.get().is_issued
