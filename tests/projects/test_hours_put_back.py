"""An entry of the hours log that was taken out is put back as it was, and only where the log still has room for it."""

import datetime
from decimal import Decimal
from functools import partial
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client as Browser

from projects.models import Commission, HoursChange, HoursEntry, Member, Studio
from projects.services.hours import as_kept, hours_delete, hours_log, hours_put_back, hours_update
from tests.factories import CommissionFactory, MemberFactory, RateFactory, StudioFactory
from tests.projects.threads import at_once

NINE = datetime.datetime(2026, 2, 10, 9, tzinfo=datetime.UTC)
HOUR = datetime.timedelta(hours=1)


def sanding(studio: Studio) -> tuple[Commission, Member]:
    RateFactory(studio=studio, operation="sand")
    return CommissionFactory(studio=studio, title="Bowl <b>"), MemberFactory(studio=studio)


@pytest.fixture
def taken_out(studio: Studio) -> HoursEntry:
    """An hour of sanding from nine, which is out of the log."""
    job, member = sanding(studio)
    return out_of_the_log(job, member)


def out_of_the_log(job: Commission, member: Member) -> HoursEntry:
    entry = hours_log(commission=job, member=member, operation="sand", started_at=NINE, ended_at=NINE + HOUR,
                      quantity=Decimal("12.5"), note="coarse <i>first")  # fmt: skip
    number = entry.pk
    hours_delete(entry=entry, by=member)
    entry.pk = number
    return entry


def refusal(**asked: Any) -> str:
    with pytest.raises(ValidationError) as refused:
        hours_put_back(**asked)
    return " ".join(refused.value.messages)


@pytest.mark.django_db
def test_it_comes_back_as_it_was_under_its_number(studio: Studio, taken_out: HoursEntry) -> None:
    back = hours_put_back(studio=studio, number=taken_out.pk, by=taken_out.member)
    back.refresh_from_db()
    assert (back.pk, as_kept(back)) == (taken_out.pk, as_kept(taken_out))
    acts = HoursChange.objects.filter(entry_number=back.pk).values_list("what", flat=True)
    assert list(acts) == ["changed", "taken_out"]


@pytest.mark.django_db
def test_it_is_put_back_once_and_may_be_taken_out_again(studio: Studio, taken_out: HoursEntry) -> None:
    back = hours_put_back(studio=studio, number=taken_out.pk)
    assert refusal(studio=studio, number=back.pk) == "This entry was not taken out."
    hours_delete(entry=back)
    hours_put_back(studio=studio, number=taken_out.pk)
    assert HoursEntry.objects.count() == 1


@pytest.mark.django_db
def test_time_that_is_worked_by_now_is_not_worked_twice(studio: Studio, taken_out: HoursEntry) -> None:
    times = {"started_at": NINE + HOUR / 2, "ended_at": NINE + 2 * HOUR}
    hours_log(commission=taken_out.commission, member=taken_out.member, operation="sand", **times)
    assert "sand" in refusal(studio=studio, number=taken_out.pk)
    assert HoursEntry.objects.count() == 1


@pytest.mark.django_db
def test_an_operation_that_the_shop_has_no_more_is_refused(studio: Studio, taken_out: HoursEntry) -> None:
    studio.rates.all().delete()
    assert "no rate for this operation" in refusal(studio=studio, number=taken_out.pk)


@pytest.mark.django_db
def test_what_was_changed_and_not_taken_out_is_left_alone(studio: Studio) -> None:
    job, member = sanding(studio)
    entry = hours_log(commission=job, member=member, operation="sand", minutes=30, worked_on=NINE.date())
    hours_update(entry=entry, note="fine")
    for number in (entry.pk, 999):
        assert refusal(studio=studio, number=number) == "This entry was not taken out."


@pytest.mark.django_db(transaction=True)
def test_of_two_who_put_it_back_at_once_one_does() -> None:
    job, member = sanding(StudioFactory())
    for _ in range(5):
        gone = out_of_the_log(job, member)
        came = at_once(*[partial(hours_put_back, studio=job.studio, number=gone.pk)] * 2)
        assert sum(isinstance(one, ValidationError) for one in came) == 1, came
        hours_delete(entry=HoursEntry.objects.get())


@pytest.mark.django_db
def test_the_page_puts_it_back_and_says_so(as_alice: Browser, taken_out: HoursEntry) -> None:
    place = f"/hours/{taken_out.pk}/"
    assert "Put it back" in as_alice.get(place).content.decode()
    answer = as_alice.post(f"{place}put-back/")
    assert answer["Location"] == f"/hours/?week=2026-02-10&who={taken_out.member_id}"
    page = as_alice.get(place).content.decode()
    assert "<b>put back</b>" in page
    assert "alice" in page
    assert "coarse &lt;i&gt;first" in page
    assert "taken out of this week" not in as_alice.get(answer["Location"]).content.decode()


@pytest.mark.django_db
def test_the_page_says_why_not_and_keeps_it_out(as_alice: Browser, taken_out: HoursEntry) -> None:
    taken_out.commission.studio.rates.all().delete()
    page = as_alice.post(f"/hours/{taken_out.pk}/put-back/", follow=True).content.decode()
    assert "no rate for this operation" in page
    assert "Put it back" in page
    assert not HoursEntry.objects.exists()


@pytest.mark.django_db
def test_an_outsider_puts_nothing_back(as_charlie: Browser, taken_out: HoursEntry) -> None:
    assert as_charlie.post(f"/hours/{taken_out.pk}/put-back/").status_code == 404
    assert not HoursEntry.objects.exists()
