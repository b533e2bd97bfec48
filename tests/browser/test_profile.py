"""The curve worked on the drawing: by mouse, by touch and by keyboard, with one step to undo for each move."""

import re
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect

from projects.models import Commission, Studio
from projects.services.designs import design_create
from tests.browser.conftest import Heard

POINT = '[data-hand="outer-1"]'
HEIGHT, DIAMETER = "#parts-0-outer-1-height", "#parts-0-outer-1-diameter"


@pytest.fixture
def board(as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, job: Commission) -> Page:
    """The drawing board of a bowl 60 mm high and 180 mm across, open."""
    page.goto(f"{live_server.url}/jobs/{job.pk}/drawing/")
    expect(page.locator("#picture .sheet svg")).to_be_visible()
    expect(page.locator(POINT)).to_be_visible()
    return page


def millimetre(page: Page) -> float:
    """Pixels that one millimetre of the drawing takes on the screen."""
    found: float = page.evaluate("document.querySelector('#picture .sheet > svg').getScreenCTM().a")
    return found


def middle(page: Page, selector: str = POINT) -> tuple[float, float]:
    box = page.locator(f"{selector} .hand-knob").bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page: Page, by: tuple[float, float], selector: str = POINT) -> None:
    """Drag a point by so many millimetres of the drawing: right and up."""
    x, y = middle(page, selector)
    scale = millimetre(page)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + by[0] * scale, y - by[1] * scale, steps=4)


def test_points_stand_on_the_drawn_curve(board: Page) -> None:
    # The point and the drawing are asked in one breath: the page may still be settling.
    where = """(row) => {
      const hand = document.querySelector(`[data-hand="outer-${row}"]`).getBoundingClientRect();
      const svg = document.querySelector('#picture .sheet > svg');
      const middle = new DOMPoint(hand.x + hand.width / 2, hand.y + hand.height / 2);
      const at = middle.matrixTransform(svg.getScreenCTM().inverse());
      return [at.x, at.y];
    }"""
    for row in range(3):
        x, y = board.evaluate(where, row)
        # The axis is x = 0 and the rim, 60 mm up, y = 0.
        assert -x * 2 == pytest.approx(float(board.input_value(f"#parts-0-outer-{row}-diameter")), abs=0.3)
        assert 60 - y == pytest.approx(float(board.input_value(f"#parts-0-outer-{row}-height")), abs=0.3)


def test_a_drag_shows_at_once_is_answered_on_release_and_is_one_step(board: Page) -> None:
    height, diameter = float(board.input_value(HEIGHT)), float(board.input_value(DIAMETER))
    line = board.locator(".hand-line.shown")
    drag(board, (0, 0))
    before, answered = line.get_attribute("d"), board.locator("#answer").inner_text()
    board.mouse.up()
    drag(board, (-4, 3))
    # Before anything is sent the curve between the points is the new one.
    assert line.get_attribute("d") != before
    expect(board.locator("#undo")).to_be_disabled()
    board.mouse.up()
    assert float(board.input_value(HEIGHT)) == pytest.approx(height + 3, abs=0.6)
    assert float(board.input_value(DIAMETER)) == pytest.approx(diameter + 8, abs=0.6)
    expect(board.locator("#undo")).to_have_text("Undo: point 2 of the outside moved")
    expect(board.locator("#answer")).not_to_have_text(answered)
    board.click("#undo")
    expect(board.locator(DIAMETER)).to_have_value(f"{diameter:g}")
    expect(board.locator(HEIGHT)).to_have_value(f"{height:g}")
    expect(board.locator("#undo")).to_be_disabled()


def test_escape_and_a_point_let_go_where_it_was_change_nothing(board: Page) -> None:
    before = board.input_value(DIAMETER)
    drag(board, (-10, 0))
    assert board.input_value(DIAMETER) != before
    board.keyboard.press("Escape")
    board.mouse.up()
    assert board.input_value(DIAMETER) == before
    expect(board.locator("#undo")).to_be_disabled()


def test_a_point_stays_between_its_neighbours(board: Page) -> None:
    drag(board, (0, 400))
    board.mouse.up()
    assert float(board.input_value(HEIGHT)) < float(board.input_value("#parts-0-outer-2-height"))


def test_arrow_keys_move_a_point_and_say_where_it_is(board: Page) -> None:
    point = board.locator(POINT)
    height, diameter = float(board.input_value(HEIGHT)), float(board.input_value(DIAMETER))
    point.focus()
    board.keyboard.press("ArrowUp")
    assert float(board.input_value(HEIGHT)) == pytest.approx(height + 1)
    board.keyboard.press("Alt+ArrowUp")
    assert float(board.input_value(HEIGHT)) == pytest.approx(height + 1.1)
    board.keyboard.press("Shift+ArrowLeft")
    assert float(board.input_value(DIAMETER)) == pytest.approx(diameter + 10)
    expect(point).to_have_attribute("aria-label", "point 2 of the outside")
    expect(point).to_have_attribute(
        "aria-valuetext", f"height {height + 1.1:g} mm, diameter {diameter + 10:g} mm"
    )
    # The answer brings a new picture; the keyboard stays on the point.
    expect(board.locator("#state")).to_have_text("Not saved yet")
    board.wait_for_load_state("networkidle")
    expect(point).to_be_focused()
    board.click("#undo")
    expect(board.locator(DIAMETER)).to_have_value(f"{diameter:g}")
    expect(board.locator("#undo")).to_be_disabled()


def test_points_are_added_made_corners_and_removed_by_keyboard(board: Page) -> None:
    board.locator(POINT).focus()
    board.keyboard.press("+")
    expect(board.locator('[data-hand="outer-2"]')).to_be_focused()
    expect(board.locator("#parts-0-outer tbody tr")).to_have_count(4)
    expect(board.locator("#hand-said")).to_contain_text("Added point 3 of the outside")
    board.keyboard.press("c")
    expect(board.locator("#parts-0-outer-2-corner")).to_be_checked()
    expect(board.locator('[data-hand="outer-2"]')).to_have_attribute(
        "aria-valuetext", re.compile("a corner$")
    )
    board.keyboard.press("Delete")
    expect(board.locator("#parts-0-outer tbody tr")).to_have_count(3)
    expect(board.locator("#undo")).to_have_text("Undo: point removed")
    board.click("#undo")
    # Sawing a curve that nothing is known of yet may take the server a while.
    expect(board.locator("#parts-0-outer-2-corner")).to_be_checked(timeout=30_000)


def test_a_double_click_on_the_curve_adds_a_point_that_lies_on_it(board: Page) -> None:
    at = board.evaluate(
        """() => {
          const line = document.querySelector('.hand-near'), at = line.getPointAtLength(line.getTotalLength() * 0.75);
          const on = new DOMPoint(at.x, at.y).matrixTransform(line.getScreenCTM());
          return [on.x, on.y, at.x, at.y];
        }"""
    )
    board.mouse.dblclick(at[0], at[1])
    expect(board.locator("#parts-0-outer tbody tr")).to_have_count(4)
    assert float(board.input_value("#parts-0-outer-2-height")) == pytest.approx(60 - at[3], abs=1)
    assert float(board.input_value("#parts-0-outer-2-diameter")) == pytest.approx(-2 * at[2], abs=3)


def test_the_inside_is_dragged_on_the_section(board: Page) -> None:
    board.select_option("#parts-0-inside", "curve")
    for row, (height, diameter) in enumerate(((10, 50), (60, 164))):
        board.get_by_role("button", name="Add a point on top").nth(1).click()
        expect(board.locator(f"#parts-0-inner-{row}-height")).to_be_focused()
        board.fill(f"#parts-0-inner-{row}-height", str(height))
        board.fill(f"#parts-0-inner-{row}-diameter", str(diameter))
    point = '[data-hand="inner-1"]'
    expect(board.locator(point)).to_be_visible()
    board.wait_for_load_state("networkidle")
    drag(board, (-2, 0), point)
    board.mouse.up()
    assert float(board.input_value("#parts-0-inner-1-diameter")) == pytest.approx(160, abs=0.6)


def test_inches_are_written_as_the_shop_writes_them(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, job: Commission
) -> None:
    Studio.objects.update(length_unit="in", inch_style="fraction")
    page.goto(f"{live_server.url}/jobs/{job.pk}/drawing/")
    page.fill(DIAMETER, "5 1/2")
    page.locator(POINT).focus()
    page.keyboard.press("ArrowLeft")
    expect(page.locator(DIAMETER)).to_have_value("5 33/64")
    page.keyboard.press("Shift+ArrowRight")
    expect(page.locator(DIAMETER)).to_have_value("5 23/64")


def test_a_finger_drags_a_point_on_a_phone(
    browser: Browser, as_alice: BrowserContext, live_server: Any, job: Commission
) -> None:
    phone = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    phone.add_cookies([cookie for cookie in as_alice.cookies() if cookie["name"] == "sessionid"])  # type: ignore[misc]
    page = phone.new_page()
    page.goto(f"{live_server.url}/jobs/{job.pk}/drawing/")
    page.locator(POINT).scroll_into_view_if_needed()
    page.wait_for_load_state("networkidle")
    target = page.locator(f"{POINT} .hand-hit").bounding_box()
    assert target
    assert target["width"] >= 47.9
    before = float(page.input_value(DIAMETER))
    x, y = middle(page)
    fingers = phone.new_cdp_session(page)
    fingers.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 5):
        fingers.send(
            "Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x - 3 * step, "y": y}]}
        )
    fingers.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    assert float(page.input_value(DIAMETER)) == pytest.approx(before + 24 / millimetre(page), abs=1)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    phone.close()


@pytest.mark.parametrize("width", [1280, 390])
def test_the_points_pass_the_accessibility_check(board: Page, width: int) -> None:
    board.set_viewport_size({"width": width, "height": 900})
    board.locator(POINT).focus()
    board.wait_for_load_state("networkidle")
    found = Axe().run(board)
    assert found.violations_count == 0, found.generate_report()


def test_sixty_layers_of_24_segments_are_drawn_before_they_are_reckoned(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, workshop: Studio
) -> None:
    form = {
        "outer": [[0, 60], [90, 100], [200, 80], [300, 110]],
        "curve": "smooth",
        "inside": "wall",
        "wall": 7,
    }
    shop = workshop.shop
    room = 300 + float(shop.allowance_top) + float(shop.allowance_bottom) - 59 * float(shop.bond_line)
    band = {
        "name": "body",
        "layers": 60,
        "thickness": round(room / 60 + 0.0005, 3),
        "segments": 24,
        "offsets": [0.5],
    }
    band |= {"woods": ["maple", "walnut"], "bored": "needed", "plug": "maple"}
    part = {"name": "body", "form": {**form, "floor": 10}, "bands": [band]}
    design = design_create(studio=workshop, title="Vase", parts=[part])
    page.set_default_timeout(60_000)
    page.goto(f"{live_server.url}/designs/{design.pk}/")
    expect(page.locator(POINT)).to_be_visible(timeout=60_000)
    page.evaluate(
        """() => document.addEventListener("board:redrawn", () => {
             const done = () => { document.body.dataset.drawnAt ||= performance.now(); };
             requestAnimationFrame(() => setTimeout(done));
           })"""
    )
    took = []
    for turn in range(3):
        page.evaluate("delete document.body.dataset.drawnAt")
        before = page.evaluate(
            """(to) => { const field = document.getElementById("parts-0-outer-1-diameter");
               field.value = to; const at = performance.now();
               field.dispatchEvent(new Event("change", { bubbles: true })); return at; }""",
            str(196 + turn),
        )
        expect(page.locator("body[data-drawn-at]")).to_be_visible(timeout=60_000)
        took.append(float(page.evaluate("document.body.dataset.drawnAt")) - before)
        assert page.locator("#picture .sheet > svg [data-layer]").count() >= 60
    print(f"\nredrawn after {', '.join(f'{ms:.0f}' for ms in took)} ms")
    # Loose, since other work may share the machine; the time itself is printed and benched.
    assert min(took) < 1000
