"""Old pieces from files as people have them, and from files made to do harm: all or nothing, each error placed."""

import csv
import io
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser

from projects.models import PieceRecord, SerialScheme, Studio
from tests.factories_records import RecordFactory

pytestmark = pytest.mark.django_db
LIST = "title,year,height (mm)\nGrün – Bowl,2001,90\n"


def sent(browser: Browser, content: bytes, *, save: bool = True) -> Any:
    """The file chosen on the page, and the second button pressed."""
    fields: dict[str, Any] = {"file": SimpleUploadedFile("old.csv", content)}
    return browser.post("/log/import/", {**fields, **({"save": "yes"} if save else {})})


def errors(answer: Any) -> list[tuple[int, str, str]]:
    assert answer.status_code == 400
    return [(error.line, error.column, error.words) for error in answer.context["read"].errors]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_utf_8_comes_in_with_its_mark_and_without(as_alice: Browser, studio: Studio, encoding: str) -> None:
    assert sent(as_alice, LIST.encode(encoding)).status_code == 302
    assert PieceRecord.objects.get().title == "Grün – Bowl"


@pytest.mark.parametrize(
    "encoding", ["utf-16", "utf-16-le", "utf-16-be", "cp1252", "cp437", "mac-roman", "utf-32"]
)
def test_no_encoding_is_guessed(as_alice: Browser, studio: Studio, encoding: str) -> None:
    """A guess that is wrong would spoil every name in the list."""
    content = LIST.replace("–", "-").encode(encoding)
    ((line, column, words),) = errors(sent(as_alice, content))
    assert (line, column) == (0, "")
    assert "CSV UTF-8" in words
    assert not PieceRecord.objects.exists()


@pytest.mark.parametrize(
    "content", [b"\x89PNG\r\n\x1a\n\0\0", bytes(range(256)), b"title\nBo\0wl\n", b"PK\x03\x04\xff"]
)
def test_what_is_no_text_is_refused(as_alice: Browser, studio: Studio, content: bytes) -> None:
    assert "not text" in errors(sent(as_alice, content))[0][2]


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ('title,year\nBowl,2001\nVase,2002\n"Jar,2003\nCup,2004\n', 4, "a quote is opened and never closed"),
        ('title,lessons\nBowl,"two\nlines"\nVase,"x" y\n', 4, "expected after"),
        ("title\n" + "x" * 140_000 + "\n", 2, "field larger"),
        ("title,,year\nBowl,,2001\nVase,kept by Ada,2002\n", 3, "Column 2 has no head"),
        ("title,year\nBowl,2001\nVase,2002,90,5\n", 3, "4 cells for 2 columns"),
        ("title,year,title\nBowl,2001,Vase\n", 1, "there twice"),
        ("title,hight\nBowl,90\n", 1, "Not a column here"),
        (
            "serial number,title\nA-1,Bowl\nA-2,Vase\nA-1,Jar\n",
            4,
            "already has a piece of this serial number",
        ),
        ("serial number,title\nHERE-1,Bowl\n", 2, "already has a piece of this serial number"),
        ("title\nBowl\n" + "x" * 161 + "\n", 3, "at most 160"),
        ("", 1, "is empty"),
        ("title\n", 1, "no row of pieces"),
        ("title\n" + "Bowl\n" * 501, 1, "bring in 500 at a time"),
        ("title\n" + "Bowl\n" * 100_000, 0, "Bring it in in parts"),
    ],
)
def test_what_is_wrong_is_named_by_its_line_and_nothing_is_kept(
    as_alice: Browser, studio: Studio, text: str, line: int, words: str
) -> None:
    RecordFactory(studio=studio, serial="HERE-1")
    for save in (False, True):
        ((at, _, said),) = errors(sent(as_alice, text.encode(), save=save))
        assert at == line
        assert words in said
    assert PieceRecord.objects.count() == 1
    assert not SerialScheme.objects.exists(), "no number was used up"


@pytest.mark.parametrize(
    ("day", "taken"),
    [
        ("2001-03-05", True),
        ("05/03/2001", False),
        ("5.3.2001", False),
        ("2001-02-29", False),
        ("0000-00-00", False),
        ("20010305T00:00", False),
        ("yesterday", False),
        ("2999-01-01", False),
        ("1066-10-14", False),
    ],
)
def test_a_day_that_two_readers_read_two_ways_is_refused(
    as_alice: Browser, studio: Studio, day: str, taken: bool
) -> None:
    answer = sent(as_alice, f"title,finished on\nBowl,{day}\n".encode())
    assert (answer.status_code == 302) is taken
    assert PieceRecord.objects.exists() is taken
    if not taken:
        assert errors(answer)[0][:2] == (2, "finished on")


@pytest.mark.parametrize(
    ("cell", "mm"),
    [
        ("90.5", "90.5"),
        ("90,5", "90.5"),
        ("9 cm", "90"),
        ("1.200,50", None),
        ("1,200", None),
        ("-5", None),
        ("1e400", None),
        ("NaN", None),
        ("=90", None),
        ("9" * 4000, None),
    ],
)
def test_a_number_that_two_readers_read_two_ways_is_refused(
    as_alice: Browser, studio: Studio, cell: str, mm: str | None
) -> None:
    answer = sent(as_alice, f"title;height (mm)\nBowl;{cell}\n".encode())
    if mm is None:
        assert errors(answer)[0][:2] == (2, "height")
        assert not PieceRecord.objects.exists()
    else:
        assert str(PieceRecord.objects.get().height.normalize()) in (mm, "9E+1")


def test_a_formula_comes_in_as_words_and_goes_out_so_that_none_is_run(
    as_alice: Browser, studio: Studio
) -> None:
    """The signs that spreadsheets run: = + - @, tab and carriage return (OWASP, CSV Injection)."""
    evil = ["=cmd|'/c calc'!A0", "+1+1", "-1+1", "@SUM(1)", "\t=1", "'=1", '=HYPERLINK("http://x")']
    out = io.StringIO()
    csv.writer(out).writerows(
        [["title", "lessons"], *([f"Bowl {at}", words] for at, words in enumerate(evil))]
    )
    assert sent(as_alice, out.getvalue().encode()).status_code == 302
    exported = as_alice.get("/log/log.csv").content.decode("utf-8-sig")
    for row in csv.reader(io.StringIO(exported)):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)


def test_one_wrong_row_among_many_keeps_all_out_until_it_is_right(as_alice: Browser, studio: Studio) -> None:
    rows = [f"B{number},2001" for number in range(60)]
    rows[41] = "B41,20x1"
    assert errors(sent(as_alice, "\n".join(["title,year", *rows]).encode()))[0][:2] == (43, "year")
    assert not PieceRecord.objects.exists()
    rows[41] = "B41,2001"
    assert sent(as_alice, "\n".join(["title,year", *rows]).encode()).status_code == 302
    assert PieceRecord.objects.count() == 60
