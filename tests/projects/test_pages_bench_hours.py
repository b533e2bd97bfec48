"""The page of bench hours: the week as it is typed, what the bench has, days off, and who may see it."""

import datetime
from datetime import time
from typing import Any

import pytest
from django.test import Client as Browser

from projects.models import BenchHours, DayOff, Studio
from projects.pages.bench_hours_forms import read_stretches, said_stretches
from tests.factories import DayOffFactory

pytestmark = pytest.mark.django_db

PAGE = "/shop/bench-hours/"
SPLIT = [(time(8), time(12)), (time(13, 30), time(17))]


def _text(answer: Any) -> str:
    return answer.content.decode()


def _week(studio: Studio) -> dict[int, list[tuple[time, time]]]:
    week: dict[int, list[tuple[time, time]]] = {}
    for row in BenchHours.objects.for_studio(studio):
        week.setdefault(row.weekday, []).append((row.opens, row.closes))
    return week


@pytest.mark.parametrize(
    "typed",
    [
        "8-12, 13:30-17",
        "8:00–12:00, 13:30–17:00",
        " 08.00 - 12.00 ; 13h30 - 17h00 ",
        "8 to 12 and 13:30 to 17",
        "8am-12pm, 1:30 pm - 5 p.m.",
    ],
)
def test_hours_are_read_as_people_write_them(typed: str) -> None:
    assert read_stretches(typed) == SPLIT
    assert read_stretches(said_stretches(SPLIT)) == SPLIT
    assert read_stretches("12am-12:30am") == [(time(0), time(0, 30))]
    assert read_stretches(" , ") == []


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("8", "is no stretch"),
        ("mornings", "is no stretch"),
        ("8-25", "25:00 is no time"),
        ("8-12:75", "12:75 is no time"),
        ("8-13pm", "13 pm is no time"),
        ("8-24", "the latest is 23:59"),
    ],
)
def test_what_is_no_time_is_refused_with_what_would_be_right(typed: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        read_stretches(typed)


def test_the_week_is_shown_in_words_and_changed(as_alice: Browser, studio: Studio) -> None:
    page = _text(as_alice.get(PAGE))
    assert "<strong>40 hours a week</strong> at the bench: Monday to Friday 8:00–12:00, 13:00–17:00." in page
    answer = as_alice.post(PAGE, {"day_0": "8-12, 13:30-17", "day_1": "8-12, 13:30-17", "day_5": "9-11"})
    assert answer.url == PAGE
    assert _week(studio) == {0: SPLIT, 1: SPLIT, 5: [(time(9), time(11))]}
    page = _text(as_alice.get(PAGE))
    assert "17 hours a week" in page
    assert "Monday and Tuesday 8:00–12:00, 13:30–17:00; Saturday 9:00–11:00." in page


def test_wrong_hours_change_nothing_and_stay_typed(as_alice: Browser, studio: Studio) -> None:
    before = _week(studio)
    answer = as_alice.post(PAGE, {"day_0": "8-<b>", "day_1": "8-12, 11-13", "day_2": "12-8"})
    assert answer.status_code == 400
    page = _text(answer)
    assert 'value="8-&lt;b&gt;"' in page
    assert "<b>" not in page.replace("<b></b>", "")
    assert "is no stretch of hours" in page
    answer = as_alice.post(PAGE, {"day_1": "8-12, 11-13", "day_2": "12-8"})
    page = _text(answer)
    assert "This overlaps with another stretch of the day." in page
    assert "The bench must close after it opens." in page
    assert 'value="8-12, 11-13"' in page
    answer = as_alice.post(PAGE, {})
    assert answer.status_code == 400
    assert "Open the bench on one day at the least." in _text(answer)
    assert _week(studio) == before


def test_what_the_bench_has_is_changed_and_limits_are_kept(as_alice: Browser, studio: Studio) -> None:
    values = {
        "people": "2",
        "mandrels": "3",
        "jigs": "1",
        "presses": "1",
        "session_min": "90",
        "time_zone": "Europe/Berlin",
        "holiday_country": "DE",
        "holiday_region": "BY",
    }
    assert as_alice.post(f"{PAGE}bench/", values).url == PAGE
    studio.bench.refresh_from_db()
    assert (studio.bench.people, studio.bench.mandrels, studio.bench.time_zone) == (2, 3, "Europe/Berlin")
    wrong = {**values, "people": "0", "time_zone": "Europe/<i>", "holiday_region": "ENG"}
    answer = as_alice.post(f"{PAGE}bench/", wrong)
    assert answer.status_code == 400
    page = _text(answer)
    assert "Must be at least 1." in page
    assert "Europe/&lt;i&gt;" in page
    studio.bench.refresh_from_db()
    assert (studio.bench.people, studio.bench.holiday_region) == (2, "BY")
    answer = as_alice.post(f"{PAGE}bench/", {**values, "holiday_region": "ENG"})
    assert "No region of this country. Choose one of BB, BE" in _text(answer)


def test_days_off_are_written_down_and_taken_out(as_alice: Browser, studio: Studio) -> None:
    answer = as_alice.post(
        f"{PAGE}days-off/", {"first": "2093-08-03", "last": "2093-08-14", "reason": "<em>Sea</em>"}
    )
    assert answer.url == PAGE
    as_alice.post(f"{PAGE}days-off/", {"first": "2093-09-01"})
    one, two = DayOff.objects.for_studio(studio)
    assert (two.first, two.last) == (datetime.date(2093, 9, 1), datetime.date(2093, 9, 1))
    page = _text(as_alice.get(PAGE))
    assert "Next off: 3 August 2093 to 14 August 2093, &lt;em&gt;Sea&lt;/em&gt;." in page
    as_alice.post(f"{PAGE}days-off/{one.pk}/take-out/")
    assert list(DayOff.objects.for_studio(studio)) == [two]
    answer = as_alice.post(f"{PAGE}days-off/", {"first": "2093-10-03", "last": "2093-10-01", "reason": "x"})
    assert answer.status_code == 400
    assert "The last day must not lie before the first." in _text(answer)
    assert 'value="2093-10-03"' in _text(answer)
    assert DayOff.objects.for_studio(studio).count() == 1


def test_past_days_off_are_folded_away(as_alice: Browser, studio: Studio) -> None:
    DayOffFactory(studio=studio, first="2020-01-02", last="2020-01-03", reason="Winter")
    page = _text(as_alice.get(PAGE))
    assert "1 past" in page
    assert "Next off" not in page


def test_an_outsider_neither_sees_nor_takes_out_days_off(
    as_charlie: Browser, client: Browser, studio: Studio
) -> None:
    row = DayOffFactory(studio=studio, reason="Secret wedding")
    assert as_charlie.post(f"{PAGE}days-off/{row.pk}/take-out/").status_code == 404
    assert "Secret wedding" not in _text(as_charlie.get(PAGE))
    assert DayOff.objects.filter(pk=row.pk).exists()
    assert "/account/" in client.get(PAGE).url
    as_charlie.post(PAGE, {"day_6": "8-9"})
    assert 6 not in _week(studio)
