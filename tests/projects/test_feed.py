"""The private feed: an address read by its token alone, revoked for good, and what another library reads out of it."""

import datetime
import hashlib
from typing import Any

import pytest
import vobject
from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.models import FeedAddress, Member, Studio
from projects.services import feed
from tests.factories import BenchStepFactory, CommissionFactory, JobDatesFactory

HOUR = datetime.timedelta(hours=1)


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice at the bench."""
    return alice.member


def _read(token: str) -> Any:
    content = feed.feed_read(token=token)
    assert content is not None
    return vobject.readOne(content.decode())


def _planned(studio: Studio, **values: Any) -> Any:
    start = timezone.now().replace(microsecond=0) + HOUR
    job = CommissionFactory(studio=studio, stage="making", title='Vase, tall; with a "rim"')
    return BenchStepFactory(commission=job, planned_start=start, planned_end=start + HOUR, **values)


def test_the_token_is_shown_once_and_only_its_hash_is_kept(maker: Member) -> None:
    address, token = feed.feed_address_make(member=maker)
    assert len(token) >= 40
    kept = FeedAddress.objects.values_list().get(pk=address.pk)
    assert token not in map(str, kept)
    assert address.token_hash == hashlib.sha256(token.encode()).hexdigest()
    assert feed.feed_address_make(member=maker)[1] != token


def test_steps_and_dates_are_read_by_another_library(maker: Member) -> None:
    step = _planned(maker.studio)
    dates = JobDatesFactory(commission=step.commission)
    _, token = feed.feed_address_make(member=maker)
    events = {str(event.summary.value): event for event in _read(token).vevent_list}
    title = step.commission.title
    event = events[f"{step.name} ({title})"]
    assert (event.dtstart.value, event.dtend.value) == (step.planned_start, step.planned_end)
    done = events[f"Done: {title}"]
    assert done.dtstart.value == dates.finish.date()
    assert dates.likely.date().isoformat() in done.description.value


def test_what_is_left_alone_keeps_nobody_busy(maker: Member) -> None:
    _planned(maker.studio, kind="cure")
    _, token = feed.feed_address_make(member=maker)
    (event,) = _read(token).vevent_list
    assert event.transp.value == "TRANSPARENT"


def test_an_event_keeps_its_name_when_it_is_planned_anew(maker: Member) -> None:
    step = _planned(maker.studio)
    _, token = feed.feed_address_make(member=maker)
    (before,) = _read(token).vevent_list
    step.planned_start, step.planned_end = step.planned_start + HOUR, step.planned_end + HOUR
    step.save()
    (after,) = _read(token).vevent_list
    assert before.uid.value == after.uid.value
    assert after.dtstart.value - before.dtstart.value == HOUR


def test_what_is_lost_dropped_or_long_past_is_not_in_it(maker: Member) -> None:
    _planned(maker.studio, state="dropped")
    old = timezone.now() - datetime.timedelta(60)
    _planned(maker.studio, key="old")
    maker.studio.commissions.last().steps.update(planned_start=old, planned_end=old + HOUR)
    _, token = feed.feed_address_make(member=maker)
    content = feed.feed_read(token=token)
    assert b"VEVENT" not in content
    assert content.startswith(b"BEGIN:VCALENDAR")


def test_a_revoked_address_is_read_no_more(maker: Member) -> None:
    address, token = feed.feed_address_make(member=maker)
    other = feed.feed_address_make(member=maker)[1]
    assert feed.feed_read(token=token) is not None
    first = feed.feed_address_revoke(address=address).revoked_at
    assert feed.feed_read(token=token) is None
    assert feed.feed_read(token=other) is not None
    assert feed.feed_address_revoke(address=address).revoked_at == first, "for good, and once"


@pytest.mark.parametrize("token", ["", "x", "../../feed", "a" * 5000, "\0", "ä" * 43])
def test_a_token_that_nobody_has_reads_nothing(maker: Member, token: str) -> None:
    feed.feed_address_make(member=maker)
    assert feed.feed_read(token=token) is None
    assert FeedAddress.objects.get().last_read_at is None


def test_the_hash_itself_is_no_token(maker: Member) -> None:
    address, _ = feed.feed_address_make(member=maker)
    assert feed.feed_read(token=address.token_hash) is None


def test_it_holds_nothing_of_another_studio(maker: Member, charlie: Any) -> None:
    _planned(maker.studio)
    _, token = feed.feed_address_make(member=charlie.member)
    content = feed.feed_read(token=token)
    assert content is not None
    assert b"VEVENT" not in content


def test_reading_is_noted(maker: Member) -> None:
    address, token = feed.feed_address_make(member=maker)
    before = timezone.now()
    feed.feed_read(token=token)
    address.refresh_from_db()
    assert address.last_read_at >= before


def test_addresses_of_a_member_are_bounded(maker: Member) -> None:
    for _ in range(feed.MOST_ADDRESSES):
        address, _ = feed.feed_address_make(member=maker)
    with pytest.raises(ValidationError, match="Revoke one first"):
        feed.feed_address_make(member=maker)
    feed.feed_address_revoke(address=address)
    feed.feed_address_make(member=maker)
