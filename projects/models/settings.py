"""How the shop cuts, glues and charges: one row of each a studio, usual values until they are changed."""

from decimal import Decimal
from itertools import pairwise
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from estimating.wood.climate import HUMIDITIES, TEMPERATURES
from projects.models.climate import humidity_field, temperature_field
from projects.models.defaults import usual_settings
from projects.models.fields import decimal_field, length_field, money_field, one_of, share_field, within
from projects.models.money_terms import PricingHabits, habit_rules
from projects.models.owned import StudioOwned
from projects.models.rack import Surface
from projects.models.studio import Studio

USUAL_THICKNESSES = [25.4, 31.75, 38.1, 50.8, 63.5, 76.2, 101.6]


class StripLies(models.TextChoices):
    """How a strip is taken from the board, where both ways fit."""

    EITHER = "either", "whichever wastes less"
    FLAT = "flat", "flat: ripped to its width"
    ON_EDGE = "on_edge", "on edge: ripped to its height"


class RingJoining(models.TextChoices):
    """How a ring is closed."""

    HALVES = "halves", "as two halves, trued and joined"
    WHOLE = "whole", "all at once"


def usual_thicknesses() -> list[float]:
    """The thicknesses rough boards are sold in, mm: 4/4 to 16/4 inch."""
    return list(USUAL_THICKNESSES)


def validate_thicknesses(value: Any) -> None:
    """Refuse what is not a rising list of thicknesses in mm."""
    usable = (
        isinstance(value, list) and 0 < len(value) <= 30 and all(type(item) in (int, float) for item in value)
    )
    if not usable or not all(0 < item <= 1000 for item in value):
        raise ValidationError("Give one to thirty thicknesses in mm, each above 0 and up to 1000.")
    if any(after <= before for before, after in pairwise(value)):
        raise ValidationError("Give the thicknesses from the thinnest up, each once.")


def _usual(key: str) -> dict[str, Any]:
    row = usual_settings()[key]
    return {"default": row.number, "help_text": row.help_text}


SHOP_RANGES: dict[str, tuple[float, float]] = {
    "bond_line": (0, 5),
    "rip_kerf": (0, 20),
    "crosscut_kerf": (0, 20),
    "slice_kerf": (0, 20),
    "slice_hold": (0, 200),
    "slice_sanding": (0, 20),
    "flatten": (0, 20),
    "board_end_trim": (0, 1000),
    "board_edge_trim": (0, 200),
    "keep_length": (0, 10_000),
    "keep_width": (0, 10_000),
    "strip_hold": (0, 1000),
    "safe_segment_length": (0, 1000),
    "min_tip_edge": (0, 100),
    "usual_board_length": (1, 10_000),
    "usual_board_width": (1, 10_000),
    "veneer_length": (1, 10_000),
    "veneer_width": (1, 10_000),
    "half_true": (0, 20),
    "join_true": (0, 20),
    "coat_margin": (0, 200),
    "mandrel_diameter": (0, 500),
    "mandrel_clearance": (0, 50),
    "clamp_spacing": (1, 10_000),
    "centring_error": (0, 20),
    "height_tolerance": (0, 20),
    "min_wall": (0, 100),
    "open_contact": (0, 200),
    "lathe_swing": (0, 10_000),
    "lathe_length": (0, 10_000),
    "bandsaw_height": (0, 10_000),
    "min_rip_length": (0, 10_000),
    "min_rip_width": (0, 10_000),
    "min_planer_length": (0, 10_000),
    "plane_face": (0, 50),
    "resaw_kerf": (0, 50),
    "resaw_clean": (0, 50),
}
FIGURE_RANGES: dict[str, tuple[float, float]] = {
    "extra_ring": (0, 100_000_000),
    "spare_segments": (0, 1),
    "end_grain_factor": (1, 10),
    "squeeze_out": (0, 5),
    "mix_loss_ml": (0, 1000),
    "cup_ml": (1, 10_000),
    "cup_mark_ml": (0.1, 1000),
    "coat_stack_min": (0.01, 1000),
    "coat_joint_min": (0.01, 1000),
    "working_share": (0.01, 1),
    "temperature_c": (-20, 60),
    "clamp_force_n": (1, 1_000_000),
    "usual_board_price_per_m3": (0, 10_000_000),
    "veneer_price_per_m2": (0, 1_000_000),
    "lathe_load_kg": (0, 10_000),
    "hollowing_reach": (0, 100),
}


def _mm(name: str, *, field: str, key: str | None = None, **options: Any) -> models.DecimalField:
    low, high = SHOP_RANGES[field]
    return length_field(
        name, low=low, high=high, **(_usual(key or field) if "default" not in options else {}), **options
    )


def _figure(name: str, *, field: str, places: int = 2, **options: Any) -> models.DecimalField:
    low, high = FIGURE_RANGES[field]
    options = options if "default" in options else {**_usual(field), **options}
    return decimal_field(name, digits=14, places=places, low=low, high=high, **options)


class ShopSettings(StudioOwned):
    """The shop's saws, bench and machines. Lengths mm, volumes ml, times minutes, temperatures degrees C.

    Film, ratio and pot life are the adhesive's, and stand with it alone.
    """

    studio = models.OneToOneField(Studio, models.CASCADE, related_name="shop")

    rip_kerf = _mm("rip kerf", field="rip_kerf")
    crosscut_kerf = _mm("crosscut kerf", field="crosscut_kerf")
    board_end_trim = _mm("end trim", field="board_end_trim")
    board_edge_trim = _mm("edge trim", field="board_edge_trim")
    strip_hold = _mm("strip kept in the hold-down", field="strip_hold")
    strip_lies = models.CharField(
        "how a strip lies in the board", max_length=7, choices=StripLies, default=StripLies.EITHER
    )
    plane_face = _mm("planing a rough board", field="plane_face")
    resaw = models.BooleanField(
        "resaw thick boards",
        default=False,
        help_text="Boards are split into thinner ones at the bandsaw where that saves wood. "
        "The bandsaw height must be known: no board wider than that is split.",
    )
    resaw_kerf = _mm(
        "resawing kerf",
        field="resaw_kerf",
        default=Decimal("1.4"),
        help_text="What the bandsaw takes when it splits a board in thickness, wander included. "
        "Usual: 1.4 mm, 1.0 to 2.0 met. Common practice, no source.",
    )
    resaw_clean = _mm("cleaning a resawn face", field="resaw_clean")

    keep_length = _mm("shortest offcut kept", field="keep_length", key="offcut_keep_length")
    keep_width = _mm("narrowest offcut kept", field="keep_width", key="offcut_keep_width")
    spare_segments = _figure("spare segments", field="spare_segments", places=4)

    slice_kerf = _mm("slicing kerf", field="slice_kerf")
    slice_hold = _mm("held part of a thick ring", field="slice_hold")
    slice_sanding = _mm("sanding a slice", field="slice_sanding")
    flatten = _mm("flattening a face", field="flatten")
    extra_ring = _figure(
        "extra cost of a ring (mm³)",
        field="extra_ring",
        default=0,
        help_text="Wood, in mm³, that one thick ring fewer is worth when layers are shared out among rings.",
    )
    bond_line = _mm("bond line", field="bond_line")

    end_grain_factor = _figure("end-grain factor", field="end_grain_factor")
    squeeze_out = _figure("squeeze-out", field="squeeze_out", places=4)
    mix_loss_ml = _figure("loss a mix (ml)", field="mix_loss_ml")
    cup_ml = _figure("largest mix (ml)", field="cup_ml")
    cup_mark_ml = _figure("measuring step (ml)", field="cup_mark_ml")
    coat_stack_min = _figure("coat and stack a layer (min)", field="coat_stack_min")
    coat_joint_min = _figure(
        "coat and close a segment joint (min)",
        field="coat_joint_min",
        default=Decimal("0.3"),
        help_text="Time to coat the two faces of one joint in a ring and bring them together. Usual: 0.3.",
    )
    working_share = _figure("working share of the pot life", field="working_share", places=4)
    layers_per_glue_up = models.PositiveSmallIntegerField(
        "layers a glue-up",
        default=int(usual_settings()["layers_per_glue_up"].value),
        validators=[MinValueValidator(2), MaxValueValidator(200)],
        help_text=usual_settings()["layers_per_glue_up"].help_text,
    )
    temperature_c = _figure("bench temperature (°C)", field="temperature_c")

    ring_joining = models.CharField(
        "how a ring is closed",
        max_length=6,
        choices=RingJoining,
        default=RingJoining.HALVES,
        help_text=usual_settings()["ring_joining"].help_text,
    )
    half_true = _mm("truing a half ring", field="half_true")
    join_true = _mm("truing a face before a join", field="join_true")
    coat_margin = _mm("coated beyond the overlap", field="coat_margin")
    mandrel_diameter = _mm("mandrel", field="mandrel_diameter")
    mandrel_clearance = _mm("bore wider than the mandrel", field="mandrel_clearance")
    clamp_force_n = _figure("force of a clamp (N)", field="clamp_force_n")
    clamp_spacing = _mm("from clamp to clamp", field="clamp_spacing")
    ring_clamps = models.PositiveSmallIntegerField(
        "rings clamped at once",
        default=int(usual_settings()["ring_clamps"].value),
        validators=[MinValueValidator(1), MaxValueValidator(1000)],
        help_text=usual_settings()["ring_clamps"].help_text,
    )

    air_temperature_c = temperature_field(
        "air of the shop (°C)",
        default=21,
        help_text="Where the wood lies and the piece is made, day and night. Usual: 21. Common practice, no source.",
    )
    air_humidity = humidity_field(
        "humidity of the shop (%)",
        default=45,
        help_text="Relative humidity, from a hygrometer on the bench. Usual: 45. Common practice, no source.",
    )
    acclimatise_days = models.PositiveSmallIntegerField(
        "rest after milling (days)",
        default=int(usual_settings()["acclimatise_days"].value),
        validators=[MaxValueValidator(365)],
        help_text=usual_settings()["acclimatise_days"].help_text,
    )

    usual_board_length = _mm("usual board, length", field="usual_board_length", default=2400)
    usual_board_width = _mm("usual board, width", field="usual_board_width", default=150)
    usual_board_thicknesses = models.JSONField(
        "usual board, thicknesses",
        default=usual_thicknesses,
        validators=[validate_thicknesses],
        help_text="Thicknesses boards are sold in, mm, thinnest first.",
    )
    usual_board_surface = models.CharField(
        "usual board, faces", max_length=8, choices=Surface, default=Surface.SURFACED,
        help_text="Rough boards are planed on both faces first: that much less of their thickness is left.",
    )  # fmt: skip
    usual_board_price_per_m3 = _figure(
        "usual board, price of a cubic metre",
        field="usual_board_price_per_m3",
        default=3000,
        help_text="Stands for every wood that has no price of its own. About 7 a board foot; common practice.",
    )

    veneer_length = _mm("veneer sheet, length", field="veneer_length", default=2400)
    veneer_width = _mm("veneer sheet, width", field="veneer_width", default=200)
    veneer_price_per_m2 = _figure(
        "veneer, price of a square metre",
        field="veneer_price_per_m2",
        default=20,
        help_text="Of any wood. Common practice, no source.",
    )

    centring_error = _mm(
        "error of centring",
        field="centring_error",
        default=Decimal("0.2"),
        help_text="How far a ring may be glued off the axis. Usual: 0.2 mm. Common practice, no source.",
    )
    height_tolerance = _mm(
        "tolerance of a layer's height",
        field="height_tolerance",
        default=Decimal("0.3"),
        help_text="How far a layer's height drifts up the stack. Usual: 0.3 mm. Common practice, no source.",
    )
    min_wall = _mm(
        "thinnest wall at a glue line",
        field="min_wall",
        default=3,
        help_text="Usual: 3 mm. Common practice, no source.",
    )
    open_contact = _mm(
        "least contact of open layers",
        field="open_contact",
        default=5,
        help_text="Glue face at each end of a segment in open layers. Usual: 5 mm. Common practice, no source.",
    )
    hollowing_reach = _figure(
        "reach of hollowing tools",
        field="hollowing_reach",
        default=4,
        help_text="Depth over opening that can still be hollowed; 0: not checked. Usual: 4. "
        "Common practice, no source.",
    )

    lathe_swing = _mm(
        "lathe swing",
        field="lathe_swing",
        default=400,
        help_text="Largest diameter over the bed; 0: not checked.",
    )
    lathe_length = _mm(
        "lathe length", field="lathe_length", default=900, help_text="Between centres; 0: not checked."
    )
    lathe_load_kg = _figure(
        "heaviest piece on the lathe (kg)",
        field="lathe_load_kg",
        default=40,
        help_text="From the machine's manual; 0: not checked. An example until you enter your own.",
    )
    bandsaw_height = _mm(
        "bandsaw height", field="bandsaw_height", default=300, help_text="Tallest cut; 0: not checked."
    )
    safe_segment_length = _mm("safe segment length", field="safe_segment_length")
    min_tip_edge = _mm("shortest inner edge", field="min_tip_edge")
    min_rip_length = _mm("shortest board ripped", field="min_rip_length")
    min_rip_width = _mm("narrowest strip ripped", field="min_rip_width")
    min_planer_length = _mm("shortest board planed", field="min_planer_length")

    allowance_outside = length_field("allowance outside", low=0, high=500, **_usual("allowance_outside"))
    allowance_inside = length_field("allowance inside", low=0, high=500, **_usual("allowance_inside"))
    allowance_top = length_field("allowance on top", low=0, high=500, **_usual("allowance_top"))
    allowance_bottom = length_field("allowance below", low=0, high=500, **_usual("allowance_bottom"))

    class Meta:
        verbose_name = verbose_name_plural = "shop settings"
        constraints = [
            *(within("shop", field, low=low, high=high) for field, (low, high) in SHOP_RANGES.items()),
            *(within("shop", field, low=low, high=high) for field, (low, high) in FIGURE_RANGES.items()),
            *(
                within("shop", f"allowance_{side}", low=0, high=500)
                for side in ("outside", "inside", "top", "bottom")
            ),
            within("shop", "layers_per_glue_up", low=2, high=200),
            within("shop", "ring_clamps", low=1, high=1000),
            within("shop", "air_temperature_c", low=TEMPERATURES[0], high=TEMPERATURES[1]),
            within("shop", "air_humidity", low=HUMIDITIES[0], high=HUMIDITIES[1]),
            within("shop", "acclimatise_days", low=0, high=365),
            one_of("shop", "strip_lies", StripLies),
            one_of("shop", "usual_board_surface", Surface),
            one_of("shop", "ring_joining", RingJoining),
        ]

    def __str__(self) -> str:
        return f"Shop settings of {self.studio}"


class PricingDefaults(PricingHabits, StudioOwned):
    """What an hour costs and how a price is made from cost. Shares are fractions: 0.15 is 15 %."""

    studio = models.OneToOneField(Studio, models.CASCADE, related_name="pricing")
    labour_rate = money_field("labour an hour", **_usual("labour_rate"))
    wanted_hourly = money_field(
        "wanted earning an hour",
        null=True,
        blank=True,
        help_text="When given, the price is worked from it in place of the margin.",
    )
    overhead_rate = money_field("overhead a bench hour", **_usual("overhead_hour"))
    consumables_rate = money_field("consumables a bench hour", **_usual("consumables_hour"))
    consumables = money_field("consumables a commission", default=0)
    failure_share = share_field("failures", high=0.9, **_usual("turning_loss"))
    margin = share_field("margin", high=0.9, **_usual("margin"))
    gallery_share = share_field("gallery's share", high=0.95, **_usual("gallery_share"))
    tax_name = models.CharField(
        max_length=40, default="Tax", help_text="As the papers call it: VAT, sales tax ..."
    )
    tax = share_field("tax", default=0, help_text="Share of the retail price before tax.")
    whole_boards = models.BooleanField(
        "charge boards whole",
        default=False,
        help_text="Otherwise a board is charged less the share of it that goes back on the rack.",
    )
    tax_inclusive = models.BooleanField(
        "retail price includes tax",
        default=False,
        help_text="Whether the price shown to the client holds the tax.",
    )
    deposit_share = share_field("deposit", **_usual("deposit"))

    class Meta:
        verbose_name = verbose_name_plural = "pricing defaults"
        constraints = [
            *(
                within("pricing", field, low=0)
                for field in ("labour_rate", "overhead_rate", "consumables_rate", "consumables")
            ),
            within("pricing", "wanted_hourly", low=0, null=True),
            within("pricing", "failure_share", low=0, high=0.9),
            within("pricing", "margin", low=0, high=0.9),
            within("pricing", "gallery_share", low=0, high=0.95),
            within("pricing", "tax", low=0, high=1),
            within("pricing", "deposit_share", low=0, high=1),
            *habit_rules(),
        ]

    def __str__(self) -> str:
        return f"Pricing of {self.studio}"
