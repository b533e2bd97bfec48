"""A new design in a browser, on a phone: a shape brings its size along, and what was typed stays."""

from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from projects.models import Design

PHONE = {"width": 390, "height": 800}


@pytest.mark.usefixtures("heard")
def test_a_shape_brings_its_size_along_unless_one_was_typed(
    as_alice: BrowserContext, page: Page, live_server: Any
) -> None:
    page.set_viewport_size(PHONE)
    page.goto(f"{live_server.url}/designs/new/")
    expect(page.locator("#id_start_bowl")).to_be_checked()
    page.get_by_label("a vase").check()
    expect(page.locator("#id_height")).to_have_value("260")
    page.fill("#id_height", "10 in")
    page.get_by_label("a platter").check()
    expect(page.locator("#id_height")).to_have_value("10 in")
    expect(page.locator("#id_diameter")).to_have_value("300")
    page.get_by_label("a bottle").check()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.fill("#id_title", "Bottle")
    page.get_by_role("button", name="Put it on the drawing board").click()
    expect(page.locator("#picture svg").first).to_be_visible()
    assert Design.objects.get().parts.get().form.outer[-1][0] == 254.0
