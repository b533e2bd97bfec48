"""The bench's free hours before a day, and what the estimate's page says of them."""

import datetime

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from projects.free_hours import free_hours
from projects.models import BenchHours, Commission, Studio
from tests.factories import BenchStepFactory, CommissionFactory, DayOffFactory

pytestmark = pytest.mark.django_db
MONDAY = datetime.datetime(2027, 3, 1, 0, tzinfo=datetime.UTC)
FRIDAY = datetime.date(2027, 3, 5)


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A commission at a bench of one, open on weekdays from nine to one."""
    BenchHours.objects.for_studio(studio).delete()
    for day in range(5):
        opens, closes = datetime.time(9), datetime.time(13)
        BenchHours.objects.create(studio=studio, weekday=day, opens=opens, closes=closes)
    studio.bench.people, studio.bench.time_zone, studio.bench.holiday_country = 1, "UTC", ""
    studio.bench.save()
    return CommissionFactory(studio=studio, title="Pot")


def test_open_hours_less_what_is_planned_for_others_are_free(job: Commission, studio: Studio) -> None:
    """Five days of four hours; 90 minutes planned of another's, its drying, its done step and ours not counted."""
    other = CommissionFactory(studio=studio, stage="agreed")
    at = MONDAY + datetime.timedelta(hours=9)
    BenchStepFactory(commission=other, kind="hands_on", minutes=90, planned_start=at, planned_end=at)
    BenchStepFactory(commission=other, kind="dry", minutes=600, planned_start=at, planned_end=at, key="dry")
    BenchStepFactory(commission=job, kind="hands_on", minutes=50, planned_start=at, planned_end=at)
    late = at + datetime.timedelta(days=7)
    BenchStepFactory(
        commission=other, kind="hands_on", minutes=70, planned_start=late, planned_end=late, key="late"
    )
    found = free_hours(studio, until=FRIDAY, now=MONDAY, besides=job)
    assert found is not None
    assert (found.open, found.planned, found.free) == (20.0, 1.5, 18.5)


def test_what_has_passed_of_today_and_days_off_are_not_open(job: Commission, studio: Studio) -> None:
    DayOffFactory(studio=studio, first=FRIDAY, last=FRIDAY)
    noon = MONDAY + datetime.timedelta(hours=12)
    found = free_hours(studio, until=FRIDAY, now=noon, besides=job)
    assert found is not None
    assert found.open == 13.0  # one hour of Monday, three whole days


def test_a_day_that_has_passed_has_none_and_a_bench_without_hours_is_not_asked(
    job: Commission, studio: Studio
) -> None:
    gone = free_hours(studio, until=datetime.date(2027, 2, 1), now=MONDAY, besides=job)
    assert gone is not None
    assert gone.free == 0
    BenchHours.objects.for_studio(studio).delete()
    assert free_hours(studio, until=FRIDAY, now=MONDAY, besides=job) is None


def test_the_page_says_whether_to_take_it(as_alice: Browser, job: Commission) -> None:
    url = reverse("job_estimate", args=[job.pk])
    page = as_alice.get(url).content.decode()
    assert "Should I take it?" in page
    assert "No day is promised yet" in page
    job.promised_on = timezone.localdate()
    job.save()
    page = as_alice.get(url).content.decode()
    assert "Not as it stands." in page
    assert "too few for this work" in page


def test_a_design_without_a_commission_is_not_asked(as_alice: Browser, job: Commission) -> None:
    page = as_alice.get(reverse("design_estimate", args=[job.design_id])).content.decode()
    assert "Where the money goes" in page
    assert "Should I take it?" not in page


def test_an_outsider_is_told_nothing(as_charlie: Browser, job: Commission) -> None:
    assert as_charlie.get(reverse("job_estimate", args=[job.pk])).status_code == 404
