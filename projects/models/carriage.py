"""The studio's table of carriage: what its carrier asks for a parcel, by the kilograms it is charged at."""

from django.db import models

from estimating.terms import HEAVIEST_KG
from projects.models.fields import decimal_field, money_field, plain_text, within
from projects.models.owned import StudioOwned
from projects.models.studio import Studio


class CarriageRate(StudioOwned):
    """One step of the table: a parcel that is charged at so many kilograms at most costs so much."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="carriage")
    up_to_kg = decimal_field(
        "up to",
        digits=8,
        places=3,
        low=0.001,
        high=HEAVIEST_KG,
        help_text="What a parcel is charged at, at most.",
    )
    price = money_field("price", help_text="Of one parcel, before tax, insurance and surcharges in it.")

    class Meta:
        ordering = ["up_to_kg"]
        constraints = [
            models.UniqueConstraint(
                fields=["studio", "up_to_kg"],
                name="carriage_step_once_a_studio",
                violation_error_message="The table already has a step up to so many kilograms.",
            ),
            within("carriage", "up_to_kg", low=0.001, high=HEAVIEST_KG),
            within("carriage", "price", low=0),
        ]

    def __str__(self) -> str:
        return f"up to {plain_text(self.up_to_kg)} kg"
