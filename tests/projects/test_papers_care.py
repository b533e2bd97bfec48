"""The buyer's care sheet as printed: what a piece is, whose words it takes, the label first, the air it is for."""

import datetime
import io
from decimal import Decimal
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from projects.models import Commission, PaperDefaults, PieceRecord, Quote, Studio
from projects.papers.care_sheet import air_of, care_context, care_pdf
from projects.papers.clauses import settled_clauses
from projects.papers.printing import elements
from projects.papers.terms import in_full
from projects.services.freezing import frozen_letterhead
from tests.factories import CommissionFactory, QuoteFactory
from tests.factories_papers import QuoteEventFactory
from tests.factories_records import RecordDrawingFactory
from tests.projects.frozen import pages_of, text_of
from tests.projects.test_papers_pieces import EVIL, a_piece, check_accessible, photographed

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


def printed_of(record: PieceRecord) -> bytes:
    return care_pdf(record, letterhead=frozen_letterhead(record.studio))


def said_of(record: PieceRecord) -> dict[str, Any]:
    return care_context(record, letterhead=frozen_letterhead(record.studio))


def test_a_care_sheet_says_what_a_piece_is_and_how_it_is_looked_after(studio: Studio) -> None:
    studio.address = "4 Boatshed Lane\nQuillon Bay"
    record = a_piece(studio, care="Wax. Once a year.\n\nKeep it from the cat.")
    photographed(record)
    printed = printed_of(record)
    text = text_of(printed)
    for said in (
        "Care sheet KH-7",
        studio.name,
        "4 Boatshed Lane, Quillon Bay",
        "Harbour bowl",
        "2024",
        "black walnut (Juglans nigra), hard maple (Acer saccharum)",
        "Varnish, two coats",
        "Wax. Once a year.",
        "Keep it from the cat.",
        "comes first: ask the studio",
        "keep food, drink and standing water off it",
        "open its glued joints",
    ):
        assert said in text, said
    # Nobody has said in what air it will live.
    assert "humidity" not in text
    assert len(pages_of(printed)) == 1
    check_accessible(printed, title="Care sheet KH-7: Harbour bowl", figures=1)


def test_the_same_record_gives_the_same_bytes(studio: Studio) -> None:
    record = a_piece(studio)
    assert printed_of(record) == printed_of(PieceRecord.objects.get(pk=record.pk))


def test_the_words_are_the_records_else_the_studios_else_ours(studio: Studio) -> None:
    record = a_piece(studio, care="Of this piece.")
    studio.care = "Of the studio."
    assert [clause.body for clause in said_of(record)["care"]] == ["Of this piece."]
    record.care = "  \n"
    assert [clause.body for clause in said_of(record)["care"]] == ["Of the studio."]
    studio.care = ""
    (ours,) = said_of(record)["care"]
    assert ours.body.startswith("Dust with a soft, dry cloth.")


def test_what_is_not_known_is_left_out(studio: Studio) -> None:
    record = a_piece(studio, year=None, segments=None)
    record.woods.all().delete()
    record.coats.all().delete()
    said = said_of(record)
    assert said["facts"] == [("Number", "KH-7")]
    assert said["air"] == []
    assert said["picture"] is None
    # Without its finish there is no label to look for, and without segments no joint to open.
    assert said["food_and_water"].startswith("Its finish is not written down here")
    assert "joints" not in said["food_and_water"]


def test_the_drawing_stands_where_there_is_no_photo(studio: Studio) -> None:
    record = a_piece(studio)
    RecordDrawingFactory(record=record)
    with pikepdf.open(io.BytesIO(printed_of(record))) as pdf:
        (figure,) = elements(pdf.Root.StructTreeRoot.K, "/Figure")
        assert str(figure.Alt).startswith("Drawing of Harbour bowl")


def test_long_words_and_markup_stay_on_one_page_of_the_studios_size(studio: Studio) -> None:
    studio.length_unit, studio.currency = "mm", "EUR"
    record = a_piece(studio, title=f"{EVIL} {'unbroken' * 15}"[:160], care=f"{EVIL} {'x' * 300}")
    printed = printed_of(record)
    assert len(pages_of(printed)) == 1
    assert text_of(printed).count(EVIL) >= 2
    with pikepdf.open(io.BytesIO(printed)) as pdf:
        # A4, 210 by 297 mm (ISO 216), at 72 points to 25.4 mm.
        assert [float(side) for side in pdf.pages[0].MediaBox[2:]] == pytest.approx(
            [595.28, 841.89], abs=0.01
        )
    studio.length_unit = "in"
    with pikepdf.open(io.BytesIO(printed_of(record))) as pdf:
        assert [float(side) for side in pdf.pages[0].MediaBox[2:]] == [612, 792]


def test_the_longest_words_are_all_printed(studio: Studio) -> None:
    record = a_piece(studio, care="\n".join(f"Line {number:03} of what to do." for number in range(140)))
    text = text_of(printed_of(record))
    assert all(f"Line {number:03}" in text for number in range(140))
    assert "keep food, drink and standing water off it" in text


def a_job(studio: Studio, *, humidity: int | None = 28) -> Commission:
    room = {} if humidity is None else {"room_temperature_c": Decimal(21), "room_humidity": Decimal(humidity)}
    job: Commission = CommissionFactory(studio=studio, **room)
    return job


def accepted(job: Commission, *, own_terms: str = "", shop: float | None = 45.0) -> Quote:
    """An accepted quote with the usual terms in full, its sheet made in air of `shop` %."""
    PaperDefaults.objects.get_or_create(studio=job.studio)
    letterhead = frozen_letterhead(job.studio)
    air = {
        "shop": {"temperature_c": 20.0, "humidity": shop},
        "client": {"temperature_c": 21.0, "humidity": 28.0},
    }
    quote: Quote = QuoteFactory(
        commission=job,
        state="issued",
        number="2026-001",
        revision="A",
        issued_at=datetime.datetime(2026, 3, 3, tzinfo=datetime.UTC),
        valid_until=datetime.date(2026, 4, 3),
        letterhead=letterhead,
        terms=in_full(own_terms, settled_clauses(letterhead["usual"], {})),
        sheet={} if shop is None else {"climate": air},
    )
    QuoteEventFactory(quote=quote, what="accepted", name="Perpetua Lorn", text="All of it.", sha256="x")
    return quote


def air_said(job: Commission) -> str:
    return " ".join(air_of(job, letterhead=frozen_letterhead(job.studio))).replace("\N{NO-BREAK SPACE}", " ")


def test_a_commission_that_knows_no_air_says_nothing_of_it(studio: Studio) -> None:
    assert air_said(a_job(studio, humidity=None)) == ""


def test_a_room_alone_is_said_as_it_is(studio: Studio) -> None:
    said = air_said(a_job(studio))
    assert said.startswith("It was made for a room of about 21 °C and 28 % relative humidity. ")
    assert "workshop" not in said
    assert "joints" not in said


def test_with_an_accepted_estimate_the_air_is_from_the_room_to_the_workshop(studio: Studio) -> None:
    job = a_job(studio)
    accepted(job)
    said = air_said(job)
    assert "the season furthest from the workshop’s 45 %" in said
    assert "from 28 to 45 % relative humidity" in said
    # What a studio usually agrees, as PaperDefaults has it: 40 to 55 %.
    assert "a room kept between 40 and 55 % humidity for its glued joints" in said


def test_a_damp_room_is_the_upper_end(studio: Studio) -> None:
    job = a_job(studio, humidity=70)
    accepted(job)
    assert "from 45 to 70 % relative humidity" in air_said(job)


def test_a_room_like_the_workshop_has_no_range(studio: Studio) -> None:
    job = a_job(studio, humidity=45)
    accepted(job)
    assert "about as in the workshop." in air_said(job)
    assert "from 45" not in air_said(job)


def test_a_studios_own_words_on_joints_leave_no_range_to_name(studio: Studio) -> None:
    job = a_job(studio, humidity=None)
    accepted(job, own_terms="Joints. Ours hold in any room.", shop=None)
    assert air_said(job) == ""


def test_a_studio_in_inches_has_degrees_fahrenheit_beside(studio: Studio) -> None:
    studio.length_unit = "in"
    # 21 × 1.8 + 32 = 69.8.
    assert "21 °C (70 °F)" in air_said(a_job(studio))


def test_a_care_sheet_prints_its_air(studio: Studio) -> None:
    job = a_job(studio)
    accepted(job)
    printed = printed_of(a_piece(studio, commission=job))
    assert "from 28 to 45" in " ".join(text_of(printed).split())
    assert job.client.name not in text_of(printed)
    assert len(pages_of(printed)) == 1
