"""What the calendar's pages say of dates and plans, word by word."""

import datetime
from datetime import UTC, date, timedelta

import pytest

from projects.models import CalendarPlan
from projects.pages.calendar_days import said_count, said_day, said_span, short_day
from projects.pages.calendar_rows import mark_of, plan_words, verdict


def at(day: int, hour: int) -> datetime.datetime:
    """A moment of March 2027."""
    return datetime.datetime(2027, 3, day, hour, tzinfo=UTC)


@pytest.mark.parametrize(
    ("finish", "likely", "promised", "words", "tone"),
    [
        (12, 16, None, "no date promised yet", ""),
        (12, 16, 10, "late by 2 days at the earliest", "late"),
        (12, 16, 11, "late by 1 day at the earliest", "late"),
        (12, 16, 12, "in time if all goes well; 4 days late at the 80 % date", "close"),
        (12, 16, 16, "in time, with no day in hand", "good"),
        (12, 16, 20, "in time, 4 days in hand", "good"),
    ],
)
def test_dates_are_held_against_the_promise_in_words(
    finish: int, likely: int, promised: int | None, words: str, tone: str
) -> None:
    due = None if promised is None else date(2027, 3, promised)
    found = verdict(finish=date(2027, 3, finish), likely=date(2027, 3, likely), promised=due)
    assert found == (words, tone)


def test_a_plan_is_never_said_to_be_better_than_it_is_known_to_be() -> None:
    plan = CalendarPlan(finish=at(12, 16), bound=at(12, 16), proven=True)
    assert "that is proven" in plan_words(plan)
    plan = CalendarPlan(finish=at(12, 16), bound=at(12, 7), proven=False)
    assert "by 9 hours at the most" in plan_words(plan)
    plan = CalendarPlan(finish=at(12, 16), bound=at(9, 16), proven=False)
    assert "by 3 days at the most" in plan_words(plan)
    assert "not known" in plan_words(CalendarPlan(finish=at(12, 16)))
    assert plan_words(CalendarPlan()) == ""
    assert [mark_of(number) for number in (0, 1, 25, 26, 27)] == ["A", "B", "Z", "A2", "B2"]


def test_days_and_spans_read_as_one_would_say_them() -> None:
    friday = date(2027, 4, 9)
    assert said_day(friday) == "Friday 9 April 2027"
    assert said_day(friday, near=date(2027, 1, 1)) == "Friday 9 April"
    assert said_day(friday, near=date(2026, 12, 31)) == "Friday 9 April 2027"
    assert short_day(friday) == "Fri 9 Apr"
    assert [said_count(count, "day") for count in (0, 1, 2)] == ["0 days", "1 day", "2 days"]
    spans = [
        timedelta(minutes=1),
        timedelta(minutes=89),
        timedelta(minutes=150),
        timedelta(hours=47),
        timedelta(days=2),
    ]
    assert [said_span(span) for span in spans] == ["1 minute", "89 minutes", "3 hours", "47 hours", "2 days"]
