"""The pages of the log: found, filtered, kept and taken out; wrong input changes nothing, outsiders see nothing."""

import csv
import datetime
import io
import json
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext

from projects.models import PieceRecord, SavedSearch, Studio
from projects.services import record_places, records
from projects.services.records import WoodSaid
from tests.factories_records import RecordFactory, RecordPhotoFactory, RecordWoodFactory, SavedSearchFactory

pytestmark = pytest.mark.django_db
EVIL = "<script>alert(1)</script>"


@pytest.fixture
def pieces(studio: Studio) -> list[PieceRecord]:
    """A walnut bowl of 2019 that is lent, a maple vase of 2021, and a platter of which little is known."""
    bowl = records.record_create(
        studio=studio,
        title="Harbour bowl",
        made_on=datetime.date(2019, 5, 2),
        form="bowl",
        height=Decimal(90),
        diameter=Decimal(210),
        price=Decimal(480),
        woods=[WoodSaid("walnut", Decimal("0.8"))],
        lessons="=SUM(A1)",
    )
    record_places.place_add(record=bowl, kind="lent", since=datetime.date(2020, 1, 1), words="a fair")
    vase = records.record_create(
        studio=studio,
        title="Reed vase",
        year=2021,
        form="vase",
        height=Decimal(400),
        price=Decimal(1200),
        woods=[WoodSaid("maple"), WoodSaid("walnut")],
    )
    return [bowl, vase, records.record_create(studio=studio, title="Old platter")]


def _titles(browser: Browser, asked: str, page: str = "/log/") -> list[str]:
    answer = browser.get(f"{page}?{asked}")
    assert answer.status_code == 200, asked
    return [piece.title for piece in answer.context["pieces"]]


@pytest.mark.parametrize("page", ["/log/", "/log/table/"])
@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("", ["Reed vase", "Harbour bowl", "Old platter"]),
        ("q=harbour", ["Harbour bowl"]),
        ("wood=black+walnut", ["Reed vase", "Harbour bowl"]),
        ("wood=hard+maple", ["Reed vase"]),
        ("form=bowl", ["Harbour bowl"]),
        ("place=lent", ["Harbour bowl"]),
        ("made_from=2020", ["Reed vase"]),
        ("made_to=2020", ["Harbour bowl"]),
        ("size_from=300", ["Reed vase"]),
        ("size_to=8+5/16+in", ["Harbour bowl"]),
        ("price_from=$1,000", ["Reed vase"]),
        ("price_to=480&q=bowl", ["Harbour bowl"]),
        ("sort=oldest", ["Harbour bowl", "Reed vase", "Old platter"]),
        ("sort=title", ["Harbour bowl", "Old platter", "Reed vase"]),
        ("sort=largest", ["Reed vase", "Harbour bowl", "Old platter"]),
        ("sort=cheapest", ["Harbour bowl", "Reed vase", "Old platter"]),
    ],
)
def test_the_log_shows_what_is_asked(
    as_alice: Browser, pieces: list[PieceRecord], page: str, asked: str, found: list[str]
) -> None:
    assert _titles(as_alice, asked, page) == found


@pytest.mark.parametrize(
    "asked", ["size_from=wide", "made_from=soon", "wood=unobtainium", "sort=best", "price_to=-1"]
)
def test_a_filter_that_cannot_be_read_is_said_and_stays(
    as_alice: Browser, pieces: list[PieceRecord], asked: str
) -> None:
    answer = as_alice.get(f"/log/?{asked}")
    assert answer.status_code == 400
    assert len(answer.context["pieces"]) == 3
    name, _, typed = asked.partition("=")
    assert answer.context["asked"].form.errors[name]
    if name not in ("wood", "sort"):
        assert f'value="{typed}"' in answer.content.decode()


def test_an_outsider_finds_nothing_of_it(as_charlie: Browser, pieces: list[PieceRecord]) -> None:
    for page in ("/log/", "/log/table/", "/log/?q=harbour"):
        answer = as_charlie.get(page)
        assert answer.context["pieces"] == []
        assert "Harbour" not in answer.content.decode()
    for file in ("/log/pieces.csv", "/log/pieces.json"):
        assert b"Harbour" not in as_charlie.get(file).content
    assert Browser().get("/log/").status_code == 302


def test_markup_is_shown_as_the_text_it_is(as_alice: Browser, studio: Studio) -> None:
    record = records.record_create(studio=studio, title=EVIL, year=2020, form=EVIL, woods=[WoodSaid(EVIL)])
    records.search_save(studio=studio, name=EVIL, query="q=x")
    for page in (
        "/log/",
        "/log/table/",
        f"/log/?q={EVIL}",
        f"/log/{record.pk}/",
        f"/log/{record.pk}/photos/",
    ):
        assert EVIL not in as_alice.get(page).content.decode(), page


@pytest.mark.parametrize("page", ["/log/", "/log/table/"])
def test_many_pieces_ask_the_database_no_more_than_one(as_alice: Browser, studio: Studio, page: str) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert as_alice.get(page).status_code == 200
        return len(asked)

    def another() -> None:
        record = RecordFactory(studio=studio)
        RecordWoodFactory(record=record)
        RecordPhotoFactory(record=record, original="", shown="x", small="x", chosen=True)

    another()
    for_one = queries()
    for _ in range(6):
        another()
    assert queries() == for_one <= 12


def test_the_log_is_paged(as_alice: Browser, studio: Studio) -> None:
    for _ in range(30):
        RecordFactory(studio=studio)
    first, second = (as_alice.get(f"/log/?page={page}").context["pieces"] for page in (1, 2))
    assert (len(first), len(second)) == (24, 6)
    assert not set(first) & set(second)
    assert as_alice.get("/log/?page=nonsense").status_code == 200


def test_what_is_shown_goes_out_as_csv_without_formulas(as_alice: Browser, pieces: list[PieceRecord]) -> None:
    answer = as_alice.get("/log/pieces.csv?q=harbour")
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    (row,) = csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig")))
    assert (row["title"], row["height (mm)"], row["price (USD)"]) == ("Harbour bowl", "90", "480")
    assert (row["woods"], row["where it is"], row["with"]) == ("black walnut 80 %", "lent", "a fair")
    assert row["lessons"] == "'=SUM(A1)"
    assert len(list(csv.reader(io.StringIO(as_alice.get("/log/pieces.csv").content.decode())))) == 4


def test_what_is_shown_goes_out_as_json(as_alice: Browser, pieces: list[PieceRecord]) -> None:
    answer = as_alice.get("/log/pieces.json?form=bowl")
    found = json.loads(answer.content)
    assert found["schema"] == "turnery.log/1"
    (piece,) = found["pieces"]
    assert (piece["title"], piece["height"], piece["made_on"]) == ("Harbour bowl", "90", "2019-05-02")
    assert piece["woods"][0] == {
        "key": "walnut",
        "name": "black walnut",
        "botanical": "Juglans nigra",
        "share": "0.8",
    }
    assert piece["place"] == {"kind": "lent", "since": "2020-01-01", "with": "a fair", "due_back": None}


def test_a_search_is_kept_found_again_and_taken_out(as_alice: Browser, pieces: list[PieceRecord]) -> None:
    sent = {"name": "Walnut by size", "wood": "black walnut", "sort": "largest", "view": "table"}
    answer = as_alice.post("/log/searches/", sent, follow=True)
    assert [piece.title for piece in answer.context["pieces"]] == ["Reed vase", "Harbour bowl"]
    kept = SavedSearch.objects.get()
    assert kept.query == "wood=black+walnut&sort=largest"
    as_alice.post("/log/searches/", {**sent, "sort": "smallest"})
    kept.refresh_from_db()
    assert kept.query.endswith("sort=smallest")
    as_alice.post(f"/log/searches/{kept.pk}/take-out/")
    assert not SavedSearch.objects.exists()


def test_a_search_without_a_name_and_another_studios_stay_as_they_were(
    as_alice: Browser, as_charlie: Browser, studio: Studio
) -> None:
    assert "not saved" in as_alice.post("/log/searches/", {"q": "x"}, follow=True).content.decode()
    assert not SavedSearch.objects.exists()
    kept = SavedSearchFactory(studio=studio)
    assert as_charlie.post(f"/log/searches/{kept.pk}/take-out/").status_code == 404
    assert SavedSearch.objects.exists()


FILE = """serial number,title,finished on,form,woods,height (in),mass (kg),price (USD),finish,where it is,since,with
,Harbour bowl,2018-04-01,bowl,walnut 80 %; épicéa,3 1/2,1.2,"$1,480.00",oil 2018-03-20; wax,sold,2018-06-01,a friend
A-7,Reed vase,,vase,,400 mm,,,,,,
"""


def test_old_pieces_come_in_after_a_look(as_alice: Browser, studio: Studio) -> None:
    looked = as_alice.post("/log/import/", {"text": FILE})
    page = looked.content.decode()
    assert "2 pieces would be written into the log." in page
    assert "2018-001" in page
    assert not PieceRecord.objects.exists()
    as_alice.post("/log/import/", {"text": FILE, "save": "yes"})
    bowl, vase = PieceRecord.objects.for_studio(studio).order_by("title")
    assert (bowl.serial, bowl.year, bowl.height, bowl.mass_g, bowl.price) == (
        *("2018-001", 2018),
        *(Decimal("88.9"), Decimal(1200), Decimal(1480)),
    )
    assert list(bowl.woods.values_list("key", "name", "share")) == [
        ("walnut", "black walnut", Decimal("0.8")),
        ("", "épicéa", None),
    ]
    assert list(bowl.coats.values_list("name", "put_on")) == [
        ("oil", datetime.date(2018, 3, 20)),
        ("wax", None),
    ]
    assert (bowl.place, bowl.place_words, bowl.place_since) == ("sold", "a friend", datetime.date(2018, 6, 1))
    assert (vase.serial, vase.height, vase.place) == ("A-7", 400, "studio")
    assert _titles(as_alice, "q=epicea") == ["Harbour bowl"]


def test_the_log_goes_out_and_comes_in_again(
    as_alice: Browser, as_charlie: Browser, pieces: list[PieceRecord]
) -> None:
    text = as_alice.get("/log/pieces.csv").content.decode("utf-8-sig")
    as_charlie.post("/log/import/", {"text": text, "save": "yes"})
    assert as_charlie.get("/log/pieces.csv").content.decode("utf-8-sig") == text


@pytest.mark.parametrize(
    ("rows", "line", "column"),
    [
        ("serial number,title\nA,Bowl\nA,Vase\n", 3, "serial number"),
        ("title,year\nBowl,2020\nVase,next\n", 3, "year"),
        ("title,year\nBowl,2020\n,2021\n", 3, "title"),
        ("title,height\nBowl,90\nVase,tall\n", 3, "height"),
        ("title,finished on\nBowl,2020-02-30\n", 2, "finished on"),
        ("title,finished on\nBowl,2999-01-01\n", 2, "finished on"),
        ("title,mass (kg)\nBowl,heavy\n", 2, "mass"),
        ("title,woods\nBowl,walnut 60 %; maple 50 %\n", 2, "woods"),
        ("title,where it is\nBowl,lent\n", 2, "with"),
        ("title,where it is\nBowl,lost\n", 2, "where it is"),
        ('title,price\nBowl,"1,200"\n', 2, "price"),
        ("title,colour\nBowl,red\n", 1, "colour"),
        ("title,price (EUR)\nBowl,5\n", 1, "price"),
        ("title,year\nBowl,2020,7\n", 2, ""),
        ("form\nbowl\n", 1, ""),
    ],
)
def test_nothing_comes_in_while_a_row_is_wrong_and_the_text_stays(
    as_alice: Browser, rows: str, line: int, column: str
) -> None:
    for more in ({}, {"save": "yes"}):
        answer = as_alice.post("/log/import/", {"text": rows, **more})
        assert answer.status_code == 400
        assert [(error.line, error.column) for error in answer.context["read"].errors] == [(line, column)]
        assert rows.split("\n")[1].split(",")[0] in answer.content.decode()
        assert not PieceRecord.objects.exists()


def test_a_file_of_another_encoding_is_refused_in_words(as_alice: Browser) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    sent: Any = {"file": SimpleUploadedFile("old.csv", "title\nGrün".encode("latin-1"))}
    answer = as_alice.post("/log/import/", sent)
    assert answer.status_code == 400
    assert "not text in UTF-8" in answer.content.decode()
