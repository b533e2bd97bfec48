"""The private address of the calendar: shown once, read without a log-in, revoked for good, and never guessed."""

import datetime
import re
from datetime import UTC, date
from typing import Any

import icalendar
import pytest
import vobject
from django.test import Client as Browser

from projects.models import FeedAddress, Studio
from tests.factories import (
    BenchStepFactory,
    CalendarPlanFactory,
    CommissionFactory,
    FeedAddressFactory,
    JobDatesFactory,
    MemberFactory,
)

pytestmark = pytest.mark.django_db

PAGE = "/calendar/feed/"


def _text(answer: Any) -> str:
    return answer.content.decode()


def _made(browser: Browser) -> str:
    """The address as the page shows it."""
    answer = browser.post(f"{PAGE}new/")
    found = re.search(r'class="address">([^<]+)<', _text(answer))
    assert found is not None
    assert "no-store" in answer.headers["Cache-Control"]
    return found[1].removeprefix("http://testserver")


@pytest.fixture
def planned(studio: Studio) -> Studio:
    """A glue-up tomorrow that sets and cures, and a job that is done in a fortnight and promised."""
    soon = datetime.datetime.now(UTC).replace(minute=0, second=0, microsecond=0) + datetime.timedelta(days=1)
    job = CommissionFactory(
        studio=studio,
        title="Vase, tall; “moon”",
        stage="making",
        asked_on=date(2026, 1, 5),
        promised_on=(soon + datetime.timedelta(days=20)).date(),
    )
    spans = [("hands_on", 0, 25), ("set", 25, 70), ("cure", 70, 790)]
    for kind, start, end in spans:
        BenchStepFactory(
            commission=job,
            key=f"g1.{kind}",
            name=f"Layers 1 to 8, {kind}",
            kind=kind,
            minutes=end - start,
            after=["before"],
            planned_start=soon + datetime.timedelta(minutes=start),
            planned_end=soon + datetime.timedelta(minutes=end),
        )
    finish = soon + datetime.timedelta(days=14)
    CalendarPlanFactory(studio=studio, planned_at=soon, finish=finish, bound=finish, proven=True)
    JobDatesFactory(commission=job, planned_at=soon, finish=finish, likely=finish)
    return studio


def test_an_address_is_shown_once_and_read_without_a_log_in(
    as_alice: Browser, client: Browser, planned: Studio
) -> None:
    address = _made(as_alice)
    assert re.fullmatch(r"/calendar/[\w-]{40,}\.ics", address)
    token = address.removeprefix("/calendar/").removesuffix(".ics")
    assert token not in _text(as_alice.get(PAGE))
    kept = FeedAddress.objects.get()
    assert token not in {str(value) for value in vars(kept).values()}
    assert "never" in _text(as_alice.get(PAGE))
    answer = client.get(address)
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer.headers["Cache-Control"] == "private, no-cache"
    assert "noindex" in answer.headers["X-Robots-Tag"]
    assert client.head(address).status_code == 200
    assert client.post(address).status_code == 405
    kept.refresh_from_db()
    assert kept.last_read_at is not None


def test_both_libraries_read_the_steps_and_the_days_of_the_feed(
    as_alice: Browser, client: Browser, planned: Studio
) -> None:
    feed = client.get(_made(as_alice)).content
    events = icalendar.Calendar.from_ical(feed).walk("VEVENT")
    again = vobject.readOne(feed.decode()).vevent_list
    assert [str(event["UID"]) for event in events] == [event.uid.value for event in again]
    busy = [event for event in events if str(event["TRANSP"]) == "OPAQUE"]
    assert [str(event["SUMMARY"]) for event in busy] == ["Layers 1 to 8, hands_on (Vase, tall; “moon”)"]
    free = {str(event["SUMMARY"]).split(" (")[0] for event in events} - {
        str(busy[0]["SUMMARY"]).split(" (")[0]
    }
    assert {"Layers 1 to 8, set", "Layers 1 to 8, cure"} <= free
    days = [event for event in events if not isinstance(event.decoded("DTSTART"), datetime.datetime)]
    assert any("Vase" in str(event["SUMMARY"]) for event in days)
    alarms = [event for event in events if event.walk("VALARM")]
    assert [str(event["SUMMARY"]).split(" (")[0] for event in alarms] == ["Layers 1 to 8, set"]


def test_the_day_that_is_promised_is_in_the_feed_all_day(
    as_alice: Browser, client: Browser, planned: Studio
) -> None:
    events = icalendar.Calendar.from_ical(client.get(_made(as_alice)).content).walk("VEVENT")
    (promise,) = [event for event in events if str(event["SUMMARY"]).startswith("Promised: ")]
    promised = planned.commissions.get().promised_on
    assert promise.decoded("DTSTART") == promised
    assert promise.decoded("DTEND") == promised + datetime.timedelta(days=1)
    assert str(promise["TRANSP"]) == "TRANSPARENT"


def test_a_revoked_address_and_an_unknown_one_are_not_there(
    as_alice: Browser, client: Browser, planned: Studio
) -> None:
    address, other = _made(as_alice), _made(as_alice)
    row = FeedAddress.objects.order_by("pk").first()
    assert row is not None
    assert as_alice.post(f"{PAGE}{row.pk}/revoke/").url == PAGE
    assert "revoked" in _text(as_alice.get(PAGE))
    assert client.get(address).status_code == 404
    assert client.get(other).status_code == 200
    assert client.get(f"/calendar/{row.token_hash}.ics").status_code == 404
    assert client.get("/calendar/%00.ics").status_code == 404
    assert client.get(f"/calendar/{'a' * 5000}.ics").status_code == 404


def test_an_address_shows_one_studio_only_and_is_ones_own(
    as_alice: Browser, as_bob: Browser, as_charlie: Browser, client: Browser, planned: Studio
) -> None:
    feed = client.get(_made(as_charlie)).content
    assert b"Vase" not in feed
    assert b"BEGIN:VEVENT" not in feed
    _made(as_alice)
    hers = FeedAddress.objects.for_studio(planned).get()
    for browser in (as_bob, as_charlie):
        assert browser.post(f"{PAGE}{hers.pk}/revoke/").status_code == 404
        assert f"{PAGE}{hers.pk}/" not in _text(browser.get(PAGE))
    hers.refresh_from_db()
    assert hers.revoked_at is None
    assert "/account/" in client.get(PAGE).url
    assert as_alice.get(f"{PAGE}new/").status_code == 405


def test_too_many_addresses_are_refused_and_the_list_stays(as_alice: Browser, alice: Any) -> None:
    for _ in range(10):
        FeedAddressFactory(studio=alice.member.studio, member=alice.member)
    answer = as_alice.post(f"{PAGE}new/")
    assert answer.status_code == 409
    assert "Revoke one first." in _text(answer)
    assert 'class="address"' not in _text(answer)
    assert FeedAddress.objects.count() == 10


def test_markup_in_names_is_words_in_the_feed_and_on_the_page(
    client: Browser, studio: Studio, alice: Any
) -> None:
    Studio.objects.filter(pk=studio.pk).update(name="<b>Fern</b>; Gully, \\ Turning")
    browser = Browser()
    browser.force_login(MemberFactory(studio=studio).user)
    feed = client.get(_made(browser)).content
    # RFC 5545, 3.3.11: backslash, semicolon and comma are escaped. Neither library knows NAME to be text.
    assert b"NAME:<b>Fern</b>\\; Gully\\, \\\\ Turning: bench\r\n" in feed
    assert "<b>Fern" not in _text(browser.get(PAGE))
