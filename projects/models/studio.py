"""The studio, the people who work in it, and the people who ask it for work."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q

from projects.models.climate import humidity_field, refuse_half_a_room, room_rules, temperature_field
from projects.models.fields import named, one_of, share_field, within
from projects.models.owned import StudioOwned
from projects.models.paper_terms import (
    ClientPapers,
    StudioPapers,
    client_paper_rules,
    studio_paper_rules,
)


class LengthUnit(models.TextChoices):
    """What lengths are shown and typed in."""

    MM = "mm", "millimetres"
    INCH = "in", "inches"


class InchStyle(models.TextChoices):
    """How inches are written."""

    FRACTION = "fraction", "fractions"
    DECIMAL = "decimal", "decimals"


class GalleryShareAs(models.TextChoices):
    """How a gallery's share stands in the year's figures."""

    SALE = "sale", "left out: a sale is what comes to you"
    EXPENSE = "expense", "an expense: a sale is what the buyer paid"


class MemberRole(models.TextChoices):
    """Who may change the studio itself (owner) and who works in it."""

    OWNER = "owner", "owner"
    MEMBER = "member", "member"


class ClientKind(models.TextChoices):
    """Who asks."""

    GALLERY = "gallery", "gallery"
    PRIVATE = "private", "private client"
    OTHER = "other", "other"


def validate_currency(code: str) -> None:
    """Refuse a code that is no currency with a minor unit in ISO 4217."""
    # Imported here since the list is read from a file, which no page but a settings form needs.
    from iso4217 import Currency

    try:
        known = Currency(code).exponent is not None
    except ValueError:
        known = False
    if not known:
        raise ValidationError(
            "%(code)s is no currency code; write its three letters, such as USD or EUR.",
            params={"code": code},
        )


class Studio(StudioPapers, StudioOwned):
    """One turner's studio, as it stands on its letterhead."""

    studio_path = "pk"

    name = models.CharField(max_length=120)
    tagline = models.CharField(max_length=160, blank=True)
    address = models.TextField(blank=True, help_text="As on the letterhead, one line a row.")
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    web = models.CharField("web address", max_length=200, blank=True)
    tax_number = models.CharField(max_length=40, blank=True)
    currency = models.CharField(
        max_length=3,
        default="USD",
        validators=[RegexValidator(r"\A[A-Z]{3}\Z", message="Use three capital letters."), validate_currency],
        help_text="Its three letters: USD, EUR, GBP ...",
    )
    length_unit = models.CharField(max_length=2, choices=LengthUnit, default=LengthUnit.MM)
    inch_style = models.CharField(max_length=8, choices=InchStyle, default=InchStyle.FRACTION)
    letterhead_note = models.CharField(max_length=200, blank=True)
    terms = models.TextField(blank=True, help_text="Stands on every quote.")
    care = models.TextField(blank=True, help_text="How to look after a piece; stands on every quote.")
    quote_valid_days = models.PositiveSmallIntegerField(
        default=30, validators=[MinValueValidator(1), MaxValueValidator(365)]
    )
    lead_time = models.CharField(max_length=80, blank=True, default="8 to 10 weeks from the deposit")
    gallery_share_as = models.CharField(
        "galleries' share is",
        max_length=7,
        choices=GalleryShareAs,
        default=GalleryShareAs.SALE,
        help_text="What you earn is the same either way. Which is right for your books, ask an adviser.",
    )
    quote_year = models.PositiveSmallIntegerField(default=0, editable=False)
    quote_count = models.PositiveIntegerField(default=0, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                name="studio_named", condition=~Q(name=""), violation_error_message="A studio needs a name."
            ),
            within("studio", "quote_valid_days", low=1, high=365),
            one_of("studio", "length_unit", LengthUnit),
            one_of("studio", "inch_style", InchStyle),
            one_of("studio", "gallery_share_as", GalleryShareAs),
            *studio_paper_rules(),
        ]

    def __str__(self) -> str:
        return self.name


class Member(StudioOwned):
    """Someone who works in a studio and may see and change what is the studio's."""

    # One studio a log-in: no page then has to ask which studio is meant, and none can show the wrong one.
    user = models.OneToOneField(settings.AUTH_USER_MODEL, models.CASCADE, related_name="member")
    studio = models.ForeignKey(Studio, models.CASCADE, related_name="members")
    role = models.CharField(max_length=6, choices=MemberRole, default=MemberRole.MEMBER)

    class Meta:
        ordering = ["studio", "user__username"]
        constraints = [one_of("member", "role", MemberRole)]

    def __str__(self) -> str:
        return self.user.get_full_name() or self.user.get_username()


class Client(ClientPapers, StudioOwned):
    """Whoever a commission is made for: a gallery, or someone who wants the piece at home."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="clients")
    kind = models.CharField(max_length=7, choices=ClientKind, default=ClientKind.PRIVATE)
    name = models.CharField(max_length=120)
    contact = models.CharField("contact person", max_length=120, blank=True)
    address = models.TextField(blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    gallery_share = share_field(
        "gallery's share",
        high=0.95,
        null=True,
        blank=True,
        help_text="Share of the retail price before tax. Empty: usual for a gallery, none for others.",
    )
    room_temperature_c = temperature_field(
        "their room (°C)",
        null=True,
        blank=True,
        help_text="The air the pieces will live in. Known, and estimates say what moves there.",
    )
    room_humidity = humidity_field(
        "humidity of their room (%)",
        null=True,
        blank=True,
        help_text="Relative humidity, the season's worst: heated rooms are driest in winter.",
    )
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "name"],
                name="client_name_once_a_studio",
                violation_error_message="The studio already has a client of this name.",
            ),
            named("client"),
            within("client", "gallery_share", low=0, high=0.95, null=True),
            one_of("client", "kind", ClientKind),
            *room_rules("client"),
            *client_paper_rules(),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Refuse half a room."""
        refuse_half_a_room(self)
