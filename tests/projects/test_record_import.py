"""Many old pieces at once: the same rows as one by one, the same refusals, and fast enough that nobody waits for it."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from projects import models
from projects.models import Member, PieceRecord, Studio
from projects.services.record_import import records_create, records_tried
from projects.services.records import CoatSaid, WoodSaid, record_create
from projects.services.saving import gather
from tests.factories import ClientFactory
from tests.factories_records import RecordFactory

pytestmark = pytest.mark.django_db
OF_A_PIECE = (models.RecordWood, models.RecordCoat, models.Place, models.RecordChange, models.RecordWords)
# When, and which: the moments of two ways, and the ids of what was made twice, are never the same.
LEFT_OUT = {"id", "at", "created_at", "updated_at", "record"}


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice, in whose studio the pieces come in: it has one piece, and the usual woods."""
    RecordFactory(studio=alice.member.studio, serial="2001-002")
    return alice.member


def told(studio: Studio) -> list[dict[str, Any]]:
    """Every field of every row of the log, but moments and ids."""
    found = []
    for record in PieceRecord.objects.for_studio(studio).order_by("serial"):
        rows = {"record": [_plain(record)]}
        for model in OF_A_PIECE:
            rows[model.__name__] = [_plain(row) for row in model.objects.filter(record=record).order_by("pk")]
        found.append(rows)
    return found


def _plain(row: Any) -> dict[str, Any]:
    return {
        one.name: getattr(row, one.attname) for one in row._meta.concrete_fields if one.name not in LEFT_OUT
    }


def _rows(studio: Studio) -> list[dict[str, Any]]:
    gallery = ClientFactory(studio=studio, name="Gallery Élan")
    return [
        {"title": "Bowl", "year": 2001},
        {"title": "Of no year"},
        {"title": "With its own number", "serial": " 2001-003 ", "year": 2001},
        {"title": "The next of its year", "year": 2001, "height": Decimal("90.5"), "diameter": Decimal(210)},
        {
            "title": "Çup",
            "made_on": datetime.date(2003, 4, 5),
            "price": Decimal(120),
            "segments": 144,
            "woods": [WoodSaid("Hard Maple", Decimal("0.6")), WoodSaid("bog oak")],
            "coats": [CoatSaid("oil", datetime.date(2003, 4, 6)), CoatSaid("oil")],
            "failures": "a crack",
        },
        {
            "title": "Away",
            "year": 2004,
            "place": {"kind": "consigned", "since": datetime.date(2004, 5, 6), "client": gallery},
        },
        {
            "title": "Lent",
            "year": 2004,
            "place": {
                "kind": "lent",
                "since": datetime.date(2004, 5, 6),
                "words": "a friend",
                "note": "till fall",
            },
        },
    ]


def test_many_at_once_are_the_rows_that_one_by_one_would_be(maker: Member) -> None:
    rows = _rows(maker.studio)
    with transaction.atomic():
        for row in rows:
            record_create(studio=maker.studio, member=maker, **row)
        one_by_one, counts = told(maker.studio), models.SerialScheme.objects.get().counts
        transaction.set_rollback(True)
    made = records_create(studio=maker.studio, member=maker, rows=rows)
    assert told(maker.studio) == one_by_one
    assert models.SerialScheme.objects.get().counts == counts
    assert [record.title for record in made] == [row["title"] for row in rows]
    assert [record.serial for record in made][2:4] == ["2001-003", "2001-004"]


@pytest.mark.parametrize(
    "wrong",
    [
        {"title": ""},
        {"title": "x" * 161},
        {"title": "Bowl", "serial": "2001-002"},
        {"title": "Bowl", "serial": "x" * 100},
        {"title": "Bowl", "year": 1066},
        {"title": "Bowl", "year": 2999},
        {"title": "Bowl", "made_on": datetime.date(2999, 1, 1)},
        {"title": "Bowl", "height": Decimal(-1), "price": Decimal(-5), "segments": -4},
        {"title": "Bowl", "woods": [WoodSaid("oak", Decimal("0.8")), WoodSaid("ash", Decimal("0.8"))]},
        {"title": "Bowl", "woods": [WoodSaid("oak"), WoodSaid("Oak ")]},
        {"title": "Bowl", "woods": [WoodSaid("x" * 200)]},
        {"title": "Bowl", "woods": [WoodSaid(f"wood {n}") for n in range(41)]},
        {"title": "Bowl", "coats": [CoatSaid("oil", datetime.date(2999, 1, 1))]},
        {"title": "Bowl", "coats": [CoatSaid("")], "place": {"kind": "barn"}},
        {"title": "Bowl", "place": {"kind": "lent"}},
        {"title": "Bowl", "place": {"kind": "studio", "since": datetime.date(2999, 1, 1)}},
        {"title": "Bowl", "place": {"kind": "sold", "price": Decimal(-1)}},
    ],
)
def test_what_is_refused_one_by_one_is_refused_at_once_in_the_same_words(
    maker: Member, wrong: dict[str, Any]
) -> None:
    with pytest.raises(ValidationError) as one, transaction.atomic():
        gather([("[1]", lambda: record_create(studio=maker.studio, member=maker, **wrong))])
    with pytest.raises(ValidationError) as at_once:
        records_create(
            studio=maker.studio, member=maker, rows=[{"title": "Right"}, wrong, {"title": "Right too"}]
        )
    assert at_once.value.message_dict == one.value.message_dict
    assert PieceRecord.objects.get().serial == "2001-002", "nothing was kept"


def test_all_that_is_wrong_is_said_of_all_rows(maker: Member) -> None:
    rows = [
        {"title": ""},
        {"title": "Bowl", "serial": "A"},
        {"title": "Bowl", "serial": "A"},
        {"title": "", "year": 1},
    ]
    with pytest.raises(ValidationError) as refusal:
        records_create(studio=maker.studio, member=maker, rows=rows)
    assert set(refusal.value.message_dict) == {"[0].title", "[2].serial", "[3].title", "[3].year"}


def test_another_studios_client_is_refused(maker: Member) -> None:
    rows = [{"title": "Bowl", "place": {"kind": "sold", "client": ClientFactory()}}]
    with pytest.raises(ValidationError, match="client of this studio"):
        records_create(studio=maker.studio, member=maker, rows=rows)


def test_a_look_leaves_nothing_and_says_the_numbers_to_be(maker: Member) -> None:
    tried = records_tried(studio=maker.studio, member=maker, rows=[{"title": "Bowl", "year": 2001}] * 2)
    assert [record.serial for record in tried] == ["2001-001", "2001-003"]
    assert PieceRecord.objects.count() == 1
    assert not models.SerialScheme.objects.exists()


def test_each_further_piece_asks_the_database_little(maker: Member) -> None:
    """One by one it was some fifty questions a piece, and nobody else could write for half a minute."""

    def asked(number: int) -> int:
        row = {"title": "Bowl", "year": 2001, "woods": [WoodSaid("oak")], "coats": [CoatSaid("oil")]}
        with CaptureQueriesContext(connection) as queries:
            records_tried(studio=maker.studio, member=maker, rows=[row] * number)
        return len(queries)

    assert (asked(40) - asked(10)) / 30 <= 6
