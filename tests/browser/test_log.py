"""The log in a browser: a photo goes in from a phone, and the piece hangs on the wall."""

import io
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import BrowserContext, Page

from projects.models import PieceRecord, RecordPhoto, Studio
from projects.services.records import WoodSaid, record_create
from tests.browser.conftest import Heard
from tests.browser.test_every_page import RULES


@pytest.fixture
def bowl(workshop: Studio, settings: Any, tmp_path: Path) -> PieceRecord:
    """A walnut bowl without a photo."""
    settings.MEDIA_ROOT = tmp_path / "media"
    return record_create(studio=workshop, title="Harbour bowl", year=2024, woods=[WoodSaid("walnut")])


def _photo(path: Path, *, orientation: int) -> Path:
    """As a phone held upright writes it: lying, with word of how it was held."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    out = io.BytesIO()
    Image.new("RGB", (800, 600), "#7a5230").save(out, "JPEG", exif=exif)
    path.write_bytes(out.getvalue())
    return path


def _accessible(page: Page) -> None:
    found = Axe().run(page, options=RULES).response["violations"]
    assert [f"{rule['id']}: {node['html'][:160]}" for rule in found for node in rule["nodes"]] == []


def test_photos_go_in_from_a_phone_and_the_piece_hangs_on_the_wall(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, bowl: PieceRecord, tmp_path: Path
) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto(f"{live_server.url}/log/{bowl.pk}/")
    files = [_photo(tmp_path / "IMG_1.jpg", orientation=6), _photo(tmp_path / "IMG_2.jpg", orientation=1)]
    page.set_input_files("#photos", files)
    page.get_by_role("button", name="Add them").click()
    page.get_by_text("Kept: 2 photos.").wait_for()
    first, second = RecordPhoto.objects.order_by("position")
    assert (first.width, first.height) == (600, 800)
    page.get_by_role("button", name=f"choose: {second}").click()
    page.locator("li.chosen").wait_for()
    assert bowl.photos.get(chosen=True) == second
    _accessible(page)
    for address in ("log/", "log/table/", f"log/{bowl.pk}/", f"log/{bowl.pk}/photos/"):
        page.set_viewport_size({"width": 1280, "height": 900})
        page.goto(f"{live_server.url}/{address}")
        _accessible(page)
        for width in (320, 390):
            page.set_viewport_size({"width": width, "height": 800})
            assert page.evaluate("document.documentElement.scrollWidth") <= width, address
    page.set_viewport_size({"width": 1280, "height": 900})
    page.goto(f"{live_server.url}/log/")
    picture = page.get_by_role("img", name="Harbour bowl")
    assert picture.evaluate("image => image.complete && image.naturalWidth > 0")
    page.get_by_label("Any word").fill("juglans harb")
    page.get_by_role("button", name="Search", exact=True).click()
    page.get_by_role("link", name="Harbour bowl").click()
    page.get_by_role("heading", name="Harbour bowl").wait_for()
