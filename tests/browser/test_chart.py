"""The chart painter: strokes and keys, blocks, files, and one step to undo for each."""

import json
from typing import Any

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import BrowserContext, Locator, Page, expect

from projects.models import Commission
from tests.browser.conftest import Heard

CHART, SEGMENTS = "#parts-0-bands-1-chart", 14
BAND = '.band[data-band="1"]'


@pytest.fixture
def board(as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, job: Commission) -> Page:
    """The bowl's board with a chart made of its upper band, 4 layers of 14 segments of maple, walnut beside it."""
    page.goto(f"{live_server.url}/jobs/{job.pk}/drawing/")
    page.locator(f"{BAND} .painter > summary").click()
    do(page, "start")
    page.locator(f"{BAND} [data-part=another]").select_option("walnut")
    expect(page.locator("#undo")).to_have_text("Undo: made a chart, body")
    return page


def do(page: Page, what: str) -> None:
    page.locator(f"{BAND} [data-do={what}]").click()


def cell(page: Page, layer: int, segment: int) -> Locator:
    """By their numbers, from 1."""
    return page.locator(f'{BAND} [data-layer="{layer - 1}"][data-segment="{segment - 1}"]')


def rows(page: Page) -> list[str]:
    """The chart's rows, bottom up, as far as they go all round."""
    chart = json.loads(page.input_value(CHART))
    return [row * (SEGMENTS // len(row)) for row in chart["rows"]]


def test_a_stroke_is_one_step(board: Page) -> None:
    assert rows(board) == ["m" * 14] * 4
    cell(board, 2, 2).hover()
    board.mouse.down()
    for segment in (3, 4, 5):
        cell(board, 2, segment).hover()
    board.mouse.up()
    assert rows(board)[1] == "m" + "w" * 4 + "m" * 9
    expect(board.locator("#undo")).to_have_text("Undo: painted, body")
    board.click("#undo")
    expect(cell(board, 2, 3)).to_have_attribute(
        "aria-label", "layer 2, segment 3: sugar maple, m", timeout=30_000
    )
    expect(board.locator("#undo")).to_have_text("Undo: made a chart, body")


def test_keys_move_choose_and_paint(board: Page) -> None:
    cell(board, 1, 1).focus()
    for key in ("ArrowUp", "ArrowRight", "Space", "m", "ArrowRight", "w", "ArrowUp", "Space"):
        board.keyboard.press(key)
    expect(cell(board, 3, 3)).to_be_focused()
    assert rows(board) == ["m" * 14, "mw" + "m" * 12, "mmw" + "m" * 11, "m" * 14]
    expect(cell(board, 3, 3)).to_have_attribute("aria-label", "layer 3, segment 3: black walnut, w")


def test_rows_columns_and_blocks(board: Page) -> None:
    cell(board, 1, 1).focus()
    board.keyboard.press("Space")
    do(board, "column")
    assert rows(board) == ["w" + "m" * 13] * 4
    do(board, "on")
    assert rows(board)[0] == "mw" + "m" * 12
    cell(board, 1, 1).focus()
    board.keyboard.press("Shift+ArrowRight")
    do(board, "round")
    assert rows(board)[0] == "mw" * 7
    cell(board, 1, 1).focus()
    for key in ("ArrowUp", "ArrowDown", "Shift+End", "Shift+ArrowUp"):
        board.keyboard.press(key)
    do(board, "up")
    found = rows(board)
    assert found[2:] == found[:2]
    do(board, "all")
    assert rows(board) == ["w" * 14] * 4


def test_csv_goes_out_and_comes_back(board: Page, tmp_path: Any) -> None:
    cell(board, 4, 1).click()
    before = rows(board)
    with board.expect_download() as saved:
        do(board, "save")
    path = tmp_path / "chart.csv"
    saved.value.save_as(path)
    lines = path.read_text().split()
    assert lines[0] == "walnut" + ",maple" * 13
    assert len(lines) == 4
    do(board, "all")
    board.locator(f"{BAND} [data-part=csv]").set_input_files(path)
    expect(board.locator(f"{BAND} [data-part=said]")).to_have_text("4 rows read.")
    assert rows(board) == before
    path.write_text("maple,stone\n")
    board.locator(f"{BAND} [data-part=csv]").set_input_files(path)
    expect(board.locator(f"{BAND} [data-part=said]")).to_contain_text("“stone” is no wood")
    assert rows(board) == before


def test_a_picture_is_put_into_the_charts_woods(board: Page, tmp_path: Any) -> None:
    dark = np.full((8, 28, 3), 255, np.uint8)
    dark[:2, :14] = 30
    Image.fromarray(dark).save(tmp_path / "half.png")
    board.locator(f"{BAND} [data-part=picture]").set_input_files(tmp_path / "half.png")
    expect(board.locator("#undo")).to_have_text("Undo: chart from a picture, body")
    assert rows(board) == ["m" * 14] * 3 + ["w" * 7 + "m" * 7]


def test_more_segments_take_the_chart_along_and_plain_woods_come_back(board: Page) -> None:
    board.fill("#parts-0-bands-1-layers", "5")
    assert len(rows(board)) == 5
    do(board, "plain")
    expect(board.locator(CHART)).to_have_value("", timeout=30_000)
    expect(board.locator("#parts-0-bands-1-wood-0")).to_have_value("maple")


def test_ready_offsets_are_written_into_the_field(board: Page) -> None:
    kind, field = (
        board.locator(f"{BAND} [data-turns] [data-part=kind]"),
        board.locator("#parts-0-bands-1-offsets"),
    )
    kind.select_option("brick")
    expect(field).to_have_value("0.5, -0.5")
    kind.select_option("right")
    expect(field).to_have_value("-0.25")
    kind.select_option("waves")
    board.locator(f"{BAND} [data-turns] [data-part=steps]").fill("2")
    board.keyboard.press("Tab")
    expect(field).to_have_value("0.25, 0.25, -0.25, -0.25")


@pytest.mark.parametrize("width", [1280, 390])
def test_the_painter_passes_the_accessibility_check(board: Page, width: int) -> None:
    board.set_viewport_size({"width": width, "height": 900})
    do(board, "letters")
    cell(board, 2, 2).click()
    found = Axe().run(board)
    assert found.violations_count == 0, found.generate_report()
    assert board.evaluate("document.documentElement.scrollWidth") <= width
