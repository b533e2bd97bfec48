"""Make it again: looked at first, saved when pressed; wrong input keeps what was typed, an outsider gets 404."""

from typing import Any

import pytest
from django.test import Client as Browser
from django.urls import reverse

from projects.models import Commission, Design, PieceRecord, Studio
from tests.factories import ClientFactory, CommissionFactory, DesignFactory
from tests.factories_records import RecordFactory
from tests.projects.agreed_orders import accepted_order

pytestmark = pytest.mark.django_db
EVIL = "<script>alert(1)</script>"


@pytest.fixture
def design(studio: Studio) -> Design:
    return DesignFactory(studio=studio, title="Pot <b>", is_template=True)


def address(design: Design) -> str:
    return reverse("design_again", args=[design.pk])


def typed(**more: Any) -> dict[str, Any]:
    empty = dict.fromkeys(("factor", "height", "diameter", "wood-maple", "wood-walnut", "client", "seen"), "")
    return {
        **empty,
        "title": "Larger pot",
        "keep": "count",
        "wall": "scale",
        "quantity": "2",
        "do": "look",
        **more,
    }


def test_it_is_looked_at_and_then_made(as_alice: Browser, design: Design) -> None:
    asked = typed(factor="125", **{"wood-walnut": "maple"})
    page = as_alice.post(address(design), asked)
    assert page.status_code == 200
    assert Design.objects.count() == 1
    text = page.content.decode()
    assert text.count("<svg") == 2
    assert "there is no price of then: it was estimated and never quoted" in text
    assert "Number of pieces: 1, now 2" in text
    assert 'value="125"' in text
    as_shown = asked | {"seen": page.context["shown"].mark, "do": "make"}
    answer = as_alice.post(address(design), as_shown)
    new = Design.objects.exclude(pk=design.pk).get()
    assert answer.url == reverse("design", args=[new.pk])
    assert new.parts.get().form.outer == [[0, 75], [125, 75]]
    assert (new.title, new.quantity, new.is_template) == ("Larger pot", 2, False)
    assert Commission.objects.count() == 0


def test_a_commission_comes_of_it_for_a_client(as_alice: Browser, design: Design, studio: Studio) -> None:
    client = ClientFactory(studio=studio, name="Reed gallery")
    asked = typed(height="150", client=client.pk)
    page = as_alice.post(address(design), asked)
    assert "a commission of Reed gallery" in page.content.decode()
    mark = page.context["shown"].mark
    as_alice.post(address(design), asked | {"seen": mark, "do": "make"})
    job = Commission.objects.get()
    assert (job.client, job.stage, job.title) == (client, "enquiry", "Larger pot")
    assert job.design.parts.get().form.outer[1] == [150, 90]


@pytest.mark.parametrize("do", ["look", "make"])
@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"factor": "125", "height": "130"}, "stands beside a height or a diameter"),
        ({"factor": "9000"}, "must be from 0.25 to 4"),
        ({"height": "tall"}, "This"),
        ({"quantity": "x"}, "Enter a whole number"),
        ({"wood-maple": "ebony"}, "not one of the available choices"),
        ({"title": ""}, "required"),
        ({"wall": "thick"}, "not one of the available choices"),
        ({"height": "900"}, "must be from 0.25 to 4 times"),
    ],
)
def test_wrong_input_saves_nothing_and_keeps_what_was_typed(
    as_alice: Browser, design: Design, do: str, wrong: dict[str, str], words: str
) -> None:
    page = as_alice.post(address(design), typed(note="", do=do) | {"diameter": ""} | wrong)
    assert page.status_code == 400
    text = page.content.decode()
    assert words in text
    for value in wrong.values():
        assert value in ("", "ebony", "thick") or f'value="{value}"' in text
    assert Design.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"factor": "125", "height": "130"}, "factor"),
        ({"factor": "9000"}, "factor"),
        ({"height": "900"}, "height"),
        ({"height": "130", "diameter": "1"}, "diameter"),
        ({"diameter": "1"}, "diameter"),
    ],
)
def test_what_is_wrong_is_said_at_its_field(
    as_alice: Browser, design: Design, wrong: dict[str, str], field: str
) -> None:
    page = as_alice.post(address(design), typed(**wrong))
    assert list(page.context["form"].errors) == [field]


def test_layers_too_thin_are_said_at_the_layers(as_alice: Browser, design: Design) -> None:
    """3.26 mm at a quarter are 0.8 mm, and truing takes 0.5 mm of each face."""
    design.parts.get().bands.update(thickness="3.26", layers=30)
    page = as_alice.post(address(design), typed(factor="25"))
    assert list(page.context["form"].errors) == ["keep"]
    assert "its layers of band 1 (wall) would be 0." in page.content.decode()


def test_what_a_refusal_of_the_sheet_means_is_said_in_words(as_alice: Browser, design: Design) -> None:
    """Larger than its boards: no place of the sheet, such as bands[0], is shown to anybody."""
    page = as_alice.post(address(design), typed(factor="400", keep="count"))
    text = page.content.decode()
    assert page.status_code == 400
    assert "It cannot be made so." in text
    assert "bands[0]" not in text
    assert 'value="400"' in text


def test_from_one_price_to_the_other_in_lines(as_alice: Browser, design: Design, studio: Studio) -> None:
    record = RecordFactory(studio=studio, design=design, price="250.00", currency=studio.currency)
    url = reverse("piece_made_again", args=[record.pk])
    lines = as_alice.post(url, typed(factor="125", quantity="1")).context["prices"]["lines"]
    assert [line.words for line in lines] == [
        f"Then: as the log has it for {record.serial}",
        "Rates, prices and terms since; how much of it is which is not known",
        "As it was, today",
        "Size",
        "Made again, today",
    ]
    assert lines[0].amount.endswith("250.00")
    assert [line.is_price for line in lines] == [True, False, True, False, True]


def test_what_was_changed_since_it_was_shown_is_shown_anew(as_alice: Browser, design: Design) -> None:
    page = as_alice.post(address(design), typed(seen="f" * 64, do="make"))
    assert page.status_code == 400
    assert "has been changed since it was shown" in page.content.decode()
    assert page.context["shown"].mark in page.content.decode()
    assert Design.objects.count() == 1


def test_a_piece_of_a_wood_that_is_gone_asks_for_another(as_alice: Browser, studio: Studio) -> None:
    """The quote was of maple and cherry; the studio has maple and walnut."""
    record: PieceRecord = RecordFactory(studio=studio, commission=accepted_order(studio))
    url = reverse("piece_made_again", args=[record.pk])
    assert url in as_alice.get(f"/log/{record.pk}/").content.decode()
    assert as_alice.get(url).status_code == 200
    page = as_alice.post(url, typed())
    assert page.status_code == 400
    assert "no longer on the shelf" in page.content.decode()
    page = as_alice.post(url, typed(**{"wood-cherry": "maple"}))
    assert page.status_code == 200
    assert "quote 2027-001, accepted" in page.content.decode()


def test_a_piece_with_nothing_to_be_made_from_says_so(as_alice: Browser, studio: Studio) -> None:
    record = RecordFactory(studio=studio)
    page = as_alice.get(reverse("piece_made_again", args=[record.pk]), follow=True)
    assert "Neither a design nor an accepted quote" in page.content.decode()


def test_an_outsider_finds_nothing(
    as_charlie: Browser, as_alice: Browser, design: Design, studio: Studio
) -> None:
    record = RecordFactory(studio=studio, design=design)
    for url in (address(design), reverse("piece_made_again", args=[record.pk])):
        assert as_charlie.get(url).status_code == 404
        assert as_charlie.post(url, typed(do="make")).status_code == 404
    stranger = CommissionFactory().client
    page = as_alice.post(address(design), typed(client=stranger.pk))
    assert page.status_code == 400
    assert Design.objects.for_studio(studio).count() == 1


def test_markup_is_escaped(as_alice: Browser, design: Design) -> None:
    page = as_alice.post(address(design), typed(title=EVIL)).content.decode()
    assert EVIL not in page
    assert "Pot <b>" not in page
    assert "Make it again" in as_alice.get("/designs/").content.decode()
    assert address(design) in as_alice.get(reverse("design", args=[design.pk])).content.decode()
