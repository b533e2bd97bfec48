"""It went wrong: what is lost is seen before it is said, and comes back on the plan with a new date."""

import datetime
from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from projects.models import BenchStep, Commission, Mishap
from projects.services.calendar import calendar_plan
from tests.browser.conftest import Heard
from tests.browser.test_every_page import RULES

PHONE: Any = {"width": 390, "height": 844}


@pytest.fixture
def glue_up(job: Commission, as_alice: BrowserContext) -> Iterator[BenchStep]:
    """The first glue-up of rings in the job's own plan, all before it done yesterday."""
    # Cards and plans are worked out while the page waits.
    as_alice.set_default_timeout(60_000)
    expect.set_options(timeout=60_000)
    job.stage = "making"
    job.save()
    calendar_plan(studio=job.studio)
    steps = BenchStep.objects.filter(commission=job).order_by("position")
    first = next(step for step in steps if step.glue_up is not None and not step.is_passive)
    yesterday = timezone.now() - datetime.timedelta(days=1)
    before, edge = set(), [*first.after]
    while edge:
        key = edge.pop()
        if key not in before:
            before.add(key)
            edge += steps.get(key=key).after
    steps.filter(key__in=before).update(state="done", started_at=yesterday, ended_at=yesterday)
    BenchStep.objects.filter(pk=first.pk).update(planned_start=timezone.now(), planned_end=timezone.now())
    yield first
    expect.set_options(timeout=5_000)


def press(page: Page, name: str) -> None:
    page.locator("section.step.shown").get_by_role("button", name=name).first.click()


def test_lost_rings_are_shown_confirmed_and_planned_again_with_a_new_date(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, glue_up: BenchStep
) -> None:
    page.set_viewport_size(PHONE)
    page.goto(f"{live_server.url}/bench/#step-{glue_up.pk}")
    expect(page.locator("section.step.shown h2")).to_have_text(glue_up.name)
    press(page, "Start")
    press(page, "Mixed now")
    shown = page.locator("section.step.shown")
    shown.locator("summary", has_text="It went wrong").click()
    # Nothing is said to the server before the maker has seen what it costs.
    lost = shown.locator(".lost-list input")
    expect(lost).to_have_count(len(glue_up.rings))
    for ring in glue_up.rings:
        expect(shown.locator(".lost-list")).to_contain_text(f"ring {ring}: ")
    for ring in glue_up.rings[1:]:
        shown.locator(f".lost-list input[value='{ring}']").uncheck()
    shown.get_by_label("it slipped").check()
    shown.get_by_label("What you saw").fill("the band let go")
    assert not Mishap.objects.exists()
    press(page, "These are lost")

    told = page.locator("#told")
    expect(told).to_contain_text(f"Lost: ring {glue_up.rings[0]}.")
    expect(told).to_contain_text("planned again")
    expect(told).to_contain_text("New date: ")
    mishap = Mishap.objects.get()
    assert (mishap.kind, mishap.rings, mishap.note) == ("slipped", glue_up.rings[:1], "the band let go")
    again = BenchStep.objects.filter(commission=glue_up.commission, run=1)
    assert all(step.state == "waiting" and step.planned_start is not None for step in again)
    cut = [step for step in again if "crosscut segments" in step.shares]
    assert [step.rings for step in cut] == [glue_up.rings[:1]]
    made = again.get(key=glue_up.key)
    page.goto(f"{live_server.url}/bench/")
    expect(page.locator("#today")).to_contain_text(", again")
    # The new glue-up has a mix of its own, for the ring alone.
    BenchStep.objects.filter(pk=made.pk).update(planned_start=timezone.now(), planned_end=timezone.now())
    page.goto(f"{live_server.url}/bench/#step-{made.pk}")
    page.reload()
    expect(page.locator("section.step.shown h2")).to_have_text(made.name)
    whole = BenchStep.objects.get(pk=glue_up.pk).card
    fewer = BenchStep.objects.get(pk=made.pk).card
    assert [ring["ring"] for ring in fewer["rings"]] == glue_up.rings[:1]
    assert 0 < fewer["needed_ml"] < whole["needed_ml"]


def test_the_bench_is_accessible_and_fits_any_screen(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, glue_up: BenchStep
) -> None:
    page.set_viewport_size(PHONE)
    page.goto(f"{live_server.url}/bench/")
    page.get_by_role("link", name=glue_up.name).click()
    press(page, "Start")
    press(page, "Mixed now")
    expect(page.locator(".timer")).to_be_visible()
    wrong = []
    for state in ("step", "list"):
        page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
        found = Axe().run(page, options=RULES).response["violations"]
        wrong += [f"{state} {rule['id']}: {node['html'][:160]}" for rule in found for node in rule["nodes"]]
        for width in (320, 390, 1280):
            page.set_viewport_size({"width": width, "height": 800})
            reach = page.evaluate("document.documentElement.scrollWidth")
            wrong += [f"{state} is {reach} px wide on a screen of {width}"] if reach > width else []
        page.set_viewport_size(PHONE)
        small = page.evaluate(
            "[...document.querySelectorAll('#bench button, #bench a:not(.timer-name), #bench summary, #bench .choice')]"
            ".filter((node) => node.offsetParent && node.getBoundingClientRect().height < 48)"
            ".map((node) => node.textContent.trim() + ' ' + node.getBoundingClientRect().height)"
        )
        wrong += [f"{state}: too small for a thumb: {words}" for words in small]
        page.evaluate("location.hash = 'today'")
    assert wrong == []
