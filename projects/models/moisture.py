"""What the moisture meter read before a glue-up."""

import datetime

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from projects.models.commissions import Commission
from projects.models.fields import decimal_field, plain_text, within
from projects.models.owned import StudioOwned
from projects.models.shop import Wood
from projects.models.studio import Member


class MoistureReading(StudioOwned):
    """One reading: % of the ovendry mass, of a wood or of a board by what is written on it."""

    studio_path = "commission__studio"

    commission = models.ForeignKey(Commission, models.CASCADE, related_name="readings")
    member = models.ForeignKey(Member, models.PROTECT, related_name="readings")
    wood = models.ForeignKey(Wood, models.SET_NULL, null=True, blank=True, related_name="readings")
    # Named even where the wood is given, so that a reading still says what it is of when the wood is gone.
    what = models.CharField(
        "board", max_length=80, blank=True, help_text="As written on it. Empty: the wood in general."
    )
    percent = decimal_field("moisture (%)", digits=4, places=1, low=0.1, high=60)
    read_on = models.DateField("read on", default=timezone.localdate)
    milled_on = models.DateField(
        "milled on", null=True, blank=True, help_text="When the strips were sawn to size."
    )
    note = models.CharField(max_length=200, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-read_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="reading_of_something",
                condition=~Q(what=""),
                violation_error_message="Say which wood was read, or what is written on the board.",
            ),
            within("reading", "percent", low=0.1, high=60),
            models.CheckConstraint(
                name="reading_after_milling",
                condition=Q(milled_on__isnull=True) | Q(milled_on__lte=F("read_on")),
                violation_error_message="The wood must be milled before it is read.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what}, {plain_text(self.percent)} %, {self.read_on}"

    @property
    def rested_days(self) -> int | None:
        """Days from milling to the reading; None where nobody wrote down the milling."""
        return None if self.milled_on is None else (self.read_on - self.milled_on).days

    def clean(self) -> None:
        """Name it after its wood where nothing else is said; refuse another studio's rows, and days out of order."""
        wrong: dict[str, str] = {}
        if not self.what and self.wood is not None:
            self.what = self.wood.name[:80]
        if not self.what:
            wrong["what"] = "Say which wood was read, or what is written on the board."
        for field in ("member", "wood"):
            chosen = getattr(self, field, None) if getattr(self, f"{field}_id") else None
            if chosen is not None and self.commission_id and chosen.studio_id != self.commission.studio_id:
                wrong[field] = f"Choose a {field} of this studio."
        read, milled = self.read_on, self.milled_on
        if isinstance(read, datetime.date) and isinstance(milled, datetime.date) and milled > read:
            wrong["milled_on"] = "This lies after the day it was read."
        if wrong:
            raise ValidationError(wrong)
