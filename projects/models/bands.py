"""The bands of layers that a part is turned from: how they are made and of which woods. Lengths mm."""

from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from projects.models.charts import MOST_WOODS, chart_problem, chart_woods, validate_chart, validate_wood_keys
from projects.models.designs import is_number
from projects.models.fields import length_field, needs, one_of, share_field, within
from projects.models.owned import StudioOwned
from projects.models.parts import Part

MOST_OFFSETS = 5000


class Made(models.TextChoices):
    """How a band's layers are made."""

    CUT = "cut", "cut: each layer a ring of its own"
    SLICED = "sliced", "sliced: thin layers sawn from thick rings"
    SOLID = "solid", "solid: each layer a disc of one piece"
    VENEER = "veneer", "veneer: thin discs between the layers"
    STAVES = "staves", "staves: upright pieces as tall as the band"


class Bored(models.TextChoices):
    """Whether a band's middle is bored out."""

    NOT = "", "not bored"
    NEEDED = "needed", "where the tips would come too close"
    SET = "set", "to a diameter"


class Match(models.TextChoices):
    """Whether the segments of one wood in a ring come from one board."""

    ANY = "", "as it comes"
    BOARD = "board", "all from one board"
    BOOK = "book", "one board, in the order of sawing"


DISCS = (Made.SOLID, Made.VENEER)
UNOPENED = (*DISCS, Made.STAVES)


def validate_offsets(value: Any) -> None:
    """Refuse what is no list of offsets in segments."""
    usable = isinstance(value, list) and 0 < len(value) <= MOST_OFFSETS
    if not usable or not all(is_number(item) and abs(item) <= 360 for item in value):
        raise ValidationError("Give one offset or a list of them, in segments, each within a turn.")


def no_offset() -> list[float]:
    """Layers straight above each other."""
    return [0]


class Band(StudioOwned):
    """A run of like layers; bands count from 1 at the bottom of their part."""

    studio_path = "part__design__studio"

    part = models.ForeignKey(Part, models.CASCADE, related_name="bands")
    position = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    name = models.CharField(max_length=80, blank=True)
    layers = models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(5000)])
    thickness = length_field("layer thickness", high=1000)
    segments = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(3), MaxValueValidator(360)],
        help_text="None in solid discs and veneers.",
    )
    woods = models.JSONField(
        default=list,
        blank=True,
        validators=[validate_wood_keys],
        help_text="Wood keys, repeated round the ring; empty where a chart says them.",
    )
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
    bored = models.CharField(max_length=6, choices=Bored, default=Bored.NOT, blank=True)
    bore = length_field("bore", null=True, blank=True, help_text="A diameter.")
    plug = models.CharField(max_length=40, blank=True, help_text="The wood that fills the bore, by its key.")
    match = models.CharField(
        max_length=5,
        choices=Match,
        default=Match.ANY,
        blank=True,
        help_text="Whether the segments of one wood in a ring come from one board, and go round as they were sawn.",
    )
    chart = models.JSONField(
        null=True,
        blank=True,
        default=None,
        validators=[validate_chart],
        help_text="The woods cell by cell: a legend of letters, and a row of letters a layer, bottom up.",
    )

    class Meta:
        ordering = ["part", "position"]
        constraints = [
            models.UniqueConstraint(
                fields=["part", "position"],
                name="band_position_once_a_part",
                violation_error_message="The part already has a band at this position.",
            ),
            within("band", "position", low=1),
            within("band", "layers", low=1, high=5000),
            within("band", "thickness", low=0.001, high=1000),
            within("band", "segments", low=3, high=360, null=True),
            within("band", "gap", low=0, high=0.95),
            within("band", "ring_height", low=0.001, high=1000, null=True),
            within("band", "bore", low=0.001, high=10_000, null=True),
            one_of("band", "made", Made),
            one_of("band", "bored", Bored),
            one_of("band", "match", Match),
            needs(
                "band_sliced_has_ring_height",
                Q(made=Made.SLICED),
                Q(ring_height__isnull=False),
                "Sliced layers need the height of the thick ring they come from.",
            ),
            needs(
                "band_disc_has_no_segments",
                Q(made__in=DISCS),
                Q(segments__isnull=True),
                "A solid disc or a veneer has no segments.",
            ),
            needs(
                "band_ring_has_segments",
                ~Q(made__in=DISCS),
                Q(segments__isnull=False),
                "Say how many segments go round.",
            ),
            needs(
                "band_disc_has_no_chart",
                Q(made__in=DISCS),
                Q(chart__isnull=True),
                "A solid disc or a veneer is of one wood and has no chart.",
            ),
            needs(
                "band_gap_between_segments",
                Q(made__in=UNOPENED),
                Q(gap=0),
                "Only cut and sliced layers may have gaps.",
            ),
            needs(
                "band_staves_in_one_layer",
                Q(made=Made.STAVES),
                Q(layers=1),
                "A band of staves is one layer, as thick as the staves are tall.",
            ),
            needs(
                "band_staves_not_bored",
                Q(made=Made.STAVES),
                Q(bored=Bored.NOT),
                "Staves leave the middle open; they are not bored.",
            ),
            needs(
                "band_bore_has_diameter",
                Q(bored=Bored.SET),
                Q(bore__isnull=False),
                "Give the diameter of the bore.",
            ),
            needs("band_plug_needs_bore", ~Q(plug=""), ~Q(bored=Bored.NOT), "A plug needs a bore to sit in."),
            needs(
                "band_match_of_segments",
                Q(made__in=UNOPENED),
                Q(match=Match.ANY),
                "Only the segments of cut and sliced layers are matched.",
            ),
        ]

    def __str__(self) -> str:
        return self.name or f"Band {self.position}"

    @property
    def segment_woods(self) -> list[str]:
        """What its segments are of, each key once: woods, and laminated segments by their names."""
        return chart_woods(self.chart) if self.chart else list(dict.fromkeys(self.woods))

    @property
    def all_woods(self) -> set[str]:
        """Likewise, with the plug's."""
        return {*self.segment_woods, *([self.plug] if self.plug else [])}

    def clean(self) -> None:
        """Ask for what the way of making needs, and for woods that go round evenly, each at its field."""
        wrong = dict((*self._making(), *self._boring(), *self._pattern()))
        if wrong:
            raise ValidationError(wrong)

    def _making(self) -> list[tuple[str, str]]:
        wrong = []
        disc = self.made in DISCS
        if self.made == Made.SLICED and self.ring_height is None:
            wrong.append(("ring_height", "Sliced layers need the height of their thick ring."))
        if disc and self.segments is not None:
            wrong.append(("segments", "A solid disc or a veneer has no segments."))
        if not disc and self.segments is None:
            wrong.append(("segments", "Say how many segments go round."))
        if self.made in UNOPENED and self.gap:
            wrong.append(("gap", "Only cut and sliced layers may have gaps."))
        if self.made == Made.STAVES and self.layers != 1:
            wrong.append(("layers", "A band of staves is one layer, as thick as the staves are tall."))
        if self.made in UNOPENED and self.match:
            wrong.append(("match", "Only the segments of cut and sliced layers are matched."))
        return wrong

    def _boring(self) -> list[tuple[str, str]]:
        wrong = []
        if self.made == Made.STAVES and self.bored:
            wrong.append(("bored", "Staves leave the middle open; they are not bored."))
        if self.bored == Bored.SET and self.bore is None:
            wrong.append(("bore", "Give the diameter of the bore."))
        if self.plug and not self.bored:
            wrong.append(("plug", "A plug needs a bore to sit in."))
        return wrong

    def _pattern(self) -> list[tuple[str, str]]:
        # What was typed may still be text here: its own field then says so.
        if self.chart is not None:
            if self.made in DISCS:
                return [("chart", "A solid disc or a veneer is of one wood and has no chart.")]
            problem = chart_problem(self.chart, segments=self.segments)
            return [("chart", problem)] if problem else []
        if not isinstance(self.woods, list) or not self.woods:
            return [("woods", f"Name one to {MOST_WOODS} woods by their keys.")]
        if self.made in DISCS:
            return [("woods", "A solid disc or a veneer is of one wood.")] if len(self.woods) > 1 else []
        if isinstance(self.segments, int) and self.segments % len(self.woods):
            words = f"{len(self.woods)} woods do not divide {self.segments} segments without a rest."
            return [("woods", words)]
        return []
