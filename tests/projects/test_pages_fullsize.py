"""The page that prints at full size: it counts sheets, gives the PDF, keeps what was typed, and is the studio's own."""

import io

import pypdf
import pytest
from django.test import Client as Browser

from projects.models import Studio
from tests.factories import DesignFactory

WANTED = {
    "paper": "letter", "section": "on", "sides": "right", "disc": "on", "pins": "6", "clamps": "2",
    "pin_diameter": "6", "clamp_width": "20", "clearance": "0",
}  # fmt: skip


@pytest.fixture
def address(studio: Studio) -> str:
    design = DesignFactory(studio=studio, title="Bowl <i>one</i>")
    return f"/designs/{design.pk}/full-size/"


def test_the_page_begins_with_every_drawing_and_says_how_many_sheets_they_take(
    as_bob: Browser, address: str
) -> None:
    page = as_bob.get(address)
    assert page.status_code == 200
    assert page.context["form"].errors == {}
    assert set(page.context["counts"]) >= {"Section", "Ring plans", "Segment patterns", "Alignment disc"}
    assert f"<strong>{page.context['sheets']} sheet" in page.content.decode()


def test_the_paper_is_the_studios_usual_one_until_another_is_chosen(
    as_bob: Browser, address: str, studio: Studio
) -> None:
    usual = "letter" if studio.length_unit == "in" or studio.currency == "USD" else "a4"
    assert as_bob.get(address).context["paper"] == usual
    assert as_bob.get(address, {**WANTED, "paper": "a4"}).context["paper"] == "a4"


def test_the_pdf_has_as_many_pages_as_the_page_counted(as_bob: Browser, address: str) -> None:
    counted = as_bob.get(address, {**WANTED, "make": "count"}).context["sheets"]
    answer = as_bob.get(address, {**WANTED, "make": "pdf"})
    assert answer["Content-Type"] == "application/pdf"
    assert 'filename="bowl-ione' in answer["Content-Disposition"]
    assert len(pypdf.PdfReader(io.BytesIO(answer.content)).pages) == counted


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"ring_numbers": "one"}, "ring_numbers", "Write rings such as 1-4, 7."),
        ({"ring_numbers": "99"}, "ring_numbers", "There is no ring 99"),
        ({"jig": "on"}, "jig_discs", "Write at least one diameter"),
        ({"jig": "on", "jig_discs": "40", "pins": "40"}, "pins", "thinner pins"),
        ({"jig": "on", "jig_discs": "40", "clamp_width": "60"}, "clamp_width", "narrower clamp"),
        ({"jig": "on", "jig_discs": "0"}, "jig_discs", "more than 0"),
        ({"pin_diameter": "thin"}, "pin_diameter", "not a length"),
        ({"section": "", "disc": ""}, "__all__", "at least one drawing"),
    ],
)
def test_what_cannot_be_drawn_is_said_at_its_field_and_stays_as_typed(
    as_bob: Browser, address: str, change: dict[str, str], field: str, words: str
) -> None:
    asked = {name: value for name, value in {**WANTED, **change, "make": "pdf"}.items() if value}
    page = as_bob.get(address, asked)
    assert page.status_code == 400
    assert words in " ".join(page.context["form"].errors[field])
    for name, value in change.items():
        if value not in ("on", ""):
            assert f'value="{value}"' in page.content.decode(), name


def test_a_jig_is_drawn_for_the_sizes_that_were_typed(as_bob: Browser, address: str) -> None:
    answer = as_bob.get(
        address, {"make": "pdf", **WANTED, "section": "", "jig": "on", "jig_discs": "60, 3 in"}
    )
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(answer.content)).pages)
    assert "Drilling template of a pin jig" in text


def test_an_outsider_finds_no_such_design(as_charlie: Browser, address: str) -> None:
    assert as_charlie.get(address).status_code == 404
    assert as_charlie.get(address, {**WANTED, "make": "pdf"}).status_code == 404


def test_a_title_with_markup_is_shown_as_text(as_bob: Browser, address: str) -> None:
    assert "Bowl &lt;i&gt;one&lt;/i&gt;" in as_bob.get(address).content.decode()


def test_a_studio_in_inches_reads_and_is_refused_in_inches(
    as_bob: Browser, address: str, studio: Studio
) -> None:
    studio.length_unit = "in"
    studio.save()
    page = as_bob.get(address)
    assert page.context["paper"] == "letter"
    assert 'value="1/4"' in page.content.decode()
    jig = {"jig": "on", "jig_discs": "2", "pin_diameter": "1/4", "clamp_width": "1", "pins": "40"}
    refused = as_bob.get(address, {**WANTED, **jig})
    assert " in disc stand " in " ".join(refused.context["form"].errors["pins"])
    assert " mm" not in " ".join(refused.context["form"].errors["pins"])
