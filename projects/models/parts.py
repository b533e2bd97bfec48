"""The parts of a design: each with the form it is turned to. Its bands of layers are in `bands`. Lengths mm."""

from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from projects.models.designs import Design, is_number
from projects.models.fields import length_field, named, needs, one_of, within
from projects.models.owned import StudioOwned

MOST_POINTS = 500
MOST_JOINS = 50
CORNER = "corner"
ALLOWANCES = ("allowance_outside", "allowance_inside", "allowance_top", "allowance_bottom")


class Curve(models.TextChoices):
    """How the points are joined."""

    STRAIGHT = "straight", "straight lines"
    SMOOTH = "smooth", "a smooth curve"


class InsideKind(models.TextChoices):
    """What the hollow is."""

    SOLID = "solid", "solid"
    WALL = "wall", "a wall of even thickness"
    CURVE = "curve", "a curve of its own"


class Held(models.TextChoices):
    """What the lathe holds the part by."""

    NOT = "", "nothing of its own: the allowance below is given"
    TENON = "tenon", "a tenon below, turned away at the end"
    RECESS = "recess", "a recess in the foot"
    WASTE_BLOCK = "waste_block", "a waste block, parted off at the end"


class BuildFrom(models.TextChoices):
    """Which end of the stack stands on the bench while it is glued up."""

    FOOT = "foot", "the foot"
    RIM = "rim", "the rim"


class Sits(models.TextChoices):
    """How a part stands on another."""

    NOT = "", "by itself"
    ON = "on", "glued on top of another part"
    IN = "in", "a loose lid in another part's rim"


def validate_points(value: Any) -> None:
    """Refuse what is no list of [height, radius] in mm, with "corner" for a third where the curve is not smooth.

    The estimate says whether it can be turned.
    """
    if not isinstance(value, list) or len(value) > MOST_POINTS:
        raise ValidationError(f"Give a list of up to {MOST_POINTS} points, each a height and a radius in mm.")
    for number, point in enumerate(value):
        measures = point[:2] if isinstance(point, list) and point[2:] in ([], [CORNER]) else []
        if len(measures) != 2 or not all(map(is_number, measures)):
            raise ValidationError(f"Point {number + 1} must be a height and a radius in mm.")
        if not all(abs(part) <= 10_000 for part in measures):
            raise ValidationError(f"Point {number + 1} must stay within 10,000 mm.")


def validate_heights(value: Any) -> None:
    """Refuse what is no list of heights in mm."""
    usable = isinstance(value, list) and len(value) <= MOST_JOINS
    if not usable or not all(is_number(item) and 0 < item <= 10_000 for item in value):
        raise ValidationError(f"Give up to {MOST_JOINS} heights, each above 0 and up to 10,000 mm.")


class Part(StudioOwned):
    """A body, a lid, a finial: a form with its bands, the wood left on it, and how it is held and stands."""

    studio_path = "design__studio"

    design = models.ForeignKey(Design, models.CASCADE, related_name="parts")
    position = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    name = models.CharField(max_length=80, default="body")
    allowance_outside = length_field("allowance outside", low=0, high=500, default=3)
    allowance_inside = length_field("allowance inside", low=0, high=500, default=3)
    allowance_top = length_field("allowance on top", low=0, high=500, default=1.5)
    allowance_bottom = length_field("allowance below", low=0, high=500, default=2)
    held = models.CharField("held by", max_length=11, choices=Held, default=Held.NOT, blank=True)
    held_depth = length_field(
        "depth of the tenon or recess", high=500, null=True, blank=True, help_text="What the jaws hold."
    )
    held_parting = length_field(
        "parting cut", low=0, high=500, null=True, blank=True, help_text="What parting off takes."
    )
    close_at = models.JSONField(
        "joined at",
        default=list,
        blank=True,
        validators=[validate_heights],
        help_text="Heights in mm at which bowls, turned and sanded inside, are joined.",
    )
    build_from = models.CharField(
        "glued up from",
        max_length=4,
        choices=BuildFrom,
        default=BuildFrom.FOOT,
        help_text="The end that stands on the bench: the glue cards are written for it.",
    )
    sits = models.CharField("stands", max_length=2, choices=Sits, default=Sits.NOT, blank=True)
    sits_at = models.PositiveSmallIntegerField(
        "on or in part",
        null=True,
        blank=True,
        validators=[MinValueValidator(1)],
        help_text="The position of the other part, from 1.",
    )
    flange = length_field(
        "flange", high=500, null=True, blank=True, help_text="How far a lid reaches into the rim."
    )
    clearance = length_field(
        "clearance", low=0, high=50, null=True, blank=True, help_text="Between flange and rim, each side."
    )

    class Meta:
        ordering = ["design", "position"]
        constraints = [
            models.UniqueConstraint(
                fields=["design", "position"],
                name="part_position_once_a_design",
                violation_error_message="The design already has a part at this position.",
            ),
            models.UniqueConstraint(
                fields=["design", "name"],
                name="part_name_once_a_design",
                violation_error_message="The design already has a part of this name.",
            ),
            named("part"),
            within("part", "position", low=1),
            *(within("part", field, low=0, high=500) for field in ALLOWANCES),
            one_of("part", "held", Held),
            within("part", "held_depth", low=0.001, high=500, null=True),
            within("part", "held_parting", low=0, high=500, null=True),
            one_of("part", "build_from", BuildFrom),
            one_of("part", "sits", Sits),
            within("part", "sits_at", low=1, null=True),
            within("part", "flange", low=0.001, high=500, null=True),
            within("part", "clearance", low=0, high=50, null=True),
            needs(
                "part_held_has_depth",
                Q(held__in=[Held.TENON, Held.RECESS]),
                Q(held_depth__isnull=False),
                "A tenon or a recess needs its depth.",
            ),
            needs(
                "part_held_has_parting",
                Q(held__in=[Held.TENON, Held.WASTE_BLOCK]),
                Q(held_parting__isnull=False),
                "A tenon or a waste block needs what parting it off takes.",
            ),
            needs(
                "part_sits_on_another",
                ~Q(sits=Sits.NOT),
                Q(sits_at__isnull=False),
                "Say which part it stands on or in.",
            ),
            models.CheckConstraint(
                name="part_sits_not_on_itself",
                condition=Q(sits_at__isnull=True) | ~Q(sits_at=F("position")),
                violation_error_message="A part cannot stand on itself.",
            ),
            needs(
                "part_lid_has_flange",
                Q(sits=Sits.IN),
                Q(flange__isnull=False, clearance__isnull=False),
                "A lid needs its flange and its clearance.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """Ask for what the way of holding and of standing needs, each at its field."""
        wrong: dict[str, str] = {}
        if self.held in (Held.TENON, Held.RECESS) and self.held_depth is None:
            wrong["held_depth"] = "A tenon or a recess needs its depth."
        if self.held in (Held.TENON, Held.WASTE_BLOCK) and self.held_parting is None:
            wrong["held_parting"] = "A tenon or a waste block needs what parting it off takes."
        if self.sits and self.sits_at is None:
            wrong["sits_at"] = "Say which part it stands on or in."
        elif self.sits_at is not None and self.sits_at == self.position:
            wrong["sits_at"] = "A part cannot stand on itself."
        if self.sits == Sits.IN:
            for field in ("flange", "clearance"):
                if getattr(self, field) is None:
                    wrong[field] = "A lid needs this."
        if wrong:
            raise ValidationError(wrong)


class Form(StudioOwned):
    """The outer curve from the bottom up, and the inside."""

    studio_path = "part__design__studio"

    part = models.OneToOneField(Part, models.CASCADE, related_name="form")
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
        return f"Form of {self.part}"

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
