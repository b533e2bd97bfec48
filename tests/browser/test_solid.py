"""The piece in the round: shown, turned, opened and taken apart by keyboard, and stood in for where it cannot be."""

from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.contrib.auth.models import User
from django.test import Client
from playwright.sync_api import Browser, BrowserType, Page, expect

from projects.models import Commission
from tests.browser.conftest import CHROMIUM

SOFTWARE_WEBGL = ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
NO_WEBGL = ["--disable-3d-apis"]
FIGURE = "[data-solid]"


def _open(browser: Browser, live_server: Any, job: Commission, complaints: list[str], **how: Any) -> Page:
    client = Client()
    client.force_login(User.objects.get(username="alice"))
    context = browser.new_context(viewport={"width": 1280, "height": 900}, **how)
    session = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
    page = context.new_page()
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda said: complaints.append(said.text) if said.type == "error" else None)
    page.on(
        "request", lambda asked: complaints.append(asked.url) if live_server.url not in asked.url else None
    )
    page.goto(f"{live_server.url}/jobs/{job.pk}/solid/")
    return page


@pytest.fixture
def launched(browser_type: BrowserType) -> Iterator[Any]:
    """Browsers with switches of their own, closed at the end."""
    browsers: list[Browser] = []

    def launch(switches: list[str]) -> Browser:
        args = ["--no-sandbox", *switches]
        browsers.append(browser_type.launch(executable_path=CHROMIUM, args=args))
        return browsers[-1]

    yield launch
    for browser in browsers:
        browser.close()


@pytest.fixture
def complaints() -> Iterator[list[str]]:
    """Errors of the page and requests to other hosts; at the end there are none."""
    found: list[str] = []
    yield found
    assert found == []


@pytest.fixture
def solid(launched: Any, live_server: Any, job: Commission, complaints: list[str]) -> Page:
    """The commission's bowl in the round, shown, in a browser that wants no motion."""
    page = _open(launched(SOFTWARE_WEBGL), live_server, job, complaints, reduced_motion="reduce")
    expect(page.locator(FIGURE)).to_have_attribute("data-state", "shown", timeout=30_000)
    return page


def pixels(page: Page) -> bytes:
    """What is on the canvas once two frames have gone by."""
    page.evaluate("() => new Promise((seen) => requestAnimationFrame(() => requestAnimationFrame(seen)))")
    shot: bytes = page.locator(f"{FIGURE} canvas").screenshot()
    return shot


def part(page: Page, name: str) -> Any:
    return page.locator(f'[data-part="{name}"]')


def test_the_model_takes_the_drawings_place_in_one_draw(solid: Page) -> None:
    expect(part(solid, "still")).to_be_hidden()
    expect(part(solid, "canvas")).to_be_visible()
    figure = solid.locator(FIGURE)
    expect(figure).to_have_attribute("data-calls", "1")
    assert int(figure.get_attribute("data-triangles") or 0) > 1000


@pytest.mark.parametrize("name", ["left", "right", "up", "down", "nearer", "farther", "above"])
def test_a_button_turns_it_and_the_front_brings_it_back(solid: Page, name: str) -> None:
    front = pixels(solid)
    part(solid, name).press("Enter")
    assert pixels(solid) != front
    part(solid, "front").press("Enter")
    assert pixels(solid) == front


def test_keys_on_the_model_turn_it(solid: Page) -> None:
    front = pixels(solid)
    part(solid, "canvas").focus()
    for key in ("ArrowLeft", "ArrowUp", "+"):
        before = pixels(solid)
        solid.keyboard.press(key)
        assert pixels(solid) != before
    part(solid, "front").click()
    assert pixels(solid) == front


@pytest.mark.parametrize("name", ["cut", "through", "glued"])
def test_a_tick_changes_the_view_and_back(solid: Page, name: str) -> None:
    before = pixels(solid)
    calls = {"cut": "2", "through": "1", "glued": "2"}[name]
    part(solid, name).press("Space")
    expect(solid.locator(FIGURE)).to_have_attribute("data-calls", calls)
    assert pixels(solid) != before
    part(solid, name).press("Space")
    expect(solid.locator(FIGURE)).to_have_attribute("data-calls", "1")
    assert pixels(solid) == before


def test_layers_come_apart_and_the_cut_turns_by_keyboard(solid: Page) -> None:
    closed = pixels(solid)
    part(solid, "apart").press("End")
    assert pixels(solid) != closed
    part(solid, "apart").press("Home")
    assert pixels(solid) == closed
    expect(part(solid, "cut-turn")).to_be_disabled()
    part(solid, "cut").press("Space")
    before = pixels(solid)
    part(solid, "cut-turn").press("ArrowRight")
    assert pixels(solid) != before


def told(page: Page) -> dict[str, str]:
    names, values = part(page, "chosen").locator("dt"), part(page, "chosen").locator("dd")
    return dict(zip(names.all_inner_texts(), values.all_inner_texts(), strict=True))


def test_a_click_tells_a_segments_layer_ring_wood_and_measures(solid: Page, job: Commission) -> None:
    expect(part(solid, "chosen")).to_be_hidden()
    box = part(solid, "canvas").bounding_box()
    assert box
    solid.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] * 0.62)
    expect(part(solid, "chosen")).to_be_visible()
    found = told(solid)
    assert {"layer", "segment", "wood", "ring", "long edge, mm", "strip, mm", "saw to"} <= set(found)
    layer = int(found["layer"])
    assert part(solid, "layer").input_value() == found["layer"]
    assert 1 < layer < 20
    # Beside the piece there is nothing to tell of.
    solid.mouse.click(box["x"] + 5, box["y"] + 5)
    expect(part(solid, "chosen")).to_be_hidden()


def test_stepping_through_segments_by_keyboard_tells_the_ring_of_each(solid: Page, job: Commission) -> None:
    from projects.estimates import estimate_design

    part(solid, "layer").fill("2")
    expect(part(solid, "chosen")).to_be_visible()
    assert job.design is not None
    _, estimate = estimate_design(job.design)
    ring = estimate.shapes[0].ring(2)
    woods = estimate.workshop.woods
    for segment in (1, 2):
        assert told(solid)["segment"] == f"{segment} of {ring.segments}"
        assert told(solid)["wood"] == woods[ring.pattern[segment - 1]].name
        assert told(solid)["ring"].startswith(str(ring.number))
        part(solid, "segment").press("ArrowUp")
    part(solid, "segment").fill("1")
    part(solid, "segment").press("ArrowDown")
    assert told(solid)["segment"] == f"{ring.segments} of {ring.segments}"
    part(solid, "layer").fill("")
    expect(part(solid, "chosen")).to_be_hidden()


def test_nothing_is_drawn_while_nothing_changes(solid: Page) -> None:
    pixels(solid)
    solid.evaluate(
        "window.drawings = 0;"
        "document.querySelector('[data-part=canvas]').addEventListener('drawn', () => { window.drawings += 1; })"
    )
    solid.wait_for_timeout(600)
    assert solid.evaluate("window.drawings") == 0
    part(solid, "left").click()
    pixels(solid)
    assert solid.evaluate("window.drawings") == 1  # no motion between where motion is unwelcome


def test_a_turn_is_eased_where_motion_is_welcome(
    launched: Any, live_server: Any, job: Commission, complaints: list[str]
) -> None:
    page = _open(launched(SOFTWARE_WEBGL), live_server, job, complaints, reduced_motion="no-preference")
    expect(page.locator(FIGURE)).to_have_attribute("data-state", "shown", timeout=30_000)
    page.evaluate(
        "window.drawings = 0;"
        "document.querySelector('[data-part=canvas]').addEventListener('drawn', () => { window.drawings += 1; })"
    )
    # The page's clock is the test's, so that a slow machine draws the same frames.
    page.clock.install()
    part(page, "left").click()
    page.clock.run_for(150)
    assert page.evaluate("window.drawings") > 2
    page.clock.run_for(1000)
    drawn = page.evaluate("window.drawings")
    page.clock.run_for(1000)
    assert page.evaluate("window.drawings") == drawn


def test_the_page_is_accessible_and_fits_any_screen(solid: Page) -> None:
    part(solid, "layer").fill("1")
    rules = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
    for width in (1280, 390, 320):
        solid.set_viewport_size({"width": width, "height": 800})
        found = Axe().run(solid, options=rules).response["violations"]
        assert [(rule["id"], node["html"][:160]) for rule in found for node in rule["nodes"]] == []
        assert solid.evaluate("document.documentElement.scrollWidth") <= width


def test_without_webgl_the_drawing_and_words_stand_in_for_the_model(
    launched: Any, live_server: Any, job: Commission, complaints: list[str]
) -> None:
    page = _open(launched(NO_WEBGL), live_server, job, complaints)
    expect(page.locator(FIGURE)).to_have_attribute("data-state", "cannot")
    expect(part(page, "still").locator("svg[role=img]")).to_be_visible()
    expect(part(page, "said")).to_contain_text("the drawing stands in for it")
    expect(part(page, "canvas")).to_be_hidden()
    expect(part(page, "controls")).to_be_hidden()


def test_without_scripts_the_drawing_is_there(
    launched: Any, live_server: Any, job: Commission, complaints: list[str]
) -> None:
    page = _open(launched(SOFTWARE_WEBGL), live_server, job, complaints, java_script_enabled=False)
    expect(part(page, "still").locator("svg")).to_be_visible()
    expect(page.locator("noscript p")).to_contain_text("Without scripts")
    expect(part(page, "controls")).to_be_hidden()


def test_a_model_that_does_not_arrive_leaves_the_drawing(
    launched: Any, live_server: Any, job: Commission
) -> None:
    browser = launched(SOFTWARE_WEBGL)
    told_off: list[str] = []
    page = _open(browser, live_server, job, told_off)
    page.route("**/solid.glb*", lambda route: route.abort())
    page.reload()
    expect(page.locator(FIGURE)).to_have_attribute("data-state", "failed", timeout=30_000)
    expect(part(page, "still").locator("svg")).to_be_visible()
