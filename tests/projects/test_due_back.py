"""By when a piece is to be back: kept with its place, followed by the record, filtered, listed and late in words."""

import csv
import datetime
import io
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.utils import timezone

from projects.models import PieceRecord, Place, Studio
from projects.services.record_places import late_back, place_add, place_take_back
from tests.factories import ClientFactory
from tests.factories_records import PlaceFactory, RecordFactory

pytestmark = pytest.mark.django_db
EVIL = "<script>alert(1)</script>"
TODAY = timezone.localdate()
YESTERDAY, TOMORROW, BEFORE = (TODAY + datetime.timedelta(days) for days in (-1, 1, -30))


def out(studio: Studio, due_back: datetime.date | None, kind: str = "lent", **values: Any) -> PieceRecord:
    """A piece that went to a fair a month ago."""
    record: PieceRecord = RecordFactory(studio=studio, **values)
    place_add(record=record, kind=kind, since=BEFORE, words="a fair", due_back=due_back)
    return record


@pytest.mark.parametrize("kind", ["studio", "sold", "given"])
def test_only_what_is_out_comes_back(studio: Studio, kind: str) -> None:
    record = RecordFactory(studio=studio)
    with pytest.raises(ValidationError) as refusal:
        place_add(record=record, kind=kind, since=BEFORE, due_back=TOMORROW)
    assert list(refusal.value.error_dict) == ["due_back"]
    with pytest.raises(IntegrityError), transaction.atomic():
        PlaceFactory(record=record, kind=kind, since=BEFORE, due_back=TOMORROW)
    assert not Place.objects.exists()


def test_it_is_not_back_before_it_went(studio: Studio) -> None:
    record = RecordFactory(studio=studio)
    early = BEFORE - datetime.timedelta(1)
    with pytest.raises(ValidationError) as refusal:
        place_add(record=record, kind="lent", since=BEFORE, words="a fair", due_back=early)
    assert list(refusal.value.error_dict) == ["due_back"]
    with pytest.raises(IntegrityError), transaction.atomic():
        PlaceFactory(record=record, kind="lent", since=BEFORE, due_back=early)
    place_add(record=record, kind="lent", since=BEFORE, words="a fair", due_back=BEFORE)


def test_the_record_follows_the_last_stay(studio: Studio) -> None:
    record = out(studio, TOMORROW)
    assert record.due_back == TOMORROW
    # A later word of the same fair that says no day leaves the day as it was; another holder has none.
    place_add(record=record, kind="lent", since=YESTERDAY, words="a fair", price=Decimal(5))
    assert record.due_back == TOMORROW
    elsewhere = place_add(record=record, kind="lent", since=YESTERDAY, words="a museum")
    assert record.due_back is None
    place_take_back(place=elsewhere)
    record.refresh_from_db()
    assert record.due_back == TOMORROW
    place_add(record=record, kind="studio", since=TODAY)
    assert PieceRecord.objects.get().due_back is None


def test_what_is_late_is_told_first_of_all(as_alice: Browser, studio: Studio, other_studio: Studio) -> None:
    assert "To be back" not in as_alice.get("/").content.decode()
    out(studio, TODAY, title="Timely bowl")
    out(studio, YESTERDAY, title=EVIL)
    out(other_studio, YESTERDAY, title="Their bowl")
    assert [record.title for record in late_back(studio, today=TODAY)] == [EVIL]
    page = as_alice.get("/", follow=True).content.decode()
    assert 'To be back and <strong class="overdue">late</strong>' in page
    assert EVIL not in page
    assert "&lt;script&gt;" in page
    for title in ("Timely bowl", "Their bowl"):
        assert title not in page
    for number in range(5):
        out(studio, YESTERDAY, title=f"Late {number}")
    page = as_alice.get("/", follow=True).content.decode()
    assert ">6 in all</a>" in page
    assert "Late 4" not in page


def test_the_log_is_filtered_by_it_and_says_late(
    as_alice: Browser, as_charlie: Browser, studio: Studio
) -> None:
    out(studio, TOMORROW, title="Timely bowl")
    out(studio, YESTERDAY, title="Late bowl")
    out(studio, None, title="Undated bowl")

    def titles(query: str) -> list[str]:
        return [piece.title for piece in as_alice.get(f"/log/table/?{query}").context["pieces"]]

    assert titles("back=due&sort=back") == ["Late bowl", "Timely bowl"]
    assert titles("back=late") == ["Late bowl"]
    assert titles("sort=back") == ["Late bowl", "Timely bowl", "Undated bowl"]
    page = as_alice.get("/log/table/?back=due").content.decode()
    assert page.count('<span class="overdue">late</span>') == 1
    assert as_alice.get("/log/table/?back=soon").status_code == 400
    assert "bowl" not in as_charlie.get("/log/table/?back=due").content.decode()


def test_it_goes_out_as_csv_and_json_and_comes_in_again(as_alice: Browser, studio: Studio) -> None:
    record = out(studio, TOMORROW, serial="KH-1", title="Tide bowl")
    (piece,) = as_alice.get("/log/pieces.json").json()["pieces"]
    assert piece["place"]["due_back"] == TOMORROW.isoformat()
    text = as_alice.get("/log/pieces.csv").content.decode("utf-8-sig")
    (row,) = csv.DictReader(io.StringIO(text))
    assert row["to be back by"] == TOMORROW.isoformat()
    text = text.replace("KH-1", "KH-2")
    as_alice.post("/log/import/", {"text": text, "save": "1"})
    again = PieceRecord.objects.exclude(pk=record.pk).get()
    assert (again.place, again.place_words, again.due_back) == ("lent", "a fair", TOMORROW)
    text = text.replace("KH-2", "KH-3").replace(",lent,", ",sold,")
    page = as_alice.post("/log/import/", {"text": text, "save": "1"})
    assert page.status_code == 400
    assert "Only what is on consignment or lent comes back." in page.content.decode()
    assert PieceRecord.objects.count() == 2


def test_the_page_of_a_piece_takes_it_and_shows_it(
    as_alice: Browser, as_charlie: Browser, studio: Studio
) -> None:
    record = RecordFactory(studio=studio)
    address = f"/log/{record.pk}/"
    gallery = ClientFactory(studio=studio, kind="gallery", name="Sill")
    sent = {"kind": "consigned", "since": BEFORE.isoformat(), "client": str(gallery.pk), "note": "Kept."}
    for day, says in (("2001-01-01", "before the day it went"), ("soon", "Enter a valid date.")):
        answer = as_alice.post(f"{address}places/", {**sent, "due_back": day})
        assert (answer.status_code, list(answer.context["place_form"].errors)) == (400, ["due_back"])
        assert says in answer.content.decode()
        assert "Kept." in answer.content.decode()
    sent["due_back"] = YESTERDAY.isoformat()
    assert as_charlie.post(f"{address}places/", sent).status_code == 404
    assert not Place.objects.exists()
    page = as_alice.post(f"{address}places/", sent, follow=True).content.decode()
    assert page.count("to be back by") == 2
    assert '<span class="overdue">late</span>' in page
    assert "<strong>1</strong> with a day to be back by" in as_alice.get("/log/consignment/").content.decode()
