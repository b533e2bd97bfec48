"""The day to promise: by the calendar on the wall, against counting day by day, and what must always hold."""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.calendar.promise import promise_day
from estimating.errors import InvalidInput

MONDAY = date(2027, 3, 1)


def is_weekday(day: date) -> bool:
    return day.isoweekday() < 6


@pytest.mark.parametrize(
    ("likely", "promised"),
    [
        # 2 days: 0.3 of a day in hand, rounded up to one.
        (date(2027, 3, 3), date(2027, 3, 4)),
        # 18 days, 2.7 in hand: Monday 22 March.
        (date(2027, 3, 19), date(2027, 3, 22)),
        # 25 days, 3.75 in hand: 30 March.
        (date(2027, 3, 26), date(2027, 3, 30)),
        # 40 days, 6 in hand, no more: 16 April, a Friday.
        (date(2027, 4, 10), date(2027, 4, 16)),
        # 41 days, 6.15 in hand: Sunday 18 April is closed, so Monday.
        (date(2027, 4, 11), date(2027, 4, 19)),
        (MONDAY, MONDAY),
    ],
)
def test_days_counted_on_the_wall(likely: date, promised: date) -> None:
    assert promise_day(planned_on=MONDAY, likely=likely, buffer=0.15, is_open=is_weekday) == promised


@given(st.integers(0, 400), st.integers(0, 100), st.integers(0, 6))
def test_it_is_the_first_open_day_that_leaves_the_share_in_hand(
    days: int, hundredths: int, start: int
) -> None:
    planned = MONDAY + timedelta(days=start)
    likely = planned + timedelta(days=days)
    found = promise_day(planned_on=planned, likely=likely, buffer=hundredths / 100, is_open=is_weekday)
    wanted = Fraction(hundredths, 100) * days
    assert is_weekday(found)
    assert (found - likely).days >= wanted
    # Every open day before it, back to the likely one, leaves less.
    for earlier in range((found - likely).days):
        day = likely + timedelta(days=earlier)
        assert not is_weekday(day) or earlier < wanted


def test_a_bench_that_never_opens_moves_nothing() -> None:
    found = promise_day(planned_on=MONDAY, likely=date(2027, 3, 11), buffer=0.1, is_open=lambda day: False)
    assert found == date(2027, 3, 12)


def test_impossible_figures_are_refused() -> None:
    with pytest.raises(InvalidInput, match="0 to 1") as refusal:
        promise_day(planned_on=MONDAY, likely=MONDAY, buffer=1.5)
    assert refusal.value.place == "buffer"
    with pytest.raises(InvalidInput, match="before the planning"):
        promise_day(planned_on=MONDAY, likely=MONDAY - timedelta(days=1), buffer=0.15)
