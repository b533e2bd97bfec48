"""The drawing board: it answers at once, forgets nothing, and can be worked by keyboard alone."""

import re
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from projects.models import Commission
from tests.browser.conftest import Heard


@pytest.fixture
def board(as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, job: Commission) -> Page:
    """The drawing board of the bowl, open."""
    page.goto(f"{live_server.url}/jobs/{job.pk}/drawing/")
    expect(page.locator("#picture .sheet svg")).to_be_visible()
    return page


def answer(page: Page) -> str:
    return page.locator("#answer").inner_text()


def test_an_edit_redraws_and_reprices_without_loading_a_page(board: Page) -> None:
    board.evaluate("window.sameDocument = true")
    before, drawn = answer(board), board.locator("#picture .sheet svg").inner_html()
    board.fill("#parts-0-outer-0-diameter", "120")
    expect(board.locator("#answer")).not_to_have_text(before)
    assert board.locator("#picture .sheet svg").inner_html() != drawn
    assert board.evaluate("window.sameDocument") is True
    expect(board.locator("[data-figure=cost-wood]")).to_have_class(re.compile("changed"))


def test_undo_takes_back_an_edit_and_redo_repeats_it(board: Page) -> None:
    before = answer(board)
    board.fill("#parts-0-bands-1-segments", "24")
    expect(board.locator("#undo")).to_have_text("Undo: segments, body")
    expect(board.locator("#answer")).not_to_have_text(before)
    after = answer(board)
    board.click("#undo")
    expect(board.locator("#answer")).to_have_text(before)
    assert board.input_value("#parts-0-bands-1-segments") != "24"
    board.click("#redo")
    expect(board.locator("#parts-0-bands-1-segments")).to_have_value("24")
    expect(board.locator("#answer")).to_have_text(after)


def test_undo_brings_a_removed_band_back_after_it_was_saved(board: Page, job: Commission) -> None:
    board.click("#parts-0-bands-add-1")
    expect(board.locator(".band")).to_have_count(3)
    board.fill("#parts-0-bands-1-name", "accent")
    expect(board.locator("#undo")).to_contain_text("name of a band")
    board.click("#parts-0-bands-remove-1")
    expect(board.locator(".band")).to_have_count(2)
    board.click("#save")
    expect(board.locator("#state")).to_contain_text("Saved at")
    assert job.design is not None
    assert job.design.parts.get().bands.count() == 2
    board.click("#undo")
    expect(board.locator("#parts-0-bands-1-name")).to_have_value("accent")
    expect(board.locator("#state")).to_have_text("Not saved yet")
    board.click("#save")
    expect(board.locator("#state")).to_contain_text("Saved at")
    assert [band.name for band in job.design.parts.get().bands.all()] == ["foot", "accent", "body"]


def test_an_error_stands_at_its_field_and_what_was_typed_stays(board: Page) -> None:
    drawn = board.locator("#picture .sheet svg").inner_html()
    board.fill("#parts-0-bands-1-thickness", "a thumb")
    expect(board.locator("#parts-0-bands-1-thickness-error")).to_contain_text("is not a length")
    expect(board.locator("#parts-0-bands-1-thickness")).to_have_attribute("aria-invalid", "true")
    assert board.input_value("#parts-0-bands-1-thickness") == "a thumb"
    assert board.locator("#picture .sheet svg").inner_html() == drawn
    expect(board.locator(".stale")).to_be_visible()
    board.click("#save")
    expect(board.locator("#problems")).to_contain_text("Not saved. What you typed is still here.")
    board.fill("#parts-0-bands-1-thickness", "12")
    expect(board.locator("#parts-0-bands-1-thickness-error")).to_be_empty()


def test_woods_that_do_not_divide_the_segments_are_refused_at_the_woods(board: Page) -> None:
    board.fill("#parts-0-bands-1-segments", "16")
    board.select_option("#parts-0-bands-1-wood-1", "walnut")
    expect(board.locator("#parts-0-bands-1-wood-2")).to_be_visible()
    board.select_option("#parts-0-bands-1-wood-2", "cherry")
    expect(board.locator("#parts-0-bands-1-woods-error")).to_contain_text(
        "3 woods do not go evenly into 16 segments"
    )
    expect(board.locator("#parts-0-bands-1-wood-3")).to_be_visible()
    board.fill("#parts-0-bands-1-segments", "18")
    expect(board.locator("#parts-0-bands-1-woods-error")).to_be_empty()
    expect(board.locator("#picture .ring dl")).to_contain_text("cherry")


def test_the_second_of_two_tabs_is_told_and_loses_nothing(
    board: Page, as_alice: BrowserContext, job: Commission
) -> None:
    second = as_alice.new_page()
    second.goto(board.url)
    board.fill("#title", "First tab's")
    board.click("#save")
    expect(board.locator("#state")).to_contain_text("Saved at")
    second.fill("#title", "Second tab's")
    second.click("#save")
    expect(second.locator("#problems")).to_contain_text("Someone else saved this design after you opened it")
    assert second.input_value("#title") == "Second tab's"
    assert job.design is not None
    job.design.refresh_from_db()
    assert job.design.title == "First tab's"
    second.get_by_role("button", name="Save mine over theirs").click()
    expect(second.locator("#state")).to_contain_text("Saved at")
    job.design.refresh_from_db()
    assert job.design.title == "Second tab's"


def test_a_lost_connection_says_so_and_keeps_what_was_typed(board: Page, heard: Heard) -> None:
    board.context.set_offline(True)
    board.fill("#parts-0-bands-1-name", "typed in a tunnel")
    expect(board.locator("#lost")).to_be_visible()
    board.context.set_offline(False)
    board.reload()
    expect(board.locator("#kept")).to_contain_text("that were not saved")
    board.click("#bring-back")
    expect(board.locator("#parts-0-bands-1-name")).to_have_value("typed in a tunnel")
    heard.errors.clear()  # the browser's own complaint that it was offline


def test_enter_in_a_field_works_it_out_and_leaves_the_field_in_use(board: Page) -> None:
    board.focus("#parts-0-bands-1-segments")
    board.keyboard.press("Control+A")
    board.keyboard.type("24")
    board.keyboard.press("Enter")
    layers, foot = (
        int(board.input_value("#parts-0-bands-1-layers")),
        int(board.input_value("#parts-0-bands-0-segments")),
    )
    expect(board.locator("[data-figure=segments]")).to_have_text(f"{layers * 24 + foot} segments")
    expect(board.locator("#parts-0-bands-1-segments")).to_be_focused()
    expect(board.locator("#undo")).to_be_enabled()


def test_being_logged_out_loses_nothing_and_logging_in_elsewhere_mends_it(
    board: Page, as_alice: BrowserContext, heard: Heard, live_server: Any
) -> None:
    before = answer(board)
    as_alice.clear_cookies()
    board.fill("#parts-0-bands-1-segments", "24")
    expect(board.locator("#out-words")).to_be_visible()
    second = as_alice.new_page()
    second.goto(f"{live_server.url}/account/log-in/")
    second.fill("#id_username", "alice")
    second.fill("#id_password", "plane-and-gouge")
    second.get_by_role("button", name="Log in").click()
    expect(second.get_by_role("heading", name="Jobs")).to_be_visible()
    board.click("#again")
    expect(board.locator("#answer")).not_to_have_text(before)
    assert board.input_value("#parts-0-bands-1-segments") == "24"
    expect(board.locator("#lost")).to_be_hidden()
    heard.errors.clear()  # the refusal was what this test is about


def test_answers_that_overtake_each_other_leave_the_newest(board: Page) -> None:
    def late_first(route: Any) -> None:
        if "segments=8&" in (route.request.post_data or ""):
            board.wait_for_timeout(700)
        route.continue_()

    board.route("**/drawing/", late_first)
    board.fill("#parts-0-bands-1-segments", "8")
    board.wait_for_timeout(300)
    board.fill("#parts-0-bands-1-segments", "20")
    board.wait_for_timeout(1200)
    expect(board.locator("#parts-0-bands-1-segments")).to_have_value("20")
    layers = int(board.input_value("#parts-0-bands-1-layers"))
    foot = int(board.input_value("#parts-0-bands-0-segments"))
    expect(board.locator("[data-figure=segments]")).to_have_text(f"{layers * 20 + foot} segments")


def test_a_band_is_added_named_and_moved_by_keyboard_alone(board: Page) -> None:
    board.focus("#parts-0-bands-add-1")
    board.keyboard.press("Enter")
    expect(board.locator("#parts-0-bands-1-name")).to_be_focused()
    board.keyboard.type("accent")
    board.keyboard.press("Tab")
    expect(board.locator("#parts-0-bands-1-layers")).to_be_focused()
    board.focus("#parts-0-bands-up-1")
    board.keyboard.press("Space")
    expect(board.locator("#parts-0-bands-2-name")).to_have_value("accent")
    expect(board.locator("#parts-0-bands-down-2")).to_be_enabled()
    expect(board.locator(":focus")).to_have_count(1)


def test_a_row_of_the_curve_is_added_and_an_empty_row_counts_for_nothing(board: Page) -> None:
    before = answer(board)
    rows = board.locator("#parts-0-outer tbody tr").count()
    board.get_by_role("button", name=f"Add a point below point {rows} of the outside").click()
    expect(board.locator("#parts-0-outer tbody tr")).to_have_count(rows + 1)
    expect(board.locator("#answer")).to_have_text(before)
    board.fill(f"#parts-0-outer-{rows - 1}-height", "50 mm")
    expect(board.locator(f"#parts-0-outer-{rows - 1}-diameter-error")).to_contain_text("empty")
    board.fill(f"#parts-0-outer-{rows - 1}-diameter", "7 in")
    expect(board.locator("#answer")).not_to_have_text(before)


def test_the_inside_shows_the_fields_it_needs(board: Page) -> None:
    expect(board.locator("#parts-0-wall")).to_be_visible()
    board.select_option("#parts-0-inside", "solid")
    expect(board.locator("#parts-0-wall")).to_be_hidden()
    board.select_option("#parts-0-bands-1-made", "sliced")
    expect(board.locator("#parts-0-bands-1-ring_height")).to_be_visible()


def test_another_ring_is_shown_when_it_is_chosen(board: Page) -> None:
    board.select_option("#ring", "1")
    expect(board.locator("#picture .ring h2")).to_contain_text("Ring 1")
