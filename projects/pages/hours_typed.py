"""Time as a maker types it: a span such as 1:35 or 1.5 h, and the clock's times of a day at the bench."""

import datetime
import re
from decimal import ROUND_HALF_UP, Decimal
from zoneinfo import ZoneInfo

from projects.models import HoursEntry
from projects.services.hours_rules import LONGEST

SPAN_WORDS = "Write minutes such as 95, or hours such as 1:35 or 1.5 h."
CLOCK_WORDS = "Write a time of the day such as 9:15."
LATEST = 24 * 60 + LONGEST // datetime.timedelta(minutes=1)
"""The latest end, minutes since the midnight before the start: 25:00 is one o'clock on the next day."""

_CENT = Decimal("0.01")
_SPAN = re.compile(r"(\d{1,5}(?:[.,]\d{1,4})?)\s*(min|m|h)?")
_HOURS = re.compile(r"(\d{1,4}):(\d\d)(?:\s*h)?")
_CLOCK = re.compile(r"(\d{1,2})(?:[:.h](\d\d))?(?:\s*([ap])\.?m\.?)?")


def read_span(text: str) -> Decimal:
    """Minutes from `95`, `1:35`, `1.5 h` or `90 min`.

    Errors: ValueError with a sentence.
    """
    plain = text.strip().lower()
    if (hours := _HOURS.fullmatch(plain)) and int(hours[2]) < 60:
        return Decimal(int(hours[1]) * 60 + int(hours[2]))
    match = _SPAN.fullmatch(plain)
    if match is None:
        raise ValueError(SPAN_WORDS)
    number = Decimal(match[1].replace(",", "."))
    return (number * 60 if match[2] == "h" else number).quantize(_CENT, rounding=ROUND_HALF_UP)


def said_span(minutes: Decimal | None) -> str:
    """Minutes as hours and minutes: `1:35`, to the whole minute."""
    if minutes is None:
        return ""
    hours, rest = divmod(int(minutes.quantize(Decimal(1), rounding=ROUND_HALF_UP)), 60)
    return f"{hours}:{rest:02d}"


def read_clock(text: str, *, is_end: bool = False) -> int:
    """Minutes since midnight from `9`, `9:15`, `9.15`, `2:30 pm`; an end may lie past midnight, as in 25:00.

    Errors: ValueError with a sentence.
    """
    match = _CLOCK.fullmatch(text.strip().lower())
    if match is None:
        raise ValueError(CLOCK_WORDS)
    hour, minute = int(match[1]), int(match[2] or 0)
    if match[3]:
        if not 1 <= hour <= 12:
            raise ValueError(CLOCK_WORDS)
        hour = hour % 12 + (12 if match[3] == "p" else 0)
    at = hour * 60 + minute
    if minute > 59 or at > (LATEST if is_end else 24 * 60 - 1):
        raise ValueError(CLOCK_WORDS)
    return at


def moment(day: datetime.date, minutes: int, zone: ZoneInfo) -> datetime.datetime:
    """The moment so many minutes after a day's midnight by the wall's clock.

    Errors: ValueError with a sentence for one that the clock jumps over in spring.
    """
    wall = datetime.datetime.combine(day, datetime.time()) + datetime.timedelta(minutes=minutes)
    at = wall.replace(tzinfo=zone).astimezone(datetime.UTC)
    if at.astimezone(zone).replace(tzinfo=None) != wall:
        raise ValueError("The clocks went forward over this time on that day.")
    return at


def clock_of(entry: HoursEntry, zone: ZoneInfo) -> tuple[str, str]:
    """Begin and end of an entry as they are typed, empty where they are not known; to the whole minute."""
    if entry.started_at is None:
        return "", ""
    start = entry.started_at.astimezone(zone)
    begins = f"{start.hour}:{start:%M}"
    if entry.ended_at is None:
        return begins, ""
    end = entry.ended_at.astimezone(zone)
    hour = end.hour + 24 * (end.date() - start.date()).days
    return begins, f"{hour}:{end:%M}"
