"""Designs: a piece with what glues and finishes it. Its parts, with their forms and bands, are in `parts`."""

import math
import re
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from projects.models.adhesives import Adhesive
from projects.models.fields import within
from projects.models.owned import StudioOwned
from projects.models.shop import Finish
from projects.models.studio import Studio

MOST_LAMINATES = 50
MOST_STRIPS = 100


class LaminateKind(models.TextChoices):
    """How a laminated segment is made of its strips."""

    STRIPES = "stripes", "stripes"
    ZIGZAG = "zigzag", "zigzag"
    DIAMOND = "diamond", "diamond"


def is_number(value: Any) -> bool:
    """A finite number of JSON, which a truth value is not."""
    return type(value) in (int, float) and math.isfinite(value)


def validate_laminates(value: Any) -> None:
    """Refuse what is no mapping of names to laminates: {"kind", "angle" in degrees, "strips": [{"wood", "width"}]}."""
    if not isinstance(value, dict) or len(value) > MOST_LAMINATES:
        raise ValidationError(f"Give up to {MOST_LAMINATES} laminated segments by their names.")
    for key, laminate in value.items():
        if not re.fullmatch(r"[a-z][a-z0-9_]{0,39}", key):
            raise ValidationError(
                f"Call {key!r} by lower-case letters, digits and underscores, starting with a letter."
            )
        if problem := _laminate_problem(laminate):
            raise ValidationError(f"The laminated segment {key}: {problem}")


def _laminate_problem(laminate: Any) -> str:
    """What is wrong with one; nothing where nothing is."""
    if not isinstance(laminate, dict) or set(laminate) != {"kind", "angle", "strips"}:
        return "give its kind, its angle and its strips."
    if laminate["kind"] not in LaminateKind.values:
        return f"its kind must be one of: {', '.join(LaminateKind.values)}."
    if not is_number(laminate["angle"]) or not 0 <= laminate["angle"] <= 90:
        return "its angle must be from 0 to 90 degrees."
    strips = laminate["strips"]
    if not isinstance(strips, list) or not 0 < len(strips) <= MOST_STRIPS:
        return f"give it one to {MOST_STRIPS} strips."
    for number, strip in enumerate(strips, start=1):
        usable = isinstance(strip, dict) and set(strip) == {"wood", "width"}
        if not usable or not isinstance(strip["wood"], str) or not 0 < len(strip["wood"]) <= 40:
            return f"strip {number} needs a wood and a width."
        if not is_number(strip["width"]) or not 0 < strip["width"] <= 1000:
            return f"strip {number} must be more than 0 and at most 1000 mm wide."
    return ""


class Design(StudioOwned):
    """A piece as designed: its parts, its laminated segments, and what glues and finishes it."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="designs")
    title = models.CharField(max_length=160)
    quantity = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(1000)], help_text="Pieces made alike."
    )
    laminates = models.JSONField(
        default=dict,
        blank=True,
        validators=[validate_laminates],
        help_text="Segments glued up from strips, by the name that stands in place of a wood; widths mm.",
    )
    adhesive = models.ForeignKey(
        Adhesive,
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="designs",
        help_text="Empty: the usual one.",
    )
    finish = models.ForeignKey(
        Finish,
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="designs",
        help_text="Empty: the usual one.",
    )
    note = models.TextField(blank=True)
    is_template = models.BooleanField("template", default=False, help_text="Kept to be used again.")
    # Set when it is made and never by an edit, so that no design can come to stand above itself.
    grown_from = models.ForeignKey(
        "self",
        models.SET_NULL,
        null=True,
        blank=True,
        editable=False,
        related_name="grown",
        help_text="The design it was copied or made again from.",
    )
    # Counts the times it was saved. A page sends back the number it was opened with, so that of two people
    # editing at once the second is told instead of silently undoing the first.
    revision = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["-updated_at", "pk"]
        constraints = [
            models.CheckConstraint(
                name="design_titled",
                condition=~Q(title=""),
                violation_error_message="A design needs a title.",
            ),
            within("design", "quantity", low=1, high=1000),
            models.CheckConstraint(
                name="design_not_grown_from_itself",
                condition=Q(grown_from__isnull=True) | ~Q(grown_from=F("id")),
                violation_error_message="A design cannot come from itself.",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def clean(self) -> None:
        """Refuse another studio's adhesive, finish or design, and a family that goes round in a ring."""
        for field in ("adhesive", "finish", "grown_from"):
            chosen = getattr(self, field)
            if chosen is not None and chosen.studio_id != self.studio_id:
                raise ValidationError(
                    {field: f"Choose a {field.replace('grown_from', 'design')} of this studio."}
                )
        self._refuse_ring()

    def _refuse_ring(self) -> None:
        above, seen = self.grown_from_id, set[int]()
        while self.pk and above and above not in seen:
            if above == self.pk:
                raise ValidationError({"grown_from": "This design came from the other."})
            seen.add(above)
            above = Design.objects.filter(pk=above).values_list("grown_from", flat=True).first()

    @property
    def laminated_woods(self) -> set[str]:
        """The keys of the woods in its laminated segments."""
        return {strip["wood"] for laminate in self.laminates.values() for strip in laminate["strips"]}
