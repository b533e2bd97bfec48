"""Days on which nobody works, the week's hours, and clocks that change: as the studio has set them."""

import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError

from projects.calendar import bench_of, days_off, inputs_of, public_holidays
from projects.models import BenchHours, BenchStep, Commission, DayOff, Studio
from projects.services import bench_hours
from projects.services.calendar import calendar_plan
from projects.services.studios import studio_create
from tests.factories import CommissionFactory, UserFactory

EIGHT, NOON, ONE, FIVE = (datetime.time(hour) for hour in (8, 12, 13, 17))
DAY = datetime.timedelta(days=1)


def _planned_days(job: Commission) -> set[datetime.date]:
    zone = job.studio.bench.zone
    work = BenchStep.objects.filter(commission=job, kind="hands_on").live()
    return {step.planned_start.astimezone(zone).date() for step in work}


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A pot of ten layers that is agreed."""
    return CommissionFactory(studio=studio, stage="agreed")


# Days of 2027, and whether they are public holidays. Epiphany and Corpus Christi are
# free in Bavaria (Bayerisches Feiertagsgesetz, Art. 1) and not in Berlin; Thanksgiving is the fourth Thursday of
# November (5 U.S.C. 6103). Easter Sunday of 2027 is 28 March (Gauss's rule).
@pytest.mark.parametrize(
    ("country", "region", "day", "free"),
    [
        ("DE", "BY", datetime.date(2027, 1, 6), True),
        ("DE", "BY", datetime.date(2027, 3, 26), True),
        ("DE", "BY", datetime.date(2027, 5, 27), True),
        ("DE", "BE", datetime.date(2027, 1, 6), False),
        ("DE", "BE", datetime.date(2027, 5, 27), False),
        ("DE", "", datetime.date(2027, 12, 25), True),
        ("US", "", datetime.date(2027, 11, 25), True),
        ("US", "", datetime.date(2027, 3, 26), False),
        ("", "", datetime.date(2027, 12, 25), False),
    ],
)
def test_public_holidays_are_those_of_the_country_and_region(
    studio: Studio, country: str, region: str, day: datetime.date, free: bool
) -> None:
    bench = bench_hours.bench_update(studio=studio, holiday_country=country, holiday_region=region)
    assert (day in public_holidays(bench, years=[2027])) == free
    assert (day in days_off(studio, first=datetime.date(2026, 11, 1))) == free


@pytest.mark.parametrize(
    ("values", "place"),
    [
        ({"holiday_country": "XX"}, "holiday_country"),
        ({"holiday_country": "DE", "holiday_region": "Hamlet"}, "holiday_region"),
        ({"holiday_region": "BY"}, "__all__"),
        ({"time_zone": "Mars/Olympus"}, "time_zone"),
        ({"time_zone": "../../etc/passwd"}, "time_zone"),
        ({"people": 0}, "people"),
        ({"session_min": 5}, "session_min"),
    ],
)
def test_a_bench_that_cannot_be_is_refused(studio: Studio, values: dict[str, Any], place: str) -> None:
    with pytest.raises(ValidationError) as refusal:
        bench_hours.bench_update(studio=studio, **values)
    assert place in refusal.value.message_dict
    studio.bench.refresh_from_db()
    assert studio.bench.holiday_country == ""


def test_nobody_is_planned_on_a_holiday_or_a_day_off(job: Commission) -> None:
    """Monday 24 May to Friday 28 May 2027: Corpus Christi, which is the Thursday, and two days off."""
    studio = job.studio
    monday = datetime.datetime(2027, 5, 24, 6, tzinfo=datetime.UTC)
    calendar_plan(studio=studio, now=monday)
    week = {(monday + number * DAY).date() for number in range(5)}
    assert week & _planned_days(job), "it would be worked in this week"
    bench_hours.bench_update(studio=studio, holiday_country="DE", holiday_region="BY")
    bench_hours.day_off_add(studio=studio, first=datetime.date(2027, 5, 24), last=datetime.date(2027, 5, 26))
    studio.refresh_from_db()
    calendar_plan(studio=studio, now=monday + datetime.timedelta(minutes=1))
    assert week & _planned_days(job) <= {datetime.date(2027, 5, 28)}
    assert _planned_days(job)


def test_hours_are_by_the_clock_on_the_wall_through_its_change(job: Commission) -> None:
    """In Berlin clocks go from 2:00 to 3:00 on Sunday 28 March 2027 (Directive 2000/84/EC): 8:00 is 7:00 UTC
    before it and 6:00 UTC after; a cure through that night is twelve hours that really pass."""
    studio = job.studio
    bench_hours.bench_update(studio=studio, time_zone="Europe/Berlin")
    bench_hours.hours_set(studio=studio, week={day: [(EIGHT, NOON), (ONE, FIVE)] for day in range(7)})
    studio.refresh_from_db()
    calendar_plan(studio=studio, now=datetime.datetime(2027, 3, 17, 6, tzinfo=datetime.UTC))
    steps = list(BenchStep.objects.filter(commission=job).order_by("planned_start"))
    change = datetime.datetime(2027, 3, 28, 1, tzinfo=datetime.UTC)
    work = [step for step in steps if step.kind == "hands_on" and step.minutes < 120]
    before = [step.planned_start for step in work if step.planned_start < change]
    after = [step.planned_start for step in work if step.planned_start > change]
    assert {at.astimezone(ZoneInfo("Europe/Berlin")).utcoffset() for at in before} == {
        datetime.timedelta(hours=1)
    }
    assert {at.astimezone(ZoneInfo("Europe/Berlin")).utcoffset() for at in after} == {
        datetime.timedelta(hours=2)
    }
    for at in before + after:
        assert EIGHT <= at.astimezone(ZoneInfo("Europe/Berlin")).time() < FIVE
    assert min(at.time() for at in before) == datetime.time(7), "in UTC"
    assert min(at.time() for at in after) == datetime.time(6), "in UTC"
    through = [
        step for step in steps if step.planned_start < change < step.planned_end and step.kind != "hands_on"
    ]
    assert through, "something is left alone that night"
    for step in through:
        # Between moments of one zone Python counts by the wall: in UTC it counts what passes.
        passed = step.planned_end.astimezone(datetime.UTC) - step.planned_start.astimezone(datetime.UTC)
        assert passed == datetime.timedelta(minutes=step.minutes)


def test_the_day_of_a_studio_begins_by_its_own_clock(studio: Studio) -> None:
    bench_hours.bench_update(studio=studio, time_zone="Pacific/Auckland")
    studio.refresh_from_db()
    late = datetime.datetime(2027, 3, 1, 22, tzinfo=datetime.UTC)
    inputs = inputs_of(studio, now=late)
    assert inputs.bench.start == datetime.datetime(2027, 3, 2, tzinfo=ZoneInfo("Pacific/Auckland"))


def test_the_week_is_as_it_was_set(studio: Studio) -> None:
    bench_hours.hours_set(studio=studio, week={5: [(ONE, FIVE), (EIGHT, NOON)], 6: []})
    bench = bench_of(studio, now=datetime.datetime(2027, 3, 1, tzinfo=datetime.UTC))
    assert bench.hours == ((), (), (), (), (), ((EIGHT, NOON), (ONE, FIVE)), ())


@pytest.mark.parametrize(
    ("week", "place"),
    [
        ({0: [(NOON, EIGHT)]}, "0.0"),
        ({0: [(EIGHT, EIGHT)]}, "0.0"),
        ({0: [(EIGHT, ONE), (NOON, FIVE)]}, "0.1"),
        ({2: [(NOON, FIVE), (EIGHT, ONE)]}, "2.0"),
        ({7: [(EIGHT, NOON)]}, "7.0"),
        ({0: [], 1: []}, "week"),
        ({}, "week"),
        ({0: [(datetime.time(hour), datetime.time(hour, 30)) for hour in range(7)]}, "0.6"),
    ],
)
def test_hours_that_cannot_be_are_refused_by_their_place(studio: Studio, week: Any, place: str) -> None:
    before = list(BenchHours.objects.for_studio(studio).values_list("weekday", "opens", "closes"))
    with pytest.raises(ValidationError) as refusal:
        bench_hours.hours_set(studio=studio, week=week)
    assert set(refusal.value.message_dict) == {place}
    assert list(BenchHours.objects.for_studio(studio).values_list("weekday", "opens", "closes")) == before


def test_stretches_that_touch_are_allowed(studio: Studio) -> None:
    bench_hours.hours_set(studio=studio, week={0: [(EIGHT, NOON), (NOON, FIVE)]})
    assert BenchHours.objects.for_studio(studio).count() == 2


def test_days_off_in_the_wrong_order_are_refused(studio: Studio) -> None:
    with pytest.raises(ValidationError):
        bench_hours.day_off_add(
            studio=studio, first=datetime.date(2027, 5, 2), last=datetime.date(2027, 5, 1)
        )
    off = bench_hours.day_off_add(studio=studio, first=datetime.date(2027, 5, 2))
    assert off.last == off.first
    bench_hours.day_off_delete(day_off=off)
    assert not DayOff.objects.exists()


@pytest.mark.django_db
def test_a_new_studio_has_a_bench_that_is_open() -> None:
    studio = studio_create(name="New", owner=UserFactory())
    assert BenchHours.objects.for_studio(studio).count() == 10
    assert (studio.bench.people, studio.bench.time_zone) == (1, "UTC")
