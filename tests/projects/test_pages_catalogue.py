"""A catalogue: ticks stay from page to page, what is chosen is put in order, and a lost photo stops nothing."""

from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from PIL import Image

from projects.models import PieceRecord, Studio
from projects.pages import catalogue_choice
from projects.pages.catalogue_choice import Choice
from projects.services import record_photos
from tests.factories import StudioFactory
from tests.factories_records import RecordDrawingFactory, RecordFactory
from tests.projects.frozen import text_of

pytestmark = pytest.mark.django_db
CHOOSE, PAGE, PAPER = "/log/catalogue/choose/", "/log/catalogue/", "/log/catalogue.pdf"
EVIL = "<script>alert(1)</script>"


@pytest.fixture
def pieces(studio: Studio) -> list[PieceRecord]:
    return [
        RecordFactory(studio=studio, title=title, form=form, year=year)
        for title, form, year in (
            ("Harbour bowl", "bowl", 2021),
            ("Tide jar", "jar", 2023),
            ("Reed bowl", "bowl", 2022),
        )
    ]


def tick(browser: Browser, shown: list[PieceRecord], *ticked: PieceRecord, **more: Any) -> Any:
    sent = {"of": "ticked", "shown": [one.pk for one in shown], "piece": [one.pk for one in ticked]}
    return browser.post(CHOOSE, sent | more)


def chosen(browser: Browser) -> list[str]:
    return [record.title for record, _ in browser.get(PAGE).context["pieces"]]


def words(**more: Any) -> dict[str, Any]:
    return {"title": "", "introduction": "", "a_page": "2", **more}


# --- the choice itself --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("before", "shown", "ticked", "after"),
    [
        ((), (1, 2, 3), (2,), (2,)),
        ((9, 2), (1, 2, 3), (1, 2), (9, 2, 1)),  # those of other pages stay, and where they stood
        ((9, 2), (1, 2, 3), (), (9,)),
        ((9, 2), (), (), (9, 2)),
        ((2,), (2,), (2, 2), (2,)),
    ],
)
def test_a_page_speaks_for_what_it_shows_alone(before: Any, shown: Any, ticked: Any, after: Any) -> None:
    assert Choice(before).with_page(shown, ticked).pieces == after


@pytest.mark.parametrize(
    ("key", "by", "after"),
    [
        (3, -1, (1, 3, 2)),
        (1, 1, (2, 1, 3)),
        (1, -1, (1, 2, 3)),
        (3, 1, (1, 2, 3)),
        (3, -60, (3, 1, 2)),
        (7, 1, (1, 2, 3)),
    ],
)
def test_a_piece_is_moved_as_far_as_there_are_places(key: int, by: int, after: tuple[int, ...]) -> None:
    assert Choice((1, 2, 3)).moved(key, by).pieces == after


# --- ticks --------------------------------------------------------------------------------------------------------


def test_ticks_stay_while_the_log_is_paged_filtered_and_searched(
    as_alice: Browser, pieces: list[PieceRecord]
) -> None:
    harbour, tide, reed = pieces
    tick(as_alice, pieces, tide, harbour)
    for asked in ("made_from=2022&made_to=2022", "q=nothing"):
        text = as_alice.get(f"/log/table/?{asked}").content.decode()
        assert "<b data-count>2</b>" in text, asked
        assert " checked>" not in text
    tick(as_alice, [reed], reed, back="q=Reed")
    assert chosen(as_alice) == ["Tide jar", "Harbour bowl", "Reed bowl"]
    text = as_alice.get("/log/table/").content.decode()
    assert text.count(" checked>") == 3
    assert "3</b> <span data-noun>pieces</span> chosen" in as_alice.get("/log/").content.decode()
    tick(as_alice, [harbour, tide], harbour)
    assert chosen(as_alice) == ["Harbour bowl", "Reed bowl"]


def test_a_tick_that_is_kept_at_once_is_answered_with_the_count(
    as_alice: Browser, pieces: list[PieceRecord]
) -> None:
    sent = {"of": "ticked", "shown": [pieces[0].pk], "piece": [pieces[0].pk]}
    answer = as_alice.post(CHOOSE, sent, headers={"Accept": "application/json"})
    assert answer.json() == {"count": 1, "refused": ""}
    back = tick(as_alice, pieces, *pieces, back="q=bowl&page=2")
    assert back.url == "/log/table/?q=bowl&page=2#catalogue"


def test_all_that_is_shown_is_chosen_in_its_order(as_alice: Browser, pieces: list[PieceRecord]) -> None:
    as_alice.post(CHOOSE, {"of": "all", "form": "bowl", "sort": "oldest"})
    assert chosen(as_alice) == ["Harbour bowl", "Reed bowl"]


def test_more_than_are_printed_are_not_chosen(
    as_alice: Browser, pieces: list[PieceRecord], monkeypatch: Any
) -> None:
    monkeypatch.setattr(catalogue_choice, "MOST_PIECES", 2)
    tick(as_alice, pieces, pieces[0])
    page = as_alice.post(CHOOSE, {"of": "all"}, follow=True)
    assert "pieces at most. These would be more" in page.content.decode()
    assert chosen(as_alice) == ["Harbour bowl"]
    sent = {"of": "ticked", "shown": [], "piece": [one.pk for one in pieces]}
    answer = as_alice.post(CHOOSE, sent, headers={"Accept": "application/json"})
    assert answer.status_code == 409
    assert answer.json()["count"] == 1
    tick(as_alice, pieces, pieces[1])
    assert chosen(as_alice) == ["Tide jar"]


def test_nobody_elses_piece_is_chosen_and_what_is_no_key_is_not_found(
    as_alice: Browser, as_charlie: Browser, pieces: list[PieceRecord]
) -> None:
    foreign = RecordFactory(studio=StudioFactory(), title="Foreign")
    tick(as_alice, [], pieces[0], foreign)
    assert chosen(as_alice) == ["Harbour bowl"]
    for key in ("x", "9" * 40, "-1", "٣"):
        assert as_alice.post(CHOOSE, {"of": "ticked", "piece": [key]}).status_code == 404, key
    assert chosen(as_charlie) == []
    tick(as_charlie, pieces, pieces[0])
    assert chosen(as_charlie) == []
    assert chosen(as_alice) == ["Harbour bowl"]


# --- the page -----------------------------------------------------------------------------------------------------


def test_pieces_are_put_in_order_and_taken_out(as_alice: Browser, pieces: list[PieceRecord]) -> None:
    harbour, tide, reed = pieces
    tick(as_alice, pieces, harbour, tide, reed)
    for act, order in (
        (f"up-{reed.pk}", [harbour, reed, tide]),
        (f"down-{harbour.pk}", [reed, harbour, tide]),
        (f"first-{tide.pk}", [tide, reed, harbour]),
        ("sort", [harbour, reed, tide]),
        (f"out-{reed.pk}", [harbour, tide]),
        ("up-x", [harbour, tide]),
        (f"sideways-{tide.pk}", [harbour, tide]),
        ("clear", []),
    ):
        answer = as_alice.post(PAGE, words(do=act, sort="oldest", title="Autumn show"))
        assert answer.status_code == 302
        assert answer.url.startswith(PAGE)
        assert chosen(as_alice) == [one.title for one in order], act
    assert "No piece is chosen yet" in as_alice.get(PAGE).content.decode()


def test_what_is_typed_stays_with_every_press(as_alice: Browser, pieces: list[PieceRecord]) -> None:
    tick(as_alice, pieces, *pieces)
    typed = words(title="Autumn show", introduction="First.\r\n\r\nSecond.", a_page="3", prices="on")
    as_alice.post(PAGE, typed | {"do": f"up-{pieces[2].pk}"})
    text = as_alice.get(PAGE).content.decode()
    assert 'value="Autumn show"' in text
    assert "First." in text
    assert '<option value="3" selected>' in text
    assert 'name="prices" id="id_prices" checked' in text or "checked" in text.split('name="prices"')[1][:60]


def test_wrong_words_are_said_at_their_fields_and_a_piece_is_moved_all_the_same(
    as_alice: Browser, pieces: list[PieceRecord]
) -> None:
    tick(as_alice, pieces, *pieces)
    wrong = words(title="x" * 121, introduction="y" * 1501, a_page="7")
    page = as_alice.post(PAGE, wrong | {"do": f"first-{pieces[2].pk}"})
    assert page.status_code == 400
    assert set(page.context["form"].errors) == {"title", "introduction", "a_page"}
    text = page.content.decode()
    assert "x" * 121 in text
    assert "y" * 1501 in text
    assert chosen(as_alice)[0] == "Reed bowl"
    assert as_alice.post(PAGE, wrong | {"do": "print"}).status_code == 400


def test_it_is_printed_as_it_was_put_in_order(
    as_alice: Browser, pieces: list[PieceRecord], studio: Studio
) -> None:
    tick(as_alice, pieces, *pieces[:2])
    typed = words(
        title="Autumn show", introduction="Turned by the sea.\r\n\r\nAll of native wood.", prices="on"
    )
    answer = as_alice.post(PAGE, typed | {"do": "print"})
    assert answer.url == PAPER
    paper = as_alice.get(PAPER)
    assert paper["Content-Disposition"] == 'inline; filename="catalogue-autumn-show.pdf"'
    text = text_of(paper.content)
    assert "Turned by the sea. All of native wood." in text
    assert text.index("Harbour bowl") < text.index("Tide jar")
    assert "$480.00" in text
    assert "Reed bowl" not in text
    as_alice.post(PAGE, words(do="print"))
    text = text_of(as_alice.get(PAPER).content)
    assert f"Pieces by {studio.name}" in text
    assert "480" not in text
    assert "by the sea" not in text


def test_a_catalogue_of_nothing_is_refused_on_its_page(as_alice: Browser) -> None:
    page = as_alice.get(PAPER, follow=True)
    assert page.redirect_chain == [(PAGE, 302)]
    assert "No piece is chosen yet: tick them" in page.content.decode()


def test_a_piece_that_is_no_longer_in_the_log_is_left_out_and_said(
    as_alice: Browser, pieces: list[PieceRecord]
) -> None:
    tick(as_alice, pieces, *pieces)
    PieceRecord.objects.filter(pk=pieces[0].pk).delete()
    page = as_alice.get(PAGE)
    assert "1 of those chosen is no longer in the log" in page.content.decode()
    assert chosen(as_alice) == ["Tide jar", "Reed bowl"]
    assert "Tide jar" in text_of(as_alice.get(PAPER).content)


def test_markup_is_escaped(as_alice: Browser, studio: Studio) -> None:
    record = RecordFactory(studio=studio, title=EVIL)
    tick(as_alice, [record], record)
    as_alice.post(PAGE, words(title=EVIL, introduction=EVIL))
    assert EVIL not in as_alice.get(PAGE).content.decode()
    assert EVIL in text_of(as_alice.get(PAPER).content)


# --- photos -------------------------------------------------------------------------------------------------------


def photographed(record: PieceRecord) -> Path:
    """A photo of it, and where its file lies."""
    from io import BytesIO

    out = BytesIO()
    Image.effect_noise((900, 700), 60).convert("RGB").save(out, "JPEG")
    photo = record_photos.photo_add(record=record, upload=SimpleUploadedFile("a.jpg", out.getvalue()))
    return Path(photo.shown.path)


def _bomb(path: Path) -> None:
    """A JPEG that says it is 60,000 pixels wide and as high."""
    data = path.read_bytes()
    at = data.index(b"\xff\xc0") + 5
    path.write_bytes(data[:at] + b"\xea\x60\xea\x60" + data[at + 4 :])


BREAKS = {
    "gone": lambda path: path.unlink(),
    "empty": lambda path: path.write_bytes(b""),
    "text": lambda path: path.write_text("no photo"),
    "cut short": lambda path: path.write_bytes(path.read_bytes()[:3000]),
    "another kind": lambda path: Image.new("RGB", (9, 9)).save(path, "PNG"),
    "a bomb": _bomb,
}


@pytest.mark.parametrize("how", BREAKS)
def test_a_lost_photo_gives_way_to_the_drawing_and_the_page_says_so(
    as_alice: Browser, studio: Studio, settings: Any, tmp_path: Path, how: str
) -> None:
    settings.MEDIA_ROOT = tmp_path
    whole, drawn, bare, without = (RecordFactory(studio=studio, title=f"Bowl {name}") for name in "ABCD")
    RecordDrawingFactory(record=drawn)
    RecordDrawingFactory(record=without)
    photographed(whole)
    for record in (drawn, bare):
        BREAKS[how](photographed(record))
    tick(as_alice, [], whole, drawn, bare, without)
    page = as_alice.get(PAGE)
    assert [note for _, note in page.context["pieces"]] == [
        "",
        "Its photo is missing or cannot be read: it is printed with its drawing.",
        "Its photo is missing or cannot be read: it is printed without a picture.",
        "It has no photo: it is printed with its drawing.",
    ]
    assert "3 of them are printed without a photo" in page.content.decode()
    paper = as_alice.get(PAPER)
    assert paper.status_code == 200
    text = text_of(paper.content)
    assert all(f"Bowl {name}" in text for name in "ABCD")
    assert text.count("As designed: left half as turned") == 2
