"""Settings of the saw that were proven on a ring: what its scale showed, and how the ring closed."""

from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from projects.models.commissions import Commission
from projects.models.fields import decimal_field, length_field, named, one_of, within
from projects.models.owned import StudioOwned
from projects.models.studio import Member, Studio


class RingClosed(models.TextChoices):
    """What the last joint of a test ring did."""

    TIGHT = "tight", "closed all round"
    OUTSIDE = "outside", "open at the outside"
    INSIDE = "inside", "open at the inside"


def angle_field(name: str, **options: Any) -> models.DecimalField:
    """An angle of the saw in degrees, from a square cut."""
    return decimal_field(name, digits=6, places=3, low=0, high=89.999, **options)


class SawSetting(StudioOwned):
    """One setting of one saw as it was proven: the angle wanted, the angle shown, and the ring that came of it."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="saw_settings")
    saw = models.CharField(max_length=80, help_text="Which saw, and which sled or gauge on it.")
    miter_deg = angle_field("miter wanted")
    tilt_deg = angle_field("tilt wanted", default=0)
    shown_deg = angle_field(
        "miter shown", help_text="What the scale or the gauge showed when the ring closed."
    )
    segments = models.PositiveSmallIntegerField(
        "segments in the ring", validators=[MinValueValidator(3), MaxValueValidator(360)]
    )
    closed = models.CharField("the ring", max_length=7, choices=RingClosed, default=RingClosed.TIGHT)
    gap = length_field(
        "gap at the last joint",
        low=0,
        high=50,
        default=0,
        help_text="At its widest; 0 where the ring closed.",
    )
    proven_on = models.DateField("proven on", default=timezone.localdate)
    member = models.ForeignKey(Member, models.PROTECT, related_name="saw_settings")
    commission = models.ForeignKey(
        Commission, models.SET_NULL, null=True, blank=True, related_name="saw_settings"
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-proven_on", "-pk"]
        constraints = [
            named("saw_setting", "saw"),
            within("saw_setting", "miter_deg", low=0, high=89.999),
            within("saw_setting", "tilt_deg", low=0, high=89.999),
            within("saw_setting", "shown_deg", low=0, high=89.999),
            within("saw_setting", "segments", low=3, high=360),
            within("saw_setting", "gap", low=0, high=50),
            one_of("saw_setting", "closed", RingClosed),
            models.CheckConstraint(
                name="saw_setting_gap_where_open",
                condition=Q(closed="tight", gap=0) | (~Q(closed="tight") & Q(gap__gt=0)),
                violation_error_message=(
                    "A ring that closed has a gap of 0; for one that stayed open, write how wide its gap was."
                ),
            ),
        ]
        indexes = [models.Index(fields=["studio", "miter_deg", "tilt_deg"], name="saw_setting_by_angle")]

    def __str__(self) -> str:
        return f"{self.saw}, {self.miter_deg.normalize():f}°, {self.proven_on}"

    def clean(self) -> None:
        """Refuse another studio's member or commission."""
        if self.member_id and self.member.studio_id != self.studio_id:
            raise ValidationError({"member": "Choose someone who works in this studio."})
        if self.commission_id and self.commission and self.commission.studio_id != self.studio_id:
            raise ValidationError({"commission": "Choose one of the studio's commissions."})
