"""The lot at the bench on a phone: typed once, kept without a connection, offered on the next card, and taken back."""

import datetime
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import BrowserContext, Page, expect

from projects.models import AdhesiveLot, BenchStep, BenchTap, Commission
from tests.browser.bench import COAT, MIX, glue_up
from tests.browser.conftest import Heard
from tests.browser.test_bench import PHONE, all_sent, offline, press


@pytest.fixture
def steps(job: Commission) -> dict[str, BenchStep]:
    """Today's glue-up, begun, and another of the same adhesive after it."""
    made = glue_up(job)
    first = made["up"]
    BenchStep.objects.filter(pk=first.pk).update(state="running", started_at=timezone.now())
    made["next"] = BenchStep.objects.create(
        commission=job,
        key="next",
        name="Glue them once more",
        kind="hands_on",
        minutes=25,
        position=9,
        glue_up=first.glue_up,
        layers=first.layers,
        part="body",
        shares={MIX: [6, 1], COAT: [19, 4]},
        planned_start=first.planned_start + datetime.timedelta(minutes=1),
        state="done",
        started_at=timezone.now(),
        ended_at=timezone.now(),
    )
    return made


@pytest.fixture
def bench(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, steps: dict[str, BenchStep]
) -> Page:
    """The page at the glue-up, kept by its service worker."""
    page.set_viewport_size(PHONE)  # type: ignore[arg-type]
    page.goto(f"{live_server.url}/bench/#step-{steps['up'].pk}")
    page.evaluate("navigator.serviceWorker.ready")
    page.wait_for_function("navigator.serviceWorker.controller !== null")
    return page


def test_a_lot_typed_without_a_connection_is_kept_offered_again_and_sent_once(
    bench: Page, heard: Heard, steps: dict[str, BenchStep]
) -> None:
    offline(bench, heard, True)
    shown = bench.locator("section.step.shown")
    shown.get_by_label("Lot of the resin (A)").fill("EP-2291")
    shown.locator("[name=use_by_a]").fill("2020-01-31")
    shown.get_by_label("Lot of the hardener (B)").fill("H 7")
    press(bench, "Keep the lots")
    expect(bench.locator("#bench-state")).to_contain_text("Kept here, not sent yet: 1")
    waits = shown.locator("[data-lots-waiting]")
    expect(waits).to_contain_text("EP-2291, use by 2020-01-31 (kept here)")
    expect(waits).to_contain_text("This is past its use-by date.")
    expect(waits).to_contain_text("H 7 (kept here)")

    # Reloaded without a connection it is still here, and stands in the fields of the next card.
    bench.reload()
    expect(waits).to_contain_text("EP-2291")
    bench.goto(f"{bench.url.split('#')[0]}#step-{steps['next'].pk}")
    after = bench.locator("section.step.shown")
    expect(after.locator("h2")).to_have_text("Glue them once more")
    expect(after.get_by_label("Lot of the resin (A)")).to_have_value("EP-2291")
    expect(after.get_by_text("As kept last of this adhesive")).to_be_visible()
    assert not AdhesiveLot.objects.exists()

    offline(bench, heard, False)
    all_sent(bench)
    offline(bench, heard, False)
    kept = {(lot.step_id, lot.part, lot.lot) for lot in AdhesiveLot.objects.all()}
    assert kept == {(steps["up"].pk, "a", "EP-2291"), (steps["up"].pk, "b", "H 7")}
    assert BenchTap.objects.filter(act="lot").count() == 1
    expect(bench.locator("#told")).to_contain_text("The resin (A) is past its use-by date, 31 January 2020")
    expect(after.get_by_label("Lot of the resin (A)")).to_have_value("EP-2291")


def test_a_lot_is_taken_back_on_its_line_and_one_too_long_is_refused_in_words(
    bench: Page, heard: Heard, steps: dict[str, BenchStep]
) -> None:
    shown = bench.locator("section.step.shown")
    shown.get_by_label("Lot of the resin (A)").fill("EP-2291")
    press(bench, "Keep the lots")
    expect(shown.get_by_label("Lots kept", exact=True)).to_contain_text("Resin (A): EP-2291")
    press(bench, "take lot EP-2291 back")
    all_sent(bench)
    expect(shown.get_by_label("Lots kept", exact=True)).to_have_count(0)
    assert not AdhesiveLot.objects.exists()

    shown.get_by_label("Lot of the resin (A)").fill("7" * 61)
    press(bench, "Keep the lots")
    refused = bench.locator("#refused")
    expect(refused).to_contain_text("The lot of the resin (A) is too long: at most 60 characters.")
    expect(refused).to_contain_text("7" * 61)
    heard.errors[:] = [error for error in heard.errors if "422" not in error]
    assert not AdhesiveLot.objects.exists()
