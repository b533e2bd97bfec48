"""The piece sheet once it is read: what is asked for, checked, in millimetres."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from estimating.rooms import Bench, Climate
from estimating.terms import Pricing as Pricing

Point = tuple[float, float]
"""A height and a radius, mm."""

CurveKind = Literal["straight", "smooth"]
InsideKind = Literal["solid", "wall", "curve"]
Made = Literal["cut", "sliced", "solid", "veneer", "staves"]
DISCS: frozenset[Made] = frozenset({"solid", "veneer"})
"""Ways of making that give a layer in one piece, without segments."""

Match = Literal["", "board", "book"]
"""What a ring asks of its segments of one wood: nothing, one board, or one board and the order of sawing."""

LaminateKind = Literal["stripes", "zigzag", "diamond"]
HeldBy = Literal["tenon", "recess", "waste_block"]
AdhesiveKind = Literal["epoxy", "pva", "polyurethane", "ca", "hide", "other"]


@dataclass(frozen=True, slots=True)
class Inside:
    """The hollow: none, a wall measured square to the outside, or a curve of its own. mm."""

    kind: InsideKind = "solid"
    wall: float = 0.0
    floor: float = 0.0
    inner: tuple[Point, ...] = ()
    corners: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Ready:
    """A ready form by its kind, and its measures, mm."""

    kind: str
    measures: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class FormSheet:
    """The outer curve from the bottom up, by its points or as a ready form, and the inside. mm.

    `corners` (here and in the inside) are the points, from 0, at which a smooth curve has a corner.
    """

    outer: tuple[Point, ...]
    curve: CurveKind = "straight"
    inside: Inside = Inside()
    ready: Ready | None = None
    corners: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Allowance:
    """Wood left on for turning, mm: outside and inside level, top and bottom along the axis."""

    outside: float = 0.0
    inside: float = 0.0
    top: float = 0.0
    bottom: float = 0.0


@dataclass(frozen=True, slots=True)
class Band:
    """A run of like layers. Thickness, ring height and bore mm; offsets in segments; gap a share of the pitch.

    `woods` goes round the ring again and again. A `chart` in its place has one such row a layer, bottom up. Either
    may name laminates. A disc has one segment. `bore` is a diameter, or "auto" for one as wide as the tips of wedges
    need; `plug` is the wood that fills it. `match` says whether the segments of a ring and wood come from one board,
    and in the order they are sawn ("book").
    """

    name: str
    layers: int
    thickness: float
    segments: int
    woods: tuple[str, ...]
    offsets: tuple[float, ...] = (0.0,)
    gap: float = 0.0
    made: Made = "cut"
    ring_height: float | None = None
    bore: float | Literal["auto"] | None = None
    plug: str | None = None
    chart: tuple[tuple[str, ...], ...] = ()
    match: Match = ""

    @property
    def is_disc(self) -> bool:
        """Whether its layers are in one piece."""
        return self.made in DISCS

    def pattern(self, layer: int) -> tuple[str, ...]:
        """One wood a segment all round, of a layer of this band counted from 0."""
        row = self.chart[layer] if self.chart else self.woods
        return row * (self.segments // len(row))

    @property
    def all_woods(self) -> tuple[str, ...]:
        """Every wood and laminate of its segments once, in the order they appear from the bottom up."""
        return tuple(dict.fromkeys(wood for row in self.chart or (self.woods,) for wood in row))


@dataclass(frozen=True, slots=True)
class Laminate:
    """A way of gluing segments up from strips. mm, radians.

    `angle` is between the stripes and the ring's plane: 0 lie flat round the ring, pi/2 stand upright; stripes at a
    slant fall to the right unless mirrored. `strips` are (wood, width), listed from the lower left to the upper right:
    from the bottom where they lie, from the left where they stand.
    Kinds: "stripes" are all alike round the ring; "zigzag" has every second segment mirrored; "diamond" has, besides,
    an upper half that mirrors the lower. Both want an even number of segments, or two alike meet once.
    """

    kind: LaminateKind
    angle: float
    strips: tuple[tuple[str, float], ...]

    @property
    def panel_width(self) -> float:
        """All strips side by side."""
        return sum(width for _, width in self.strips)

    @property
    def parts(self) -> int:
        """Slices one above the other in a segment."""
        return 2 if self.kind == "diamond" else 1

    def is_mirrored(self, segment: int) -> bool:
        """Whether the segment at this place round the ring, counted from 0, is a mirrored one."""
        return self.kind != "stripes" and segment % 2 == 1


@dataclass(frozen=True, slots=True)
class Holding:
    """How the foot is held on the lathe, mm along the axis: the hold's depth, and what parting off takes."""

    by: HeldBy
    depth: float
    parting: float

    @property
    def bottom(self) -> float:
        """Wood of its own below the foot: a tenon is cut in it, a recess lies inside, a waste block is scrap."""
        return {"tenon": self.depth + self.parting, "recess": 0.0, "waste_block": self.parting}[self.by]


@dataclass(frozen=True, slots=True)
class Sits:
    """Where a part stands: glued `on` another part's top, or loose `in` its rim by a flange. mm."""

    how: Literal["on", "in"]
    other: str
    flange: float = 0.0
    clearance: float = 0.0


BuildFrom = Literal["foot", "rim"]
"""Which end of a stack stands on the bench while it is glued up."""


@dataclass(frozen=True, slots=True)
class Part:
    """One turned part of a piece: a body, a lid, a finial. `place` begins the places of its errors in the sheet.

    `close_at` are the heights at which a hollow form, built as bowls and turned inside, is joined; `build_from` the end
    that stands on the bench, which its glue cards are written for.
    """

    form: FormSheet
    bands: tuple[Band, ...]
    allowance: Allowance = Allowance()
    name: str = ""
    holding: Holding | None = None
    close_at: tuple[float, ...] = ()
    build_from: BuildFrom = "foot"
    sits: Sits | None = None
    place: str = ""

    def band_place(self, band: int) -> str:
        """Where a band stands in the sheet."""
        return f"{self.place}bands[{band}]"


Surface = Literal["rough", "surfaced"]

Defect = tuple[float, ...]
"""What of a board is not used, mm: (from, to) along its length, or an area (from, to, near, far), the last two across
from the near edge."""


@dataclass(frozen=True, slots=True)
class Board:
    """Boards of one size on the rack, mm; price of one board.

    A `rough` board's faces are planed first. `ref` is the rack's own name for it, which the plan carries.
    """

    wood: str
    length: float
    width: float
    thickness: float
    count: int
    price: Decimal
    defects: tuple[Defect, ...] = ()
    surface: Surface = "surfaced"
    ref: str = ""


RingJoining = Literal["halves", "whole"]
"""How a ring is closed: as two halves that are trued on one plane and joined, or all at once."""


@dataclass(frozen=True, slots=True)
class ShopSettings:
    """How the shop cuts and glues. Lengths mm, volumes ml, times minutes, temperatures degrees C.

    The values here are those of the command where a sheet says nothing: the usual settings of
    tables/shop_defaults.csv, but no bond line, spare segments, extra cost of a ring or margin of coating. A lathe's or
    a bandsaw's limit of 0 is one that nobody has set, and is not checked; a mandrel of 0 is none.
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
    ring_joining: RingJoining = "halves"
    half_true: float = 0.2
    join_true: float = 0.2
    coat_margin: float = 0.0
    mandrel_diameter: float = 12.7
    mandrel_clearance: float = 0.2
    clamp_force_n: float = 2000.0
    clamp_spacing: float = 100.0
    ring_clamps: int = 4
    acclimatise_days: float = 7.0
    sand_wait_h: float = 48.0
    centring_error: float = 0.2
    height_tolerance: float = 0.3
    min_wall: float = 3.0
    open_contact: float = 5.0
    hollowing_reach: float = 4.0
    min_planer_length: float = 350.0
    min_rip_length: float = 300.0
    min_rip_width: float = 12.0
    plane_face: float = 1.2
    resaw: bool = False
    resaw_kerf: float = 1.4
    resaw_clean: float = 0.8
    bandsaw_height: float = 0.0
    lathe_swing: float = 0.0
    lathe_length: float = 0.0
    lathe_load_kg: float = 0.0


@dataclass(frozen=True, slots=True)
class Label:
    """What an adhesive's label says, besides the film, the pot life and the ratio by volume in the shop's settings.

    Times are minutes at the temperature the pot life is given at: `open_min` coated faces may lie open (0: as long as
    the pot life), `set_min` until it leaves the mandrel, at the latest after `set_most_min` (0: no range given),
    `press_min` under weight, `cure_min` until it is turned. Every `slower_c` degrees C colder double them (0: no such
    rule); it is not used below `least_c`. `density` g/ml mixed, `mass_ratio` parts of A and B by mass, `pressure` from
    and to MPa. A mix of more than `exotherm_ml` in one cup heats
    itself (0: not known). The values here are those of the command where a sheet says nothing, a slow epoxy's of
    tables/adhesives.csv.
    """

    name: str = ""
    kind: AdhesiveKind = "epoxy"
    density: float = 1.11
    mass_ratio: tuple[float, float] | None = None
    open_min: float = 0.0
    set_min: float = 45.0
    set_most_min: float = 60.0
    press_min: float = 120.0
    cure_min: float = 720.0
    slower_c: float = 10.0
    least_c: float = 15.0
    pressure: tuple[float, float] = (0.02, 0.2)
    exotherm_ml: float = 90.0
    cleaner: str = "denatured alcohol, on tools, before it sets"
    cautions: str = ""


@dataclass(frozen=True, slots=True)
class UsualBoard:
    """What the shop buys when the rack has nothing that fits: mm, and the thicknesses on offer, thinnest first.

    The price of a cubic metre stands for every wood that the shop has no price of its own for (about 7 a board foot;
    common practice, no source). The thicknesses are the rough ones of hardwood, 4/4 to 16/4 (NHLA rules). Veneer
    comes in sheets of its own (size and price: common practice, no source). `surface`: a rough one is planed on both
    faces before it is used, `ShopSettings.plane_face` a face.
    """

    length: float = 2400.0
    width: float = 150.0
    thicknesses: tuple[float, ...] = (25.4, 31.75, 38.1, 50.8, 63.5, 76.2, 101.6)
    price_per_m3: Decimal = Decimal(3000)
    veneer_length: float = 2400.0
    veneer_width: float = 200.0
    veneer_price_per_m2: Decimal = Decimal(20)
    surface: Surface = "surfaced"

    def price_of(self, own_per_m3: Decimal) -> Decimal:
        """Price of a cubic metre of a wood: the shop's own, or the usual one where that is not set."""
        return own_per_m3 or self.price_per_m3


@dataclass(frozen=True, slots=True)
class Finish:
    """Coats and the finish a coat takes, ml a square decimetre; its drying, hours and days; its price a millilitre."""

    coats: int = 5
    ml_per_dm2: float = 0.7
    dry_h: float = 18.0
    hard_days: float = 10.0
    per_ml: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything asked of one estimate."""

    title: str
    quantity: int
    parts: tuple[Part, ...]
    shop: ShopSettings
    boards: tuple[Board, ...]
    usual_board: UsualBoard
    finish: Finish
    pricing: Pricing
    laminates: Mapping[str, Laminate] = field(default_factory=dict)
    climate: Climate | None = None
    bench: Bench | None = None
    label: Label = Label()
