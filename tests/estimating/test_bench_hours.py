"""When the bench is open: windows by weekday and days off, and minutes that stay true through a change of the clock."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.calendar.hours import Bench, minute_of, moment, windows
from estimating.errors import InvalidInput

DAY = 24 * 60
MORNING, AFTERNOON = (time(8), time(12)), (time(13), time(17))
WEEK = ((MORNING, AFTERNOON),) * 5 + ((),) * 2
MONDAY = datetime.fromisoformat("2027-03-01")
BERLIN = ZoneInfo("Europe/Berlin")


def bench(start: datetime = MONDAY, **changes: object) -> Bench:
    """Monday to Friday, morning and afternoon."""
    return replace(Bench(start, WEEK), **changes)  # type: ignore[arg-type]


def test_a_week_has_ten_windows_and_none_at_the_weekend() -> None:
    found = windows(bench(), 7)
    assert found == [(day * DAY + at, day * DAY + at + 240) for day in range(5) for at in (480, 780)]


def test_days_off_are_left_out_and_the_hours_before_the_start() -> None:
    found = windows(
        bench(datetime.fromisoformat("2027-03-01T14:30"), days_off=frozenset({date(2027, 3, 2)})), 3
    )
    assert found == [(0, 150), (2 * DAY - 390, 2 * DAY - 150), (2 * DAY - 90, 2 * DAY + 150)]


# Clocks in Berlin go from 2:00 to 3:00 on Sunday 28 March 2027, and from 3:00 back to 2:00 on 31 October: the last
# Sundays of March and October at 1:00 UTC (Directive 2000/84/EC, from memory; zoneinfo's data says the same).
@pytest.mark.parametrize(("saturday", "hours"), [("2027-03-27", 23), ("2027-10-30", 25)])
def test_minutes_are_those_that_pass_when_the_clock_changes(saturday: str, hours: int) -> None:
    start = datetime.fromisoformat(f"{saturday}T20:00").replace(tzinfo=BERLIN)
    own = bench(start, hours=(*WEEK[:6], (MORNING,)))
    # From 20:00 to 8:00 there are 12 hours by the wall, one less or more by a watch.
    assert windows(own, 2) == [(60 * (hours - 12), 60 * (hours - 8))]
    assert minute_of(own, start + timedelta(days=1)) == 60 * hours
    cured = moment(own, 12 * 60)
    assert cured.astimezone(UTC) - start.astimezone(UTC) == timedelta(hours=12)
    assert cured.tzinfo is BERLIN
    assert cured.hour == (9 if hours == 23 else 7)


def test_a_window_over_the_change_is_as_long_as_a_watch_says() -> None:
    own = bench(datetime(2027, 3, 28, tzinfo=BERLIN), hours=((),) * 6 + (((time(1), time(5)),),))
    assert windows(own, 1) == [(60, 60 + 3 * 60)]


@given(st.integers(-100_000, 1_000_000), st.sampled_from([None, UTC, BERLIN, ZoneInfo("America/St_Johns")]))
def test_a_minute_there_and_back(minute: int, zone: ZoneInfo | None) -> None:
    own = bench(MONDAY.replace(tzinfo=zone))
    assert minute_of(own, moment(own, minute)) == minute


@given(st.dates(date(2026, 1, 1), date(2030, 1, 1)), st.integers(0, 23), st.integers(1, 30))
def test_windows_are_apart_in_order_and_read_as_the_hours(day: date, hour: int, days: int) -> None:
    own = bench(datetime.combine(day, time(hour), tzinfo=BERLIN))
    found = windows(own, days)
    edges = [edge for window in found for edge in window]
    assert edges == sorted(edges)
    assert all(first >= 0 for first, _ in found)
    for first, last in found:
        opens, closes = moment(own, first), moment(own, last)
        assert opens.time() in (time(8), time(13)) or first == 0
        assert closes.time() in (time(12), time(17))
        assert opens.weekday() < 5


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"hours": WEEK[:6]}, "bench.hours"),
        ({"hours": (((time(12), time(8)),), *WEEK[1:])}, r"bench.hours.mon\[0\]"),
        (
            {"hours": (WEEK[0], ((time(8), time(12)), (time(11), time(17))), *WEEK[2:])},
            r"bench.hours.tue\[1\]",
        ),
        ({"people": 0}, "bench.people"),
        ({"presses": -1}, "bench.presses"),
    ],
)
def test_wrong_hours_are_refused_where_they_stand(changes: dict[str, object], place: str) -> None:
    with pytest.raises(InvalidInput, match=f"^{place}: "):
        bench(**changes)
