"""From a piece just turned to its certificate, and on to a new commission at 1.25 times its size."""

import io
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import BrowserContext, Page, expect
from pypdf import PdfReader

from projects.models import Commission, PieceRecord
from projects.services.commissions import commission_move
from tests.browser.conftest import Heard


@pytest.fixture
def turned(job: Commission, settings: Any, tmp_path: Path) -> Commission:
    """A bowl that is being made, and has just come off the lathe."""
    settings.MEDIA_ROOT = tmp_path / "media"
    for stage in ("designing", "quoted", "agreed", "making"):
        job = commission_move(commission=job, to=stage)
    return job


def _photo() -> dict[str, Any]:
    out = io.BytesIO()
    Image.new("RGB", (900, 700), "#7a5230").save(out, "JPEG")
    return {"name": "IMG_7.jpg", "mimeType": "image/jpeg", "buffer": out.getvalue()}


def _certificate(page: Page, address: str) -> str:
    paper = page.request.get(f"{address}{page.get_by_role('link', name='certificate').get_attribute('href')}")
    assert paper.headers["content-type"] == "application/pdf"
    sheets = PdfReader(io.BytesIO(paper.body())).pages
    assert len(sheets) == 1
    assert len(sheets[0].images) == 1
    return " ".join(sheets[0].extract_text().split())


def test_from_turned_to_the_certificate_and_on_to_a_larger_one(
    as_alice: BrowserContext, page: Page, heard: Heard, live_server: Any, turned: Commission
) -> None:
    page.goto(f"{live_server.url}/jobs/{turned.pk}/")
    page.get_by_role("button", name="It is finished").click()
    page.get_by_role("button", name="Write it into the log").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Harbour bowl")
    record = PieceRecord.objects.get()
    page.set_input_files("#photos", [_photo()])
    page.get_by_role("button", name="Add them").click()
    page.get_by_text("Kept: 1 photo.").wait_for()
    page.goto(f"{live_server.url}/log/{record.pk}/")

    words = _certificate(page, live_server.url)
    assert record.segments
    for said in ("Fern Gully Turning", "Harbour bowl", record.serial, f"{record.segments:,}"):
        assert said in words

    page.get_by_role("link", name="Make it again").click()
    page.get_by_label("Size", exact=False).first.fill("125")
    page.get_by_label("For a new commission of").select_option(label="Harbour Row")
    page.locator(".presses").get_by_role("button", name="Look at it").click()
    page.get_by_role("button", name="Make it", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("bowl")
    made = Commission.objects.exclude(pk=turned.pk).get()
    assert page.url.endswith(f"/jobs/{made.pk}/drawing/")
    assert (made.stage, made.client) == ("enquiry", turned.client)
    assert made.design.grown_from == turned.design
    was, now = (job.design.parts.get().form.outer for job in (turned, made))
    assert [[1.25 * y, 1.25 * x] for y, x in was] == [[pytest.approx(y), pytest.approx(x)] for y, x in now]
