"""What is agreed on the way: drawings and samples signed off before the saw, and priced changes after that."""

import secrets
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils import timezone

from projects.models.commissions import Commission
from projects.models.fields import money_field, one_of, within
from projects.models.owned import StudioOwned
from projects.models.quote_life import ClientLink
from projects.models.quotes import Quote
from projects.models.studio import Member, Studio


class Answer(models.TextChoices):
    """How the client answered."""

    WAITING = "waiting", "waiting"
    AGREED = "agreed", "agreed"
    REFUSED = "refused", "refused"
    WITHDRAWN = "withdrawn", "withdrawn"


class Asked(StudioOwned):
    """Something put to the client once: what was asked stays as it was, and is answered once.

    It is answered by the client through `answered_by_link`, or taken down for the client by `answered_by`. `text` is
    the whole of what was put, as it was shown, and `sha256` of it in UTF-8.
    """

    FROZEN = "This has gone to the client and cannot be changed. Withdraw it and ask anew."
    ANSWER = ("answer", "answered_at", "answered_name", "answered_words", "answered_by", "answered_by_link")

    asked_at = models.DateTimeField(default=timezone.now, editable=False)
    asked_by = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    text = models.TextField(editable=False)
    sha256 = models.CharField(max_length=64, editable=False)
    answer = models.CharField(max_length=9, choices=Answer, default=Answer.WAITING, editable=False)
    answered_at = models.DateTimeField(null=True, editable=False)
    answered_name = models.CharField(max_length=120, blank=True, editable=False)
    answered_words = models.TextField(blank=True, max_length=4000, editable=False)
    answered_by = models.ForeignKey(Member, models.SET_NULL, null=True, editable=False, related_name="+")
    answered_by_link = models.ForeignKey(
        ClientLink, models.SET_NULL, null=True, editable=False, related_name="+"
    )

    class Meta:
        abstract = True

    @property
    def is_waiting(self) -> bool:
        """Whether the client still has to answer."""
        return self.answer == Answer.WAITING

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Add it, or its answer; refuse anything else."""
        stored = type(self).objects.filter(pk=self.pk).first() if self.pk else None
        if stored is not None:
            same = all(
                getattr(stored, field.attname) == getattr(self, field.attname)
                for field in self._meta.concrete_fields
                if field.name not in self.ANSWER
            )
            if not same or not stored.is_waiting:
                raise ValidationError(self.FROZEN, code="issued")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        """Refuse: it has gone to the client."""
        raise ValidationError(self.FROZEN, code="issued")


def _answered(table: str) -> list[models.BaseConstraint]:
    return [
        one_of(table, "answer", Answer),
        models.CheckConstraint(
            name=f"{table}_answer_is_dated",
            condition=Q(answer="waiting", answered_at__isnull=True)
            | (~Q(answer="waiting") & Q(answered_at__isnull=False)),
            violation_error_message="An answer has its time; what waits has none.",
        ),
        models.CheckConstraint(
            name=f"{table}_agreement_is_signed",
            condition=~Q(answer="agreed") | ~Q(answered_name=""),
            violation_error_message="An agreement has a name under it.",
        ),
    ]


class SignOffKind(models.TextChoices):
    """What the client is to see before wood is cut."""

    DRAWING = "drawing", "drawing"
    CHIP = "chip", "colour chip"
    RING = "ring", "sample ring"


def sample_path(row: "SignOff", filename: str) -> str:
    """Where a sample's photo is kept: under its studio, by a name that nobody can guess."""
    return f"samples/{row.studio_id}/{secrets.token_hex(16)}.jpg"


class SignOff(Asked):
    """A drawing or a sample put to the client before the saw. A drawing is frozen: `sheet` and `drawing` as they were.

    A photo is private: only pages that ask for the studio, and the client's own link, hand it out.
    """

    studio = models.ForeignKey(Studio, models.PROTECT, related_name="sign_offs")
    commission = models.ForeignKey(Commission, models.PROTECT, related_name="sign_offs")
    kind = models.CharField(max_length=7, choices=SignOffKind)
    words = models.TextField("what it shows", blank=True, max_length=4000)
    photo = models.FileField(upload_to=sample_path, blank=True, max_length=120)
    sheet = models.JSONField(default=dict, editable=False)
    drawing = models.TextField(blank=True, editable=False)

    class Meta:
        ordering = ["-asked_at", "-pk"]
        constraints = [
            one_of("sign_off", "kind", SignOffKind),
            models.UniqueConstraint(
                fields=["commission", "kind"],
                condition=Q(answer="waiting"),
                name="sign_off_one_waiting_of_a_kind",
                violation_error_message="One of this kind is waiting for the client already. Withdraw it first.",
            ),
            *_answered("sign_off"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.asked_at:%Y-%m-%d}"


class ChangeOrder(Asked):
    """A change after the sign-off, with its price: `amount` is what the total goes up by, tax in it, below 0 for less.

    `base` and `tax` are its parts, exactly. `sheet`, `estimate` and `drawing` are the piece as it would be, where the
    design was changed for it; empty where only words say it. `days` is how much later it will be ready.
    """

    studio = models.ForeignKey(Studio, models.PROTECT, related_name="change_orders")
    commission = models.ForeignKey(Commission, models.PROTECT, related_name="change_orders")
    quote = models.ForeignKey(Quote, models.PROTECT, related_name="change_orders")
    number = models.PositiveSmallIntegerField()
    title = models.CharField("the change", max_length=160)
    words = models.TextField("what changes", blank=True, max_length=4000)
    base = money_field("before tax", low=None)
    tax = money_field("tax", low=None)
    amount = money_field("with tax", low=None)
    days = models.SmallIntegerField(
        "days later", default=0, validators=[MinValueValidator(-365), MaxValueValidator(365)]
    )
    valid_until = models.DateField()
    sheet = models.JSONField(default=dict, editable=False)
    estimate = models.JSONField(default=dict, editable=False)
    drawing = models.TextField(blank=True, editable=False)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(
                fields=["commission", "number"],
                name="change_order_number_once",
                violation_error_message="The commission already has a change of this number.",
            ),
            models.UniqueConstraint(
                fields=["commission"],
                condition=Q(answer="waiting"),
                name="change_order_one_waiting",
                violation_error_message="One change is waiting for the client already. Withdraw it first.",
            ),
            models.CheckConstraint(
                name="change_order_titled",
                condition=~Q(title=""),
                violation_error_message="Say what the change is.",
            ),
            within("change_order", "days", low=-365, high=365),
            *_answered("change_order"),
        ]

    def __str__(self) -> str:
        return f"change {self.number}: {self.title}"

    def clean(self) -> None:
        """Refuse parts that do not add up, and another commission's quote."""
        # Not the database's to hold: SQLite adds decimals as binary fractions.
        if None not in (self.base, self.tax, self.amount) and self.base + self.tax != self.amount:
            raise ValidationError({"amount": "Before tax and tax must add up to this."})
        if self.quote_id and self.quote.commission_id != self.commission_id:
            raise ValidationError({"quote": "Choose a quote of this commission."})
