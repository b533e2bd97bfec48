"""Adhesive for each glue-up, and the mixes it is measured out in."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from estimating.errors import InvalidInput
from estimating.glue.assembly import OF_RINGS, GlueUp
from estimating.glue.joints import JointAreas
from estimating.piece import ShopSettings

_MM3_IN_ML = 1000.0
_MOST_MIXES = 200_000
"""Two hundred each for a thousand pieces; with a great many more the answer would fill the memory."""


@dataclass(frozen=True, slots=True)
class Mix:
    """One batch: the glue-up it is for, what is needed of it with the loss in the cup, and the parts to measure, ml."""

    glue_up: int
    piece: int
    needed_ml: float
    part_a_ml: float
    part_b_ml: float


@dataclass(frozen=True)
class Adhesive:
    """Glued areas of one piece, mm2, and the adhesive for all pieces; `volume_ml` is before rounding to marks."""

    end_area: float
    face_area: float
    volume_ml: float
    mixes: tuple[Mix, ...]


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


def mix_for(glue_ups: Sequence[GlueUp], areas: JointAreas, *, quantity: int, shop: ShopSettings) -> Adhesive:
    """Mixes for every glue-up of every piece.

    Parts keep the ratio exactly: with a : b in lowest whole terms and marks of c ml, a mix of V ml is
    q = c ceil(V / (c (a + b))), parts a q and b q. What a cup does not hold is split into equal mixes.
    Errors: InvalidInput at `shop.cup_ml` for a cup that holds no mix at all.
    """
    mixes: list[Mix] = []
    for glue_up in glue_ups:
        need = spread_ml(faces=face_area(glue_up, areas), ends=end_area(glue_up, areas), shop=shop)
        if need > 0:
            mixes += _mixes(glue_up.number, need, shop)
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
    everything = tuple(
        Mix(mix.glue_up, piece, mix.needed_ml, mix.part_a_ml, mix.part_b_ml)
        for piece in range(1, quantity + 1)
        for mix in mixes
    )
    return Adhesive(
        end_area=float(areas.ends.sum()),
        face_area=areas.all_faces,
        volume_ml=sum(mix.needed_ml for mix in everything),
        mixes=everything,
    )


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


def _mixes(number: int, need: float, shop: ShopSettings) -> list[Mix]:
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
    count = max(1, ceil(need / room - 1e-9))
    if count > 10_000:
        raise InvalidInput("shop.cup_ml", f"is so small that one glue-up would take {count:,} mixes")
    needed = need / count + shop.mix_loss_ml
    q = shop.cup_mark_ml * max(1, ceil(needed / step - 1e-9))
    return [Mix(number, 1, needed, a * q, b * q) for _ in range(count)]
