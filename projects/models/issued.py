"""Papers handed out beside the quote, numbered by kind; the money that came in; the letters that went out."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.utils import timezone

from projects.models.agreements import ChangeOrder
from projects.models.commissions import Commission
from projects.models.fields import money_field, one_of
from projects.models.kept import Kept
from projects.models.owned import StudioOwned
from projects.models.quotes import Quote
from projects.models.studio import Member, Studio


class PaperKind(models.TextChoices):
    """What a paper is. Each kind has numbers of its own."""

    CONFIRMATION = "confirmation", "order confirmation"
    DEPOSIT = "deposit", "deposit request"
    STAGE = "stage", "payment request"
    BALANCE = "balance", "balance request"
    DELIVERY = "delivery", "delivery note"
    CREDIT = "credit", "credit note"


ASKS_FOR_MONEY = (PaperKind.DEPOSIT, PaperKind.STAGE, PaperKind.BALANCE)


class PaperSeries(StudioOwned):
    """How far the numbers of one kind of paper have come this year. Its row is locked while one is given out."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="paper_series")
    kind = models.CharField(max_length=12, choices=PaperKind)
    year = models.PositiveSmallIntegerField(default=0)
    count = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["kind"]
        verbose_name_plural = "paper series"
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "kind"],
                name="paper_series_once_a_kind",
                violation_error_message="The studio already counts papers of this kind.",
            ),
            one_of("paper_series", "kind", PaperKind),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.count} in {self.year}"


class IssuedPaper(Kept):
    """A paper as it was handed out. It is never changed: a credit note corrects one, another takes its place.

    `content` is everything the paper shows, a copy; `base`, `tax` and `amount` what it asks or gives back, in the
    currency of `content`, none on papers without money. `is_invoice` where it stands as a tax invoice.
    """

    KEPT = "A paper that was handed out is not changed. Correct it with a credit note, or issue another."

    studio = models.ForeignKey(Studio, models.PROTECT, related_name="papers")
    commission = models.ForeignKey(Commission, models.PROTECT, related_name="papers")
    quote = models.ForeignKey(Quote, models.PROTECT, null=True, blank=True, related_name="papers")
    change = models.ForeignKey(ChangeOrder, models.PROTECT, null=True, blank=True, related_name="papers")
    corrects = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="corrections")
    kind = models.CharField(max_length=12, choices=PaperKind)
    number = models.CharField(max_length=24)
    stage = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Which of the payments, from 1."
    )
    issued_on = models.DateField()
    issued_at = models.DateTimeField(default=timezone.now)
    issued_by = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    due_on = models.DateField(null=True, blank=True)
    is_invoice = models.BooleanField(default=False)
    base = money_field("before tax", low=None, null=True, blank=True)
    tax = money_field("tax", low=None, null=True, blank=True)
    amount = money_field("in all", low=None, null=True, blank=True)
    content = models.JSONField(default=dict)
    pdf = models.BinaryField(default=b"")
    sha256 = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ["-issued_at", "-pk"]
        constraints = [
            one_of("issued_paper", "kind", PaperKind),
            models.UniqueConstraint(
                fields=["studio", "kind", "number"],
                name="issued_paper_number_once",
                violation_error_message="The studio has already issued a paper of this kind with this number.",
            ),
            models.CheckConstraint(
                name="issued_paper_money_has_parts",
                condition=Q(amount__isnull=True, base__isnull=True, tax__isnull=True)
                | Q(amount__isnull=False, base__isnull=False, tax__isnull=False),
                violation_error_message="An amount has its parts before tax and tax.",
            ),
            models.CheckConstraint(
                name="issued_paper_credit_corrects",
                condition=~Q(kind="credit") | Q(corrects__isnull=False),
                violation_error_message="A credit note says which paper it corrects.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.number}"

    def clean(self) -> None:
        """Refuse parts that do not add up, and what belongs to another commission."""
        # Not the database's to hold: SQLite adds decimals as binary fractions.
        parts = (self.base, self.tax)
        if self.amount is not None and None not in parts and sum(parts) != self.amount:
            raise ValidationError({"amount": "Before tax and tax must add up to this."})
        for field in ("quote", "change", "corrects"):
            other = getattr(self, field)
            if other is not None and other.commission_id != self.commission_id:
                raise ValidationError({field: "Choose one of this commission."})


class PaymentWay(models.TextChoices):
    """Which way money went."""

    IN = "in", "received"
    BACK = "back", "paid back"


class PaymentBy(models.TextChoices):
    """How it was paid."""

    TRANSFER = "transfer", "bank transfer"
    CARD = "card", "card"
    CHEQUE = "cheque", "cheque"
    CASH = "cash", "cash"
    GALLERY = "gallery", "through the gallery"
    OTHER = "other", "otherwise"


class Payment(StudioOwned):
    """Money that came in for a commission, or went back. It stays; one taken down wrongly is struck, and why."""

    FIXED_BUT = ("struck_at", "struck_by", "struck_why")
    KEPT = "A payment taken down is not changed. Strike it, and take it down anew."

    studio = models.ForeignKey(Studio, models.PROTECT, related_name="payments")
    commission = models.ForeignKey(Commission, models.PROTECT, related_name="payments")
    paper = models.ForeignKey(
        IssuedPaper, models.PROTECT, null=True, blank=True, related_name="payments", verbose_name="for"
    )
    way = models.CharField("which way", max_length=4, choices=PaymentWay, default=PaymentWay.IN)
    amount = money_field("amount", low=0.0001)
    paid_on = models.DateField("on", default=timezone.localdate)
    by = models.CharField("how", max_length=8, choices=PaymentBy, default=PaymentBy.TRANSFER)
    reference = models.CharField(max_length=80, blank=True)
    note = models.CharField(max_length=200, blank=True)
    member = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    taken_at = models.DateTimeField(default=timezone.now, editable=False)
    struck_at = models.DateTimeField(null=True, editable=False)
    struck_by = models.ForeignKey(Member, models.SET_NULL, null=True, editable=False, related_name="+")
    struck_why = models.CharField(max_length=200, blank=True, editable=False)

    class Meta:
        ordering = ["paid_on", "pk"]
        constraints = [
            one_of("payment", "way", PaymentWay),
            one_of("payment", "by", PaymentBy),
            models.CheckConstraint(
                name="payment_above_nothing",
                condition=Q(amount__gt=0),
                violation_error_message="A payment is above nothing.",
            ),
            models.CheckConstraint(
                name="payment_struck_with_reason",
                condition=Q(struck_at__isnull=True) | ~Q(struck_why=""),
                violation_error_message="Say why it is struck.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_way_display()} {self.amount} on {self.paid_on}"

    def clean(self) -> None:
        """Refuse another commission's paper, and a day to come."""
        wrong: dict[str, str] = {}
        if self.paper is not None and self.paper.commission_id != self.commission_id:
            wrong["paper"] = "Choose a paper of this commission."
        if self.paid_on is not None and self.paid_on > timezone.localdate():
            wrong["paid_on"] = "This day is still to come."
        if wrong:
            raise ValidationError(wrong)

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Take it down, or strike it; refuse anything else."""
        stored = type(self).objects.filter(pk=self.pk).first() if self.pk else None
        if stored is not None:
            same = all(
                getattr(stored, field.attname) == getattr(self, field.attname)
                for field in self._meta.concrete_fields
                if field.name not in self.FIXED_BUT
            )
            if not same or stored.struck_at is not None:
                raise ValidationError(self.KEPT)
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        """Refuse."""
        raise ValidationError(self.KEPT)


class LetterState(models.TextChoices):
    """How far a letter has got."""

    WAITING = "waiting", "waiting"
    SENT = "sent", "sent"
    FAILED = "failed", "not sent"


class Letter(StudioOwned):
    """Mail written for a commission, kept as it went out; one that could not be sent is kept, to be sent again."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="letters")
    commission = models.ForeignKey(Commission, models.CASCADE, related_name="letters")
    to = models.EmailField()
    subject = models.CharField(max_length=200)
    body = models.TextField()
    attachments = models.JSONField(default=list, help_text="Papers that go with it: {kind, id}.")
    state = models.CharField(max_length=7, choices=LetterState, default=LetterState.WAITING)
    written_at = models.DateTimeField(default=timezone.now)
    written_by = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    sent_at = models.DateTimeField(null=True, blank=True)
    trouble = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-written_at", "-pk"]
        constraints = [
            one_of("letter", "state", LetterState),
            models.CheckConstraint(
                name="letter_sent_is_dated",
                condition=~Q(state="sent") | Q(sent_at__isnull=False),
                violation_error_message="A letter that was sent has its time.",
            ),
        ]

    def __str__(self) -> str:
        return self.subject
