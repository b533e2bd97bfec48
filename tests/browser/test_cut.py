"""The page at the saw in a browser: ticks stay where they were put, and go with another plan."""

from typing import Any

from playwright.sync_api import BrowserContext, Page, expect

from projects.models import Commission
from tests.browser.conftest import Heard


def test_ticks_are_kept_in_the_browser_and_do_not_outlive_their_plan(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, job: Commission
) -> None:
    address = f"{live_server.url}/jobs/{job.pk}/cut/"
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(address)
    boxes = page.locator("input[data-tick]")
    count = boxes.count()
    boxes.nth(0).check()
    boxes.nth(2).check()
    expect(page.locator("#ticked")).to_have_text(f"2 of {count} done.")
    page.reload()
    expect(boxes.nth(0)).to_be_checked()
    expect(boxes.nth(1)).not_to_be_checked()
    expect(boxes.nth(2)).to_be_checked()
    assert job.design is not None
    band = job.design.parts.get().bands.first()
    band.segments = 16
    band.save()
    page.reload()
    expect(page.locator("input[data-tick]:checked")).to_have_count(0)


def test_all_ticks_are_taken_off_at_once_and_a_label_is_large_enough_for_a_thumb(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, job: Commission
) -> None:
    page.goto(f"{live_server.url}/jobs/{job.pk}/cut/")
    label = page.locator("ul.ticks label").first
    box = label.bounding_box()
    assert box is not None
    assert box["height"] >= 48
    label.click()
    expect(page.locator("input[data-tick]:checked")).to_have_count(1)
    page.get_by_role("button", name="take all ticks off").click()
    expect(page.locator("input[data-tick]:checked")).to_have_count(0)
    page.reload()
    expect(page.locator("input[data-tick]:checked")).to_have_count(0)
