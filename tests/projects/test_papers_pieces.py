"""Papers of finished pieces as printed: what they say, that they are tagged, the same bytes for the same record."""

import datetime
import io
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from projects.models import PieceRecord, Studio
from projects.papers.catalogue import catalogue_pdf
from projects.papers.certificate import certificate_context, certificate_pdf
from projects.papers.printing import elements
from projects.services import record_photos
from projects.services.freezing import frozen_letterhead
from tests.factories import CommissionFactory
from tests.factories_records import RecordCoatFactory, RecordDrawingFactory, RecordFactory, RecordWoodFactory
from tests.projects.frozen import pages_of, text_of

pytestmark = pytest.mark.django_db
EVIL = "<script>alert(1)</script> & <b>sons</b>"


@pytest.fixture(autouse=True)
def _media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


def a_piece(studio: Studio, **values: Any) -> PieceRecord:
    """A bowl of walnut and maple with two coats."""
    record: PieceRecord = RecordFactory(
        studio=studio, **{"serial": "KH-7", "title": "Harbour bowl", "segments": 1296, **values}
    )
    RecordWoodFactory(record=record)
    RecordWoodFactory(
        record=record, key="maple", name="hard maple", botanical="Acer saccharum", share=None, position=2
    )
    RecordCoatFactory.create_batch(2, record=record)
    return record


def photographed(record: PieceRecord) -> None:
    out = io.BytesIO()
    Image.new("RGB", (400, 300), "firebrick").save(out, "JPEG")
    record_photos.photo_add(record=record, upload=SimpleUploadedFile("a.jpg", out.getvalue()))


def certified(record: PieceRecord) -> bytes:
    return certificate_pdf(record, letterhead=frozen_letterhead(record.studio))


def check_accessible(printed: bytes, *, title: str, figures: int) -> None:
    """PDF/UA-1 (ISO 14289-1) clauses 5, 7.1, 7.2, 7.3 and 7.5: identification, title, language, figures, headers."""
    with pikepdf.open(io.BytesIO(printed)) as pdf:
        with pdf.open_metadata() as metadata:
            assert metadata["pdfuaid:part"] == "1"
            assert metadata["dc:title"] == title
        assert pdf.Root.Lang == "en"
        assert pdf.Root.MarkInfo.Marked
        tree = pdf.Root.StructTreeRoot.K
        assert len(list(elements(tree, "/H1"))) == 1
        headers = list(elements(tree, "/TH"))
        assert headers
        assert all(header.A.Scope in ("/Row", "/Column") for header in headers)
        shown = list(elements(tree, "/Figure"))
        assert len(shown) == figures
        assert all(str(figure.Alt) for figure in shown)


def test_a_certificate_says_what_a_piece_is_and_is_made_of(studio: Studio) -> None:
    record = a_piece(studio)
    photographed(record)
    printed = certified(record)
    text = text_of(printed)
    for said in (
        "Certificate KH-7",
        studio.name,
        "Harbour bowl",
        "2024",
        "90 mm high, 210 mm across",
        "1,296",
        "black walnut (Juglans nigra), hard maple (Acer saccharum)",
        "Varnish, two coats",
        "Place and date",
    ):
        assert said in text, said
    assert "series" not in text
    assert len(pages_of(printed)) == 1
    check_accessible(printed, title="Certificate KH-7: Harbour bowl", figures=1)
    assert certified(PieceRecord.objects.get(pk=record.pk)) == printed


def test_the_drawing_stands_on_a_certificate_where_there_is_no_photo(studio: Studio) -> None:
    record = a_piece(studio)
    RecordDrawingFactory(record=record)
    with pikepdf.open(io.BytesIO(certified(record))) as pdf:
        (figure,) = elements(pdf.Root.StructTreeRoot.K, "/Figure")
        assert str(figure.Alt).startswith("Drawing of Harbour bowl")


def test_a_certificate_with_long_words_markup_and_no_picture_is_one_page(studio: Studio) -> None:
    studio.length_unit = "in"
    record = a_piece(studio, title=f"{EVIL} {'unbroken' * 15}"[:160], serial="N" * 40)
    for number in range(12):
        RecordWoodFactory(record=record, name=f"wood {number} " + "x" * 60, botanical="Y" * 80)
    printed = certificate_pdf(record, letterhead=frozen_letterhead(studio))
    assert len(pages_of(printed)) == 1
    assert EVIL in text_of(printed)
    # 90 and 210 mm are 3.543 and 8.268 in: to the sixteenth 3 9/16 and 8 1/4.
    assert "3 9/16 in high, 8 1/4 in across" in text_of(printed).replace("\N{NO-BREAK SPACE}", " ")
    with pikepdf.open(io.BytesIO(printed)) as pdf:
        assert not list(elements(pdf.Root.StructTreeRoot.K, "/Figure"))
        assert [float(side) for side in pdf.pages[0].MediaBox[2:]] == [612, 792]


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({}, ""),
        ({"edition": "unique"}, "It is unique and will not be made again."),
        (
            {"edition": "series", "edition_number": 3, "edition_size": 8},
            "It is number 3 of a series of 8.",
        ),
        # What is said of two pieces together cannot be the number of each.
        (
            {"edition": "series", "edition_number": 3, "edition_size": 8, "quantity": 2},
            "It is one of a series of 8.",
        ),
        ({"edition": "unique", "quantity": 2}, "It is one of two made together, and not made again."),
    ],
)
def test_a_certificate_says_whether_there_are_others(
    studio: Studio, values: dict[str, Any], said: str
) -> None:
    job = CommissionFactory(studio=studio, **{"quantity": 1, **values})
    record = a_piece(studio, commission=job)
    assert certificate_context(record, letterhead=frozen_letterhead(studio))["edition"] == said


def catalogued(records: list[PieceRecord], *, with_prices: bool = True, a_page: int = 3) -> bytes:
    return catalogue_pdf(
        records,
        letterhead=frozen_letterhead(records[0].studio),
        title="Autumn show",
        with_prices=with_prices,
        a_page=a_page,
        on=datetime.date(2027, 3, 3),
    )


def test_a_catalogue_lists_its_pieces_then_shows_them_whole(studio: Studio) -> None:
    records = [a_piece(studio, serial=f"KH-{number}", title=f"Bowl no. {number}") for number in range(7)]
    records[1].place = "sold"
    records[2].price = None
    for record in records[:6]:
        RecordDrawingFactory(record=record)
    printed = catalogued(records)
    first, *others = pages_of(printed)
    assert "Autumn show" in first
    assert "3 March 2027" in first
    assert all(record.title in first for record in records)
    # Three a page, and the one without a picture by itself below what it says.
    shown = [[record.title for record in records if record.title in page] for page in others]
    assert [len(titles) for titles in shown] == [3, 3, 1]
    for page in others:
        assert page.count("Number KH-") == page.count("Price ") == page.count("Woods black walnut")
    assert "Price sold" in others[0]
    assert "Price on request" in others[0]
    assert "$480.00" in first
    check_accessible(printed, title="Catalogue: Autumn show", figures=6)
    assert catalogued(records) == printed


def test_a_catalogue_without_prices_names_none(studio: Studio) -> None:
    record = a_piece(studio, title=f"{EVIL} {'long ' * 40}"[:160])
    printed = catalogued([record], with_prices=False, a_page=2)
    text = text_of(printed)
    assert EVIL in text
    assert "480" not in text
    assert "Price" not in text
    assert "dollar" not in text
    assert len(pages_of(printed)) == 1
