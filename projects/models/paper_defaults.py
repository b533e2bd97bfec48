"""What a studio's papers usually say of delivery, damage, joints and rights."""

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from projects.models.fields import one_of, within
from projects.models.owned import StudioOwned
from projects.models.studio import Studio


class Title(models.TextChoices):
    """When the piece becomes the buyer's."""

    PAID = "paid", "when it is paid in full"
    DELIVERED = "delivered", "when it is delivered"


class Risk(models.TextChoices):
    """When its risk passes."""

    DELIVERED = "delivered", "when it is delivered"
    HANDED_OVER = "handed_over", "when it is handed to the carrier"


class PaperDefaults(StudioOwned):
    """What the studio usually agrees of delivery, damage, joints and rights. One row a studio."""

    studio = models.OneToOneField(Studio, models.CASCADE, related_name="paper_defaults")

    title_passes = models.CharField("becomes the buyer's", max_length=9, choices=Title, default=Title.PAID)
    risk_passes = models.CharField("risk passes", max_length=11, choices=Risk, default=Risk.DELIVERED)
    report_days = models.PositiveSmallIntegerField(
        "days to report damage",
        default=3,
        validators=[MaxValueValidator(365)],
        help_text="After it arrives. Common practice, no source.",
    )
    return_days = models.PositiveSmallIntegerField(
        "days to return it",
        default=0,
        validators=[MaxValueValidator(365)],
        help_text="0: a piece made to order is not taken back. Rights that the law gives a buyer stay.",
    )
    warranty_months = models.PositiveSmallIntegerField(
        "joints warranted (months)",
        default=12,
        validators=[MaxValueValidator(600)],
        help_text="0: no warranty is printed. Common practice, no source.",
    )
    warranty_humidity_low = models.PositiveSmallIntegerField(
        "in rooms from (%)", default=40, validators=[MaxValueValidator(100)]
    )
    warranty_humidity_high = models.PositiveSmallIntegerField(
        "to (%)", default=55, validators=[MinValueValidator(1), MaxValueValidator(100)]
    )
    repairs = models.CharField(
        max_length=300,
        blank=True,
        help_text="Such as: the studio mends a joint at its own cost in that time.",
    )
    signature = models.CharField(
        max_length=200, blank=True, help_text="Such as: signed, numbered and dated under the foot."
    )
    copyright_words = models.CharField(
        "copyright",
        max_length=300,
        blank=True,
        help_text="Such as: design and copyright stay with the studio.",
    )

    class Meta:
        verbose_name_plural = "paper defaults"
        constraints = [
            one_of("paper_defaults", "title_passes", Title),
            one_of("paper_defaults", "risk_passes", Risk),
            within("paper_defaults", "report_days", low=0, high=365),
            within("paper_defaults", "return_days", low=0, high=365),
            within("paper_defaults", "warranty_months", low=0, high=600),
            within("paper_defaults", "warranty_humidity_low", low=0, high=100),
            within("paper_defaults", "warranty_humidity_high", low=1, high=100),
        ]

    def __str__(self) -> str:
        return f"Papers of {self.studio}"

    def clean(self) -> None:
        """Refuse a range of humidity that ends below its beginning."""
        low, high = self.warranty_humidity_low, self.warranty_humidity_high
        if low is not None and high is not None and low >= high:
            raise ValidationError({"warranty_humidity_high": "This must be above where the range begins."})
