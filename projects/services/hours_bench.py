"""Time logged from the bench: a tap is never refused for what the log holds; where times clash, the minutes stay."""

import datetime
import uuid
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

from projects.models import HoursEntry, Member
from projects.models.making import HoursAct
from projects.services import hours_rules as rules
from projects.services.hours import as_kept, held, keep_change
from projects.services.saving import checked


@dataclass(frozen=True)
class Stretch:
    """A stretch of time at the bench, that all entries logged of it share.

    Without `times` the log keeps the minutes alone, and `words` say why.
    """

    times: tuple[datetime.datetime, datetime.datetime] | None = None
    key: uuid.UUID | None = None
    words: str = ""


def stretch_at_bench(
    *, member: Member, begins: datetime.datetime, ends: datetime.datetime, zone: ZoneInfo
) -> Stretch:
    """The stretch as the log can hold it. Within a transaction, in which its entries are logged too.

    One that overlaps with what is logged already keeps its minutes and not its times, so that no tap is lost and no
    minute stands in the log twice by the clock; likewise one longer than anybody works, whose clock was forgotten.
    """
    held([member])
    if ends - begins > rules.LONGEST:
        return Stretch()
    probe = HoursEntry(
        member=member,
        started_at=begins,
        ended_at=ends,
        minutes=Decimal(0),
        worked_on=begins.astimezone(zone).date(),
    )
    logged = [other for other in rules.near([probe]) if other.pk is not None]
    if other := rules.met(probe, logged):
        return Stretch(words=f"It overlaps with {rules.named(other, zone)}: mend one of the two under Hours.")
    return Stretch((begins, ends), uuid.uuid4())


def clock_stopped(*, member: Member, at: datetime.datetime) -> str:
    """Stop the member's own clock, since work begins at the bench; returns what the maker is told, if it ran.

    Within a transaction. A clock that began later than `at` runs on: the tap has come late.
    """
    held([member])
    running = HoursEntry.objects.filter(member=member, minutes=None, started_at__lte=at)
    entry: HoursEntry | None = running.select_related("commission").first()
    if entry is None or entry.started_at is None:
        return ""
    entry.ended_at = at
    entry.minutes = rules.minutes_of(at - entry.started_at)
    if at - entry.started_at > rules.LONGEST:
        entry.started_at = entry.ended_at = None
    checked(entry)
    return f"Your clock on “{entry.operation}” was stopped: {rules.said_minutes(entry.minutes)} logged."


def taken_back(*, entry: HoursEntry, by: Member) -> None:
    """Take out an entry whose tap is taken back; the history keeps it. Within a transaction."""
    keep_change(entry, as_kept(entry), HoursAct.TAKEN_OUT, by=by)
    entry.delete()
