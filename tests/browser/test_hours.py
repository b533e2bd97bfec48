"""The hours log in a browser, on a phone: the clock is started and stopped, and an overlap keeps what was typed."""

import datetime
from typing import Any

from django.utils import timezone
from playwright.sync_api import BrowserContext, Page

from projects.models import Commission, HoursEntry, Member
from projects.services import hours
from tests.browser.conftest import Heard

PHONE = {"width": 390, "height": 800}


def test_the_clock_and_an_overlap_on_a_phone(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, job: Commission
) -> None:
    page.set_viewport_size(PHONE)
    page.goto(f"{live_server.url}/hours/")
    page.select_option("#clock_commission", label=job.title)
    page.select_option("#clock_operation", index=1)
    page.click("#clock button")
    page.get_by_text("running since").first.wait_for()
    page.click("#clock button")
    page.get_by_text("Stopped:").wait_for()
    page.fill("#id_quantity", "12")
    page.get_by_role("button", name="Save").click()
    page.wait_for_url("**/hours/?week=*")
    entry = HoursEntry.objects.get()
    assert (entry.is_timed, entry.quantity) == (True, 12)

    day = timezone.now().replace(hour=9, minute=0, second=0, microsecond=0) - datetime.timedelta(days=3)
    ended = day + datetime.timedelta(hours=1)
    who = Member.objects.get(user__username="alice")
    hours.hours_log(commission=job, member=who, operation=entry.operation, started_at=day, ended_at=ended)
    page.click("#typed summary")
    for name, typed in {
        "worked_on": day.date().isoformat(),
        "begins": "9:30",
        "ends": "11",
        "note": "by hand",
    }.items():
        page.fill(f"#id_{name}", typed)
    page.select_option("#id_operation", index=2)
    page.get_by_role("button", name="Log it").click()
    page.get_by_text("This overlaps with").wait_for()
    assert page.input_value("#id_begins") == "9:30"
    assert page.input_value("#id_note") == "by hand"
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.fill("#id_begins", "10:00")
    page.get_by_role("button", name="Log it").click()
    page.get_by_text("10:00–11:00").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    heard.errors[:] = [error for error in heard.errors if "400" not in error]  # the page that was refused
