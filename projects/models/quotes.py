"""Quotes handed to clients: words while a draft, a frozen copy once issued."""

from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from projects.models.commissions import Commission
from projects.models.fields import one_of
from projects.models.owned import StudioOwned, StudioQuerySet
from projects.models.studio import Studio


class QuoteState(models.TextChoices):
    """A draft may change; an issued quote never does."""

    DRAFT = "draft", "draft"
    ISSUED = "issued", "issued"


class QuoteQuerySet(StudioQuerySet):
    """Quotes, of which the issued ones cannot be changed in bulk either."""

    def update(self, **kwargs: Any) -> int:
        """Change drafts; refuse when an issued quote is among them."""
        self._refuse_issued()
        return super().update(**kwargs)

    def delete(self) -> tuple[int, dict[str, int]]:
        """Delete drafts; refuse when an issued quote is among them."""
        self._refuse_issued()
        return super().delete()

    def _refuse_issued(self) -> None:
        if self.filter(state=QuoteState.ISSUED).exists():
            raise ValidationError(Quote.FROZEN, code="issued")


class Quote(StudioOwned):
    """A quote: while a draft, only its words; once issued, a frozen copy of everything it was made from.

    The frozen fields hold copies, not references, so that no later change of design, shop or client reaches
    them: `sheet` is the piece sheet, `estimate` the whole answer, `drawing` the elevation as SVG,
    `letterhead` the studio and what it usually agrees, `addressee` the client and what is agreed of delivery (both
    as services/freezing.py copies them), `species` a list of {key, name, botanical, origin, protected_note}, `finish`
    {name, coats} or empty. `terms` becomes the whole of the terms in words. Both papers are kept as bytes with their
    SHA-256.
    """

    FROZEN = "An issued quote cannot be changed. Issue a revision of it instead."

    studio = models.ForeignKey(Studio, models.PROTECT, related_name="quotes")
    commission = models.ForeignKey(Commission, models.PROTECT, related_name="quotes")
    state = models.CharField(max_length=6, choices=QuoteState, default=QuoteState.DRAFT, editable=False)
    number = models.CharField(max_length=20, blank=True, default="", editable=False)
    revision = models.CharField(max_length=1, blank=True, default="", editable=False)
    issued_at = models.DateTimeField(null=True, editable=False)
    valid_until = models.DateField(
        null=True, blank=True, help_text="Empty: as long as the studio's quotes usually are."
    )
    lead_time = models.CharField(max_length=80, blank=True)
    message = models.TextField(blank=True, help_text="A few lines to the client, above the figures.")
    terms = models.TextField(blank=True)
    care = models.TextField(blank=True)

    title = models.CharField(max_length=160, blank=True, editable=False)
    sheet = models.JSONField(default=dict, editable=False)
    estimate = models.JSONField(default=dict, editable=False)
    drawing = models.TextField(blank=True, editable=False)
    letterhead = models.JSONField(default=dict, editable=False)
    addressee = models.JSONField(default=dict, editable=False)
    species = models.JSONField(default=list, editable=False)
    finish = models.JSONField(default=dict, editable=False)
    trade_pdf = models.BinaryField(default=b"", editable=False)
    trade_sha256 = models.CharField(max_length=64, blank=True, editable=False)
    client_pdf = models.BinaryField(default=b"", editable=False)
    client_sha256 = models.CharField(max_length=64, blank=True, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    objects: ClassVar[Any] = QuoteQuerySet.as_manager()

    class Meta:
        ordering = ["-created_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "number", "revision"],
                condition=~Q(number=""),
                name="quote_number_once_a_studio",
                violation_error_message="The studio has already issued a quote with this number.",
            ),
            models.UniqueConstraint(
                fields=["commission"],
                condition=Q(state=QuoteState.DRAFT),
                name="quote_one_draft_a_commission",
                violation_error_message="This commission already has a draft quote.",
            ),
            one_of("quote", "state", QuoteState),
            models.CheckConstraint(
                name="quote_issued_is_numbered",
                condition=Q(state=QuoteState.DRAFT, number="", issued_at__isnull=True)
                | (
                    Q(state=QuoteState.ISSUED, issued_at__isnull=False, valid_until__isnull=False)
                    & ~Q(number="")
                ),
                violation_error_message="An issued quote has a number and dates; a draft has no number.",
            ),
        ]

    def __str__(self) -> str:
        return self.reference or "draft quote"

    @property
    def reference(self) -> str:
        """The number as printed: 2026-001, and 2026-001 B for the first revision of it."""
        return self.number if self.revision in ("", "A") else f"{self.number} {self.revision}"

    @property
    def is_issued(self) -> bool:
        """Whether it has gone out and is frozen."""
        return self.state == QuoteState.ISSUED

    def clean(self) -> None:
        """Refuse another studio's commission."""
        if self.commission_id and self.commission.studio_id != self.studio_id:
            raise ValidationError({"commission": "Choose a commission of this studio."})

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Save a draft, or the act of issuing it; refuse once the stored row is issued."""
        self._refuse_if_issued()
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        """Delete a draft; refuse once issued, since a number handed out must stay accounted for."""
        self._refuse_if_issued()
        return super().delete(*args, **kwargs)

    def _refuse_if_issued(self) -> None:
        # The stored row is asked and not this copy, whose `state` anyone can set.
        if self.pk and type(self).objects.filter(pk=self.pk, state=QuoteState.ISSUED).exists():
            raise ValidationError(self.FROZEN, code="issued")
