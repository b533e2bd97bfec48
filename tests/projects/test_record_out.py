"""A record taken out of the log: gone from every list and figure, its number never given again, and put back whole."""

import datetime
import json
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.http import QueryDict
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from projects.consigned import stays_of
from projects.models import (
    Client,
    Commission,
    Member,
    PieceRecord,
    RecordChange,
    RecordWords,
    Studio,
)
from projects.models.taken_out import LONGEST_REASON
from projects.pages.log import _in_all
from projects.pages.log_filter import LogForm
from projects.record_search import search
from projects.services import record_places, records
from projects.services.record_out import record_put_back, record_take_out
from projects.year_rows import compared_of, spent_of
from tests.factories import ClientFactory, CommissionFactory
from tests.factories_records import (
    PlaceFactory,
    RecordFactory,
    RecordWoodFactory,
    TakenLineFactory,
)
from tests.projects.threads import at_once

pytestmark = pytest.mark.django_db


@pytest.fixture
def maker(alice: Any) -> Member:
    return alice.member


@pytest.fixture
def job(studio: Studio) -> Commission:
    return CommissionFactory(studio=studio, title="Reed pot", stage="finished")


def out(record: PieceRecord, maker: Member | None = None, reason: str = "written down twice") -> PieceRecord:
    return record_take_out(record=record, reason=reason, member=maker)


def test_it_is_kept_with_the_reason_who_and_when(studio: Studio, maker: Member) -> None:
    record = records.record_create(studio=studio, title="Bowl", year=2024)
    taken = out(record, maker, "  written down twice ")
    kept = PieceRecord.everything.get()
    assert (kept.taken_out_why, kept.taken_out_by) == ("written down twice", maker)
    assert kept.taken_out_at == taken.taken_out_at
    assert not PieceRecord.objects.exists()
    assert RecordChange.objects.filter(record=record, what="taken out of the log", member=maker).count() == 1


@pytest.mark.parametrize("reason", ["", "  ", "x" * (LONGEST_REASON + 1)])
def test_it_takes_a_reason(studio: Studio, reason: str) -> None:
    record = records.record_create(studio=studio, title="Bowl", year=2024)
    with pytest.raises(ValidationError) as refusal:
        out(record, reason=reason)
    assert set(refusal.value.message_dict) == {"reason"}
    assert PieceRecord.objects.count() == 1


def test_its_number_is_given_to_no_other_piece(studio: Studio, job: Commission) -> None:
    first = records.record_create(studio=studio, title="Bowl", year=2024)
    out(first)
    assert records.record_create(studio=studio, title="Vase", year=2024).serial == "2024-002"
    with pytest.raises(ValidationError) as refusal:
        records.record_create(studio=studio, title="Dish", year=2024, serial="2024-001")
    assert set(refusal.value.message_dict) == {"serial"}
    # Even where the count begins again, as after another pattern was tried.
    studio.serial_scheme.counts = {}
    studio.serial_scheme.save()
    assert records.record_create(studio=studio, title="Dish", year=2024).serial == "2024-003"
    with pytest.raises(IntegrityError), transaction.atomic():
        RecordFactory(studio=studio, serial="2024-001")


def test_its_piece_of_the_commission_is_written_down_anew_and_once(job: Commission) -> None:
    first = records.record_finish(commission=job)
    with pytest.raises(ValidationError, match="in the log already"):
        records.record_finish(commission=job)
    out(first)
    second = records.record_finish(commission=job)
    assert (second.piece, second.serial) == (1, first.serial[:-1] + "2")
    assert list(job.records.all()) == [second]
    with pytest.raises(ValidationError, match=f"in the log again as {second.serial}. Take that out first."):
        record_put_back(record=first)
    out(second)
    assert record_put_back(record=first).serial == first.serial
    with pytest.raises(IntegrityError), transaction.atomic():
        PieceRecord.everything.filter(pk=second.pk).update(taken_out_at=None, taken_out_why="")


def test_it_goes_from_search_choices_and_comes_back_as_it_was(studio: Studio, maker: Member) -> None:
    record = records.record_create(studio=studio, title="Larch bowl", year=2024)
    before = PieceRecord.everything.filter(pk=record.pk).values().get()
    out(record, maker)
    assert not search(PieceRecord.everything.for_studio(studio), "larch").exists()
    assert not RecordWords.objects.exists()
    record_put_back(record=record, member=maker)
    after = PieceRecord.objects.filter(pk=record.pk).values().get()
    assert {**after, "updated_at": None} == {**before, "updated_at": None}
    assert list(search(PieceRecord.objects.for_studio(studio), "larch")) == [record]
    last = RecordChange.objects.filter(record=record).order_by("-pk").first()
    assert (last.what, last.before) == ("put back into the log", {"taken_out_why": "written down twice"})


def test_it_goes_from_what_galleries_have_and_from_the_years_figures(studio: Studio, job: Commission) -> None:
    gallery: Client = ClientFactory(studio=studio, kind="gallery")
    record = RecordFactory(studio=studio, commission=job, year=2024, made_on=datetime.date(2024, 5, 1))
    PlaceFactory(record=record)
    PlaceFactory(record=record, kind="consigned", client=gallery, since=datetime.date(2024, 6, 1))
    TakenLineFactory(record=record)
    day = datetime.date(2024, 12, 31)
    assert len(stays_of(studio)) == len(compared_of(studio, 2024)) == 1
    assert [spent.places for spent in spent_of(studio, day=day)[0]] == [("consigned",)]
    out(record)
    assert stays_of(studio) == []
    assert compared_of(studio, 2024) == []
    assert spent_of(studio, day=day) == ([], [])
    record_put_back(record=PieceRecord.everything.get(pk=record.pk))
    assert len(stays_of(studio)) == len(compared_of(studio, 2024)) == 1


def test_what_is_out_is_not_changed_until_it_is_back(studio: Studio) -> None:
    record = records.record_create(studio=studio, title="Bowl", year=2024)
    out(record)
    doings: list[Any] = [
        lambda: records.record_update(record=record, title="Dish"),
        lambda: records.reasons_give(record=record, reasons={}),
        lambda: record_places.place_add(record=record, kind="lent", words="A museum"),
        lambda: out(record),
    ]
    for doing in doings:
        with pytest.raises(ValidationError, match=r"taken out of the log\. Put it back first"):
            doing()
    record_put_back(record=record)
    with pytest.raises(ValidationError, match="This piece is in the log"):
        record_put_back(record=record)


def test_the_database_lets_none_be_out_without_a_reason(studio: Studio) -> None:
    record = RecordFactory(studio=studio)
    moment = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC)
    for wrong in ({"taken_out_at": moment}, {"taken_out_why": "twice"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            PieceRecord.everything.filter(pk=record.pk).update(**wrong)


@pytest.mark.django_db(transaction=True)
def test_of_two_who_take_it_out_at_once_one_does_and_one_is_told(studio: Studio) -> None:
    record = records.record_create(studio=studio, title="Bowl", year=2024)
    came = at_once(*(lambda why=why: out(record, reason=why) for why in ("twice", "not mine")))
    refused = [one for one in came if isinstance(one, Exception)]
    assert [type(one) for one in refused] == [ValidationError]
    assert RecordChange.objects.filter(what="taken out of the log").count() == 1


@pytest.mark.django_db(transaction=True)
def test_one_who_puts_it_back_and_one_who_writes_it_anew_leave_one_in_the_log() -> None:
    job = CommissionFactory(title="Reed pot", stage="finished")
    first = records.record_finish(commission=job)
    out(first)
    came = at_once(
        lambda: record_put_back(record=PieceRecord.everything.get(pk=first.pk)),
        lambda: records.record_finish(commission=Commission.objects.get(pk=job.pk)),
    )
    assert [type(one) for one in came if isinstance(one, Exception)] == [ValidationError], came
    assert PieceRecord.objects.filter(commission=job, piece=1).count() == 1


# The pages


@pytest.fixture
def record(studio: Studio) -> PieceRecord:
    made = records.record_create(
        studio=studio, title="Larch <b>bowl</b>", year=2024, form="urn", price=Decimal(90)
    )
    RecordWoodFactory(record=made, name="larch")
    return made


def test_it_is_taken_out_from_its_page_listed_and_put_back(as_alice: Browser, record: PieceRecord) -> None:
    page = reverse("piece", args=[record.pk])
    assert "Take it out of the log" in as_alice.get(page).content.decode()
    answer = as_alice.post(reverse("piece_take_out", args=[record.pk]), {"reason": "not <i>mine</i>"})
    assert answer["Location"] == reverse("pieces_out")
    listed = as_alice.get(reverse("pieces_out")).content.decode()
    assert "not &lt;i&gt;mine&lt;/i&gt;" in listed
    assert "Larch &lt;b&gt;bowl&lt;/b&gt;" in listed
    assert "2024-001" in listed
    assert "alice" in listed
    assert as_alice.get(page)["Location"] == f"{reverse('pieces_out')}#piece-{record.pk}"
    assert as_alice.post(reverse("piece_put_back", args=[record.pk]))["Location"] == page
    assert as_alice.get(page).status_code == 200


@pytest.mark.parametrize("reason", ["", "<u>" + "x" * 400])
def test_without_a_good_reason_it_stays_and_what_was_typed_too(
    as_alice: Browser, record: PieceRecord, reason: str
) -> None:
    answer = as_alice.post(reverse("piece_take_out", args=[record.pk]), {"reason": reason})
    assert answer.status_code == 400
    page = answer.content.decode()
    assert ("At most 300 characters." if reason else "Say why it goes out of the log.") in page
    assert reason.replace("<", "&lt;").replace(">", "&gt;") in page
    assert PieceRecord.objects.count() == 1


def test_it_goes_from_the_log_its_choices_files_and_papers(as_alice: Browser, record: PieceRecord) -> None:
    RecordFactory(studio=record.studio, title="Another")
    shown = ("log", "log_table", "log_csv", "log_json")
    for name in shown:
        assert "2024-001" in as_alice.get(reverse(name)).content.decode(), name
    out(record)
    for name in shown:
        said = as_alice.get(reverse(name)).content.decode()
        assert "2024-001" not in said, name
        assert "Another" in said
    asked = as_alice.get(reverse("log_table")).content.decode()
    assert 'value="larch"' not in asked
    assert 'value="urn"' not in asked
    assert len(json.loads(as_alice.get(reverse("log_json")).content)["pieces"]) == 1
    for name in (
        "piece_certificate",
        "piece_care",
        "piece_condition",
        "piece_packing",
        "piece_edit",
        "piece_photos",
    ):
        assert as_alice.get(reverse(name, args=[record.pk])).status_code == 404, name
    chosen = as_alice.get(reverse("catalogue"), {"piece": record.pk})
    assert chosen.status_code in (302, 404)


def test_a_job_whose_record_is_out_offers_to_write_it_down(as_alice: Browser, job: Commission) -> None:
    first = records.record_finish(commission=job)
    out(first)
    page = as_alice.get(reverse("job", args=[job.pk])).content.decode()
    assert reverse("piece", args=[first.pk]) not in page
    assert as_alice.post(reverse("job_record", args=[job.pk])).status_code == 302
    assert job.records.count() == 1


def test_an_outsider_gets_404_and_sees_none(
    as_charlie: Browser, as_alice: Browser, record: PieceRecord
) -> None:
    assert as_charlie.post(reverse("piece_take_out", args=[record.pk]), {"reason": "x"}).status_code == 404
    out(record)
    assert as_charlie.post(reverse("piece_put_back", args=[record.pk])).status_code == 404
    assert as_charlie.get(reverse("piece", args=[record.pk])).status_code == 404
    assert "2024-001" not in as_charlie.get(reverse("pieces_out")).content.decode()
    assert "2024-001" in as_alice.get(reverse("pieces_out")).content.decode()
    assert PieceRecord.everything.get().taken_out_at is not None


@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite's own words for its plans")
def test_the_logs_first_line_and_choices_are_read_from_an_index_alone(studio: Studio) -> None:
    """Rows of the log hold long texts: at 10,000 pieces whoever reads them all is waited for."""
    with CaptureQueriesContext(connection) as asked:
        _in_all(studio)
        LogForm(QueryDict(), studio=studio)
    plans = []
    with connection.cursor() as cursor:
        for one in asked.captured_queries:
            cursor.execute(f"EXPLAIN QUERY PLAN {one['sql']}")
            plans += [row[3] for row in cursor.fetchall() if "projects_piecerecord" in row[3]]
    assert len(plans) == 3
    assert all("COVERING INDEX" in plan for plan in plans), plans
