"""What is agreed of a commission's price besides the usual: how the gallery deals, what is added and taken off."""

from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

from projects.models.fields import money_field, one_of, share_field, within


class PriceFrom(models.TextChoices):
    """What the price is made from."""

    COST = "cost", "worked out from what it costs"
    OFFER = "offer", "the price offered"


class GalleryMode(models.TextChoices):
    """How a gallery deals."""

    CONSIGNMENT = "consignment", "consignment: it sells and keeps its share"
    PURCHASE = "purchase", "purchase: it buys at the price less its share"
    COMMISSION = "commission", "commission: you sell and pay its share"


class Bearer(models.TextChoices):
    """Who bears a discount."""

    BOTH = "both", "both, by their shares"
    STUDIO = "studio", "you alone"
    GALLERY = "gallery", "the gallery alone"


class FeePayer(models.TextChoices):
    """Who takes the money, and so pays for that."""

    STUDIO = "studio", "you"
    GALLERY = "gallery", "the gallery"


class TaxBy(models.TextChoices):
    """Where tax is rounded."""

    QUOTE = "quote", "once for the quote"
    LINE = "line", "for each line"


def stage_shares(text: str) -> tuple[Decimal, ...]:
    """Payments before the last as fractions, from per cents such as `30, 30, 40`; ValueError with what is wrong."""
    try:
        parts = (
            [Decimal(part.strip().removesuffix("%").strip()) for part in text.split(",")]
            if text.strip()
            else []
        )
    except ArithmeticError:
        raise ValueError("Write per cents with commas between, such as 30, 30, 40.") from None
    if not all(part.is_finite() and part > 0 for part in parts):
        raise ValueError("Each payment must be above 0 %.")
    if parts and sum(parts) != 100:
        raise ValueError(f"They add up to {sum(parts):f} %, not to 100 %.")
    return tuple(part / 100 for part in parts[:-1])


def validate_stages(text: str) -> None:
    """Refuse what are no stages of payment."""
    try:
        stage_shares(text)
    except ValueError as refusal:
        raise ValidationError(str(refusal)) from refusal


def _cost(name: str, words: str) -> Any:
    return money_field(
        name, default=0, help_text=f"{words} Charged as it costs, outside the gallery’s share."
    )


class MoneyTerms(models.Model):
    """Terms of one commission. What is left as it is changes nothing of its price."""

    price_from = models.CharField(
        "the price is", max_length=5, choices=PriceFrom, default=PriceFrom.COST,
        help_text="A quote is issued at this price.",
    )  # fmt: skip
    gallery_mode = models.CharField(
        "how the gallery deals", max_length=11, choices=GalleryMode, default=GalleryMode.CONSIGNMENT
    )
    rush = share_field(
        "surcharge for haste", default=0, help_text="On what you are paid. Usual: 20 %, 10 to 30 met."
    )
    discount = share_field("discount", high=0.9, default=0, help_text="Off the printed price.")
    discount_borne_by = models.CharField(
        "who bears the discount", max_length=7, choices=Bearer, default=Bearer.BOTH
    )
    freight = _cost("freight", "To the client or the gallery.")
    crate = _cost("crate", "Made or bought.")
    stand = _cost("stand", "Made or bought.")
    stages = models.CharField(
        "payments (%)", max_length=80, blank=True, default="", validators=[validate_stages],
        help_text="In order, such as 30, 30, 40. Empty: a deposit and the balance.",
    )  # fmt: skip

    class Meta:
        abstract = True


COMMISSION_TERMS = (
    *("price_from", "gallery_mode", "rush", "discount", "discount_borne_by"),
    *("freight", "crate", "stand", "stages"),
)


def commission_rules() -> list[models.CheckConstraint]:
    """The database's own hold on the terms of a commission."""
    return [
        one_of("commission", "price_from", PriceFrom),
        one_of("commission", "gallery_mode", GalleryMode),
        one_of("commission", "discount_borne_by", Bearer),
        within("commission", "rush", low=0, high=1),
        within("commission", "discount", low=0, high=0.9),
        *(within("commission", field, low=0) for field in ("freight", "crate", "stand")),
    ]


class PricingHabits(models.Model):
    """How the studio's prices are stepped, paid and taxed, and what it loses by stage. Nothing set: nothing changes."""

    price_step = money_field(
        "price step", default=0,
        help_text="The printed price of a piece is rounded up to a multiple of it. Usual: 25. Nothing: not rounded up.",
    )  # fmt: skip
    payment_fee = share_field(
        "payment fee",
        high=0.5,
        default=0,
        help_text="Card or platform, of all that is paid. Usual: 3 %, 0 to 5 met.",
    )
    fee_borne_by = models.CharField(
        "who takes the money, and bears the fee", max_length=7, choices=FeePayer, default=FeePayer.STUDIO
    )
    tax_by = models.CharField("tax is rounded", max_length=5, choices=TaxBy, default=TaxBy.QUOTE)
    segment_loss = share_field(
        "segments cut again", high=0.9, default=0,
        help_text="With its wood and sawing. Once any loss of a stage is given, these stand for the failures above.",
    )  # fmt: skip
    ring_loss = share_field(
        "rings glued again", high=0.9, default=0, help_text="With their segments. Usual: 3 %, 1 to 8 met."
    )
    glue_up_loss = share_field(
        "glue-ups done again",
        high=0.9,
        default=0,
        help_text="With all layers in them. Usual: 3 %, 1 to 6 met.",
    )
    lathe_loss = share_field(
        "pieces lost at the lathe",
        high=0.9,
        default=0,
        help_text="With all up to then. Usual: 3 %, 1 to 8 met.",
    )

    class Meta:
        abstract = True


def habit_rules() -> list[models.CheckConstraint]:
    """The database's own hold on the studio's habits."""
    losses = ("segment_loss", "ring_loss", "glue_up_loss", "lathe_loss")
    return [
        one_of("pricing", "fee_borne_by", FeePayer),
        one_of("pricing", "tax_by", TaxBy),
        within("pricing", "price_step", low=0),
        within("pricing", "payment_fee", low=0, high=0.5),
        *(within("pricing", field, low=0, high=0.9) for field in losses),
    ]
