"""The hours log: time spent on a commission, by operation."""

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from projects.models.commissions import Commission
from projects.models.fields import decimal_field, within
from projects.models.owned import StudioOwned
from projects.models.studio import Member


class HoursEntry(StudioOwned):
    """Time one member spent on one operation: minutes, or a start that still runs."""

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
    note = models.CharField(max_length=200, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-worked_on", "-pk"]
        verbose_name_plural = "hours entries"
        constraints = [
            within("hours", "minutes", low=0, high=100_000, null=True),
            within("hours", "quantity", low=0, high=1_000_000, null=True),
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
