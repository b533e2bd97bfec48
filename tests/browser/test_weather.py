"""In a browser: a client's room is said, and the page warns of what moves there."""

from decimal import Decimal
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page, expect

from projects.models import Commission, Studio
from projects.services.commissions import commission_create
from projects.services.designs import design_create
from projects.services.studios import client_create
from tests.browser.conftest import Heard

POT: list[dict[str, Any]] = [
    {
        "form": {"outer": [[0, 85], [62, 95]], "inside": "wall", "wall": Decimal(9), "floor": Decimal(10)},
        "allowance_top": 0,
        "allowance_bottom": 0,
        "bands": [
            {
                "name": "base",
                "layers": 1,
                "thickness": Decimal("11.68"),
                "made": "solid",
                "woods": ["walnut"],
            },
            {"name": "side", "layers": 5, "thickness": Decimal(10), "segments": 12, "woods": ["maple"]},
        ],
    }
]


@pytest.fixture
def pot(workshop: Studio) -> Commission:
    """A pot on a solid base too wide for a dry room."""
    workshop.shop.usual_board_width = Decimal(300)
    workshop.shop.save()
    design = design_create(studio=workshop, title="Pot on a disc", parts=POT)
    client = client_create(studio=workshop, name="Marlo Finch")
    return commission_create(studio=workshop, client=client, title="Pot on a disc", design=design)


def test_a_clients_room_is_entered_and_the_solid_base_is_warned_of(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, pot: Commission
) -> None:
    page.goto(f"{live_server.url}/jobs/{pot.pk}/")
    page.get_by_role("link", name="Weather").click()
    expect(page.locator(".answer")).to_contain_text("Nobody has said in what air it will live")
    page.get_by_label("Temperature (°C)").fill("22")
    page.get_by_label("Relative humidity (%)").fill("3")
    page.get_by_role("button", name="It lives in this air").click()
    expect(page.locator(".errorlist")).to_contain_text("Must be at least 5")
    expect(page.get_by_label("Temperature (°C)")).to_have_value("22")
    heard.errors[:] = [error for error in heard.errors if "400" not in error]  # the refusal just seen
    page.get_by_label("Relative humidity (%)").fill("20")
    page.get_by_role("button", name="It lives in this air").click()
    expect(page.locator(".answer")).to_contain_text("it will live at 4.5 %")
    expect(page.locator(".answer")).to_contain_text("1 glue line at risk")
    expect(page.locator(".caution.warning, .caution.danger").first).to_contain_text("Layer 1 is a solid disc")
    page.locator("#joints summary").first.click()
    expect(page.locator("#joints details[open]").first).to_contain_text("Layer 1 is a disc")
    page.goto(f"{live_server.url}/jobs/{pot.pk}/estimate/")
    expect(page.locator(".cautions")).to_contain_text("Layer 1 is a solid disc")
    pot.client.refresh_from_db()
    assert pot.client.room_humidity == 20


def test_a_usual_room_is_one_press_and_all_workings_open_stay_readable(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, pot: Commission
) -> None:
    page.goto(f"{live_server.url}/jobs/{pot.pk}/weather/")
    page.get_by_label("for this commission alone").check()
    page.get_by_role("button", name="humid summer house").click()
    expect(page.locator(".answer")).to_contain_text("swells by up to")
    page.get_by_text("side, layer by layer").click()
    page.get_by_role("link", name="Working of layer 4").click()
    expect(page.locator("#layer")).to_contain_text("Layer 4")
    for width in (320, 1280):
        page.set_viewport_size({"width": width, "height": 800})
        page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        rules = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
        assert Axe().run(page, options=rules).response["violations"] == []


def test_a_reading_is_written_down_and_judged(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, pot: Commission
) -> None:
    page.goto(f"{live_server.url}/jobs/{pot.pk}/weather/")
    for wood, percent in (("sugar maple", "6.8"), ("black walnut", "9.1")):
        page.get_by_text("Write a reading down").click()
        page.get_by_label("Wood").select_option(label=wood)
        page.get_by_label("Moisture (%)").fill(percent)
        page.get_by_role("button", name="Write it down").click()
    expect(page.locator("#gluing")).to_contain_text("2.3 % apart")
    page.get_by_role("button", name="Take out: sugar maple").click()
    expect(page.locator("#gluing")).not_to_contain_text("apart, and all wood")
