"""From an agreed commission to a promised date in the browser, and a private address that is read and revoked."""

import datetime
import re
from typing import Any

import icalendar
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page, expect

from projects.models import BenchStep, CalendarPlan, Commission, DayOff, JobDates
from projects.services import calendar_search
from projects.services.calendar_search import first_answer
from projects.services.commissions import commission_move
from tests.browser.conftest import Heard
from tests.browser.test_every_page import RULES

WAY = ("designing", "quoted")


@pytest.fixture(autouse=True)
def claimed(monkeypatch: Any) -> list[CalendarPlan]:
    """Plans that a page would have begun in a process of its own, which would not know this database."""
    begun: list[CalendarPlan] = []

    def claim(plan: CalendarPlan, *, anew: bool = False) -> None:
        begun.append(plan)

    monkeypatch.setattr(calendar_search, "search_start", claim)
    return begun


@pytest.fixture
def quoted(job: Commission) -> Commission:
    """The bowl's commission with a quote out."""
    for stage in WAY:
        job = commission_move(commission=job, to=stage)
    return job


def _complaints(page: Page, address: str) -> list[str]:
    """What is wrong with a page with everything unfolded, at the widths that people have."""
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    found = Axe().run(page, options=RULES).response["violations"]
    wrong = [f"{address} {rule['id']}: {node['html'][:160]}" for rule in found for node in rule["nodes"]]
    for width in (320, 390, 1280):
        page.set_viewport_size({"width": width, "height": 900})
        reach = page.evaluate("document.documentElement.scrollWidth")
        wrong += [f"{address} is {reach} px wide on a screen of {width}"] if reach > width else []
    return wrong


def test_an_agreed_commission_is_planned_and_promised(
    as_alice: BrowserContext,
    page: Page,
    heard: Heard,
    live_server: Any,
    quoted: Commission,
    claimed: list[CalendarPlan],
) -> None:
    page.goto(f"{live_server.url}/jobs/{quoted.pk}/calendar/")
    expect(page.locator("main")).to_contain_text("It is quoted, so it is not on the calendar")
    page.get_by_role("link", name="Move it on").click()
    page.get_by_role("button", name="Client has agreed").click()
    page.get_by_role("navigation").get_by_role("link", name="Calendar").click()
    page.get_by_role("button", name="Plan it").click()
    page.locator("progress").wait_for()
    (plan,) = claimed
    assert _complaints(page, "while it is planned") == []
    # It is planned behind the page, which finds that out by itself.
    first_answer(studio=plan.studio, runner=plan.runner)
    page.get_by_role("button", name="Plan again").wait_for()
    dates, steps = JobDates.objects.get(), BenchStep.objects.all()
    assert steps.count() > 20
    expect(page.locator(".answer")).to_contain_text(f"{dates.finish.day} {dates.finish:%B}")
    drawn = page.locator(".sheet.days.wide .dw-bar")
    assert drawn.count() >= steps.filter(kind="hands_on").count()
    wrong = _complaints(page, "planned")

    page.get_by_role("link", name="Harbour bowl").first.click()
    wrong += _complaints(page, "the job's calendar")
    press = page.get_by_role("button", name="Promise it for")
    said = press.inner_text().removeprefix("Promise it for ")
    press.click()
    expect(page.locator("#notices")).to_contain_text(f"Promised for {said}.")
    quoted.refresh_from_db()
    assert quoted.promised_on is not None
    assert quoted.promised_on > dates.likely.date()
    assert said == f"{quoted.promised_on:%A} {quoted.promised_on.day} {quoted.promised_on:%B %Y}"
    page.goto(live_server.url)
    expect(page.locator("tbody")).to_contain_text(f"{quoted.promised_on.day} {quoted.promised_on:%b %Y}")
    assert wrong == []


def test_on_a_phone_the_picture_shows_three_days_at_a_time(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, quoted: Commission
) -> None:
    commission_move(commission=quoted, to="agreed")
    plan = calendar_search.calendar_begin(studio=quoted.studio)
    first_answer(studio=quoted.studio, runner=plan.runner)
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto(f"{live_server.url}/calendar/")
    expect(page.locator(".sheet.days.wide")).to_be_hidden()
    narrow = page.locator(".sheet.days.narrow svg")
    expect(narrow).to_be_visible()
    box = narrow.bounding_box()
    assert box is not None
    # Words are drawn 13 high in a picture 356 wide: on the screen they stay readable.
    assert box["width"] / 356 * 13 >= 11
    expect(narrow).to_have_attribute("role", "img")
    assert page.locator("details.day[open]").count() == 2


def test_hours_and_days_off_are_set_and_an_address_is_read_and_revoked(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, quoted: Commission
) -> None:
    page.goto(f"{live_server.url}/shop/bench-hours/")
    page.get_by_label("Saturday").fill("9-11")
    page.get_by_role("button", name="Save the hours").click()
    expect(page.locator(".answer")).to_contain_text("42 hours a week")
    page.get_by_label("First day").fill("2093-08-03")
    page.get_by_label("Reason").fill("Sea")
    page.get_by_role("button", name="Close the bench").click()
    expect(page.locator(".answer")).to_contain_text("Next off: 3 August 2093, Sea.")
    assert DayOff.objects.get().first == datetime.date(2093, 8, 3)
    page.select_option("#id_holiday_country", "GB")
    page.get_by_role("button", name="Save the bench").click()
    expect(page.locator("#holidays")).to_contain_text("Christmas Day")
    wrong = _complaints(page, "bench hours")

    page.goto(f"{live_server.url}/calendar/feed/")
    page.get_by_role("button", name="Make an address").click()
    address = page.locator(".address").inner_text()
    assert re.fullmatch(rf"{live_server.url}/calendar/[\w-]+\.ics", address)
    wrong += _complaints(page, "a new address")
    stranger = page.context.browser.new_context() if page.context.browser else as_alice
    read = stranger.request.get(address)
    assert read.headers["content-type"].startswith("text/calendar")
    assert icalendar.Calendar.from_ical(read.body())["VERSION"] == "2.0"
    page.get_by_role("button", name="Revoke the address").click()
    expect(page.locator("#notices")).to_contain_text("Revoked")
    assert stranger.request.get(address).status == 404
    expect(page.locator("main")).not_to_contain_text(address)
    stranger.close()
    assert wrong == []
