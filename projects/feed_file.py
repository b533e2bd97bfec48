"""The calendar as a file that other programs read: iCalendar, RFC 5545, from plain events."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid5

from icalendar import Alarm, Calendar, Event, vText

PRODUCT = "-//Turnery//Calendar of the bench//EN"
READ_AGAIN = timedelta(hours=1)
_OURS = UUID("5b0f4c62-6f0e-4d4e-9a52-0d0a5c1f8c11")
"""A random namespace (RFC 9562) for the names of events."""

_EPOCH = datetime(2026, 1, 1, tzinfo=UTC)
# RFC 5545, 3.1: no control character but the tab; line ends within a text are written \n.
_LINE_END = re.compile("\r\n|[\r\x85\u2028\u2029]")
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


@dataclass(frozen=True, slots=True)
class FeedEvent:
    """One event. `start` and `end` are moments with a time zone, or both days, `end` then the day after the last.

    `about` names the same thing in every feed of a studio, whenever it is planned. An event that is `free` keeps
    nobody busy. `alarm`: what a reader says at its end.
    """

    about: str
    summary: str
    start: datetime | date
    end: datetime | date
    description: str = ""
    free: bool = False
    alarm: str = ""


def feed_bytes(events: Iterable[FeedEvent], *, name: str, owner: str, planned_at: datetime) -> bytes:
    """A whole feed, in UTC, with folded lines and escaped text.

    Shape: the same events planned at the same moment give the same bytes. `owner` is a word that no other studio
        anywhere has: with `about` it makes each event's UID. DTSTAMP is `planned_at`, and SEQUENCE the minutes from
        2026 until then, so that it grows with every new plan (RFC 5545, 3.8.7.4).
    Errors: ValueError for a moment without a time zone, and for an event that does not end after it begins
        (RFC 5545, 3.8.2.2).
    Source: RFC 5545; NAME and REFRESH-INTERVAL from RFC 7986; X-WR-CALNAME is what older readers show.
    """
    feed = Calendar()
    feed.add("prodid", PRODUCT)
    feed.add("version", "2.0")
    feed.add("calscale", "GREGORIAN")
    # As text, which is escaped: the library takes names it has no type for as they are.
    for label in ("name", "x-wr-calname"):
        feed.add(label, vText(_plain(name)))
    feed.add("refresh-interval", READ_AGAIN, parameters={"VALUE": "DURATION"})
    stamp = _in_utc(planned_at)
    for event in events:
        feed.add_component(_event(event, owner=owner, stamp=stamp))
    return feed.to_ical()


def uid_of(about: str, *, owner: str) -> str:
    """The name of an event, the same for the same thing in every plan (RFC 7986, 5.3: of random origin)."""
    return str(uuid5(_OURS, f"{owner}\n{about}"))


def sequence_at(planned_at: datetime) -> int:
    """How many whole minutes after the beginning of 2026; 0 before. It fits 31 bits for four thousand years."""
    return max(0, int((_in_utc(planned_at) - _EPOCH).total_seconds() // 60))


def _event(event: FeedEvent, *, owner: str, stamp: datetime) -> Event:
    _check(event)
    written = Event()
    written.add("uid", uid_of(event.about, owner=owner))
    written.add("dtstamp", stamp)
    written.add("last-modified", stamp)
    written.add("sequence", sequence_at(stamp))
    written.add("dtstart", _moment(event.start))
    written.add("dtend", _moment(event.end))
    written.add("summary", _plain(event.summary))
    if event.description:
        written.add("description", _plain(event.description))
    written.add("transp", "TRANSPARENT" if event.free else "OPAQUE")
    if event.alarm:
        written.add_component(_alarm(event.alarm))
    return written


def _alarm(words: str) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", _plain(words))
    alarm.add("trigger", timedelta(0), parameters={"RELATED": "END"})
    return alarm


def _check(event: FeedEvent) -> None:
    if isinstance(event.start, datetime) != isinstance(event.end, datetime):
        raise ValueError("an event lies between two moments or between two days")
    start, end = _moment(event.start), _moment(event.end)
    if end <= start:
        raise ValueError(f"an event ends after it begins: {event.about}")


def _moment(at: datetime | date) -> datetime | date:
    return _in_utc(at) if isinstance(at, datetime) else at


def _in_utc(at: datetime) -> datetime:
    if at.tzinfo is None:
        raise ValueError("a moment of a feed needs a time zone")
    return at.astimezone(UTC).replace(microsecond=0)


def _plain(words: str) -> str:
    """Text that the standard has a place for: no control characters, line ends of one kind."""
    return _CONTROL.sub("", _LINE_END.sub("\n", words))
