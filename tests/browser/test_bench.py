"""A glue-up on a phone: what is tapped without a connection is kept, sent once, and never lost."""

import datetime
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect

from projects.models import BenchStep, BenchTap, Commission, HoursEntry, StepNote
from tests.browser.bench import SET, glue_up
from tests.browser.conftest import Heard

PHONE = {"width": 390, "height": 844}
PIXEL = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63f8cfc000000301010018dd8db00000000049454e44ae426082"
)


@pytest.fixture(autouse=True)
def photos(settings: Any, tmp_path: Any) -> None:
    """Photos go where they are thrown away."""
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def steps(job: Commission) -> dict[str, BenchStep]:
    """Today's glue-up."""
    return glue_up(job)


@pytest.fixture
def bench(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, steps: dict[str, BenchStep]
) -> Page:
    """The bench page on a phone, kept by its service worker."""
    page.set_viewport_size(PHONE)  # type: ignore[arg-type]
    page.goto(f"{live_server.url}/bench/")
    page.evaluate("navigator.serviceWorker.ready")
    page.wait_for_function("navigator.serviceWorker.controller !== null")
    page.get_by_role("link", name="Glue layers").click()
    return page


def offline(page: Page, heard: Heard, away: bool) -> None:
    """Take the connection away or give it back; what the browser says about that is as it should be."""
    page.context.set_offline(away)
    heard.errors[:] = [error for error in heard.errors if "ERR_" not in error]


def press(page: Page, name: str) -> None:
    page.locator("section.step.shown").get_by_role("button", name=name, exact=False).first.click()


def write_note(page: Page, words: str) -> None:
    shown = page.locator("section.step.shown")
    shown.locator("summary", has_text="Note").click()
    shown.get_by_label("Note", exact=True).fill(words)
    press(page, "Keep the note")


def all_sent(page: Page) -> None:
    expect(page.locator("#bench-state")).to_be_empty(timeout=20_000)


def test_a_glue_up_that_loses_its_connection_ends_with_nothing_lost_and_nothing_twice(
    bench: Page, heard: Heard, steps: dict[str, BenchStep]
) -> None:
    press(bench, "Start")
    all_sent(bench)
    offline(bench, heard, True)
    press(bench, "End")
    ended = timezone.now()
    expect(bench.locator("#bench-state")).to_contain_text("Kept here, not sent yet: 1")
    write_note(bench, "squeeze-out all round")
    shown = bench.locator("section.step.shown")
    shown.locator("summary", has_text="Photo").click()
    shown.get_by_label("Take or choose a photo").set_input_files(
        {"name": "rim.png", "mimeType": "image/png", "buffer": PIXEL}
    )
    press(bench, "Keep the photo")
    expect(bench.locator("#bench-state")).to_contain_text("Kept here, not sent yet: 3")

    # Reloaded without a connection, the page comes from the browser, with all of it.
    bench.reload()
    expect(bench.locator("#bench-state")).to_contain_text("Kept here, not sent yet: 3")
    expect(bench.locator("section.step.shown h2")).to_have_text(steps["up"].name)
    expect(bench.locator("section.step.shown")).to_have_attribute("data-state", "done")
    timer = bench.locator(".timer", has_text="Sets")
    until = datetime.datetime.fromisoformat(timer.get_attribute("data-until") or "")
    assert abs(until - ended - datetime.timedelta(minutes=SET)) < datetime.timedelta(seconds=5)
    assert BenchTap.objects.count() == 1

    offline(bench, heard, False)
    all_sent(bench)
    offline(bench, heard, False)
    assert [tap.act for tap in BenchTap.objects.order_by("received_at", "pk")] == [
        "start",
        "end",
        "note",
        "photo",
    ]
    assert all(tap.accepted for tap in BenchTap.objects.all())
    done = BenchStep.objects.get(pk=steps["up"].pk)
    assert done.state == "done"
    assert done.ended_at is not None
    assert abs(done.ended_at - ended) < datetime.timedelta(seconds=5)
    setting = BenchStep.objects.get(pk=steps["up.set"].pk)
    assert (setting.state, setting.started_at) == ("running", done.ended_at)
    logged = HoursEntry.objects.filter(commission=done.commission)
    assert sorted(logged.values_list("operation", flat=True)) == sorted(done.shares)
    assert StepNote.objects.filter(text="squeeze-out all round").count() == 1
    assert StepNote.objects.exclude(photo="").count() == 1
    expect(bench.locator("section.step.shown .notes img")).to_have_count(1)


def test_a_tap_whose_answer_is_lost_is_sent_again_and_done_once(
    bench: Page, heard: Heard, steps: dict[str, BenchStep]
) -> None:
    lost = 0

    def lose_first_answers(route: Route) -> None:
        nonlocal lost
        if lost < 2:
            lost += 1
            route.fetch()
            route.abort()
        else:
            route.continue_()

    bench.route("**/bench/taps/", lose_first_answers)
    press(bench, "Start")
    all_sent(bench)
    assert lost == 2
    press(bench, "End")
    all_sent(bench)
    heard.errors[:] = [error for error in heard.errors if "ERR_FAILED" not in error]
    assert BenchTap.objects.count() == 2
    assert HoursEntry.objects.count() == len(steps["up"].shares)


def test_two_windows_of_one_device_share_what_is_kept_and_send_it_once(
    bench: Page, heard: Heard, live_server: Any, steps: dict[str, BenchStep]
) -> None:
    other = bench.context.new_page()
    other.set_viewport_size(PHONE)  # type: ignore[arg-type]
    other.goto(f"{live_server.url}/bench/#step-{steps['up'].pk}")
    expect(other.locator("section.step.shown h2")).to_have_text(steps["up"].name)
    offline(bench, heard, True)
    press(bench, "Start")
    expect(other.locator("#bench-state")).to_contain_text("Kept here, not sent yet: 1")
    expect(other.locator("section.step.shown")).to_have_attribute("data-state", "running")
    press(other, "End")
    expect(bench.locator("#bench-state")).to_contain_text("Kept here, not sent yet: 2")
    offline(bench, heard, False)
    all_sent(bench)
    all_sent(other)
    offline(bench, heard, False)
    assert sorted(tap.act for tap in BenchTap.objects.all()) == ["end", "start"]
    assert HoursEntry.objects.count() == len(steps["up"].shares)
    assert BenchStep.objects.get(pk=steps["up"].pk).state == "done"


def test_a_large_photo_is_made_smaller_before_it_is_kept(bench: Page) -> None:
    size = bench.evaluate(
        """async () => {
          const { shrunk } = await import("/static/js/bench_photos.js");
          const canvas = Object.assign(document.createElement("canvas"), { width: 3200, height: 1000 });
          const pen = canvas.getContext("2d"), grain = pen.createImageData(3200, 1000);
          for (let i = 0; i < grain.data.length; i += 1) grain.data[i] = i % 4 === 3 ? 255 : 120 + 60 * Math.random();
          pen.putImageData(grain, 0, 0);
          const large = await new Promise((resolve) => canvas.toBlob(resolve, "image/png"));
          const small = await shrunk(new File([large], "rim.png", { type: "image/png" }));
          const picture = await createImageBitmap(small);
          return [picture.width, picture.height, small.size < large.size];
        }"""
    )
    assert size == [2560, 800, True]


def test_a_refused_tap_says_why_and_the_others_go_on(
    bench: Page, heard: Heard, steps: dict[str, BenchStep]
) -> None:
    offline(bench, heard, True)
    press(bench, "Start")
    write_note(bench, "clamped <b>twice</b>")
    # Meanwhile it was done by somebody else.
    now = timezone.now()
    BenchStep.objects.filter(pk=steps["up"].pk).update(state="done", started_at=now, ended_at=now)
    offline(bench, heard, False)
    expect(bench.locator("#refused")).to_contain_text("This is done already.", timeout=20_000)
    all_sent(bench)
    heard.errors[:] = [error for error in heard.errors if "409" not in error and "ERR_" not in error]
    assert StepNote.objects.get().text == "clamped <b>twice</b>"
    # The reason stays until it was read, whatever happens to the page.
    bench.reload()
    expect(bench.locator("#refused")).to_contain_text("Start: Glue layers")
    bench.get_by_role("button", name="I have read this").click()
    expect(bench.locator("#refused li")).to_have_count(0)


def test_a_log_in_that_has_run_out_keeps_the_taps_until_the_maker_is_back(
    bench: Page, heard: Heard, live_server: Any
) -> None:
    bench.context.clear_cookies(name="sessionid")
    press(bench, "Start")
    expect(bench.locator("#bench-state")).to_contain_text("You are logged out.", timeout=20_000)
    expect(bench.locator("#bench-state")).to_contain_text("Kept here, not sent yet: 1")
    bench.locator("#bench-state").get_by_role("link", name="Log in").click()
    bench.fill("#id_username", "alice")
    bench.fill("#id_password", "plane-and-gouge")
    bench.locator("main").get_by_role("button").click()
    bench.wait_for_url(f"{live_server.url}/bench/")
    all_sent(bench)
    heard.errors[:] = [error for error in heard.errors if "401" not in error and "403" not in error]
    assert BenchTap.objects.get().act == "start"


def test_what_one_member_tapped_is_never_sent_by_another(
    bench: Page, heard: Heard, live_server: Any, job: Commission
) -> None:
    from projects.services.studios import member_add

    offline(bench, heard, True)
    press(bench, "Start")
    bob = User.objects.create_user("bob", password="plane-and-gouge")
    member_add(studio=job.studio, user=bob)
    client = Client()
    client.force_login(bob)
    bench.context.add_cookies(
        [{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}]
    )
    offline(bench, heard, False)
    bench.goto(f"{live_server.url}/bench/")
    bench.wait_for_timeout(1500)
    expect(bench.locator("#bench-state")).to_be_empty()
    heard.errors[:] = [error for error in heard.errors if "ERR_" not in error and "401" not in error]
    assert not BenchTap.objects.exists()


def test_a_page_of_yesterday_finds_out_that_the_plan_has_changed(
    bench: Page, steps: dict[str, BenchStep]
) -> None:
    BenchStep.objects.filter(pk=steps["up"].pk).update(name="Glue them rim down")
    bench.evaluate("dispatchEvent(new Event('online'))")
    expect(bench.locator("section.step.shown h2")).to_have_text("Glue them rim down")
    # What is being written is not taken away; nor is a step that is gone.
    shown = bench.locator("section.step.shown")
    shown.locator("summary", has_text="Note").click()
    shown.get_by_label("Note", exact=True).fill("half a sent")
    BenchStep.objects.filter(pk=steps["up"].pk).update(state="dropped")
    bench.evaluate("dispatchEvent(new Event('online'))")
    expect(bench.locator("#bench-state")).to_contain_text("The plan has changed.")
    expect(shown.get_by_label("Note", exact=True)).to_have_value("half a sent")
    bench.get_by_role("button", name="Show the new one").click()
    expect(bench.locator("#today.shown")).to_be_visible()
    expect(bench.get_by_role("link", name="Glue them rim down")).to_have_count(0)


def test_the_last_tap_is_undone_before_and_after_it_was_sent(
    bench: Page, heard: Heard, steps: dict[str, BenchStep]
) -> None:
    offline(bench, heard, True)
    press(bench, "Start")
    bench.get_by_role("button", name="Undo Start").click()
    expect(bench.locator("#bench-state")).not_to_contain_text("Kept here")
    expect(bench.locator("section.step.shown")).to_have_attribute("data-state", "waiting")
    offline(bench, heard, False)
    press(bench, "Start")
    all_sent(bench)
    assert BenchStep.objects.get(pk=steps["up"].pk).state == "running"
    bench.get_by_role("link", name="1 of").first.click()
    offline(bench, heard, True)
    bench.get_by_role("button", name="Undo", exact=True).click()
    expect(bench.locator("#bench-state")).to_contain_text("Kept here, not sent yet: 1")
    expect(bench.locator(f"li[data-step='{steps['up'].pk}']")).to_have_attribute("data-state", "waiting")
    offline(bench, heard, False)
    all_sent(bench)
    offline(bench, heard, False)
    assert BenchStep.objects.get(pk=steps["up"].pk).state == "waiting"


def test_everything_is_a_plain_form_where_no_script_runs(
    browser: Browser, live_server: Any, as_alice: BrowserContext, steps: dict[str, BenchStep]
) -> None:
    plain = browser.new_context(java_script_enabled=False, viewport=PHONE, base_url=live_server.url)  # type: ignore[arg-type]
    plain.add_cookies(as_alice.cookies())  # type: ignore[arg-type]
    page = plain.new_page()
    page.goto("/bench/")
    up = page.locator(f"#step-{steps['up'].pk}")
    up.get_by_role("button", name="Start").click()
    expect(page.locator("#notices")).to_contain_text("Started.")
    up.locator("summary", has_text="Note").click()
    up.get_by_label("Note", exact=True).fill("by hand")
    up.get_by_role("button", name="Keep the note").click()
    up.get_by_role("button", name="End").click()
    expect(page.locator("#notices")).to_contain_text("Done.")
    expect(page.locator("#timers")).to_contain_text("Set: layers")
    assert StepNote.objects.get().text == "by hand"
    assert BenchStep.objects.get(pk=steps["up"].pk).state == "done"
    plain.close()
