"""What is agreed of a commission's price besides the usual: how the gallery deals, what is added and taken off."""

from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models

from estimating.terms import DIVISORS, HEAVIEST_SIDES, MOST_PADDING
from projects.models.fields import decimal_field, length_field, money_field, one_of, share_field, within


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


class Sold(models.TextChoices):
    """How several pieces are sold."""

    EACH = "each", "each by itself"
    SET = "set", "together, as a pair or a set"


class AmountFrom(models.TextChoices):
    """Where an amount for carriage comes from."""

    GIVEN = "given", "as written here"
    WORKED_OUT = "worked_out", "worked out from the box"


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


def _own_tax(name: str, *, empty: str) -> Any:
    return share_field(f"tax on {name}", null=True, blank=True, help_text=f"Empty: {empty}.")


def _amount_from(name: str, words: str) -> Any:
    return models.CharField(
        name, max_length=10, choices=AmountFrom, default=AmountFrom.GIVEN, help_text=words
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
    sold = models.CharField(
        "several pieces are sold", max_length=4, choices=Sold, default=Sold.EACH,
        help_text="As a set they have one price: a price step is then the set’s.",
    )  # fmt: skip
    freight_from = _amount_from(
        "freight is", "Worked out: by what a box weighs and takes up, from the table of carriage."
    )
    crate_from = _amount_from(
        "the crate is", "Worked out: from the sides of the box, at the studio’s prices."
    )
    freight_tax = _own_tax("freight", empty="as the studio usually does it")
    crate_tax = _own_tax("the crate", empty="as the studio usually does it")
    stand_tax = _own_tax("the stand", empty="as the studio usually does it")
    stages = models.CharField(
        "payments (%)", max_length=80, blank=True, default="", validators=[validate_stages],
        help_text="In order, such as 30, 30, 40. Empty: a deposit and the balance.",
    )  # fmt: skip

    class Meta:
        abstract = True


COMMISSION_TERMS = (
    *("price_from", "gallery_mode", "rush", "discount", "discount_borne_by"),
    *("freight", "crate", "stand", "stages", "sold", "freight_from", "crate_from"),
)
"""What has a value of its own where nothing is typed."""

OWN_TAXES = ("freight_tax", "crate_tax", "stand_tax")


def commission_rules() -> list[models.CheckConstraint]:
    """The database's own hold on the terms of a commission."""
    return [
        one_of("commission", "price_from", PriceFrom),
        one_of("commission", "gallery_mode", GalleryMode),
        one_of("commission", "discount_borne_by", Bearer),
        within("commission", "rush", low=0, high=1),
        within("commission", "discount", low=0, high=0.9),
        *(within("commission", field, low=0) for field in ("freight", "crate", "stand")),
        one_of("commission", "sold", Sold),
        one_of("commission", "freight_from", AmountFrom),
        one_of("commission", "crate_from", AmountFrom),
        *(within("commission", field, low=0, high=1, null=True) for field in OWN_TAXES),
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
    freight_tax = _own_tax("freight", empty="as on the pieces")
    crate_tax = _own_tax("the crate", empty="as on the pieces")
    stand_tax = _own_tax("the stand", empty="as on the pieces")
    box_padding = length_field(
        "padding in the box", low=0, high=MOST_PADDING, default=50,
        help_text="On every side of the piece. Usual: 50 mm. Common practice, no source.",
    )  # fmt: skip
    box_kg_m2 = decimal_field(
        "the box’s own weight", digits=7, places=3, high=HEAVIEST_SIDES, default=Decimal("0.9"),
        help_text="Of a square metre of its sides. Double-wall card about 0.9, plywood of 9 mm about 6; from memory.",
    )  # fmt: skip
    volume_divisor = decimal_field(
        "what a kilogram may take up", digits=8, places=1, low=DIVISORS[0], high=DIVISORS[1], default=5000,
        help_text="A box that is light for its size is charged by its volume. Usual: 5000, 4000 to 6000 met, as "
        "parcel services print it; ask your carrier.",
    )  # fmt: skip
    crate_per_m2 = money_field(
        "crate, a square metre", default=0, help_text="Of the box’s sides: material and work."
    )
    crate_fixed = money_field("crate, each besides", default=0, help_text="Whatever its size.")
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
        *(within("pricing", field, low=0, high=1, null=True) for field in OWN_TAXES),
        within("pricing", "box_padding", low=0, high=MOST_PADDING),
        within("pricing", "box_kg_m2", low=0, high=HEAVIEST_SIDES),
        within("pricing", "volume_divisor", low=DIVISORS[0], high=DIVISORS[1]),
        within("pricing", "crate_per_m2", low=0),
        within("pricing", "crate_fixed", low=0),
    ]
