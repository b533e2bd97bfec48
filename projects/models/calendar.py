"""The calendar's own records: what the bench has, when it is open, what was planned, who may read it from outside."""

import datetime
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from projects.models.commissions import Commission
from projects.models.fields import within
from projects.models.owned import StudioOwned
from projects.models.studio import Member, Studio

MOST_THINGS = 50
SESSIONS = (15, 480)
EFFORTS = (0, 1, 2, 4, 8)
"""How hard a calendar is sought: the serial order at once, then the solver with more and more work."""

SILENT = datetime.timedelta(minutes=2)
"""A search that has given no sign for so long has ended without saying so."""


class Weekday(models.IntegerChoices):
    """Days of the week as the standard library counts them."""

    MONDAY = 0, "Monday"
    TUESDAY = 1, "Tuesday"
    WEDNESDAY = 2, "Wednesday"
    THURSDAY = 3, "Thursday"
    FRIDAY = 4, "Friday"
    SATURDAY = 5, "Saturday"
    SUNDAY = 6, "Sunday"


def validate_time_zone(name: str) -> None:
    """Refuse a name that the time zone data does not have."""
    if name not in available_timezones():
        raise ValidationError(
            "%(name)s is no time zone; write one such as Europe/Berlin or America/Chicago.",
            params={"name": name},
        )


@cache
def holiday_regions() -> dict[str, tuple[str, ...]]:
    """The countries whose public holidays are known, by their two letters, each with the codes of its regions."""
    # Imported here since the library reads many files, which no page but a settings form needs.
    from holidays import list_supported_countries

    return {country: tuple(regions) for country, regions in sorted(list_supported_countries().items())}


def usual_time_zone() -> str:
    """The installation's own."""
    return str(settings.TIME_ZONE)


def count_field(name: str, **options: Any) -> models.PositiveSmallIntegerField:
    """How many of something the bench has: one at the least."""
    return models.PositiveSmallIntegerField(
        name, default=1, validators=[MinValueValidator(1), MaxValueValidator(MOST_THINGS)], **options
    )


class BenchSettings(StudioOwned):
    """What the bench has of what a glue-up holds, and the days on which nobody works there."""

    studio = models.OneToOneField(Studio, models.CASCADE, related_name="bench")
    people = count_field("people at the bench")
    mandrels = count_field("mandrels", help_text="For stacks that are glued round a bore.")
    jigs = count_field("pin jigs", help_text="For discs with no bore.")
    presses = count_field("presses")
    session_min = models.PositiveSmallIntegerField(
        "longest stretch of work (min)",
        default=120,
        validators=[MinValueValidator(SESSIONS[0]), MaxValueValidator(SESSIONS[1])],
        help_text="Longer work is planned in several stretches. A glue-up is never parted.",
    )
    holiday_country = models.CharField(
        "public holidays of", max_length=2, blank=True, help_text="Its two letters: DE, US ... Empty: none."
    )
    holiday_region = models.CharField(
        "region", max_length=20, blank=True, help_text="Its letters: BY, CA ... Empty: the whole country's."
    )
    time_zone = models.CharField(
        max_length=64,
        default=usual_time_zone,
        validators=[validate_time_zone],
        help_text="As in Europe/Berlin. Times of the bench and the calendar are in it.",
    )

    class Meta:
        verbose_name_plural = "bench settings"
        constraints = [
            *(
                within("bench", field, low=1, high=MOST_THINGS)
                for field in ("people", "mandrels", "jigs", "presses")
            ),
            within("bench", "session_min", low=SESSIONS[0], high=SESSIONS[1]),
            models.CheckConstraint(
                name="bench_region_of_a_country",
                condition=Q(holiday_region="") | ~Q(holiday_country=""),
                violation_error_message="Choose the country before its region.",
            ),
        ]

    def __str__(self) -> str:
        return f"bench of {self.studio}"

    @property
    def zone(self) -> ZoneInfo:
        """The time zone of the bench."""
        return ZoneInfo(self.time_zone)

    def clean(self) -> None:
        """Refuse a country or a region whose holidays are not known."""
        if not self.holiday_country:
            return
        regions = holiday_regions().get(self.holiday_country)
        if regions is None:
            raise ValidationError({"holiday_country": "The holidays of this country are not known here."})
        if self.holiday_region and self.holiday_region not in regions:
            known = f"Choose one of {', '.join(regions)}." if regions else "Leave this empty: it has none."
            raise ValidationError({"holiday_region": f"No region of this country. {known}"})


class BenchHours(StudioOwned):
    """One stretch of a weekday in which there is work at the bench; stretches of a day do not overlap."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="bench_hours")
    weekday = models.PositiveSmallIntegerField(choices=Weekday)
    opens = models.TimeField()
    closes = models.TimeField()

    class Meta:
        ordering = ["weekday", "opens"]
        verbose_name_plural = "bench hours"
        constraints = [
            within("bench_hours", "weekday", low=0, high=6),
            models.CheckConstraint(
                name="bench_hours_close_after_opening",
                condition=Q(closes__gt=F("opens")),
                violation_error_message="The bench must close after it opens.",
            ),
            models.UniqueConstraint(
                fields=["studio", "weekday", "opens"],
                name="bench_hours_open_once",
                violation_error_message="The bench opens at this time already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.opens:%H:%M} to {self.closes:%H:%M}"


class DayOff(StudioOwned):
    """Days on which nobody works, from the first to the last."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="days_off")
    first = models.DateField("first day")
    last = models.DateField("last day")
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["first", "pk"]
        verbose_name_plural = "days off"
        constraints = [
            models.CheckConstraint(
                name="day_off_in_order",
                condition=Q(last__gte=F("first")),
                violation_error_message="The last day must not lie before the first.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.first} to {self.last}" if self.last != self.first else str(self.first)


class CalendarPlan(StudioOwned):
    """What is known of the studio's plan as a whole; the steps and their times are in `BenchStep`.

    `bound` is a time before which the last job cannot be done, `marks` what the plan was made from, a short mark for
    each job, the bench and its hours, so that a change of any is found. A running search is known by its `runner`
    and signs `beat_at` while it lives. `trouble` says why there is no plan, or whom it leaves out.
    """

    studio = models.OneToOneField(Studio, models.CASCADE, related_name="calendar")
    planned_at = models.DateTimeField(null=True, blank=True)
    finish = models.DateTimeField(null=True, blank=True)
    bound = models.DateTimeField("no earlier than", null=True, blank=True)
    bound_minutes = models.PositiveIntegerField("least minutes from the planning on", null=True, blank=True)
    proven = models.BooleanField("proven the earliest", default=False)
    visits = models.PositiveIntegerField("stretches at the bench", null=True, blank=True)
    effort = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(EFFORTS[-1])])
    marks = models.JSONField(default=dict, blank=True)
    trouble = models.TextField(blank=True)
    runner = models.CharField(max_length=32, blank=True)
    beat_at = models.DateTimeField("last sign of the search", null=True, blank=True)

    class Meta:
        constraints = [
            within("calendar", "effort", low=0, high=EFFORTS[-1]),
            models.CheckConstraint(
                name="calendar_bound_before_finish",
                condition=Q(bound__isnull=True) | Q(finish__isnull=True) | Q(bound__lte=F("finish")),
                violation_error_message="The bound must not lie after the finish.",
            ),
            models.CheckConstraint(
                name="calendar_search_is_known",
                condition=Q(runner="") | Q(beat_at__isnull=False),
                violation_error_message="A search that runs has given a sign.",
            ),
        ]

    def __str__(self) -> str:
        return f"calendar of {self.studio}"

    @property
    def is_running(self) -> bool:
        """Whether a longer search is at work on it and has lately said so."""
        return bool(self.runner) and self.beat_at is not None and timezone.now() - self.beat_at <= SILENT


class JobDates(StudioOwned):
    """When the calendar says that a commission is done: at the earliest, and with 80 % confidence."""

    studio_path = "commission__studio"

    commission = models.OneToOneField(Commission, models.CASCADE, related_name="dates")
    finish = models.DateTimeField("earliest")
    likely = models.DateTimeField("with 80 % confidence")
    planned_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "job dates"
        constraints = [
            models.CheckConstraint(
                name="job_likely_after_finish",
                condition=Q(likely__gte=F("finish")),
                violation_error_message="The likely date must not lie before the earliest.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.commission}: {self.finish:%Y-%m-%d}"


class FeedAddress(StudioOwned):
    """A private address from which one member's calendar program reads the plan; only a hash of it is kept."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="feed_addresses")
    member = models.ForeignKey(Member, models.CASCADE, related_name="feed_addresses")
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_read_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-created_at", "-pk"]
        verbose_name_plural = "feed addresses"

    def __str__(self) -> str:
        return f"address of {self.member}, {self.created_at:%Y-%m-%d}"

    def clean(self) -> None:
        """Refuse another studio's member."""
        if self.member_id and self.member.studio_id != self.studio_id:
            raise ValidationError({"member": "Choose someone who works in this studio."})
