"""Papers of a piece whose words, woods and photo are as bad as they can be: printed all the same, by the pages."""

import io
from pathlib import Path
from typing import Any

import pytest
from django.test import Client as Browser
from PIL import Image

from projects.models import PieceRecord, RecordPhoto, Studio
from projects.services.record_photos import photo_add
from tests.factories_records import RecordDrawingFactory, RecordFactory, RecordWoodFactory
from tests.projects.frozen import pages_of, text_of
from tests.projects.test_record_photos import picture, sent

pytestmark = pytest.mark.django_db
PAPERS = ("certificate", "care", "condition", "packing")
# Marks that turn the reading round, a family of signs as one, accents on nothing, and no place to break.
TITLES = [
    "<script>alert(1)</script>&amp;{{ 7 }}",
    "\u202eolleh\u202c קערה \u2066x",
    "🥣👨‍👩‍👧‍👦 bowl",
    "a" + "\u0301" * 150,
    "W" * 160,
    "x",
]


@pytest.fixture(autouse=True)
def _media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


def _printed(browser: Browser, record: PieceRecord, paper: str) -> bytes:
    answer = browser.get(f"/log/{record.pk}/{paper}.pdf")
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    return b"".join(answer.streaming_content) if answer.streaming else answer.content


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("title", TITLES, ids=["markup", "turned", "signs", "accents", "wide", "short"])
def test_whatever_the_words_are_the_paper_is_printed(
    as_alice: Browser, studio: Studio, paper: str, title: str
) -> None:
    record = RecordFactory(studio=studio, title=title, price=None, year=None, height=None, diameter=None)
    printed = _printed(as_alice, record, paper)
    assert len(pages_of(printed)) <= 2
    if title.startswith("<"):
        assert title[:20] in text_of(printed)


@pytest.mark.parametrize("paper", PAPERS)
def test_sixty_woods_are_all_on_the_paper(as_alice: Browser, studio: Studio, paper: str) -> None:
    record = RecordFactory(studio=studio)
    for number in range(60):
        RecordWoodFactory(
            record=record, name=f"wood{number:02}", key=f"w{number}", botanical=f"Arbor n{number}"
        )
    said = text_of(_printed(as_alice, record, paper))
    if paper != "condition":
        assert all(f"wood{number:02}" in said for number in range(60))


@pytest.mark.parametrize("paper", ["certificate", "care"])
@pytest.mark.parametrize("harm", ["gone", "cut", "other"])
def test_a_photo_gone_cut_or_swapped_leaves_the_drawing(
    as_alice: Browser, studio: Studio, paper: str, harm: str
) -> None:
    record = RecordFactory(studio=studio)
    RecordDrawingFactory(record=record)
    photo_add(record=record, upload=sent(picture(size=(1200, 900))))
    file = Path(RecordPhoto.objects.get().shown.path)
    whole = file.read_bytes()
    file.unlink()
    if harm == "cut":
        file.write_bytes(whole[: len(whole) // 2])
    if harm == "other":
        out = io.BytesIO()
        Image.new("RGB", (9, 9)).save(out, "GIF")
        file.write_bytes(out.getvalue())
    for _ in range(2):  # the first print lets pictures that were cut short pass, if nobody minds
        assert "As designed" in text_of(_printed(as_alice, record, paper))
