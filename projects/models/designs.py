"""Designs: the form of a piece and the bands of layers it is built from. Lengths mm."""

import math
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from projects.models.fields import length_field, one_of, share_field, within
from projects.models.owned import StudioOwned
from projects.models.shop import Adhesive, Finish
from projects.models.studio import Studio

MOST_POINTS = 500
MOST_WOODS = 360
MOST_OFFSETS = 5000


class Curve(models.TextChoices):
    """How the points are joined."""

    STRAIGHT = "straight", "straight lines"
    SMOOTH = "smooth", "a smooth curve"


class InsideKind(models.TextChoices):
    """What the hollow is."""

    SOLID = "solid", "solid"
    WALL = "wall", "a wall of even thickness"
    CURVE = "curve", "a curve of its own"


class Made(models.TextChoices):
    """How a band's layers are made."""

    CUT = "cut", "cut: each layer a ring of its own"
    SLICED = "sliced", "sliced: thin layers sawn from thick rings"


def _is_number(value: Any) -> bool:
    return type(value) in (int, float) and math.isfinite(value)


def validate_points(value: Any) -> None:
    """Refuse what is no list of [height, radius] in mm; the estimate says whether it can be turned."""
    if not isinstance(value, list) or len(value) > MOST_POINTS:
        raise ValidationError(f"Give a list of up to {MOST_POINTS} points, each a height and a radius in mm.")
    for number, point in enumerate(value):
        if not isinstance(point, list) or len(point) != 2 or not all(map(_is_number, point)):
            raise ValidationError(f"Point {number + 1} must be a height and a radius in mm.")
        if not all(abs(part) <= 10_000 for part in point):
            raise ValidationError(f"Point {number + 1} must stay within 10,000 mm.")


def validate_wood_keys(value: Any) -> None:
    """Refuse what is no list of wood keys."""
    usable = isinstance(value, list) and 0 < len(value) <= MOST_WOODS
    if not usable or not all(isinstance(key, str) and 0 < len(key) <= 40 for key in value):
        raise ValidationError(f"Name one to {MOST_WOODS} woods by their keys.")


def validate_offsets(value: Any) -> None:
    """Refuse what is no list of offsets in segments."""
    usable = isinstance(value, list) and 0 < len(value) <= MOST_OFFSETS
    if not usable or not all(_is_number(item) and abs(item) <= 360 for item in value):
        raise ValidationError("Give one offset or a list of them, in segments, each within a turn.")


def no_offset() -> list[float]:
    """Layers straight above each other."""
    return [0]


class Design(StudioOwned):
    """A piece as designed: form, allowances, bands, and what glues and finishes it."""

    studio = models.ForeignKey(Studio, models.CASCADE, related_name="designs")
    title = models.CharField(max_length=160)
    quantity = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1), MaxValueValidator(1000)], help_text="Pieces made alike."
    )
    allowance_outside = length_field("allowance outside", low=0, high=500, default=3)
    allowance_inside = length_field("allowance inside", low=0, high=500, default=3)
    allowance_top = length_field("allowance on top", low=0, high=500, default=1.5)
    allowance_bottom = length_field("allowance below", low=0, high=500, default=2)
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
            *(
                within("design", f"allowance_{side}", low=0, high=500)
                for side in ("outside", "inside", "top", "bottom")
            ),
        ]

    def __str__(self) -> str:
        return self.title

    def clean(self) -> None:
        """Refuse another studio's adhesive or finish."""
        for field in ("adhesive", "finish"):
            chosen = getattr(self, field)
            if chosen is not None and chosen.studio_id != self.studio_id:
                raise ValidationError({field: f"Choose a {field} of this studio."})


class Form(StudioOwned):
    """The outer curve from the bottom up, and the inside."""

    studio_path = "design__studio"

    design = models.OneToOneField(Design, models.CASCADE, related_name="form")
    outer = models.JSONField(
        validators=[validate_points], help_text="Points [height, radius] in mm, bottom up."
    )
    curve = models.CharField(max_length=8, choices=Curve, default=Curve.STRAIGHT)
    inside = models.CharField(max_length=5, choices=InsideKind, default=InsideKind.SOLID)
    wall = length_field("wall", high=1000, null=True, blank=True, help_text="Square to the outside.")
    floor = length_field("floor", low=0, high=5000, null=True, blank=True, help_text="Along the axis.")
    inner = models.JSONField(
        default=list,
        blank=True,
        validators=[validate_points],
        help_text="Points [height, radius] in mm, bottom up.",
    )

    class Meta:
        constraints = [
            one_of("form", "curve", Curve),
            one_of("form", "inside", InsideKind),
            within("form", "wall", low=0.001, high=1000, null=True),
            within("form", "floor", low=0, high=5000, null=True),
            models.CheckConstraint(
                name="form_wall_has_measures",
                condition=~Q(inside=InsideKind.WALL) | Q(wall__isnull=False, floor__isnull=False),
                violation_error_message="A wall of even thickness needs its thickness and the floor's.",
            ),
        ]

    def __str__(self) -> str:
        return f"Form of {self.design}"

    def clean(self) -> None:
        """Ask for what the kind of inside needs."""
        if self.inside == InsideKind.WALL:
            missing = {
                field: "A wall needs this." for field in ("wall", "floor") if getattr(self, field) is None
            }
            if missing:
                raise ValidationError(missing)
        if self.inside == InsideKind.CURVE and not self.inner:
            raise ValidationError({"inner": "An inside curve needs points."})


class Band(StudioOwned):
    """A run of like layers; bands count from 1 at the bottom."""

    studio_path = "design__studio"

    design = models.ForeignKey(Design, models.CASCADE, related_name="bands")
    position = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    name = models.CharField(max_length=80, blank=True)
    layers = models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(5000)])
    thickness = length_field("layer thickness", high=1000)
    segments = models.PositiveSmallIntegerField(validators=[MinValueValidator(3), MaxValueValidator(360)])
    woods = models.JSONField(validators=[validate_wood_keys], help_text="Wood keys, repeated round the ring.")
    offsets = models.JSONField(
        default=no_offset,
        validators=[validate_offsets],
        help_text="Turn of each layer on the one below, in segments.",
    )
    gap = share_field(
        "gap", high=0.95, default=0, help_text="Share of the pitch left open; 0 for a closed ring."
    )
    made = models.CharField(max_length=6, choices=Made, default=Made.CUT)
    ring_height = length_field(
        "thick ring's height", high=1000, null=True, blank=True, help_text="As glued; for sliced layers only."
    )

    class Meta:
        ordering = ["design", "position"]
        constraints = [
            models.UniqueConstraint(
                fields=["design", "position"],
                name="band_position_once_a_design",
                violation_error_message="The design already has a band at this position.",
            ),
            within("band", "position", low=1),
            within("band", "layers", low=1, high=5000),
            within("band", "thickness", low=0.001, high=1000),
            within("band", "segments", low=3, high=360),
            within("band", "gap", low=0, high=0.95),
            within("band", "ring_height", low=0.001, high=1000, null=True),
            one_of("band", "made", Made),
            models.CheckConstraint(
                name="band_sliced_has_ring_height",
                condition=~Q(made=Made.SLICED) | Q(ring_height__isnull=False),
                violation_error_message="Sliced layers need the height of the thick ring they come from.",
            ),
        ]

    def __str__(self) -> str:
        return self.name or f"Band {self.position}"

    def clean(self) -> None:
        """Ask a sliced band for its ring height, and for woods that go round evenly."""
        if self.made == Made.SLICED and self.ring_height is None:
            raise ValidationError({"ring_height": "Sliced layers need the height of their thick ring."})
        # What was typed may still be text here: its own field then says so.
        countable = isinstance(self.woods, list) and self.woods and isinstance(self.segments, int)
        if countable and self.segments % len(self.woods):
            raise ValidationError(
                {"woods": f"{len(self.woods)} woods do not divide {self.segments} segments without a rest."}
            )
