"""What the bench has, when it is open, and the days on which nobody works."""

import datetime
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from projects.models import BenchHours, BenchSettings, DayOff, Studio
from projects.models.calendar import Weekday
from projects.services.saving import changed, checked

Stretch = tuple[datetime.time, datetime.time]

USUAL_DAYS = (Weekday.MONDAY, Weekday.TUESDAY, Weekday.WEDNESDAY, Weekday.THURSDAY, Weekday.FRIDAY)
USUAL_HOURS: tuple[Stretch, ...] = (
    (datetime.time(8), datetime.time(12)),
    (datetime.time(13), datetime.time(17)),
)
"""What a new studio starts from. Common practice, no source."""

MOST_STRETCHES = 6
MOST_DAYS_OFF = 400


def bench_open(*, studio: Studio) -> BenchSettings:
    """The bench of a new studio, with the usual hours."""
    with transaction.atomic():
        bench = checked(BenchSettings(studio=studio))
        for day in USUAL_DAYS:
            for opens, closes in USUAL_HOURS:
                checked(BenchHours(studio=studio, weekday=day, opens=opens, closes=closes))
    return bench


def bench_update(*, studio: Studio, **values: Any) -> BenchSettings:
    """Change what the bench has, its time zone, and whose public holidays are kept.

    Errors: ValidationError keyed by field.
    """
    return checked(changed(studio.bench, values))


def hours_set(*, studio: Studio, week: Mapping[int, Sequence[Stretch]]) -> None:
    """Put these hours in the place of the week's: for each weekday (0 is Monday) its stretches, in any order.

    A day that is left out is closed. Errors: ValidationError at `weekday.place` (`0.1` is Monday's second stretch),
    for stretches that end before they start or overlap, more than six a day; at `week` where all days are closed.
    """
    wrong: dict[str, list[str]] = {}
    for day, stretches in week.items():
        wrong |= _wrong_day(day, stretches)
    if not any(week.values()):
        wrong["week"] = ["Open the bench on one day at the least."]
    if wrong:
        raise ValidationError(wrong)
    with transaction.atomic():
        # The studio's row is held, so that of two who change the hours at once the later one's stand alone.
        Studio.objects.select_for_update().get(pk=studio.pk)
        BenchHours.objects.for_studio(studio).delete()
        for day, stretches in sorted(week.items()):
            for opens, closes in sorted(stretches):
                checked(BenchHours(studio=studio, weekday=day, opens=opens, closes=closes))


def _wrong_day(day: int, stretches: Sequence[Stretch]) -> dict[str, list[str]]:
    """What is wrong with a day's stretches, by place."""
    if day not in Weekday.values:
        return {f"{day}.0": ["A week has days 0 to 6."]}
    if len(stretches) > MOST_STRETCHES:
        return {f"{day}.{MOST_STRETCHES}": [f"At most {MOST_STRETCHES} stretches a day."]}
    wrong = {}
    for place, (opens, closes) in enumerate(stretches):
        if closes <= opens:
            wrong[f"{day}.{place}"] = ["The bench must close after it opens."]
    in_order = sorted(range(len(stretches)), key=lambda place: stretches[place])
    for before, after in pairwise(in_order):
        if stretches[after][0] < stretches[before][1]:
            wrong.setdefault(f"{day}.{after}", ["This overlaps with another stretch of the day."])
    return wrong


def day_off_add(
    *, studio: Studio, first: datetime.date, last: datetime.date | None = None, reason: str = ""
) -> DayOff:
    """Close the bench from the first to the last day, or for one day.

    Errors: ValidationError keyed by field, or at `first` for a bench that has too many already.
    """
    if DayOff.objects.for_studio(studio).count() >= MOST_DAYS_OFF:
        raise ValidationError({"first": f"At most {MOST_DAYS_OFF} entries. Take old ones out first."})
    return checked(DayOff(studio=studio, first=first, last=last or first, reason=reason))


def day_off_delete(*, day_off: DayOff) -> None:
    """Work on these days after all."""
    day_off.delete()
