"""The piece in the round on the drawing board: switched on, of what is typed, and told anew after an edit."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from projects.models import Commission
from tests.browser.test_solid import FIGURE, SOFTWARE_WEBGL, _open, complaints, launched, part, pixels, told

__all__ = ["complaints", "launched"]  # fixtures


@pytest.fixture
def board(launched: Any, live_server: Any, job: Commission, complaints: list[str]) -> Page:
    """The bowl's drawing board in a browser that draws models and wants no motion."""
    page = _open(launched(SOFTWARE_WEBGL), live_server, job, complaints, reduced_motion="reduce")
    page.goto(f"{live_server.url}/jobs/{job.pk}/drawing/")
    expect(page.locator("#picture .sheet svg").first).to_be_visible()
    page.get_by_role("button", name="In the round").click()
    expect(page.locator(f"#round {FIGURE}")).to_have_attribute("data-state", "shown", timeout=30_000)
    return page


def test_an_edit_brings_a_new_model_and_the_chosen_segment_its_new_measures(board: Page) -> None:
    expect(part(board, "canvas")).to_be_visible()
    part(board, "layer").fill("3")
    expect(part(board, "chosen")).to_be_visible()
    segments = int(board.input_value("#parts-0-bands-1-segments"))
    before, drawn = told(board), pixels(board)
    assert before["segment"] == f"1 of {segments}"
    assert before["wood"] == "sugar maple"
    with board.expect_response("**/round.glb*", timeout=30_000) as answer:
        board.fill("#parts-0-bands-1-segments", str(segments + 10))
        board.select_option("#parts-0-bands-1-wood-0", "walnut")
    assert answer.value.request.method == "POST"
    chosen = part(board, "chosen")
    expect(chosen).to_contain_text(f"1 of {segments + 10}", timeout=30_000)
    expect(chosen).to_contain_text("black walnut", timeout=30_000)
    after = told(board)
    assert after["layer"] == before["layer"]
    assert float(after["long edge, mm"]) < float(before["long edge, mm"])
    assert after["saw to"] != before["saw to"]
    assert pixels(board) != drawn


def test_the_drawing_comes_back_and_looking_is_no_edit(board: Page) -> None:
    part(board, "cut").press("Space")
    board.get_by_role("button", name="Drawing", exact=True).click()
    expect(board.locator("#round")).to_be_hidden()
    expect(board.locator("#picture .sheet:not(.solid) > svg").first).to_be_visible()
    expect(board.locator("#undo")).to_be_disabled()
