"""A lidded vase with a knob, drawn from nothing on the drawing board, taken back step by step and done again."""

import json
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from projects.models import Design, Studio
from tests.browser.conftest import Heard

SLOW = 20_000
TYPED = """() => JSON.stringify([...new FormData(document.getElementById("editor"))].filter(
  ([name, value]) => typeof value === "string"
    && !["csrfmiddlewaretoken", "revision", "ring", "narrow", "part", "do"].includes(name)))"""
COUNTED = """window.answers = 0; document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.successful) window.answers += 1; });"""


@dataclass
class Bench:
    """A page at the board, and what its fields held after each step."""

    page: Page
    typed: list[str] = field(default_factory=list)

    def fields(self) -> str:
        """What the form would send, but for what says where one looks."""
        found: str = self.page.evaluate(TYPED)
        return found

    def answered(self, act: Callable[[], Any]) -> None:
        """Do something and wait until its answer stands on the page."""
        before = self.page.evaluate("window.answers")
        act()
        self.page.wait_for_function("(before) => window.answers > before", arg=before, timeout=SLOW)

    def step(self, label: str, act: Callable[[], Any], *, wrong: bool = False) -> None:
        """One edit: a step to undo with this label, other fields than before, and a piece that works out."""
        self.answered(act)
        expect(self.page.locator("#undo")).to_have_text(f"Undo: {label}", timeout=SLOW)
        problems = self.page.locator("#problems")
        if wrong:
            expect(problems).to_have_attribute("data-wrong", "")
        else:
            expect(problems, problems.inner_text()).not_to_have_attribute("data-wrong", "")
        self.typed.append(self.fields())
        assert self.typed[-1] != self.typed[-2]

    def type(self, label: str, name: str, value: str, **how: bool) -> None:
        """Type into a field and leave it."""

        def act() -> None:
            self.page.fill(f"#{name}", value)
            self.page.press(f"#{name}", "Tab")

        self.step(label, act, **how)
        expect(self.page.locator(f"#{name}")).to_have_value(value)

    def choose(self, label: str, name: str, value: str, **how: bool) -> None:
        self.step(label, lambda: self.page.select_option(f"#{name}", value), **how)
        expect(self.page.locator(f"#{name}")).to_have_value(value)

    def press(self, label: str, value: str, **how: bool) -> None:
        """Press a button of the editor by what it does."""
        self.step(label, lambda: self.page.locator(f'button[name="do"][value="{value}"]').click(), **how)


@pytest.fixture
def bench(page: Page, heard: Heard, live_server: Any, workshop: Studio) -> Bench:
    """Alice, logged in by the door, with a small vase from the ready forms on the board."""
    page.add_init_script(COUNTED)
    page.goto(f"{live_server.url}/designs/new/")
    page.fill("#id_username", "alice")
    page.fill("#id_password", "plane-and-gouge")
    page.get_by_role("button", name="Log in").click()
    page.fill("#id_title", "Lidded vase")
    page.check("#id_start_vase")
    for name, value in (("height", "60"), ("diameter", "80"), ("wall", "6")):
        page.fill(f"#id_{name}", value)
    page.get_by_role("button", name="Put it on the drawing board").click()
    expect(page.locator('[data-hand="outer-1"]')).to_be_visible(timeout=SLOW)
    made = Bench(page)
    made.typed.append(made.fields())
    return made


def shape_the_body(bench: Bench) -> None:
    """Points by the table, by hand and by a tick; one more, and it goes again."""
    page = bench.page
    drawn = page.locator("#picture .sheet > svg").first
    before = drawn.inner_html()
    bench.type("diameter of point 1", "parts-0-outer-0-diameter", "44")
    assert drawn.inner_html() != before
    bench.type("height of point 4", "parts-0-outer-3-height", "59.5")
    width = float(page.input_value("#parts-0-outer-1-diameter"))
    bench.step("point 2 of the outside moved", lambda: pull_in(page, '[data-hand="outer-1"]', 2))
    assert float(page.input_value("#parts-0-outer-1-diameter")) == pytest.approx(width - 4, abs=0.6)
    bench.step("corner at point 3", lambda: page.check("#parts-0-outer-2-corner"))
    page.locator('[data-hand="outer-0"]').focus()
    bench.step("point added", lambda: page.keyboard.press("+"))
    expect(page.locator("#parts-0-outer tbody tr")).to_have_count(5)
    expect(page.locator("#parts-0-outer-3-corner")).to_be_checked()
    bench.press("point removed", "parts-0-outer-remove-1")
    expect(page.locator("#parts-0-outer tbody tr")).to_have_count(4)
    expect(page.locator("#parts-0-outer-2-corner")).to_be_checked()


def pull_in(page: Page, point: str, by: float) -> None:
    """Drag a point by so many millimetres towards the axis, which lies to its right."""
    page.locator(point).scroll_into_view_if_needed()
    box = page.locator(f"{point} .hand-knob").bounding_box()
    assert box
    scale = page.evaluate("document.querySelector('#picture .sheet > svg').getScreenCTM().a")
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + by * scale, y, steps=4)
    page.mouse.up()


def lay_the_bands(bench: Bench) -> None:
    """Woods, a band more, and everything that can be done with one."""
    page, bands = bench.page, bench.page.locator('.part[data-part="0"] .band')
    bench.choose("maple, body", "parts-0-bands-1-wood-0", "cherry")
    expect(page.locator("#picture .ring dl")).to_contain_text("cherry")
    expect(bands).to_have_count(2)
    bench.press("band split", "parts-0-bands-split-1")
    expect(bands).to_have_count(3)
    layers = [page.input_value(f"#parts-0-bands-{number}-layers") for number in (1, 2)]
    assert sum(map(int, layers)) == 4
    bench.press("band merged", "parts-0-bands-merge-1")
    expect(page.locator("#parts-0-bands-1-layers")).to_have_value("4")
    # A layer more than the form has room for, until the body gives one up.
    bench.press("band added", "parts-0-bands-add-2", wrong=True)
    expect(bands).to_have_count(3)
    bench.type("name of a band, rim", "parts-0-bands-2-name", "rim", wrong=True)
    expect(bands.first.locator("legend span").first).to_have_text("rim")
    bench.type("layers, body", "parts-0-bands-1-layers", "3")
    bench.type("segments, rim", "parts-0-bands-2-segments", "12")
    bench.press("band copied", "parts-0-bands-copy-2", wrong=True)
    expect(bands).to_have_count(4)
    bench.press("band removed", "parts-0-bands-remove-3")
    expect(bands).to_have_count(3)
    bench.press("band mirrored", "parts-0-bands-mirror-1")
    expect(page.locator("#parts-0-bands-1-offsets")).to_have_value("-0.5")


def lay_between_heights(bench: Bench) -> None:
    """Thin layers in place of those in the middle; the tool's own fields are steps too."""
    page = bench.page
    page.get_by_text("Lay layers between two heights").first.click()
    for label, name, value in (
        ("from height", "lay_from", "24"),
        ("to height", "lay_to", "36"),
        ("thickness of the layers to lay", "lay_thickness", "4"),
        ("segments of the layers to lay", "lay_segments", "8"),
    ):
        bench.type(label, f"parts-0-{name}", value)
    bench.choose("wood", "parts-0-lay_wood", "walnut")
    bench.choose("and in turn", "parts-0-lay_wood_2", "maple")
    bench.press("layers laid", "parts-0-lay")
    expect(page.locator('.part[data-part="0"] .band')).to_have_count(5)
    expect(page.locator("#parts-0-bands-2-segments")).to_have_value("8")
    expect(page.locator("#parts-0-bands-2-wood-1")).to_have_value("maple")


def turn_bore_and_paint(bench: Bench) -> None:
    """Ready offsets, a bore with a plug, and a cell of a chart."""
    page, painted = bench.page, bench.page.locator('.part[data-part="0"] .band[data-band="2"]')
    kind = painted.locator("[data-turns] [data-part=kind]")
    bench.step("offset, band 3", lambda: kind.select_option("brick"))
    expect(page.locator("#parts-0-bands-2-offsets")).to_have_value("0.5, -0.5")
    bench.choose("bored, foot", "parts-0-bands-0-bored", "set", wrong=True)
    bench.type("diameter of the bore, foot", "parts-0-bands-0-bore", "16")
    bench.choose("plug of, foot", "parts-0-bands-0-plug", "cherry")
    painted.locator(".painter > summary").click()
    bench.step("made a chart, band 3", lambda: painted.locator("[data-do=start]").click())
    cell = painted.locator('[data-layer="0"][data-segment="0"]')
    was = cell.get_attribute("data-wood")
    painted.locator('[data-wood]:not([aria-pressed="true"])[aria-pressed]').click()
    bench.step("painted, band 3", cell.click)
    assert cell.get_attribute("data-wood") != was


def add_part(bench: Bench, shape: str, height: str, diameter: str, wall: str) -> None:
    """A part from a ready form, on top of the others; the fields that say which are steps as well."""
    page = bench.page
    if not page.locator("#new-shape").is_visible():
        page.get_by_text("Add a part: a lid, a finial, a foot").click()
    bench.choose("begin with", "new-shape", shape)
    for label, name, value in (("height", "height", height), ("largest diameter", "diameter", diameter)):
        bench.type(label, f"new-{name}", value)
    bench.type("wall", "new-wall", wall)
    bench.press("part added", "new-part")


def put_the_lid_on(bench: Bench) -> None:
    """A lid that hangs loose in the rim, with a knob glued to it."""
    page, parts = bench.page, bench.page.locator(".part")
    add_part(bench, "cylinder", "10", "22", "2")
    expect(parts).to_have_count(2)
    bench.type("name of the part", "parts-1-name", "lid")
    expect(page.locator(".tab").nth(1)).to_have_text("lid")
    bench.choose("the inside is", "parts-1-inside", "solid")
    bench.choose("stands", "parts-1-sits", "in", wrong=True)
    expect(page.locator("#parts-1-sits_at")).to_have_value("1")
    bench.type("flange, tall", "parts-1-flange", "4", wrong=True)
    bench.type("clearance", "parts-1-clearance", "0.2")
    expect(page.locator("#picture .whole svg")).to_be_visible()
    add_part(bench, "finial", "20", "12", "1.5")
    expect(parts).to_have_count(3)
    bench.type("name of the part", "parts-2-name", "knob")
    # What comes on top is glued to the part below it, unless it is said otherwise.
    expect(page.locator("#parts-2-sits")).to_have_value("on")
    expect(page.locator("#parts-2-sits_at")).to_have_value("2")


def of_the_design(typed: str) -> dict[str, str]:
    """The fields without those of the tools, which are empty again on a new page."""
    tools = re.compile(r"new-|parts-\d+-(lay|size)_")
    return {name: value for name, value in json.loads(typed) if not tools.match(name)}


def take_back_and_do_again(bench: Bench) -> None:
    """Undo until nothing is left, redo until nothing is; every step comes back as it was."""
    page = bench.page
    for button, order in (("#undo", bench.typed[-2::-1]), ("#redo", bench.typed[1:])):
        for expected in order:
            bench.answered(page.locator(button).click)
            assert bench.fields() == expected
        expect(page.locator(button)).to_be_disabled()


def test_a_lidded_vase_is_drawn_taken_back_done_again_saved_and_read_anew(bench: Bench) -> None:
    page = bench.page
    answers = [page.locator("#answer").inner_text()]
    for work in (shape_the_body, lay_the_bands, lay_between_heights, turn_bore_and_paint, put_the_lid_on):
        work(bench)
        answers.append(page.locator("#answer").inner_text())
        assert answers[-1] != answers[-2]
    assert len(bench.typed) > 40
    take_back_and_do_again(bench)
    assert page.locator("#answer").inner_text() == answers[-1]
    page.click("#save")
    expect(page.locator("#state")).to_contain_text("Saved at", timeout=SLOW)
    page.reload()
    expect(page.locator(".part")).to_have_count(3)
    assert of_the_design(bench.fields()) == of_the_design(bench.typed[-1])
    assert page.locator("#answer").inner_text() == answers[-1]
    names = [part.name for part in Design.objects.get().parts.all()]
    assert names == ["body", "lid", "knob"]
