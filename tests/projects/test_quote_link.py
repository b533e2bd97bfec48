"""The client's private address: unguessable, shown again, kept open, revoked, and opened by nothing but itself."""

import datetime
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.models import ClientLink, Commission, Studio
from projects.services import quote_link
from tests.factories import CommissionFactory, QuoteFactory

pytestmark = pytest.mark.django_db
NOW = datetime.datetime(2027, 3, 1, 12, tzinfo=datetime.UTC)
TODAY = NOW.date()
DAY = datetime.timedelta(days=1)


@pytest.fixture
def job(studio: Studio) -> Commission:
    return CommissionFactory(studio=studio)


def _issued(job: Commission, **values: Any) -> None:
    QuoteFactory(commission=job, state="issued", number="2027-001", revision="A", issued_at=NOW, **values)


def test_an_address_opens_and_can_be_shown_again(job: Commission) -> None:
    link = quote_link.link_make(commission=job, now=NOW)
    token = quote_link.link_token(link)
    assert quote_link.link_opened(token, today=TODAY) == link
    assert quote_link.link_token(ClientLink.objects.get()) == token
    assert quote_link.link_path(link) == f"/c/{token}/"


def test_a_token_has_256_bits_and_the_database_alone_does_not_tell_it(job: Commission, settings: Any) -> None:
    link = quote_link.link_make(commission=job, now=NOW)
    token = quote_link.link_token(link)
    assert len(token) == 43  # base64 of 32 bytes without padding
    kept = " ".join(str(value) for value in ClientLink.objects.values().get().values())
    assert token not in kept
    # Under another key the same row gives another token: it cannot be shown, and what was handed out still opens.
    settings.SECRET_KEY = "another key of this installation"
    assert quote_link.link_token(link) == ""
    assert quote_link.link_path(link) == ""
    assert quote_link.link_opened(token, today=TODAY) == link


def test_no_two_addresses_are_alike(studio: Studio) -> None:
    links = [quote_link.link_make(commission=CommissionFactory(studio=studio), now=NOW) for _ in range(5)]
    assert len({quote_link.link_token(link) for link in links}) == 5


def test_it_opens_until_thirty_days_after_the_quotes_last_day(job: Commission) -> None:
    _issued(job, valid_until=TODAY + 14 * DAY)
    link = quote_link.link_make(commission=job, now=NOW)
    assert link.expires_on == TODAY + 44 * DAY
    token = quote_link.link_token(link)
    assert quote_link.link_opened(token, today=link.expires_on) == link
    assert quote_link.link_opened(token, today=link.expires_on + DAY) is None


def test_a_new_address_takes_the_place_of_the_one_before(job: Commission) -> None:
    first = quote_link.link_token(quote_link.link_make(commission=job, now=NOW))
    second = quote_link.link_make(commission=job, now=NOW + DAY)
    assert quote_link.link_opened(first, today=TODAY) is None
    assert quote_link.link_of(job, today=TODAY) == second


def test_a_revoked_address_opens_no_more_and_cannot_be_kept_open(job: Commission) -> None:
    link = quote_link.link_make(commission=job, now=NOW)
    token = quote_link.link_token(link)
    quote_link.link_revoke(link=link, now=NOW)
    assert quote_link.link_opened(token, today=TODAY) is None
    assert quote_link.link_of(job, today=TODAY) is None
    with pytest.raises(ValidationError, match="was revoked"):
        quote_link.link_keep(link=link, expires_on=TODAY + DAY, today=TODAY)
    assert quote_link.link_revoke(link=link, now=NOW + DAY).revoked_at == NOW


def test_the_maker_keeps_it_open_as_long_as_wanted_but_not_until_a_day_that_has_passed(
    job: Commission,
) -> None:
    link = quote_link.link_make(commission=job, now=NOW)
    assert (
        quote_link.link_keep(link=link, expires_on=TODAY + 90 * DAY, today=TODAY).expires_on
        == TODAY + 90 * DAY
    )
    with pytest.raises(ValidationError) as refusal:
        quote_link.link_keep(link=link, expires_on=TODAY - DAY, today=TODAY)
    assert list(refusal.value.message_dict) == ["expires_on"]
    with pytest.raises(ValidationError, match="has passed"):
        quote_link.link_make(commission=job, expires_on=TODAY - DAY, now=NOW)


@pytest.mark.parametrize("token", ["", "x", "A" * 43, "A" * 5000, "../..", "\x00"])
def test_what_is_no_address_opens_nothing(job: Commission, token: str) -> None:
    quote_link.link_make(commission=job)
    assert quote_link.link_opened(token) is None


def test_it_is_noted_when_it_was_opened(job: Commission) -> None:
    link = quote_link.link_make(commission=job)
    quote_link.link_seen(link=link)
    link.refresh_from_db()
    assert link.last_seen_at is not None
    assert link.last_seen_at <= timezone.now()
