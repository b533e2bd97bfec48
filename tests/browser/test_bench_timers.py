"""Timers at the bench stand on stored times: right after sleep, on a wrong clock, and after the server was killed."""

import datetime
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from projects.models import BenchStep, BenchTap, Commission, HoursEntry
from tests.browser.bench import CURE, SET, Served, glue_up

PHONE: Any = {"width": 390, "height": 844}
CLOSE = datetime.timedelta(seconds=3)


@pytest.fixture
def steps(job: Commission) -> dict[str, BenchStep]:
    """Today's glue-up."""
    return glue_up(job)


@pytest.fixture
def served(tmp_path: Path, steps: dict[str, BenchStep]) -> Iterator[Served]:
    """The site in a process of its own."""
    site = Served(media=tmp_path)
    site.start()
    yield site
    site.kill()


def logged_in(context: BrowserContext, url: str) -> None:
    client = Client()
    client.force_login(User.objects.get(username="alice"))
    context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": url}])
    context.set_default_timeout(20_000)


def open_bench(page: Page, url: str) -> None:
    page.set_viewport_size(PHONE)
    page.goto(f"{url}/bench/")
    page.evaluate("navigator.serviceWorker.ready")
    page.get_by_role("link", name="Glue layers").click()


def press(page: Page, name: str) -> None:
    page.locator("section.step.shown").get_by_role("button", name=name).first.click()


def until(page: Page, words: str) -> datetime.datetime:
    """When a timer ends, as the page has it."""
    timer = page.locator("#timers .timer", has_text=words)
    return datetime.datetime.fromisoformat(timer.get_attribute("data-until") or "")


def left(page: Page, words: str) -> datetime.timedelta:
    """What a timer shows."""
    shown = page.locator("#timers .timer", has_text=words).locator(".timer-left").inner_text()
    assert re.fullmatch(r"(\d+:)?\d+:\d\d", shown), shown
    hours, minutes, seconds = [0, 0, *(int(part) for part in shown.split(":"))][-3:]
    return datetime.timedelta(hours=hours, minutes=minutes, seconds=seconds)


def test_timers_are_right_after_the_server_was_killed_and_started_again(
    page: Page, context: BrowserContext, served: Served, steps: dict[str, BenchStep]
) -> None:
    logged_in(context, served.url)
    open_bench(page, served.url)
    press(page, "Start")
    press(page, "Mixed now")
    expect(page.locator("#timers .timer", has_text="Close the joints")).to_be_visible()
    expect(page.locator("#bench-state")).to_be_empty()
    mixed = BenchStep.objects.get(pk=steps["up"].pk)
    assert mixed.mixed_at is not None
    working = mixed.mixed_at + datetime.timedelta(minutes=mixed.card["working_min"])
    assert abs(until(page, "Close the joints") - working) < CLOSE
    assert abs(left(page, "Close the joints") - (working - timezone.now())) < CLOSE

    served.kill()
    page.reload()
    # The page is the browser's own now, and the server's times are on it.
    expect(page.locator("#bench-state")).to_contain_text("No connection.")
    assert abs(until(page, "Close the joints") - working) < CLOSE
    assert abs(left(page, "Close the joints") - (working - timezone.now())) < CLOSE
    press(page, "End")
    ended = timezone.now()
    expect(page.locator("#bench-state")).to_contain_text("Kept here, not sent yet: 1")
    assert abs(until(page, "Sets") - (ended + datetime.timedelta(minutes=SET))) < CLOSE

    served.start()
    expect(page.locator("#bench-state")).to_be_empty(timeout=60_000)
    done = BenchStep.objects.get(pk=steps["up"].pk)
    assert done.ended_at is not None
    assert abs(done.ended_at - ended) < CLOSE
    assert HoursEntry.objects.count() == len(done.shares)
    assert BenchTap.objects.count() == 3
    page.reload()
    sets = done.ended_at + datetime.timedelta(minutes=SET)
    expect(page.locator("#timers .timer", has_text="Sets")).to_be_visible()
    assert abs(until(page, "Sets") - sets) < datetime.timedelta(milliseconds=5)
    assert abs(left(page, "Sets") - (sets - timezone.now())) < CLOSE


def test_a_timer_is_right_when_the_screen_has_slept(
    as_alice: BrowserContext, page: Page, live_server: Any, steps: dict[str, BenchStep]
) -> None:
    page.clock.install()
    open_bench(page, live_server.url)
    page.context.set_offline(True)
    press(page, "Start")
    press(page, "End")
    assert abs(left(page, "Sets") - datetime.timedelta(minutes=SET)) < CLOSE
    # As a lid that is shut and opened: timers fire once at the most, the clock has gone on.
    page.clock.fast_forward(20 * 60 * 1000)
    assert abs(left(page, "Sets") - datetime.timedelta(minutes=SET - 20)) < CLOSE
    page.clock.fast_forward(30 * 60 * 1000)
    expect(page.locator("#bell")).to_contain_text("Set: layers")
    expect(page.locator("#timers .timer.over", has_text="Set")).to_contain_text("ago")
    # What has set cures from then on, though nobody has looked.
    assert abs(left(page, "Cures") - datetime.timedelta(minutes=CURE - 5)) < CLOSE
    page.reload()
    assert abs(left(page, "Cures") - datetime.timedelta(minutes=CURE - 5)) < CLOSE


def test_a_device_whose_clock_is_wrong_taps_at_the_right_time(
    as_alice: BrowserContext, page: Page, live_server: Any, steps: dict[str, BenchStep]
) -> None:
    page.clock.install(time=datetime.datetime.now(datetime.UTC) + datetime.timedelta(hours=2))
    open_bench(page, live_server.url)
    expect(page.locator("section.step.shown")).to_be_visible()
    page.wait_for_function("localStorage.getItem('bench clock') !== null")
    page.context.set_offline(True)
    press(page, "Start")
    started = timezone.now()
    press(page, "End")
    assert abs(left(page, "Sets") - datetime.timedelta(minutes=SET)) < CLOSE
    page.context.set_offline(False)
    page.evaluate("dispatchEvent(new Event('online'))")
    page.clock.run_for(5000)
    expect(page.locator("#bench-state")).to_be_empty(timeout=20_000)
    tap = BenchTap.objects.get(act="start")
    assert tap.accepted
    assert abs(tap.at - started) < CLOSE
