"""The lots of adhesive that glue-ups were mixed from, as their labels say: kept so that a bad one can be recalled."""

from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone

from projects.models.adhesives import Adhesive
from projects.models.bench import BenchStep
from projects.models.fields import named, one_of
from projects.models.owned import StudioOwned
from projects.models.studio import Member

LONGEST_LOT = 60


class LotPart(models.TextChoices):
    """What a label is on: the two parts of an adhesive that is mixed, or the one bottle."""

    RESIN = "a", "resin (A)"
    HARDENER = "b", "hardener (B)"
    BOTTLE = "one", "adhesive"


class AdhesiveLot(StudioOwned):
    """A lot that went into a glue-up. `name` is the adhesive's as it was, which stays when the shelf changes.

    `use_by` is the last day on its label, where there is one.
    """

    studio_path = "step__commission__studio"

    step = models.ForeignKey(BenchStep, models.CASCADE, related_name="lots")
    adhesive = models.ForeignKey(Adhesive, models.SET_NULL, null=True, blank=True, related_name="lots")
    name = models.CharField(max_length=80)
    part = models.CharField(max_length=3, choices=LotPart)
    lot = models.CharField(max_length=LONGEST_LOT)
    use_by = models.DateField("use by", null=True, blank=True)
    at = models.DateTimeField(default=timezone.now)
    member = models.ForeignKey(Member, models.PROTECT, related_name="adhesive_lots")

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["step", "part", "lot"],
                name="adhesive_lot_once_a_step",
                violation_error_message="This lot is kept with the step already.",
            ),
            named("adhesive_lot"),
            named("adhesive_lot", "lot"),
            one_of("adhesive_lot", "part", LotPart),
        ]

    def __str__(self) -> str:
        return f"{self.get_part_display()} lot {self.lot}"

    def clean(self) -> None:
        """Refuse another studio's adhesive or member."""
        studio = self.step.commission.studio_id
        for field, words in (("adhesive", "an adhesive"), ("member", "someone who works in")):
            row = getattr(self, field) if getattr(self, f"{field}_id") else None
            if row is not None and row.studio_id != studio:
                of = "of this studio" if field == "adhesive" else "this studio"
                raise ValidationError({field: f"Choose {words} {of}."})
