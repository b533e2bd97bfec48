"""Where a finished piece is and has been, by when it is to be back, and what was paid for it where it was sold."""

import datetime

from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from projects.models.fields import money_field, one_of, within
from projects.models.issued import PaymentWay
from projects.models.kept import Kept
from projects.models.records import PieceRecord, PlaceKind
from projects.models.studio import Client, Member, validate_currency

NOT_BACK = "Only what is on consignment or lent comes back, and not before the day it went."
RETURNS = (PlaceKind.CONSIGNED, PlaceKind.LENT)
"""Where a piece is somebody else's to keep for a time, and may have to be back by a day."""


class Place(Kept):
    """Where a piece went, and when. Only ever added: one that was wrong is taken back by another that names it.

    The last by its day, among those that stand, is where the piece is.
    """

    KEPT = "Where a piece has been is only added to. Take the entry back and write it anew."

    studio_path = "record__studio"

    record = models.ForeignKey(PieceRecord, models.CASCADE, related_name="places")
    kind = models.CharField("where it is", max_length=9, choices=PlaceKind)
    since = models.DateField("since", default=timezone.localdate)
    due_back = models.DateField(
        "to be back by", null=True, blank=True, help_text="Of what is on consignment or lent."
    )
    client = models.ForeignKey(
        Client, models.SET_NULL, null=True, blank=True, related_name="placed", verbose_name="with"
    )
    words = models.CharField(
        "with whom, or where", max_length=120, blank=True, help_text="Where none of the clients has it."
    )
    price = money_field("price", null=True, blank=True, help_text="What was paid, or is asked there.")
    note = models.CharField(max_length=200, blank=True)
    takes_back = models.OneToOneField(
        "self", models.CASCADE, null=True, blank=True, editable=False, related_name="taken_back_by"
    )
    member = models.ForeignKey(
        Member, models.SET_NULL, null=True, blank=True, editable=False, related_name="+"
    )
    at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["since", "pk"]
        constraints = [
            one_of("place", "kind", PlaceKind),
            within("place", "price", low=0, null=True),
            models.CheckConstraint(
                name="place_due_back_fits",
                condition=Q(due_back__isnull=True) | Q(kind__in=RETURNS, due_back__gte=F("since")),
                violation_error_message=NOT_BACK,
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}{f', {self.holder}' if self.holder else ''}"

    @property
    def holder(self) -> str:
        """Who has it, in words."""
        return self.words or (self.client.name if self.client else "")

    def clean(self) -> None:
        """Refuse another studio's client, a day to come, and a return of what does not come back."""
        wrong = {}
        if self.client is not None and self.record_id and self.client.studio_id != self.record.studio_id:
            wrong["client"] = "Choose a client of this studio."
        if isinstance(self.since, datetime.date) and self.since > timezone.localdate():
            wrong["since"] = "This day is yet to come."
        if isinstance(self.due_back, datetime.date):
            if self.kind not in RETURNS:
                wrong["due_back"] = "Only what is on consignment or lent comes back."
            elif isinstance(self.since, datetime.date) and self.due_back < self.since:
                wrong["due_back"] = "This lies before the day it went."
        if wrong:
            raise ValidationError(wrong)


class PlacePayment(Kept):
    """Money that came in for a piece that was sold, or went back. One that was wrong is taken back by another.

    `place` is the sale; `currency` a copy of its piece's.
    """

    KEPT = "What was paid for a piece is only added to. Take the entry back and write it anew."

    studio_path = "place__record__studio"

    place = models.ForeignKey(Place, models.CASCADE, related_name="payments", editable=False)
    way = models.CharField("which way", max_length=4, choices=PaymentWay, default=PaymentWay.IN)
    amount = money_field("amount", low=0.0001)
    currency = models.CharField(
        max_length=3, editable=False, validators=[RegexValidator(r"\A[A-Z]{3}\Z"), validate_currency]
    )
    paid_on = models.DateField("on", default=timezone.localdate)
    note = models.CharField(max_length=200, blank=True, help_text="Such as the number of their statement.")
    takes_back = models.OneToOneField(
        "self", models.CASCADE, null=True, blank=True, editable=False, related_name="taken_back_by"
    )
    member = models.ForeignKey(
        Member, models.SET_NULL, null=True, blank=True, editable=False, related_name="+"
    )
    at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["paid_on", "pk"]
        constraints = [
            one_of("place_payment", "way", PaymentWay),
            models.CheckConstraint(
                name="place_payment_above_nothing",
                condition=Q(amount__gt=0),
                violation_error_message="A payment is above nothing.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_way_display()} {self.amount} on {self.paid_on}"

    def clean(self) -> None:
        """Refuse a day to come."""
        if isinstance(self.paid_on, datetime.date) and self.paid_on > timezone.localdate():
            raise ValidationError({"paid_on": "This day is still to come."})
