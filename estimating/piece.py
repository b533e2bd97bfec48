"""The piece sheet once it is read: what is asked for, checked, in millimetres."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Point = tuple[float, float]
"""A height and a radius, mm."""

CurveKind = Literal["straight", "smooth"]
InsideKind = Literal["solid", "wall", "curve"]
Made = Literal["cut", "sliced"]


@dataclass(frozen=True, slots=True)
class Inside:
    """The hollow: none, a wall measured square to the outside, or a curve of its own. mm."""

    kind: InsideKind = "solid"
    wall: float = 0.0
    floor: float = 0.0
    inner: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Ready:
    """A ready form by its kind, and its measures, mm."""

    kind: str
    measures: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class FormSheet:
    """The outer curve from the bottom up, by its points or as a ready form, and the inside. mm."""

    outer: tuple[Point, ...]
    curve: CurveKind = "straight"
    inside: Inside = Inside()
    ready: Ready | None = None


@dataclass(frozen=True, slots=True)
class Allowance:
    """Wood left on for turning, mm: outside and inside level, top and bottom along the axis."""

    outside: float = 0.0
    inside: float = 0.0
    top: float = 0.0
    bottom: float = 0.0


@dataclass(frozen=True, slots=True)
class Band:
    """A run of like layers. Thickness and ring height mm; offsets in segments; gap a share of the pitch."""

    name: str
    layers: int
    thickness: float
    segments: int
    woods: tuple[str, ...]
    offsets: tuple[float, ...] = (0.0,)
    gap: float = 0.0
    made: Made = "cut"
    ring_height: float | None = None


@dataclass(frozen=True, slots=True)
class Board:
    """Boards of one size on the rack, mm; price of one board."""

    wood: str
    length: float
    width: float
    thickness: float
    count: int
    price: Decimal


@dataclass(frozen=True, slots=True)
class ShopSettings:
    """How the shop cuts and glues. Lengths mm, volumes ml, times minutes, temperatures degrees C.

    The values here are those of the command where a sheet says nothing: the usual settings of
    tables/shop_defaults.csv, but no bond line, spare segments or extra cost of a ring.
    """

    bond_line: float = 0.0
    rip_kerf: float = 3.0
    crosscut_kerf: float = 2.8
    slice_kerf: float = 1.2
    slice_hold: float = 8.0
    slice_sanding: float = 0.5
    flatten: float = 0.5
    extra_ring: float = 0.0
    board_end_trim: float = 25.0
    board_edge_trim: float = 4.0
    keep_length: float = 300.0
    keep_width: float = 40.0
    strip_hold: float = 75.0
    strip_lies: Literal["either", "flat", "on_edge"] = "either"
    safe_segment_length: float = 20.0
    min_tip_edge: float = 3.0
    spare_segments: float = 0.0
    film: float = 0.1
    end_grain_factor: float = 1.5
    squeeze_out: float = 0.25
    mix_loss_ml: float = 5.0
    cup_ml: float = 80.0
    cup_mark_ml: float = 2.5
    mix_ratio: tuple[float, float] = (1.0, 1.0)
    coat_stack_min: float = 2.0
    coat_joint_min: float = 0.3
    working_share: float = 0.7
    layers_per_glue_up: int = 10
    pot_life_min: float = 30.0
    pot_life_at_c: float = 21.0
    temperature_c: float = 21.0


@dataclass(frozen=True, slots=True)
class UsualBoard:
    """What the shop buys when the rack has nothing that fits: mm, and the thicknesses on offer, thinnest first.

    The price of a cubic metre stands for every wood that the shop has no price of its own for (about 7 a board foot;
    common practice, no source). The thicknesses are the rough ones of hardwood, 4/4 to 16/4 (NHLA rules).
    """

    length: float = 2400.0
    width: float = 150.0
    thicknesses: tuple[float, ...] = (25.4, 31.75, 38.1, 50.8, 63.5, 76.2, 101.6)
    price_per_m3: Decimal = Decimal(3000)

    def price_of(self, own_per_m3: Decimal) -> Decimal:
        """Price of a cubic metre of a wood: the shop's own, or the usual one where that is not set."""
        return own_per_m3 or self.price_per_m3


@dataclass(frozen=True, slots=True)
class Finish:
    """Coats and the finish a coat takes, ml a square decimetre; its price a millilitre."""

    coats: int = 5
    ml_per_dm2: float = 0.7
    per_ml: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Pricing:
    """How the price is made. Shares are fractions; rates are money an hour, a millilitre or a commission."""

    currency: str = "USD"
    labour_rate: Decimal = Decimal(35)
    margin: Decimal = Decimal("0.15")
    wanted_hourly: Decimal | None = None
    gallery_share: Decimal = Decimal("0.45")
    tax: Decimal = Decimal(0)
    tax_inclusive: bool = False
    deposit_share: Decimal = Decimal("0.5")
    overhead_rate: Decimal = Decimal(0)
    failure_share: Decimal = Decimal(0)
    adhesive_per_ml: Decimal = Decimal(0)
    consumables: Decimal = Decimal(0)
    consumables_rate: Decimal = Decimal(0)
    whole_boards: bool = False
    offer: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything asked of one estimate."""

    title: str
    quantity: int
    form: FormSheet
    allowance: Allowance
    bands: tuple[Band, ...]
    shop: ShopSettings
    boards: tuple[Board, ...]
    usual_board: UsualBoard
    finish: Finish
    pricing: Pricing
