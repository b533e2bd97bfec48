"""The pages of the hours log: the week's sheet, the clock, typed time, mending with its history, the file."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from projects.models import Commission, HoursChange, HoursEntry, Studio
from projects.services import hours
from tests.factories import BenchStepFactory, CommissionFactory, HoursEntryFactory, RateFactory

pytestmark = pytest.mark.django_db

DAY = "2026-02-10"
MARKUP = "<script>alert('x')</script>"


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A bowl that is sanded."""
    RateFactory(studio=studio, operation="sand")
    RateFactory(studio=studio, operation="crosscut segments")
    return CommissionFactory(studio=studio, title="Bowl", stage="making")


def _text(answer: Any) -> str:
    return answer.content.decode()


def _typed(job: Commission, **more: str) -> dict[str, str]:
    return {
        "commission": str(job.pk),
        "operation": "sand",
        "worked_on": DAY,
        "begins": "9:00",
        "ends": "10:30",
        **more,
    }


def _entry(job: Commission, member: Any, **more: Any) -> HoursEntry:
    begins = datetime.datetime(2026, 2, 10, 9, 0, 27, tzinfo=datetime.UTC)
    times = {"started_at": begins, "ended_at": begins + datetime.timedelta(minutes=90)}
    return hours.hours_log(commission=job, member=member, operation="sand", **times, **more)


# ---- the sheet and typed time


def test_time_that_is_typed_stands_on_the_weeks_sheet(as_alice: Browser, job: Commission) -> None:
    page = _text(as_alice.post("/hours/new/", _typed(job, quantity="12"), follow=True))
    entry = HoursEntry.objects.get()
    assert (entry.minutes, entry.quantity, entry.member.user.username) == (90, 12, "alice")
    assert "<strong>1:30 h</strong> in the week of 9 February to 15 February 2026" in page
    assert 'data-head="Tue">1:30' in page
    assert "9:00–10:30" in page


def test_the_sheet_adds_up_by_operation_and_by_commission(
    as_alice: Browser, job: Commission, alice: Any
) -> None:
    other = CommissionFactory(studio=job.studio, title="Vase")
    for commission, operation, day, minutes in (
        (job, "sand", 9, 30),
        (job, "sand", 15, 45),
        (other, "sand", 15, 15),
        (other, "crosscut segments", 11, 100),
        (job, "sand", 16, 5),
    ):
        day_of = datetime.date(2026, 2, day)
        hours.hours_log(
            commission=commission, member=alice.member, operation=operation, minutes=minutes, worked_on=day_of
        )
    sheet = as_alice.get(f"/hours/?week={DAY}").context["sheet"]
    assert [(row.name, row.total) for row in sheet.rows] == [("crosscut segments", "1:40"), ("sand", "1:30")]
    assert [cell for _, cell in sheet.sums.cells] == ["0:30", "", "1:40", "", "", "", "1:00"]
    assert sheet.sums.total == "3:10"
    sheet = as_alice.get(f"/hours/?week={DAY}&rows=commission").context["sheet"]
    assert [(row.name, row.total) for row in sheet.rows] == [("Bowl", "1:15"), ("Vase", "1:55")]


def test_one_sees_ones_own_week_and_may_ask_for_anothers(
    as_alice: Browser, as_charlie: Browser, job: Commission, alice: Any, bob: Any
) -> None:
    _entry(job, bob.member)
    assert "Nothing logged" in _text(as_alice.get(f"/hours/?week={DAY}"))
    for who in (bob.member.pk, "all"):
        assert "1:30 h" in _text(as_alice.get(f"/hours/?week={DAY}&who={who}"))
    assert "1:30 h" not in _text(as_charlie.get(f"/hours/?week={DAY}&who={bob.member.pk}"))


@pytest.mark.parametrize(
    "asked", ["week=soon", "week=9999-12-31", "week=0001-01-01", "who=x", "rows=x&who=999999"]
)
def test_an_address_that_asks_for_nonsense_shows_a_week(as_alice: Browser, asked: str) -> None:
    assert as_alice.get(f"/hours/?{asked}").status_code == 200


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"ends": "8:00"}, "This is before it began."),
        ({"begins": "soon"}, "Write a time of the day such as 9:15."),
        ({"ends": ""}, "Give both, or the time it took."),
        ({"begins": "", "ends": ""}, "Give the time it took, or when it began and ended."),
        ({"minutes": "0:20"}, "From begin to end is 1 h 30 min."),
        ({"begins": "", "ends": "", "minutes": "17 h"}, "At most 16 hours at one go."),
        ({"worked_on": "2190-01-01"}, "lies in the future"),
        ({"operation": "whittling"}, "Select a valid choice"),
        ({"commission": "999999"}, "Select a valid choice"),
        ({"quantity": "many"}, "Enter a number"),
    ],
)
def test_what_cannot_be_logged_is_refused_and_what_was_typed_stays(
    as_alice: Browser, job: Commission, typed: dict[str, str], told: str
) -> None:
    answer = as_alice.post("/hours/new/", _typed(job, note="keep me", **typed))
    assert answer.status_code == 400
    assert told in _text(answer)
    assert "keep me" in _text(answer)
    assert not HoursEntry.objects.exists()


def test_an_overlap_is_refused_at_its_time_and_names_the_other(
    as_alice: Browser, job: Commission, alice: Any
) -> None:
    _entry(job, alice.member)
    answer = as_alice.post("/hours/new/", _typed(job, begins="10:00", ends="11:00"))
    assert answer.status_code == 400
    told = "This overlaps with “sand” for Bowl, 10 February 2026, 9:00 to 10:30."
    assert answer.context["entry_form"].errors == {"begins": [told]}
    assert HoursEntry.objects.count() == 1


def test_another_studios_commission_is_not_to_be_had(as_charlie: Browser, job: Commission) -> None:
    RateFactory(studio=as_charlie.get("/hours/").wsgi_request.user.member.studio, operation="sand")
    for address in ("/hours/new/", "/hours/start/"):
        assert as_charlie.post(address, _typed(job)).status_code == 400
    assert not HoursEntry.objects.exists()


def test_titles_and_notes_with_markup_are_shown_as_text(
    as_alice: Browser, job: Commission, alice: Any
) -> None:
    job.title = MARKUP
    job.save()
    entry = _entry(job, alice.member, note=MARKUP)
    hours.hours_update(entry=entry, by=alice.member, note=f"{MARKUP} again")
    for address in (f"/hours/?week={DAY}&rows=commission", f"/hours/{entry.pk}/"):
        page = _text(as_alice.get(address))
        assert "&lt;script&gt;alert" in page
        assert "<script>alert" not in page
    hours.hours_delete(entry=entry, by=alice.member)
    assert "<script>alert" not in _text(as_alice.get(f"/hours/?week={DAY}"))


def test_a_week_of_many_entries_asks_the_database_no_more_than_one_of_few(
    as_alice: Browser, job: Commission, alice: Any
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert as_alice.get(f"/hours/?week={DAY}&who=all").status_code == 200
        return len(asked)

    day = datetime.date.fromisoformat(DAY)
    HoursEntryFactory(commission=job, member=alice.member, worked_on=day)
    few = queries()
    for _ in range(8):
        HoursEntryFactory(commission=job, member=alice.member, worked_on=day)
    assert queries() == few


# ---- the clock


def test_the_clock_is_started_and_stopped_and_asks_how_many(as_alice: Browser, job: Commission) -> None:
    started = as_alice.post("/hours/start/", {"commission": job.pk, "operation": "sand"}, follow=True)
    assert "running since" in _text(started)
    entry = HoursEntry.objects.get()
    again = as_alice.post("/hours/start/", {"commission": job.pk, "operation": "sand"})
    assert again.status_code == 400
    assert "already running" in _text(again)
    stopped = _text(as_alice.post(f"/hours/{entry.pk}/stop/", follow=True))
    assert "Stopped: 0:00 of sand." in stopped
    assert "Say how many" in stopped
    assert not HoursEntry.objects.get().is_running


def test_a_clock_that_ran_for_too_long_is_mended_on_its_page(
    as_alice: Browser, job: Commission, alice: Any
) -> None:
    began = timezone.now().replace(second=0, microsecond=0) - datetime.timedelta(days=2)
    entry = hours.hours_start(commission=job, member=alice.member, operation="sand", started_at=began)
    page = _text(as_alice.post(f"/hours/{entry.pk}/stop/", follow=True))
    assert "At most 16 hours at one go" in page
    assert "Say here when it ended." in page
    typed = _typed(
        job, worked_on=began.date().isoformat(), begins=f"{began:%H:%M}", ends=f"{began.hour + 1}:{began:%M}"
    )
    as_alice.post(f"/hours/{entry.pk}/", typed)
    entry.refresh_from_db()
    assert entry.minutes == 60


def test_a_step_that_runs_at_the_bench_is_the_clock(as_alice: Browser, job: Commission, alice: Any) -> None:
    began = timezone.now() - datetime.timedelta(minutes=5)
    BenchStepFactory(
        commission=job, name="Rip <b>", state="running", started_at=began, started_by=alice.member
    )
    page = _text(as_alice.get("/hours/"))
    assert "Rip &lt;b&gt;" in page
    assert "running at the bench since" in page
    assert 'action="/hours/start/"' not in page
    answer = as_alice.post("/hours/start/", {"commission": job.pk, "operation": "sand"})
    assert answer.status_code == 400
    assert "This overlaps with “Rip &lt;b&gt;” for Bowl" in _text(answer)


def test_an_outsider_can_stop_no_clock(as_charlie: Browser, job: Commission, alice: Any) -> None:
    entry = hours.hours_start(commission=job, member=alice.member, operation="sand")
    assert as_charlie.post(f"/hours/{entry.pk}/stop/").status_code == 404
    assert HoursEntry.objects.get().is_running


# ---- mending and taking out


def test_an_entry_is_mended_and_the_page_says_what_it_was(
    as_alice: Browser, job: Commission, bob: Any
) -> None:
    entry = _entry(job, bob.member)
    as_alice.post(f"/hours/{entry.pk}/", _typed(job, ends="11:00", quantity="24"))
    entry.refresh_from_db()
    assert (entry.minutes, entry.quantity) == (120, 24)
    page = _text(as_alice.get(f"/hours/{entry.pk}/"))
    assert "minutes: 90 → 120" in page
    assert "how many: nothing → 24" in page
    assert HoursChange.objects.get().by.user.username == "alice"


def test_saving_an_entry_as_it_is_changes_nothing_not_even_the_clocks_seconds(
    as_alice: Browser, job: Commission, alice: Any
) -> None:
    entry = _entry(job, alice.member, quantity=Decimal("1.5"), note="dusty")
    form = as_alice.get(f"/hours/{entry.pk}/").context["form"]
    as_it_is = {name: form[name].value() if form[name].value() is not None else "" for name in form.fields}
    as_it_is["worked_on"] = str(as_it_is["worked_on"])
    assert as_alice.post(f"/hours/{entry.pk}/", as_it_is).status_code == 302
    before = entry.started_at
    entry.refresh_from_db()
    assert (entry.started_at, entry.minutes) == (before, 90)
    assert not HoursChange.objects.exists()


def test_an_entry_that_cannot_be_so_stays_as_it_was(as_alice: Browser, job: Commission, alice: Any) -> None:
    entry = _entry(job, alice.member)
    answer = as_alice.post(f"/hours/{entry.pk}/", _typed(job, ends="8:00", note="keep me"))
    assert answer.status_code == 400
    assert "keep me" in _text(answer)
    entry.refresh_from_db()
    assert (entry.minutes, entry.note) == (90, "")
    assert not HoursChange.objects.exists()


def test_an_entry_taken_out_is_gone_and_kept_in_its_history(
    as_alice: Browser, job: Commission, alice: Any
) -> None:
    entry = _entry(job, alice.member, note="dusty")
    page = _text(as_alice.post(f"/hours/{entry.pk}/take-out/", follow=True))
    assert "1 taken out of this week" in page
    assert not HoursEntry.objects.exists()
    kept = as_alice.get(f"/hours/{entry.pk}/")
    assert kept.status_code == 200
    assert "note: dusty" in _text(kept)


def test_an_outsider_sees_neither_an_entry_nor_its_history(
    as_charlie: Browser, job: Commission, alice: Any
) -> None:
    entry = _entry(job, alice.member)
    for _ in range(2):
        assert as_charlie.get(f"/hours/{entry.pk}/").status_code == 404
        assert as_charlie.post(f"/hours/{entry.pk}/", _typed(job)).status_code == 404
        assert as_charlie.post(f"/hours/{entry.pk}/take-out/").status_code == 404
        HoursEntry.objects.filter(pk=entry.pk).exists() and hours.hours_delete(entry=entry, by=alice.member)


# ---- the file


def test_the_log_goes_out_as_csv_and_comes_in_after_a_look(
    as_alice: Browser, job: Commission, alice: Any
) -> None:
    _entry(job, alice.member, note="=1+1")
    answer = as_alice.get("/hours/entries.csv")
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    assert "attachment" in answer["Content-Disposition"]
    assert answer.content.startswith("\ufeffday,from,to,minutes".encode())
    assert b",=1+1" not in answer.content
    again = as_alice.post("/hours/import/", {"file": SimpleUploadedFile("hours.csv", answer.content)})
    assert again.status_code == 400
    assert "This overlaps with “sand” for Bowl" in _text(again)
    HoursEntry.objects.all().delete()
    looked = as_alice.post("/hours/import/", {"file": SimpleUploadedFile("hours.csv", answer.content)})
    assert "1 entry would be logged, <strong>1:30 h</strong> together." in _text(looked)
    assert not HoursEntry.objects.exists()
    saved = as_alice.post("/hours/import/", {"text": looked.context["text"], "save": "yes"}, follow=True)
    assert "Logged: 1 entries." in _text(saved)
    assert HoursEntry.objects.get().note == "=1+1"


def test_nothing_comes_in_while_a_row_is_wrong_and_the_text_stays(as_alice: Browser, job: Commission) -> None:
    text = f"day,minutes,commission,operation\n{DAY},30,Bowl,sand\n{DAY},30,{MARKUP},sand\n"
    for sent in ({"text": text}, {"text": text, "save": "yes"}):
        answer = as_alice.post("/hours/import/", sent)
        assert answer.status_code == 400
        page = _text(answer)
        assert 'data-head="line">3' in page
        assert 'data-head="column">commission' in page
        assert "&lt;script&gt;alert" in page
        assert "<script>alert" not in page
        assert not HoursEntry.objects.exists()


@pytest.mark.parametrize("content", [b"x" * 3_000_000, "day;größe".encode("latin-1"), b"day\0,minutes"])
def test_a_file_that_is_no_text_or_too_long_is_refused_in_words(as_alice: Browser, content: bytes) -> None:
    answer = as_alice.post("/hours/import/", {"file": SimpleUploadedFile("hours.csv", content)})
    assert answer.status_code == 400
    assert "Nothing was saved" in _text(answer)


def test_an_outsiders_file_has_nothing_of_the_studio(
    as_charlie: Browser, job: Commission, alice: Any
) -> None:
    _entry(job, alice.member)
    assert b"Bowl" not in as_charlie.get("/hours/entries.csv").content
    text = f"day,minutes,commission,operation\n{DAY},30,Bowl,sand\n"
    assert as_charlie.post("/hours/import/", {"text": text, "save": "yes"}).status_code == 400
    assert HoursEntry.objects.count() == 1


def test_looking_at_many_rows_asks_the_database_no_more_than_for_one(
    as_alice: Browser, job: Commission
) -> None:
    def queries(rows: int) -> int:
        text = "day,minutes,commission,operation\n" + f"{DAY},1,Bowl,sand\n" * rows
        with CaptureQueriesContext(connection) as asked:
            assert as_alice.post("/hours/import/", {"text": text}).status_code == 200
        return len(asked)

    assert queries(50) == queries(1)


def test_the_page_is_reached_from_the_jobs_a_commission_and_the_bench(
    as_alice: Browser, job: Commission
) -> None:
    for address in ("/", f"/jobs/{job.pk}/", "/bench/"):
        assert 'href="/hours/"' in _text(as_alice.get(address)), address
