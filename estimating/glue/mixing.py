"""Adhesive for each glue-up, and the mixes it is measured out in."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil

from estimating.errors import InvalidInput
from estimating.glue.assembly import OF_RINGS, GlueUp
from estimating.glue.joints import JointAreas
from estimating.piece import Label, ShopSettings

_MM3_IN_ML = 1000.0
_MOST_MIXES = 200_000
"""Two hundred each for a thousand pieces; with a great many more the answer would fill the memory."""


@dataclass(frozen=True, slots=True)
class Mix:
    """One batch: the glue-up it is for, what is needed of it with the loss in the cup, and the parts to measure, ml.

    The same by the scales, g to 0.1, where the label has parts by mass or there is one part. `heats`: it is more than
    the label lets stand in one cup.
    """

    glue_up: int
    piece: int
    needed_ml: float
    part_a_ml: float
    part_b_ml: float
    part_a_g: float | None = None
    part_b_g: float | None = None
    heats: bool = False

    @property
    def ml(self) -> float:
        """Both parts in the cup."""
        return self.part_a_ml + self.part_b_ml


@dataclass(frozen=True, slots=True)
class Spread:
    """What a glue-up of one piece takes: joints and the coat on one face of each, mm2, and ml without any loss."""

    glue_up: int
    end_area: float
    face_area: float
    coated_area: float
    ml: float


@dataclass(frozen=True, slots=True)
class ToBuy:
    """The parts of all mixes as measured in the cup, ml, and their mass, g; by parts where the label has them."""

    part_a_ml: float
    part_b_ml: float
    mass_g: float
    part_a_g: float | None
    part_b_g: float | None


@dataclass(frozen=True)
class Adhesive:
    """Glued areas of one piece, mm2, and the adhesive for all pieces; `volume_ml` is before rounding to marks.

    `coated_area` is what is coated face to face, of one face of each joint: `face_area` and the margin beyond it.
    """

    end_area: float
    face_area: float
    coated_area: float
    volume_ml: float
    mixes: tuple[Mix, ...]
    spreads: tuple[Spread, ...]
    to_buy: ToBuy


def whole_ratio(ratio: tuple[float, float]) -> tuple[int, int]:
    """The mixing ratio in lowest whole terms: (1, 0.5) is 2 : 1; an adhesive of one part is 1 : 0."""
    if not ratio[1]:
        return 1, 0
    a, b = (Fraction(repr(part)).limit_denominator(1000) for part in ratio)
    whole = a / b
    return whole.numerator, whole.denominator


def spread_ml(*, faces: float, ends: float, shop: ShopSettings) -> float:
    """Adhesive spread on joints of these areas (mm2), two coated faces each, ml, without what stays in the cup."""
    area = faces + ends * shop.end_grain_factor
    return area * shop.film * 2 * (1 + shop.squeeze_out) / _MM3_IN_ML


def mix_for(
    glue_ups: Sequence[GlueUp], areas: JointAreas, *, quantity: int, shop: ShopSettings, label: Label
) -> Adhesive:
    """Mixes for every glue-up of every piece, and what to buy for them.

    Parts keep the ratio exactly: with a : b in lowest whole terms and marks of c ml, a mix of V ml is
    q = c ceil(V / (c (a + b))), parts a q and b q. What a cup does not hold is split into equal mixes.
    Errors: InvalidInput at `shop.cup_ml` for a cup that holds no mix at all.
    """
    mixes: list[Mix] = []
    spreads = tuple(spread_of(glue_up, areas, shop=shop) for glue_up in glue_ups)
    for spread in spreads:
        if spread.ml > 0:
            mixes += _mixes(spread, shop, label)
        if len(mixes) > _MOST_MIXES:
            raise InvalidInput(
                "shop.cup_ml", f"is so small that a piece takes more than {_MOST_MIXES:,} mixes"
            )
    if len(mixes) * quantity > _MOST_MIXES:
        reason = (
            f"takes {len(mixes) * quantity:,} mixes for all pieces, more than {_MOST_MIXES:,}; "
            "ask for fewer pieces, or allow a larger cup"
        )
        raise InvalidInput("quantity", reason)
    everything = tuple(replace(mix, piece=piece) for piece in range(1, quantity + 1) for mix in mixes)
    return Adhesive(
        end_area=float(areas.ends.sum()),
        face_area=areas.all_faces,
        coated_area=areas.all_coated,
        volume_ml=sum(mix.needed_ml for mix in everything),
        mixes=everything,
        spreads=spreads,
        to_buy=_to_buy(everything, label),
    )


def spread_of(glue_up: GlueUp, areas: JointAreas, *, shop: ShopSettings) -> Spread:
    """What is glued and coated in one glue-up, and the adhesive spread on it."""
    ends, faces = end_area(glue_up, areas), face_area(glue_up, areas)
    coated = faces + _margin(glue_up, areas)
    return Spread(glue_up.number, ends, faces, coated, spread_ml(faces=coated, ends=ends, shop=shop))


def _to_buy(mixes: Sequence[Mix], label: Label) -> ToBuy:
    a, b = sum(mix.part_a_ml for mix in mixes), sum(mix.part_b_ml for mix in mixes)
    mass = (a + b) * label.density
    shares = mass_shares(label, parts=2 if b else 1)
    by_part = (None, None) if shares is None else (mass * shares[0], mass * shares[1])
    return ToBuy(a, b, mass, *by_part)


def end_area(glue_up: GlueUp, areas: JointAreas) -> float:
    """Segment ends glued in one glue-up, mm2."""
    shares = zip(glue_up.rings, glue_up.end_shares, strict=True) if glue_up.kind in OF_RINGS else ()
    return float(sum(areas.ends[ring - 1] * share for ring, share in shares))


def face_area(glue_up: GlueUp, areas: JointAreas) -> float:
    """What is glued face to face in one glue-up, mm2: joints inside its run of layers, whose outer faces stay dry."""
    match glue_up.kind:
        case "panel":
            return float(sum(areas.inside[ring - 1] for ring in glue_up.rings))
        case "half_ring" | "ring":
            return 0.0
        case "plug":
            return areas.plugs[glue_up.layers[0]]
        case "waste_block":
            return areas.blocks[glue_up.layers[0]]
    lowest, highest = glue_up.layers[0], glue_up.layers[-1]
    if (lowest, highest) in areas.seats:
        return areas.seats[lowest, highest]
    return float(areas.faces[lowest - 1 : highest - 1].sum())


def _margin(glue_up: GlueUp, areas: JointAreas) -> float:
    """What is coated beyond the joints inside a run of layers, of one face of each, mm2."""
    if glue_up.kind not in ("stack", "join"):
        return 0.0
    lowest, highest = glue_up.layers[0], glue_up.layers[-1]
    return float((areas.coated - areas.faces)[lowest - 1 : highest - 1].sum())


def mass_shares(label: Label, *, parts: int) -> tuple[float, float] | None:
    """A's and B's share of a mix by mass: all of it is A where there is one part, nothing known without the label's."""
    if parts == 1:
        return 1.0, 0.0
    if label.mass_ratio is None:
        return None
    a, b = label.mass_ratio
    return a / (a + b), b / (a + b)


def weighed(ml: float, *, label: Label, parts: int) -> tuple[float, float] | tuple[None, None]:
    """Parts A and B of a mix of at least so many ml, g to 0.1: A rounded up, and B at the label's ratio to it."""
    shares = mass_shares(label, parts=parts)
    if shares is None:
        return None, None
    a = ceil(ml * label.density * shares[0] * 10 - 1e-9) / 10
    return a, round(a * shares[1] / shares[0], 1)


def _mixes(spread: Spread, shop: ShopSettings, label: Label) -> list[Mix]:
    a, b = whole_ratio(shop.mix_ratio)
    step = shop.cup_mark_ml * (a + b)
    steps_a_cup = int(shop.cup_ml / step + 1e-9)
    room = steps_a_cup * step - shop.mix_loss_ml
    if room <= 0:
        least = step * ceil((shop.mix_loss_ml + 1e-9) / step)
        reason = (
            f"holds no mix: {a} : {b} at marks of {shop.cup_mark_ml:g} ml, with {shop.mix_loss_ml:g} ml left in "
            f"the cup, needs a cup of at least {least:g} ml"
        )
        raise InvalidInput("shop.cup_ml", reason)
    count = max(1, ceil(spread.ml / room - 1e-9))
    if count > 10_000:
        raise InvalidInput("shop.cup_ml", f"is so small that one glue-up would take {count:,} mixes")
    needed = spread.ml / count + shop.mix_loss_ml
    q = shop.cup_mark_ml * max(1, ceil(needed / step - 1e-9))
    a_g, b_g = weighed(needed, label=label, parts=2 if b else 1)
    heats = 0 < label.exotherm_ml < (a + b) * q - 1e-9
    return [Mix(spread.glue_up, 1, needed, a * q, b * q, a_g, b_g, heats) for _ in range(count)]
