"""The page of a piece: its words, its photos, where it went; wrong input changes nothing, an outsider gets 404."""

import io
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from PIL import Image

from projects.models import PieceRecord, RecordPhoto, SerialScheme, Studio
from projects.services import records
from tests.factories import CommissionFactory, HoursEntryFactory, MemberFactory
from tests.factories_records import RecordDrawingFactory, RecordFactory, TakenLineFactory

pytestmark = pytest.mark.django_db
EVIL = "<script>alert(1)</script>"


@pytest.fixture(autouse=True)
def _media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def record(studio: Studio) -> PieceRecord:
    """A bowl, as it is written down by hand."""
    return records.record_create(studio=studio, title="Harbour bowl", year=2020, serial="KH-1")


def photo(name: str = "IMG_1.jpg", content: bytes = b"") -> SimpleUploadedFile:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "red").save(out, "JPEG")
    return SimpleUploadedFile(name, content or out.getvalue())


def typed(**more: str) -> dict[str, str]:
    return {"title": "Tide bowl", "serial": "KH-1", "year": "2020", "currency": "USD", **more}


def test_a_finished_commission_is_written_into_the_log_by_one_press(
    as_alice: Browser, studio: Studio
) -> None:
    job = CommissionFactory(studio=studio, stage="finished", title="Reed pot")
    member = MemberFactory(studio=studio)
    HoursEntryFactory(commission=job, member=member, operation="turn outside", minutes=900)
    assert "Write it into the log" in as_alice.get(f"/jobs/{job.pk}/").content.decode()
    page = as_alice.post(f"/jobs/{job.pk}/record/", follow=True)
    assert page.status_code == 200
    text = page.content.decode()
    for words in (
        "Reed pot",
        "hard maple",
        "turn outside",
        "15 h",
        "Why turn outside took more or less",
        "as designed",
    ):
        assert words in text
    assert (
        "Write"
        not in as_alice.get(f"/jobs/{job.pk}/")
        .content.decode()
        .split('id="record"')[1]
        .split("</section>")[0]
    )


def test_the_drawing_stands_for_a_piece_until_it_has_a_photo(
    as_alice: Browser, as_charlie: Browser, record: PieceRecord
) -> None:
    address = f"/log/{record.pk}/drawing.svg"
    assert as_alice.get(address).status_code == 404
    assert address not in as_alice.get("/log/").content.decode()
    drawing = RecordDrawingFactory(record=record)
    shown = as_alice.get(address)
    assert (shown.content.decode(), shown["Content-Type"]) == (drawing.svg, "image/svg+xml")
    assert "sandbox" in shown["Content-Security-Policy"]
    assert as_charlie.get(address).status_code == 404
    for page in ("/log/", f"/log/{record.pk}/"):
        assert address in as_alice.get(page).content.decode(), page
    as_alice.post(f"/log/{record.pk}/photos/", {"photos": [photo()]})
    for page in ("/log/", f"/log/{record.pk}/"):
        assert address not in as_alice.get(page).content.decode(), page


def test_a_commission_that_is_not_finished_is_not(
    as_alice: Browser, as_charlie: Browser, studio: Studio
) -> None:
    job = CommissionFactory(studio=studio, stage="making")
    page = as_alice.post(f"/jobs/{job.pk}/record/", follow=True).content.decode()
    assert "move the commission to finished first" in page
    assert as_charlie.post(f"/jobs/{job.pk}/record/").status_code == 404
    assert not PieceRecord.objects.exists()


def test_a_piece_is_added_and_changed_by_hand(as_alice: Browser, studio: Studio) -> None:
    sent = typed(
        serial="", height="90", woods="walnut 60 %\nhard maple", coats="oil 2020-04-01", price="$1,200.00"
    )
    page = as_alice.post("/log/new/", sent, follow=True).content.decode()
    record = PieceRecord.objects.get()
    assert f"In the log as {record.serial}." in page
    assert record.serial == "2020-001"
    change = as_alice.get(f"/log/{record.pk}/change/").content.decode()
    assert "black walnut 60 %\nhard maple" in change
    assert "oil 2020-04-01" in change
    as_alice.post(f"/log/{record.pk}/change/", typed(lessons="Sand first.", mass_g="2 lb", woods="walnut"))
    record.refresh_from_db()
    assert (record.title, record.serial, record.lessons) == ("Tide bowl", "KH-1", "Sand first.")
    # The avoirdupois pound is 453.59237 g exactly (NIST Special Publication 811, appendix B).
    assert float(record.mass_g) == pytest.approx(2 * 453.59237, abs=0.05)
    page = as_alice.get(f"/log/{record.pk}/").content.decode()
    assert "Sand first." in page
    assert "serial number was: 2020-001" in page


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"title": ""}, "title"),
        ({"height": "tall"}, "height"),
        ({"mass_g": "heavy"}, "mass_g"),
        ({"woods": "walnut 160 %"}, "woods"),
        ({"woods": "walnut 60 %\nmaple 60 %"}, "woods"),
        ({"coats": "oil 2020-13-01"}, "coats"),
        ({"made_on": "2999-01-01"}, "made_on"),
        ({"serial": "KH-2"}, ""),
        ({"currency": "XXQ"}, "currency"),
    ],
)
def test_what_is_wrong_changes_nothing_and_stays_typed(
    as_alice: Browser, studio: Studio, record: PieceRecord, wrong: dict[str, str], field: str
) -> None:
    RecordFactory(studio=studio, serial="KH-2")
    for page in (f"/log/{record.pk}/change/", "/log/new/"):
        answer = as_alice.post(
            page, typed(lessons="Kept.", **({"serial": "Z"} | wrong if "new" in page else wrong))
        )
        assert answer.status_code == 400
        errors = answer.context["form"].errors
        assert errors
        assert not field or field in errors, errors
        assert "Kept." in answer.content.decode()
    record.refresh_from_db()
    assert record.title == "Harbour bowl"
    assert PieceRecord.objects.count() == 2


def test_an_outsider_gets_404_everywhere(as_charlie: Browser, as_alice: Browser, record: PieceRecord) -> None:
    as_alice.post(f"/log/{record.pk}/photos/", {"photos": photo()})
    one, place = RecordPhoto.objects.get(), record.places.get()
    root = f"/log/{record.pk}/"
    for page in (root, f"{root}change/", f"{root}photos/", f"/log/photos/{one.pk}/shown.jpg"):
        assert as_charlie.get(page).status_code == 404, page
    for page in (f"/log/photos/{one.pk}/small.jpg", f"/log/photos/{one.pk}/original/"):
        assert as_charlie.get(page).status_code == 404, page
        assert Browser().get(page).status_code == 302, page
    acts = [f"/log/photos/{one.pk}/do/{act}/" for act in ("choose", "take-out", "words", "throw-away")]
    for page in (
        *acts,
        f"{root}figures/",
        f"{root}reasons/",
        f"{root}places/",
        f"{root}photos/",
        f"{root}change/",
    ):
        assert as_charlie.post(page).status_code == 404, page
    assert as_charlie.post(f"/log/places/{place.pk}/take-back/").status_code == 404
    one.refresh_from_db()
    assert one.taken_out_at is None


def test_markup_is_shown_as_the_text_it_is(as_alice: Browser, record: PieceRecord) -> None:
    long = ("failures", "repairs", "lessons", "care", "moisture_words", "adhesive_words", "boards_words")
    as_alice.post(
        f"/log/{record.pk}/change/", typed(form=EVIL, woods=EVIL, coats=EVIL, **dict.fromkeys(long, EVIL))
    )
    as_alice.post(
        f"/log/{record.pk}/places/", {"kind": "sold", "since": "2021-01-01", "words": EVIL, "note": EVIL}
    )
    as_alice.post(f"/log/{record.pk}/photos/", {"photos": photo(f"{EVIL}.jpg")})
    as_alice.post(f"/log/photos/{RecordPhoto.objects.get().pk}/do/words/", {"caption": EVIL})
    as_alice.post(f"/log/{record.pk}/change/", typed(form="x", **dict.fromkeys(long, EVIL)))
    for page in (f"/log/{record.pk}/", f"/log/{record.pk}/change/", f"/log/{record.pk}/photos/"):
        text = as_alice.get(page).content.decode()
        assert EVIL not in text
        assert "&lt;script&gt;" in text


def test_several_photos_are_taken_in_at_once_and_the_wrong_one_is_named(
    as_alice: Browser, record: PieceRecord
) -> None:
    good = [photo("a.jpg"), photo("b.jpg")]
    answer = as_alice.post(f"/log/{record.pk}/photos/", {"photos": [*good, photo("notes.txt", b"no photo")]})
    assert answer.status_code == 400
    assert "notes.txt is no photo that can be read here" in answer.content.decode()
    assert list(record.photos.values_list("original_name", "chosen")) == [("a.jpg", True), ("b.jpg", False)]
    page = as_alice.get(f"/log/{record.pk}/").content.decode()
    assert page.count("<img") == 2
    answer = as_alice.get(f"/log/photos/{record.photos.first().pk}/small.jpg")
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Cache-Control"].startswith("private")


@pytest.mark.parametrize("sent", [{}, {"photos": ""}, {"photos": [b""] * 21}])
def test_no_photo_and_too_many_are_refused_in_words(
    as_alice: Browser, record: PieceRecord, sent: Any
) -> None:
    if sent.get("photos"):
        sent = {"photos": [photo(f"{number}.jpg") for number in range(21)]}
    answer = as_alice.post(f"/log/{record.pk}/photos/", sent)
    assert answer.status_code == 400
    assert "Not kept" in answer.content.decode()
    assert not RecordPhoto.objects.exists()


def test_a_photo_is_taken_out_put_back_and_put_in_order(as_alice: Browser, record: PieceRecord) -> None:
    as_alice.post(f"/log/{record.pk}/photos/", {"photos": [photo("a.jpg"), photo("b.jpg")]})
    a, b = record.photos.all()
    as_alice.post(f"/log/photos/{b.pk}/do/forward/")
    assert list(record.photos.values_list("pk", flat=True)) == [b.pk, a.pk]
    as_alice.post(f"/log/photos/{b.pk}/do/choose/")
    as_alice.post(f"/log/photos/{b.pk}/do/take-out/")
    page = as_alice.get(f"/log/{record.pk}/photos/").content.decode()
    assert "put back" in page
    assert record.photos.get(chosen=True) == a
    assert as_alice.get(f"/log/{record.pk}/").content.decode().count("<img") == 1
    as_alice.post(f"/log/photos/{b.pk}/do/put-back/")
    assert record.photos.filter(taken_out_at=None).count() == 2
    page = as_alice.post(f"/log/photos/{b.pk}/do/throw-away/", follow=True).content.decode()
    assert "Take the photo out first." in page
    assert as_alice.post(f"/log/photos/{b.pk}/do/explode/").status_code == 404
    assert as_alice.get(f"/log/photos/{b.pk}/original.jpg").status_code == 404


def test_a_photo_whose_file_is_gone_is_404(as_alice: Browser, record: PieceRecord) -> None:
    as_alice.post(f"/log/{record.pk}/photos/", {"photos": photo()})
    one = RecordPhoto.objects.get()
    Path(one.small.path).unlink()
    assert as_alice.get(f"/log/photos/{one.pk}/small.jpg").status_code == 404


@pytest.mark.parametrize("words", ["is gone from the disk", "is damaged on the disk"])
@pytest.mark.parametrize("size", ["shown", "small"])
def test_a_photo_gone_or_damaged_is_said_where_it_is_shown_and_the_pages_go_on(
    as_alice: Browser, record: PieceRecord, size: str, words: str
) -> None:
    as_alice.post(f"/log/{record.pk}/photos/", {"photos": photo("a<b.jpg")})
    one = RecordPhoto.objects.get()
    pages = (f"/log/{record.pk}/", f"/log/{record.pk}/photos/")
    for page in pages:
        assert "on the disk" not in as_alice.get(page).content.decode()
    file = Path(getattr(one, size).path)
    if "gone" in words:
        file.unlink()
    else:
        file.write_bytes(file.read_bytes()[:-9])
    for page in pages:
        assert f"Photo 1 (a_b.jpg) {words}. Put it back" in as_alice.get(page).content.decode()
    for page in ("/log/", "/log/table/", f"/log/{record.pk}/certificate.pdf"):
        assert as_alice.get(page).status_code == 200
    as_alice.post(f"/log/photos/{one.pk}/do/take-out/")
    for page in pages:
        assert f" {words}" not in as_alice.get(page).content.decode()


def test_where_it_went_is_written_down_and_taken_back(as_alice: Browser, record: PieceRecord) -> None:
    as_alice.post(f"/log/{record.pk}/places/", {"kind": "sold", "since": "2021-01-01", "words": "a friend"})
    record.refresh_from_db()
    assert (record.place, record.place_words) == ("sold", "a friend")
    wrong = as_alice.post(
        f"/log/{record.pk}/places/", {"kind": "lent", "since": "2021-02-01", "note": "till May"}
    )
    assert wrong.status_code == 400
    assert "Say who has it." in wrong.content.decode()
    assert "till May" in wrong.content.decode()
    as_alice.post(f"/log/places/{record.places.get(kind='sold').pk}/take-back/")
    record.refresh_from_db()
    assert record.place == "studio"


def test_reasons_are_given_where_they_are_asked(as_alice: Browser, record: PieceRecord) -> None:
    line, other = TakenLineFactory(record=record), TakenLineFactory()
    sent = {
        f"reason-{line.pk}": "a harder wood",
        f"reason-{other.pk}": "x",
        "reason-1e9": "y",
        "reason-": "z",
    }
    as_alice.post(f"/log/{record.pk}/reasons/", sent)
    line.refresh_from_db()
    other.refresh_from_db()
    assert (line.reason, other.reason) == ("a harder wood", "")
    page = as_alice.post(f"/log/{record.pk}/reasons/", {f"reason-{line.pk}": "x" * 301}, follow=True)
    assert "Nothing was saved." in page.content.decode()
    page = as_alice.post(f"/log/{record.pk}/figures/", follow=True).content.decode()
    assert "of no commission" in page


def test_a_pieces_page_asks_the_database_no_more_for_six_photos_than_for_one(
    as_alice: Browser, record: PieceRecord
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            as_alice.get(f"/log/{record.pk}/")
        return len(asked)

    as_alice.post(f"/log/{record.pk}/photos/", {"photos": photo()})
    for_one = queries()
    as_alice.post(f"/log/{record.pk}/photos/", {"photos": [photo() for _ in range(5)]})
    assert queries() == for_one


def test_the_scheme_of_serial_numbers_is_the_owners(as_alice: Browser, as_bob: Browser, bob: User) -> None:
    as_alice.post("/studio/serial-numbers/", {"pattern": "KH-{yy}{number:03}"})
    assert SerialScheme.objects.get().pattern == "KH-{yy}{number:03}"
    wrong = as_alice.post("/studio/serial-numbers/", {"pattern": f"{EVIL}{{number}}"})
    assert wrong.status_code == 400
    assert EVIL not in wrong.content.decode()
    page = as_bob.post("/studio/serial-numbers/", {"pattern": "{number}"}, follow=True).content.decode()
    assert "Only the studio's owner" in page.replace("&#x27;", "'")
    assert SerialScheme.objects.get().pattern == "KH-{yy}{number:03}"
    as_alice.post("/log/new/", typed(serial="", year="2026"))
    assert PieceRecord.objects.get().serial == "KH-26001"
