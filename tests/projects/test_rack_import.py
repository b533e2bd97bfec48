"""The rack's file: it goes out, comes in after a look, and nothing comes in while a row is wrong."""

from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext

from projects.models import Board, Studio
from projects.services import rack
from tests.factories import WoodFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def board(studio: Studio) -> Board:
    """Four boards of maple."""
    wood = studio.woods.get(key="maple")
    size = {"length": Decimal(1800), "width": Decimal(150), "thickness": Decimal(25)}
    return rack.board_create(studio=studio, wood=wood, **size, count=4, price=Decimal(54), place="B1")


def test_the_rack_goes_out_as_csv_and_comes_in_again(as_alice: Browser, board: Board) -> None:
    rack.board_update(board=board, defects=[[300, 380]], note="=1+1", nominal="4/4")
    answer = as_alice.get("/rack/boards.csv")
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert "attachment" in answer["Content-Disposition"]
    assert answer.content.startswith("\ufeffwood,".encode())
    file = SimpleUploadedFile("rack.csv", answer.content)
    looked = as_alice.post("/rack/import/", {"file": file})
    page = looked.content.decode()
    assert "4 boards would be put on the rack." in page
    assert f"Board {board.pk}, which lies there already, is just like this." in page
    assert Board.objects.count() == 1
    saved = as_alice.post("/rack/import/", {"text": looked.context["text"], "save": "yes"}, follow=True)
    assert "Put on the rack: 4 boards." in saved.content.decode()
    first, second = (
        Board.objects.values(*("length", "price", "defects", "note", "nominal", "place", "count"))
        .order_by("pk")
    )  # fmt: skip
    assert first == second
    assert Board.objects.latest("pk").events.get().member.user.username == "alice"


def test_nothing_comes_in_while_a_row_is_wrong_and_the_text_stays(as_alice: Browser, studio: Studio) -> None:
    text = "wood,length,width,thickness\nmaple,900,120,25\nmaple,x,120,25\n"
    for sent in (
        {"text": text},
        {"text": text, "save": "yes"},
        {"file": SimpleUploadedFile("r", text.encode())},
    ):
        answer = as_alice.post("/rack/import/", sent)
        page = answer.content.decode()
        assert answer.status_code == 400
        assert 'data-head="line">3' in page
        assert 'data-head="column">length' in page
        assert "maple,x,120,25" in page
        assert not Board.objects.exists()


def test_a_file_of_another_encoding_is_refused_in_words(as_alice: Browser) -> None:
    file = SimpleUploadedFile("rack.csv", "wood;größe".encode("latin-1"))
    answer = as_alice.post("/rack/import/", {"file": file})
    assert answer.status_code == 400
    assert "not text in UTF-8" in answer.content.decode()


def test_a_file_that_is_too_long_is_refused_in_words(as_alice: Browser) -> None:
    answer = as_alice.post("/rack/import/", {"file": SimpleUploadedFile("rack.csv", b"x" * 3_000_000)})
    assert answer.status_code == 400
    assert "longer than 200 kB" in answer.content.decode()


def test_looking_at_many_rows_asks_the_database_no_more_than_for_one(
    as_alice: Browser, studio: Studio
) -> None:
    def queries(rows: int) -> int:
        text = "wood,length,width,thickness\n" + "maple,900,120,25\n" * rows
        with CaptureQueriesContext(connection) as asked:
            assert as_alice.post("/rack/import/", {"text": text}).status_code == 200
        return len(asked)

    assert queries(50) == queries(1)


def test_another_studios_wood_does_not_come_in(as_alice: Browser, other_studio: Studio) -> None:
    WoodFactory(studio=other_studio, key="holly")
    text = "wood,length,width,thickness\nholly,900,120,25\n"
    assert (
        "No wood of the studio has this name"
        in as_alice.post("/rack/import/", {"text": text}).content.decode()
    )


def test_markup_in_a_file_is_shown_as_the_text_it_is(as_alice: Browser, studio: Studio) -> None:
    text = "wood,length,width,thickness,note\n<script>alert('x')</script>,1,1,1,\n"
    answer = as_alice.post("/rack/import/", {"text": text}).content.decode()
    assert "&lt;script&gt;alert" in answer
    assert "<script>alert" not in answer
