"""The hours log: time spent on a commission, by operation; and what was changed or taken out of it since."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from projects.models.commissions import Commission
from projects.models.fields import decimal_field, one_of, within
from projects.models.kept import Kept
from projects.models.owned import StudioOwned
from projects.models.studio import Member


class HoursEntry(StudioOwned):
    """Time one member spent on one operation: minutes, or a start that still runs.

    An entry is timed where it has both `started_at` and `ended_at`; one member's timed entries never overlap. Several
    may share one stretch of time at the bench, each with its share of the minutes: they have one `stretch`.
    """

    studio_path = "commission__studio"

    commission = models.ForeignKey(Commission, models.PROTECT, related_name="hours")
    member = models.ForeignKey(Member, models.PROTECT, related_name="hours")
    operation = models.CharField(max_length=80, help_text="As in the shop's standing rates.")
    worked_on = models.DateField(default=timezone.localdate)
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    minutes = decimal_field("minutes", digits=8, places=2, high=100_000, null=True, blank=True)
    quantity = decimal_field(
        "how many",
        digits=10,
        places=3,
        high=1_000_000,
        null=True,
        blank=True,
        help_text="In the unit of the operation: segments, layers, boards ...",
    )
    setups = decimal_field(
        "set-ups",
        digits=9,
        places=3,
        high=100_000,
        null=True,
        blank=True,
        help_text="How often it was set up for: fences, rings, coats, as the rate says. Blank: once.",
    )
    note = models.CharField(max_length=200, blank=True)
    stretch = models.UUIDField(null=True, blank=True, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-worked_on", "-pk"]
        verbose_name_plural = "hours entries"
        indexes = [models.Index(fields=["member", "worked_on"], name="hours_by_member_and_day")]
        constraints = [
            within("hours", "minutes", low=0, high=100_000, null=True),
            within("hours", "quantity", low=0, high=1_000_000, null=True),
            within("hours", "setups", low=0, high=100_000, null=True),
            models.CheckConstraint(
                name="hours_minutes_or_start",
                condition=Q(minutes__isnull=False) | Q(started_at__isnull=False, ended_at__isnull=True),
                violation_error_message="Give the minutes, or a start that is still running.",
            ),
            models.CheckConstraint(
                name="hours_end_after_start",
                condition=Q(ended_at__isnull=True)
                | Q(started_at__isnull=False, ended_at__gte=F("started_at")),
                violation_error_message="Work must not end before it starts.",
            ),
            models.CheckConstraint(
                name="hours_stretch_is_timed",
                condition=Q(stretch__isnull=True) | Q(started_at__isnull=False, ended_at__isnull=False),
                violation_error_message="A stretch of time begins and ends.",
            ),
            models.UniqueConstraint(
                fields=["member"],
                condition=Q(minutes__isnull=True),
                name="hours_one_running_a_member",
                violation_error_message="This member's clock is already running. Stop it first.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.operation}, {self.worked_on}"

    def clean(self) -> None:
        """Refuse another studio's member."""
        if self.commission_id and self.member_id and self.member.studio_id != self.commission.studio_id:
            raise ValidationError({"member": "Choose someone who works in this studio."})

    @property
    def is_running(self) -> bool:
        """Whether its clock still runs."""
        return self.minutes is None

    @property
    def is_timed(self) -> bool:
        """Whether it is known from when to when the work went."""
        return self.started_at is not None and self.ended_at is not None


class HoursAct(models.TextChoices):
    """What can happen to an entry once it is in the log."""

    CHANGED = "changed", "changed"
    TAKEN_OUT = "taken_out", "taken out"


class HoursChange(Kept):
    """An entry as it was before it was changed or taken out, when, and by whom. Only ever added.

    `entry_number` is the entry's id, which outlives the entry; `before` has its fields, days and moments by ISO 8601.
    """

    KEPT = "The history of the hours log is only added to."

    studio_path = "member__studio"

    entry_number = models.PositiveBigIntegerField("entry")
    member = models.ForeignKey(Member, models.PROTECT, related_name="+")
    commission = models.ForeignKey(Commission, models.SET_NULL, null=True, blank=True, related_name="+")
    worked_on = models.DateField()
    what = models.CharField(max_length=9, choices=HoursAct)
    before = models.JSONField()
    by = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["entry_number"], name="hours_change_by_entry")]
        constraints = [one_of("hours_change", "what", HoursAct)]

    def __str__(self) -> str:
        return f"entry {self.entry_number} {self.get_what_display()}"
