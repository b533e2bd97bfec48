"""Commissions, from first enquiry to payment."""

import datetime
from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from projects.models.climate import Room, check_room, humidity_field, own_room, room_rules, temperature_field
from projects.models.designs import Design
from projects.models.fields import money_field, one_of, share_field, within
from projects.models.money_terms import MoneyTerms, commission_rules
from projects.models.owned import StudioOwned, StudioQuerySet
from projects.models.paper_terms import CommissionPapers, commission_paper_rules
from projects.models.studio import Client, Studio


class Stage(models.TextChoices):
    """Where a commission stands."""

    ENQUIRY = "enquiry", "enquiry"
    DESIGNING = "designing", "designing"
    QUOTED = "quoted", "quoted"
    AGREED = "agreed", "agreed"
    MAKING = "making", "making"
    FINISHED = "finished", "finished"
    DELIVERED = "delivered", "delivered"
    CLOSED = "closed", "closed"
    DECLINED = "declined", "declined"


OPEN_STAGES = (Stage.ENQUIRY, Stage.DESIGNING, Stage.QUOTED, Stage.AGREED, Stage.MAKING, Stage.FINISHED)
"""What is still to be done."""


class CommissionQuerySet(StudioQuerySet):
    """Commissions of one studio as a job list."""

    def job_list(self) -> "CommissionQuerySet":
        """By promised date, those without one last, each with its client and design."""
        by_date = F("promised_on").asc(nulls_last=True)
        return self.select_related("client", "design").order_by(by_date, "asked_on", "pk")

    def open(self) -> "CommissionQuerySet":
        """Those with something still to be done."""
        return self.filter(stage__in=OPEN_STAGES)


class Commission(MoneyTerms, CommissionPapers, StudioOwned):
    """A client's request for one or more pieces. What is empty here is as the studio usually does it."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="commissions")
    client = models.ForeignKey(Client, models.PROTECT, related_name="commissions")
    title = models.CharField(max_length=160)
    stage = models.CharField(max_length=9, choices=Stage, default=Stage.ENQUIRY)
    asked_on = models.DateField(default=timezone.localdate)
    promised_on = models.DateField(null=True, blank=True)
    design = models.ForeignKey(Design, models.PROTECT, null=True, blank=True, related_name="commissions")
    quantity = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(1000)],
        help_text="Empty: as the design says.",
    )
    offered_retail = money_field(
        "price offered",
        null=True,
        blank=True,
        help_text="The gallery's figure for all pieces: what the client pays, less tax unless prices include it.",
    )
    labour_rate = money_field("labour an hour", null=True, blank=True)
    margin = share_field("margin", high=0.9, null=True, blank=True)
    wanted_hourly = money_field("wanted earning an hour", null=True, blank=True)
    gallery_share = share_field("gallery's share", high=0.95, null=True, blank=True)
    tax = share_field("tax", null=True, blank=True)
    tax_inclusive = models.BooleanField("price includes tax", null=True, blank=True)
    deposit_share = share_field("deposit", null=True, blank=True)
    room_temperature_c = temperature_field("room it will live in (°C)", null=True, blank=True)
    room_humidity = humidity_field("humidity of that room (%)", null=True, blank=True)
    notes = models.TextField(blank=True)
    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)

    objects: ClassVar[Any] = CommissionQuerySet.as_manager()

    class Meta:
        ordering = ["promised_on", "asked_on", "pk"]
        indexes = [models.Index(fields=["studio", "promised_on"], name="commission_by_promise")]
        constraints = [
            models.CheckConstraint(
                name="commission_titled",
                condition=~Q(title=""),
                violation_error_message="A commission needs a title.",
            ),
            models.CheckConstraint(
                name="commission_promised_after_asked",
                condition=Q(promised_on__isnull=True) | Q(promised_on__gte=F("asked_on")),
                violation_error_message="The promised date must not lie before the day it was asked for.",
            ),
            one_of("commission", "stage", Stage),
            within("commission", "quantity", low=1, high=1000, null=True),
            within("commission", "offered_retail", low=0, null=True),
            within("commission", "labour_rate", low=0, null=True),
            within("commission", "margin", low=0, high=0.9, null=True),
            within("commission", "wanted_hourly", low=0, null=True),
            within("commission", "gallery_share", low=0, high=0.95, null=True),
            within("commission", "tax", low=0, high=1, null=True),
            within("commission", "deposit_share", low=0, high=1, null=True),
            *commission_rules(),
            *commission_paper_rules(),
            *room_rules("commission"),
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def room(self) -> Room | None:
        """Where the piece will live: what is said here, else the client's room; None where nobody knows."""
        return own_room(self) or own_room(self.client)

    def clean(self) -> None:
        """Refuse another studio's client or design, a promise before the asking, and half a room."""
        wrong = {**check_room(self), **self.wrong_on_papers()}
        for field in ("client", "design"):
            chosen = getattr(self, field, None) if getattr(self, f"{field}_id") else None
            if chosen is not None and chosen.studio_id != self.studio_id:
                wrong[field] = f"Choose a {field} of this studio."
        asked, promised = self.asked_on, self.promised_on
        if isinstance(promised, datetime.date) and isinstance(asked, datetime.date) and promised < asked:
            wrong["promised_on"] = "This lies before the day it was asked for."
        if wrong:
            raise ValidationError(wrong)
