"""Parts on the drawing board: one is looked at at a time, all are kept, and every edit of them can be undone."""

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


def _add_lid(board: Page) -> None:
    board.get_by_text("Add a part: a lid, a finial, a foot").click()
    board.select_option("#new-shape", "finial")
    board.fill("#new-height", "40")
    board.fill("#new-diameter", "20")
    board.fill("#new-wall", "2")
    board.get_by_role("button", name="Add it on top").click()
    expect(board.locator(".part")).to_have_count(2)


def test_a_part_is_added_shown_by_itself_saved_and_undone(board: Page, job: Commission) -> None:
    _add_lid(board)
    expect(board.locator("#parts-1-name")).to_be_visible()
    expect(board.locator("#parts-0-name")).to_be_hidden()
    board.fill("#parts-1-name", "knob")
    expect(board.locator(".tab").nth(1)).to_have_text("knob")
    board.click("#save")
    expect(board.locator("#state")).to_contain_text("Saved at")
    assert job.design is not None
    assert [part.name for part in job.design.parts.all()] == ["body", "knob"]
    while board.locator("#undo").is_enabled():
        board.click("#undo")
        board.wait_for_timeout(300)
    expect(board.locator(".part")).to_have_count(1)
    expect(board.locator("#parts-0-name")).to_be_visible()
    board.click("#redo")
    expect(board.locator("#redo")).to_be_enabled()


def test_looking_at_another_part_is_no_edit_and_loses_nothing(board: Page) -> None:
    _add_lid(board)
    board.fill("#parts-1-name", "knob")
    expect(board.locator("#undo")).to_contain_text("name of the part")
    undo = board.locator("#undo").inner_text()
    board.locator("#part-0").check()
    expect(board.locator("#parts-0-outer")).to_be_visible()
    expect(board.locator("#parts-1-outer")).to_be_hidden()
    expect(board.locator("#undo")).to_have_text(undo)
    board.locator("#part-1").check()
    expect(board.locator("#parts-1-name")).to_have_value("knob")
    # An answer that brings a new editor leaves the part that was looked at.
    board.get_by_role("button", name="Add a band on top").click()
    expect(board.locator("#part-1")).to_be_checked()


def test_what_is_wrong_in_another_part_can_be_gone_to(board: Page) -> None:
    _add_lid(board)
    board.fill("#parts-1-wall", "thin")
    expect(board.locator("#problems")).to_contain_text("Part: wall")
    board.locator("#part-0").check()
    expect(board.locator("#parts-1-wall")).to_be_hidden()
    board.locator("#problems a").first.click()
    expect(board.locator("#parts-1-wall")).to_be_visible()


def test_a_way_of_making_shows_the_fields_it_needs(board: Page) -> None:
    row = "#parts-0-bands-0"
    shown = {
        "cut": ("layers", "segments", "offsets", "gap", "bored", "plug"),
        "sliced": ("layers", "segments", "offsets", "gap", "bored", "plug", "ring_height"),
        "solid": ("layers", "bored", "plug"),
        "veneer": ("layers", "bored", "plug"),
        "staves": ("segments", "offsets"),
    }
    every = {name for names in shown.values() for name in names}
    for made, names in shown.items():
        board.select_option(f"{row}-made", made)
        for name in sorted(every):
            field = expect(board.locator(f"{row}-{name}"))
            if name in names:
                field.to_be_visible()
            else:
                field.to_be_hidden()
    board.select_option(f"{row}-made", "cut")
    board.select_option(f"{row}-bored", "set")
    expect(board.locator(f"{row}-bore")).to_be_visible()
    board.select_option(f"{row}-bored", "")
    expect(board.locator(f"{row}-plug")).to_be_hidden()


def test_a_band_is_split_merged_and_mirrored_and_the_steps_are_named(board: Page) -> None:
    layers = int(board.input_value("#parts-0-bands-1-layers"))
    board.get_by_role("button", name="Split body in two").click()
    expect(board.locator(".band")).to_have_count(3)
    expect(board.locator("#undo")).to_have_text("Undo: band split")
    board.locator('button[value="parts-0-bands-merge-1"]').click()
    expect(board.locator(".band")).to_have_count(2)
    expect(board.locator("#parts-0-bands-1-layers")).to_have_value(str(layers))
    expect(board.locator("#undo")).to_have_text("Undo: band merged")
    board.get_by_role("button", name="Mirror body").click()
    expect(board.locator("#parts-0-bands-1-offsets")).to_have_value("-0.5")


def test_a_file_is_read_into_the_curve_and_can_be_undone(board: Page) -> None:
    before = board.locator("#parts-0-outer tbody tr").count()
    board.get_by_text("Another size, or a profile from a file").click()
    table = b"height,diameter\n0,90\n30,150\n60,180\n"
    board.set_input_files("#parts-0-profile", {"name": "bowl.csv", "mimeType": "text/csv", "buffer": table})
    board.get_by_role("button", name="Take its curve").click()
    expect(board.locator("#parts-0-outer-1-diameter")).to_have_value("150")
    expect(board.locator("#undo")).to_have_text("Undo: profile taken")
    board.click("#undo")
    expect(board.locator("#parts-0-outer tbody tr")).to_have_count(before)
