"""The client's private address of a commission: made, shown again, kept open, revoked, and opened."""

import datetime
import hashlib
import hmac
from base64 import urlsafe_b64encode

from django.core.exceptions import ValidationError
from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from django.utils.crypto import salted_hmac

from projects.models import ClientLink, Commission, Member, Studio
from projects.quote_state import current_quote
from projects.services.saving import checked

AFTER = datetime.timedelta(days=30)
"""How long it opens after the last day of the quote, unless the maker says otherwise."""

AGREED = datetime.timedelta(days=365)
"""And at least from the acceptance on: drawings, changes, papers and what is owed are all seen there."""

_SALT = "projects.services.quote_link"


def link_make(
    *,
    commission: Commission,
    member: Member | None = None,
    expires_on: datetime.date | None = None,
    now: datetime.datetime | None = None,
) -> ClientLink:
    """A new address of a commission, in the place of the one before, which opens no more. `link_token` tells it.

    Errors: ValidationError at `expires_on` for a day that has passed.
    """
    moment = now or timezone.now()
    today = timezone.localdate(moment)
    with transaction.atomic():
        # The studio's row first, as everywhere.
        Studio.objects.select_for_update(no_key=True).get(pk=commission.studio_id)
        whose: Commission = Commission.objects.select_for_update().get(pk=commission.pk)
        for old in ClientLink.objects.filter(commission=whose, revoked_at=None):
            link_revoke(link=old, now=moment)
        link = ClientLink(studio_id=whose.studio_id, commission=whose, created_by=member, created_at=moment)
        link.token_hash = _hash(_token(link))
        link.expires_on = _not_past(expires_on or _usual_end(whose, today), today)
        return checked(link)


def link_of(commission: Commission, *, today: datetime.date | None = None) -> ClientLink | None:
    """The address that opens now; None where there is none."""
    day = today or timezone.localdate()
    links = ClientLink.objects.filter(commission=commission, revoked_at=None, expires_on__gte=day)
    found: ClientLink | None = links.order_by("-created_at", "-pk").first()
    return found


def link_token(link: ClientLink) -> str:
    """What stands in the address, to be shown again; empty where the installation's secret key has changed since."""
    token = _token(link)
    return token if hmac.compare_digest(_hash(token), link.token_hash) else ""


def link_path(link: ClientLink | None) -> str:
    """Where the client's page is on this installation; empty where there is no link, or it cannot be shown again."""
    token = link_token(link) if link is not None else ""
    return reverse("client_page", args=[token]) if token else ""


def link_keep(
    *, link: ClientLink, expires_on: datetime.date, today: datetime.date | None = None
) -> ClientLink:
    """Let it open until another day. Errors: ValidationError for a day that has passed, or where it is revoked."""
    if link.revoked_at is not None:
        raise ValidationError("This address was revoked. Make a new one.")
    link.expires_on = _not_past(expires_on, today or timezone.localdate())
    return checked(link)


def link_revoke(*, link: ClientLink, now: datetime.datetime | None = None) -> ClientLink:
    """Let it open no more, for good."""
    if link.revoked_at is None:
        link.revoked_at = now or timezone.now()
        checked(link)
    return link


def link_opened(token: str, *, today: datetime.date | None = None) -> ClientLink | None:
    """The link behind an address; None alike for one that nobody has, that is revoked, or whose days are over."""
    if not token or len(token) > 100:
        return None
    links = ClientLink.objects.select_related("studio", "commission__client", "commission__studio")
    open_links = links.filter(revoked_at=None, expires_on__gte=today or timezone.localdate())
    found: ClientLink | None = open_links.filter(token_hash=_hash(token)).first()
    return found


def link_seen(*, link: ClientLink, now: datetime.datetime | None = None) -> None:
    """Note that it was opened just now."""
    ClientLink.objects.filter(pk=link.pk).update(last_seen_at=now or timezone.now())


def link_agreed(*, link: ClientLink, today: datetime.date) -> None:
    """Keep it open for what follows an acceptance."""
    if link.expires_on < today + AGREED:
        ClientLink.objects.filter(pk=link.pk).update(expires_on=today + AGREED)


def _usual_end(commission: Commission, today: datetime.date) -> datetime.date:
    quote = current_quote(commission)
    last = quote.valid_until if quote is not None else None
    return max(last or today, today) + AFTER


def _not_past(day: datetime.date, today: datetime.date) -> datetime.date:
    if day < today:
        raise ValidationError({"expires_on": "This day has passed."})
    return day


def _token(link: ClientLink) -> str:
    """256 bits that follow from the row's nonce and the installation's key: the database alone opens nothing."""
    digest = salted_hmac(_SALT, link.nonce, algorithm="sha256").digest()
    return urlsafe_b64encode(digest).rstrip(b"=").decode()


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
