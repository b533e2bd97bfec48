"""What happens to a quote once it is out: the client's private link, options, and every act, in rows beside it."""

import secrets

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.utils import timezone

from projects.models.commissions import Commission
from projects.models.fields import one_of
from projects.models.kept import Kept
from projects.models.owned import StudioOwned
from projects.models.quotes import Quote
from projects.models.studio import Member, Studio

MOST_OPTIONS = 3


def _nonce() -> str:
    return secrets.token_hex(32)


class ClientLink(StudioOwned):
    """A private address at which a client sees one commission: unguessable, until a day, or until it is revoked.

    The token in the address is an HMAC of `nonce` with the installation's secret key, so that a copy of the database
    opens nothing; `token_hash` is what a request is looked up by.
    """

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="client_links")
    commission = models.ForeignKey(Commission, models.CASCADE, related_name="links")
    nonce = models.CharField(max_length=64, default=_nonce, unique=True, editable=False)
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    expires_on = models.DateField(help_text="The last day on which it opens.")
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    created_by = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    revoked_at = models.DateTimeField(null=True, blank=True, editable=False)
    last_seen_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-created_at", "-pk"]

    def __str__(self) -> str:
        return f"link of {self.created_at:%Y-%m-%d}"

    def clean(self) -> None:
        """Refuse another studio's commission."""
        if self.commission_id and self.commission.studio_id != self.studio_id:
            raise ValidationError({"commission": "Choose a commission of this studio."})


class QuoteOption(StudioOwned):
    """Another way to have the piece, offered on the same quote: chosen while it is a draft, frozen when it is issued.

    `choice` says what is other: {wood, by, size, finish (an id or null), quantity (or null)}. The frozen fields are as
    on the quote; `says` lists what differs, in the client's words.
    """

    studio_path = "quote__studio"

    quote = models.ForeignKey(Quote, models.CASCADE, related_name="options")
    position = models.PositiveSmallIntegerField()
    title = models.CharField(max_length=120)
    choice = models.JSONField(default=dict)
    says = models.JSONField(default=list, editable=False)
    sheet = models.JSONField(default=dict, editable=False)
    estimate = models.JSONField(default=dict, editable=False)
    drawing = models.TextField(blank=True, editable=False)
    species = models.JSONField(default=list, editable=False)
    finish = models.JSONField(default=dict, editable=False)

    class Meta:
        ordering = ["position"]
        constraints = [
            models.UniqueConstraint(
                fields=["quote", "position"],
                name="quote_option_position_once",
                violation_error_message="The quote already has an option in this place.",
            ),
            models.CheckConstraint(
                name="quote_option_position_in_range",
                condition=Q(position__gte=1, position__lte=MOST_OPTIONS),
                violation_error_message=f"At most {MOST_OPTIONS} options on a quote.",
            ),
            models.CheckConstraint(
                name="quote_option_titled",
                condition=~Q(title=""),
                violation_error_message="An option needs a title.",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def save(self, *args: object, **kwargs: object) -> None:
        """Save it while its quote is a draft, or is just being issued; refuse afterwards."""
        self._refuse_if_issued()
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    def delete(self, *args: object, **kwargs: object) -> tuple[int, dict[str, int]]:
        """Take it off a draft; refuse once that is issued."""
        self._refuse_if_issued()
        return super().delete(*args, **kwargs)  # type: ignore[arg-type]

    def _refuse_if_issued(self) -> None:
        # The stored quote is asked and not this copy of it.
        if Quote.objects.filter(pk=self.quote_id, state="issued").exists():
            raise ValidationError(Quote.FROZEN, code="issued")


class QuoteAct(models.TextChoices):
    """What can happen to a quote that is out."""

    SENT = "sent", "sent"
    SEEN = "seen", "seen"
    ASKED = "asked", "asked"
    ANSWERED = "answered", "answered"
    ACCEPTED = "accepted", "accepted"
    DECLINED = "declined", "declined"
    WITHDRAWN = "withdrawn", "withdrawn"


class QuoteEvent(Kept):
    """One act on an issued quote, with its time. Only ever added.

    It was the client's, through `link`, or somebody's in the studio, `member`, who took it down for the client.
    `name` is what was typed for a signature; `text` the whole of what was agreed to, as it was shown, and `sha256` of
    it in UTF-8. `words` is a question, an answer, a reason.
    """

    KEPT = "What happened to a quote is only added to."

    studio_path = "quote__studio"

    quote = models.ForeignKey(Quote, models.PROTECT, related_name="events")
    what = models.CharField(max_length=9, choices=QuoteAct)
    at = models.DateTimeField(default=timezone.now)
    member = models.ForeignKey(Member, models.SET_NULL, null=True, blank=True, related_name="+")
    link = models.ForeignKey(ClientLink, models.SET_NULL, null=True, blank=True, related_name="+")
    option = models.ForeignKey(QuoteOption, models.PROTECT, null=True, blank=True, related_name="+")
    name = models.CharField(max_length=120, blank=True)
    words = models.TextField(blank=True, max_length=4000)
    text = models.TextField(blank=True)
    sha256 = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            one_of("quote_event", "what", QuoteAct),
            models.UniqueConstraint(
                fields=["quote"],
                condition=Q(what="seen"),
                name="quote_event_seen_once",
                violation_error_message="It is noted already that this quote was seen.",
            ),
            models.CheckConstraint(
                name="quote_event_acceptance_is_signed",
                condition=~Q(what="accepted") | (~Q(name="") & ~Q(text="") & ~Q(sha256="")),
                violation_error_message="An acceptance has a name and the text that was agreed to.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quote} {self.get_what_display()}"

    def clean(self) -> None:
        """Refuse another quote's option, and another studio's member or link."""
        if self.option is not None and self.option.quote_id != self.quote_id:
            raise ValidationError({"option": "Choose an option of this quote."})
        for field in ("member", "link"):
            chosen = getattr(self, field)
            if chosen is not None and chosen.studio_id != self.quote.studio_id:
                raise ValidationError({field: f"Choose a {field} of this studio."})
