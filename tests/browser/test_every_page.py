"""Every page: readable by everyone, on any screen, and nothing asked of another host."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page

from projects.models import Commission
from projects.pages.starting import Size, start_design
from projects.services.quotes import quote_draft, quote_issue
from projects.services.record_out import record_take_out
from projects.services.record_places import place_add
from tests.browser.conftest import Heard
from tests.factories_records import RecordFactory

NO_PAGE = "/there/is/nothing/here/"
PAGES = [
    *("/", "/jobs/new/", "/jobs/{job}/", "/jobs/{job}/change/", "/jobs/{job}/agreed/"),
    *("/jobs/{job}/drawing/", "/jobs/{job}/estimate/", "/jobs/{job}/quote/", "/jobs/{job}/weather/"),
    "/jobs/{job}/cut/",
    *("/jobs/{job}/to-buy/", "/designs/{design}/to-buy/"),
    *("/jobs/{job}/woods/", "/designs/{design}/weather/?usual=summer&layer=1"),
    "/designs/{design}/woods/?wood=maple&other_1=cherry&other_2=padauk&other_3=wenge&other_4=ash",
    *("/designs/", "/designs/new/", "/designs/{design}/estimate/", "/designs/{design}/cut/"),
    *("/designs/{design}/again/", "/designs/compare/?a={design}&b={other}", "/studio/papers/"),
    *("/clients/", "/clients/new/", "/rack/", "/rack/new/", "/rack/woods/", "/rack/woods/new/"),
    *("/sawing/", "/sawing/new/", "/sawing/new/?job={job}"),
    *("/hours/", "/hours/import/", "/money/", "/jobs/{job}/payments/new/", "/jobs/{job}/statement/"),
    *("/log/", "/log/table/", "/log/new/", "/log/import/", "/log/catalogue/", "/studio/serial-numbers/"),
    *("/log/{piece}/", "/log/{piece}/change/", "/log/{piece}/photos/", "/log/{piece}/make-again/"),
    *("/log/out/", "/log/consignment/", "/log/consignment/{gallery}/", "/year/"),
    *("/bench/", "/calendar/", "/calendar/feed/", "/jobs/{job}/calendar/", "/shop/bench-hours/"),
    *("/shop/", "/shop/settings/", "/shop/prices/", "/shop/rates/", "/shop/rates/new/", "/shop/rates/yours/"),
    *("/shop/adhesives/", "/shop/adhesives/new/", "/shop/finishes/", "/shop/finishes/new/"),
    *("/studio/", "/studio/people/new/", "/account/password/", "/account/log-in/"),
    NO_PAGE,
]
MAY, JUNE = datetime.date(2026, 5, 1), datetime.date(2026, 6, 1)
PARTS = 3  # so that two processes share them
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


def _complaints(page: Page) -> list[str]:
    found = Axe().run(page, options=RULES).response["violations"]
    return [f"{rule['id']}: {node['html'][:160]}" for rule in found for node in rule["nodes"]]


@pytest.fixture
def keys(job: Commission) -> dict[str, int]:
    """Keys of rows that pages show: a quote issued, pieces of the log that are sold, late to be back and taken out."""
    quote_issue(quote=quote_draft(commission=job))
    sold, late, out = (RecordFactory(studio=job.studio, design=job.design, title=f"{n} bowl") for n in "123")
    for record in (sold, late):
        place_add(record=record, kind="consigned", since=MAY, due_back=JUNE, client=job.client)
    place_add(record=sold, kind="sold", since=JUNE, price=Decimal(500))
    record_take_out(record=out, reason="written into the log twice")
    other = start_design(
        studio=job.studio, title="Tall bowl", shape="bowl", size=Size(height=90, diameter=180, wall=8)
    )
    of_job = {"job": job.pk, "design": job.design_id, "gallery": job.client_id}
    return of_job | {"other": other.pk, "piece": late.pk}


@pytest.mark.parametrize("part", range(PARTS))
def test_every_page_is_accessible_and_fits_any_screen(
    part: int,
    as_alice: BrowserContext,
    page: Page,
    heard: Heard,
    live_server: Any,
    keys: dict[str, int],
) -> None:
    wrong = []
    for address in PAGES[part::PARTS]:
        page.set_viewport_size({"width": 1280, "height": 900})
        answer = page.goto(live_server.url + address.format(**keys))
        assert answer is not None
        if answer.status != (404 if address == NO_PAGE else 200):
            wrong.append(f"{address} answers with {answer.status}")
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
