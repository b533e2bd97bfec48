"""Every page: readable by everyone, on any screen, and nothing asked of another host."""

from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page

from projects.models import Commission
from projects.services.quotes import quote_draft, quote_issue
from tests.browser.conftest import Heard

PAGES = [
    *("/", "/jobs/new/", "/jobs/{job}/", "/jobs/{job}/change/", "/jobs/{job}/agreed/"),
    *("/jobs/{job}/drawing/", "/jobs/{job}/estimate/", "/jobs/{job}/quote/", "/jobs/{job}/weather/"),
    "/jobs/{job}/cut/",
    *("/jobs/{job}/to-buy/", "/designs/{design}/to-buy/"),
    *("/jobs/{job}/woods/", "/designs/{design}/weather/?usual=summer&layer=1"),
    "/designs/{design}/woods/?wood=maple&other_1=cherry&other_2=padauk&other_3=wenge&other_4=ash",
    *("/designs/", "/designs/new/", "/designs/{design}/estimate/", "/designs/{design}/cut/"),
    *("/clients/", "/clients/new/", "/rack/", "/rack/new/", "/rack/woods/", "/rack/woods/new/"),
    *("/sawing/", "/sawing/new/", "/sawing/new/?job={job}"),
    *("/hours/", "/hours/import/", "/money/", "/jobs/{job}/payments/new/", "/jobs/{job}/statement/"),
    *("/log/", "/log/table/", "/log/new/", "/log/import/", "/log/catalogue/", "/studio/serial-numbers/"),
    "/year/",
    *("/bench/", "/calendar/", "/calendar/feed/", "/jobs/{job}/calendar/", "/shop/bench-hours/"),
    *("/shop/", "/shop/settings/", "/shop/prices/", "/shop/rates/", "/shop/rates/new/", "/shop/rates/yours/"),
    *("/shop/adhesives/", "/shop/adhesives/new/", "/shop/finishes/", "/shop/finishes/new/"),
    *("/studio/", "/studio/people/new/", "/account/password/", "/account/log-in/", "/there/is/nothing/here/"),
]
PARTS = 3  # so that two processes share them
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


def _complaints(page: Page) -> list[str]:
    found = Axe().run(page, options=RULES).response["violations"]
    return [f"{rule['id']}: {node['html'][:160]}" for rule in found for node in rule["nodes"]]


@pytest.fixture
def issued(job: Commission) -> Commission:
    """The bowl's commission with a quote issued, so that its table stands on the pages."""
    quote_issue(quote=quote_draft(commission=job))
    return job


@pytest.mark.parametrize("part", range(PARTS))
def test_every_page_is_accessible_and_fits_any_screen(
    part: int,
    as_alice: BrowserContext,
    page: Page,
    heard: Heard,
    live_server: Any,
    issued: Commission,
) -> None:
    wrong = []
    for address in PAGES[part::PARTS]:
        page.set_viewport_size({"width": 1280, "height": 900})
        page.goto(live_server.url + address.format(job=issued.pk, design=issued.design_id))
        wrong += [f"{address} {complaint}" for complaint in _complaints(page)]
        for width in (320, 390):
            page.set_viewport_size({"width": width, "height": 800})
            reach = page.evaluate("document.documentElement.scrollWidth")
            if reach > width:
                wrong.append(f"{address} is {reach} px wide on a screen of {width}")
    heard.errors[:] = [error for error in heard.errors if "404" not in error]  # the page that is not there
    assert wrong == []


def test_folded_workings_and_errors_are_accessible_too(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, job: Commission
) -> None:
    page.set_viewport_size({"width": 320, "height": 800})
    page.goto(f"{live_server.url}/jobs/{job.pk}/estimate/")
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    assert _complaints(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    page.goto(f"{live_server.url}/jobs/{job.pk}/drawing/")
    page.fill("#parts-0-bands-1-segments", "2")
    page.locator("#parts-0-bands-1-segments-error li").wait_for()
    assert _complaints(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 320


def test_a_page_reads_without_sideways_scrolling_at_200_per_cent(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, job: Commission
) -> None:
    # A browser zoomed to 200 % has half as many CSS pixels across.
    page.set_viewport_size({"width": 640, "height": 450})
    for part in ("", "drawing/", "estimate/", "quote/"):
        page.goto(f"{live_server.url}/jobs/{job.pk}/{part}")
        assert page.evaluate("document.documentElement.scrollWidth") <= 640, part
