"""A record is drafted from all that is known of its commission, and tells what it took beside what was estimated."""

import datetime
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.models import Commission, PieceRecord, Studio, TakenLine
from projects.services import rack, record_places, records
from projects.services.record_taken import is_large
from projects.services.records import CoatSaid, WoodSaid
from tests.factories import (
    AsBuiltFactory,
    BenchStepFactory,
    BoardFactory,
    CommissionFactory,
    HoursEntryFactory,
    MemberFactory,
    MishapFactory,
    MoistureReadingFactory,
    SawSettingFactory,
)
from tests.factories_records import RecordFactory

pytestmark = pytest.mark.django_db
MIX = {"mixes": [{"part_a_ml": 12, "part_b_ml": 12}]}


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A finished commission for a cylinder of ten rings of twelve, with something of all that can be logged."""
    studio.care = "Keep it dry."
    studio.save()
    job = CommissionFactory(studio=studio, title="Reed pot", stage="finished")
    by = {"commission": job, "member": MemberFactory(studio=studio)}
    board = BoardFactory(wood=studio.woods.get(key="walnut"), place="B1", note="from the old barn")
    rack.cut_logged(
        board=board,
        commission=job,
        offcuts=[rack.Offcut(length=Decimal(200), width=Decimal(150))],
    )
    HoursEntryFactory(**by, operation="turn outside", minutes=400, worked_on=datetime.date(2026, 3, 9))
    HoursEntryFactory(**by, operation="sweep up", minutes=5, worked_on=datetime.date(2026, 3, 2))
    MoistureReadingFactory(**by, percent=Decimal("7.8"), read_on=datetime.date(2026, 3, 1))
    SawSettingFactory(studio=studio, commission=job, proven_on=datetime.date(2026, 3, 2))
    AsBuiltFactory(**by, part="body", glue_up=2)
    step = BenchStepFactory(commission=job, card=MIX, mixed_at=timezone.now())
    MishapFactory(step=step, member=by["member"], note="clamp too tight")
    coat = {"shares": {"apply finish coat and rub down": [20, 1]}, "state": "done"}
    day = datetime.datetime(2026, 3, 8, 12, tzinfo=datetime.UTC)
    BenchStepFactory(commission=job, **coat, started_at=day, ended_at=day)
    return job


def test_a_record_is_drafted_from_all_that_is_known(job: Commission) -> None:
    record = records.record_finish(commission=job)
    assert record.serial == "2026-001"
    assert (record.title, record.made_on, record.year) == ("Reed pot", datetime.date(2026, 3, 9), 2026)
    # A cylinder 100 mm tall and 120 mm across, of ten layers of twelve segments: as the factory has it.
    assert (record.designed_height, record.designed_diameter, record.segments) == (100, 120, 120)
    assert record.designed_mass_g > 0
    assert (record.height, record.diameter, record.size) == (None, None, 120)
    assert record.form == "bowl"
    assert record.care == "Keep it dry."
    woods = {wood.key: wood.share for wood in record.woods.all()}
    assert set(woods) == {"maple", "walnut"}
    assert sum(woods.values()) == pytest.approx(1, abs=2e-5)
    assert record.moisture_words == "board A: 7.8 % on 1 March 2026"
    assert record.boards_words == "black walnut, 1200 × 150 × 25 mm, from B1, from the old barn"
    assert "15°, shown 15.04°, ring of 12 closed all round" in record.saw_words
    assert record.as_built_words == "body, after glue-up 2: height 39.6 mm"
    assert "Epoxy, mixed on" in record.adhesive_words
    assert "it slipped" in record.failures
    assert record.drawing.svg.lstrip().startswith("<svg")
    assert "Reed pot" in record.drawing.svg  # its title is the drawing's text alternative
    assert "clamp too tight" in record.failures
    coats = list(record.coats.values_list("name", "put_on"))
    assert coats[0] == ("Varnish", datetime.date(2026, 3, 8))
    assert len(coats) == job.studio.finishes.get(usual=True).coats
    assert (record.place, record.place_since) == ("studio", datetime.date(2026, 3, 9))
    assert record.known["moisture"][0]["percent"] == "7.8"


def test_what_it_took_is_reckoned_from_cuts_mixes_and_hours(job: Commission) -> None:
    record = records.record_finish(commission=job)
    lines = {line.name: line for line in record.taken.all()}
    # One board of 1200 × 150 × 25, less 200 × 150 × 25 that came back.
    assert lines["black walnut"].taken == 1000 * 150 * 25
    assert lines["hard maple"].taken is None
    assert lines["adhesive"].taken == 24
    assert lines["turn outside"].taken == 400
    assert (lines["sweep up"].taken, lines["sweep up"].estimated) == (5, None)
    assert lines["turn outside"].estimated > 0


def test_of_several_pieces_each_has_its_share_and_a_record_of_its_own(job: Commission) -> None:
    job.quantity = 2
    job.save()
    one, other = (records.record_finish(commission=job) for _ in range(2))
    assert (one.piece, other.piece) == (1, 2)
    assert (one.serial, other.serial) == ("2026-001", "2026-002")
    assert one.taken.get(name="turn outside").taken == 200
    with pytest.raises(ValidationError, match="Every piece"):
        records.record_finish(commission=job)


def test_what_is_not_finished_is_not_for_the_log(job: Commission) -> None:
    job.stage = "making"
    job.save()
    with pytest.raises(ValidationError, match="finished pieces"):
        records.record_finish(commission=job)
    assert not PieceRecord.objects.exists()


@pytest.mark.parametrize(
    ("kind", "mode", "place"),
    [
        ("private", "consignment", "sold"),
        ("gallery", "consignment", "consigned"),
        ("gallery", "purchase", "sold"),
    ],
)
def test_a_delivered_piece_is_with_its_client(job: Commission, kind: str, mode: str, place: str) -> None:
    job.client.kind = kind
    job.client.save()
    job.stage, job.gallery_mode = "delivered", mode
    job.save()
    record = records.record_finish(commission=job)
    assert (record.place, record.place_words) == (place, job.client.name)


def test_copies_stay_as_they_were_until_they_are_taken_again(job: Commission) -> None:
    record = records.record_finish(commission=job)
    line = record.taken.get(name="turn outside")
    records.reasons_give(record=record, reasons={line.pk: "a harder wood"})
    job.hours.filter(operation="turn outside").update(minutes=500)
    job.readings.update(percent=Decimal("9.9"))
    record.refresh_from_db()
    assert record.known["moisture"][0]["percent"] == "7.8"
    records.record_update(record=record, moisture_words="dry")
    records.figures_again(record=record)
    record.refresh_from_db()
    line.refresh_from_db()
    assert record.known["moisture"][0]["percent"] == "9.9"
    assert (line.taken, line.reason) == (500, "a harder wood")
    assert record.moisture_words == "dry"
    assert record.changes.filter(what="figures taken again").exists()


# By 25 % and 15 min, 20 ml or 250 cm3 together: a setting of our own, so that these rows say what it is.
@pytest.mark.parametrize(
    ("kind", "estimated", "taken", "large"),
    [
        ("operation", 60, 75, True),
        ("operation", 60, 74, False),
        ("operation", 100, 120, False),
        ("operation", 20, 34, False),
        ("operation", 100, 60, True),
        ("adhesive", 60, 80, True),
        ("adhesive", 20, 39, False),
        ("wood", 1_000_000, 1_250_000, True),
        ("wood", 400_000, 600_000, False),
        ("wood", None, 600_000, False),
        ("operation", 60, None, False),
    ],
)
def test_a_reason_is_asked_where_it_is_far_off(kind: str, estimated: int, taken: int, large: bool) -> None:
    either = [None if amount is None else Decimal(amount) for amount in (estimated, taken)]
    assert is_large(*either, kind=kind) is large


def test_an_edit_is_kept_in_the_history_with_what_was_there_before(studio: Studio) -> None:
    record = records.record_create(
        studio=studio, title="Bowl", year=2020, woods=[WoodSaid("walnut", Decimal("0.7"))]
    )
    coats = [CoatSaid("oil", datetime.date(2020, 5, 1))]
    records.record_update(
        record=record, title="Tide bowl", price=Decimal("480.50"), woods=[WoodSaid("maple")], coats=coats
    )
    change = record.changes.first()
    assert change.before == {
        "title": "Bowl",
        "price": None,
        "woods": [["black walnut", "0.7"]],
        "coats": [["", None]],
    }
    records.record_update(record=record, title="Tide bowl", woods=[WoodSaid("hard maple")], coats=coats)
    assert record.changes.count() == 2


def test_a_wood_that_the_studio_has_no_more_stays_as_it_was_copied(studio: Studio) -> None:
    record = records.record_create(studio=studio, title="Bowl", year=2020, woods=[WoodSaid("walnut")])
    studio.woods.get(key="walnut").delete()
    records.record_update(record=record, woods=[WoodSaid("Black Walnut", Decimal("0.5"))])
    wood = record.woods.get()
    assert (wood.name, wood.botanical, wood.share) == ("black walnut", "Juglans nigra", Decimal("0.5"))


@pytest.mark.parametrize(
    ("woods", "words"),
    [
        ([WoodSaid("walnut", Decimal("0.6")), WoodSaid("maple", Decimal("0.5"))], "more than 100 %"),
        ([WoodSaid("walnut"), WoodSaid("black walnut")], "twice"),
        ([WoodSaid(f"wood {number}") for number in range(41)], "At most 40"),
    ],
)
def test_woods_that_cannot_be_change_nothing(studio: Studio, woods: list[WoodSaid], words: str) -> None:
    record = RecordFactory(studio=studio)
    with pytest.raises(ValidationError, match=words):
        records.record_update(record=record, title="Other", woods=woods)
    record.refresh_from_db()
    assert record.title != "Other"


def test_where_a_piece_is_follows_the_last_day_that_stands(studio: Studio) -> None:
    record = records.record_create(studio=studio, title="Bowl", made_on=datetime.date(2024, 1, 1))
    sold = record_places.place_add(
        record=record, kind="sold", since=datetime.date(2024, 5, 1), words="a friend"
    )
    record_places.place_add(record=record, kind="lent", since=datetime.date(2024, 3, 1), words="a fair")
    assert (record.place, record.place_words) == ("sold", "a friend")
    record_places.place_take_back(place=sold)
    record.refresh_from_db()
    assert (record.place, record.place_words) == ("lent", "a fair")
    assert record.places.count() == 4
    with pytest.raises(ValidationError, match="taken back already"):
        record_places.place_take_back(place=sold)


def test_the_only_place_is_not_taken_back_and_none_is_ever_changed(studio: Studio) -> None:
    record = records.record_create(studio=studio, title="Bowl", made_on=datetime.date(2024, 1, 1))
    place = record.places.get()
    with pytest.raises(ValidationError, match="somewhere"):
        record_places.place_take_back(place=place)
    place.words = "elsewhere"
    for change in (place.save, place.delete, record.places.all().delete):
        with pytest.raises(ValidationError, match="only added to"):
            change()


def test_another_studios_client_has_no_piece_of_this_one(studio: Studio, other_studio: Studio) -> None:
    record = records.record_create(studio=studio, title="Bowl", year=2024)
    stranger = CommissionFactory(studio=other_studio).client
    with pytest.raises(ValidationError) as refusal:
        record_places.place_add(record=record, kind="lent", client=stranger)
    assert "client" in refusal.value.message_dict
    assert record.places.count() == 1


def test_a_commission_thrown_away_leaves_its_record(studio: Studio) -> None:
    job = CommissionFactory(studio=studio, stage="finished")
    record = records.record_finish(commission=job)
    job.delete()
    record.refresh_from_db()
    assert record.commission is None
    assert TakenLine.objects.filter(record=record).exists()
