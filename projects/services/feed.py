"""Private addresses from which a calendar program reads the plan: made, read by, revoked."""

import datetime
import hashlib
import secrets
from collections.abc import Iterator

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.crypto import salted_hmac

from projects.feed_file import FeedEvent, feed_bytes
from projects.models import BenchStep, CalendarPlan, FeedAddress, JobDates, Member, Studio
from projects.models.bench import StepKind
from projects.services.saving import checked

MOST_ADDRESSES = 10
"""Of one member at a time."""

BACK = datetime.timedelta(days=31)
"""What lies further back is not in the feed."""

_RINGS = (StepKind.SET, StepKind.PRESS)
"""At the end of these somebody has to be there; a cure that ends at night wakes nobody."""


def feed_address_make(*, member: Member) -> tuple[FeedAddress, str]:
    """A new address of a member: its record, and the token that stands in it, which is shown once and not kept."""
    token = secrets.token_urlsafe(32)
    with transaction.atomic():
        Member.objects.select_for_update().get(pk=member.pk)
        if FeedAddress.objects.filter(member=member, revoked_at=None).count() >= MOST_ADDRESSES:
            raise ValidationError(f"At most {MOST_ADDRESSES} addresses. Revoke one first.")
        address = FeedAddress(studio=member.studio, member=member, token_hash=_hash(token))
        return checked(address), token


def feed_address_revoke(*, address: FeedAddress) -> FeedAddress:
    """Let an address be read no more, for good."""
    if address.revoked_at is None:
        address.revoked_at = timezone.now()
        checked(address)
    return address


def feed_address_of(token: str) -> FeedAddress | None:
    """The address that a token stands in; None for one that nobody has, or that is revoked."""
    if not token or len(token) > 200:
        return None
    addresses = FeedAddress.objects.select_related("studio").filter(revoked_at=None)
    found: FeedAddress | None = addresses.filter(token_hash=_hash(token)).first()
    return found


def feed_read(*, token: str) -> bytes | None:
    """The feed of the studio whose address this is, as iCalendar; None where there is no such address."""
    address = feed_address_of(token)
    if address is None:
        return None
    now = timezone.now()
    FeedAddress.objects.filter(pk=address.pk).update(last_read_at=now)
    return feed_of(address.studio, now=now)


def feed_of(studio: Studio, *, now: datetime.datetime) -> bytes:
    """The studio's steps, and the days on which its jobs are done and promised, as iCalendar."""
    plan = CalendarPlan.objects.for_studio(studio).first()
    planned_at = plan.planned_at if plan is not None and plan.planned_at else studio.created_at
    # Known to this installation alone, so that no two studios anywhere name their events alike.
    owner = salted_hmac("projects.services.feed", str(studio.pk)).hexdigest()
    events = [*_steps(studio, now), *_jobs(studio)]
    return feed_bytes(events, name=f"{studio.name}: bench", owner=owner, planned_at=planned_at)


def _steps(studio: Studio, now: datetime.datetime) -> Iterator[FeedEvent]:
    steps = BenchStep.objects.for_studio(studio).live().by_time()
    for step in steps.filter(planned_end__gte=now - BACK):
        start = step.started_at or step.planned_start
        end = step.ends_at or step.planned_end
        if start is None or end is None or end <= start:
            continue
        yield FeedEvent(
            about=f"step {step.commission_id} {step.key} {step.run}",
            summary=f"{step.name} ({step.commission.title})",
            start=start,
            end=end,
            free=step.is_passive,
            alarm=f"Over: {step.name}" if step.kind in _RINGS else "",
        )


def _jobs(studio: Studio) -> Iterator[FeedEvent]:
    zone = studio.bench.zone
    for dates in JobDates.objects.for_studio(studio).select_related("commission").order_by("finish", "pk"):
        day = dates.finish.astimezone(zone).date()
        likely = dates.likely.astimezone(zone).date()
        yield FeedEvent(
            about=f"done {dates.commission_id}",
            summary=f"Done: {dates.commission.title}",
            start=day,
            end=day + datetime.timedelta(days=1),
            description=f"With 80 % confidence by {likely:%Y-%m-%d}.",
            free=True,
        )
        promised = dates.commission.promised_on
        if promised is not None:
            yield FeedEvent(
                about=f"promised {dates.commission_id}",
                summary=f"Promised: {dates.commission.title}",
                start=promised,
                end=promised + datetime.timedelta(days=1),
                description=f"Done at the earliest {day:%Y-%m-%d}, with 80 % confidence by {likely:%Y-%m-%d}.",
                free=True,
            )


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
