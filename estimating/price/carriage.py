"""Carriage worked out: the box a piece goes in, what it is charged at, what the table asks for it, and the crate."""

from dataclasses import dataclass, replace
from decimal import Decimal

from estimating.errors import InvalidInput
from estimating.price.costs import exact
from estimating.price.money import round_money
from estimating.terms import CarriageStep, Pricing

_MM2_IN_M2 = 1e6
_MM3_IN_CM3 = 1000.0
_GRAM = 3
"""Decimals of a kilogram that a scale shows."""


@dataclass(frozen=True, slots=True)
class Box:
    """One piece packed: a box as wide as it is deep, mm, its six sides in mm2, and its masses, kg to the gram.

    `chargeable_kg` is what the carrier charges it at: the greater of its gross mass and its mass by volume.
    """

    width: float
    height: float
    area: float
    volume: float
    own_kg: float
    gross_kg: float
    by_volume_kg: float

    @property
    def chargeable_kg(self) -> float:
        """The greater of the two masses, kg."""
        return max(self.gross_kg, self.by_volume_kg)

    @property
    def is_bulky(self) -> bool:
        """Whether it is charged by what it takes up."""
        return self.by_volume_kg > self.gross_kg


@dataclass(frozen=True, slots=True)
class Carriage:
    """All boxes of a commission: `freight` and `crate` for all of them, None for what is not worked out."""

    box: Box
    boxes: int
    step: CarriageStep | None = None
    freight: Decimal | None = None
    crate_each: Decimal | None = None
    crate: Decimal | None = None


def is_worked_out(pricing: Pricing) -> bool:
    """Whether freight or the crate comes from the box."""
    return "worked_out" in (pricing.freight_from, pricing.crate_from)


def pack(*, height: float, diameter: float, piece_kg: float, pricing: Pricing) -> Box:
    """The box of one piece: its height and largest diameter, mm, with the padding on every side.

    Gross mass is the finished piece and the box's six sides at `box_kg_m2`; padding is air as far as mass goes. Mass by
    volume is the outside of the box by `volume_divisor`, cm3 a kg; the sides' own thickness is in the padding.
    Source of the greater of the two and of 5,000 cm3 a kg: parcel services' help pages (help.ecoparcel.eu, article
    3019497; parcelpal.co.uk, question 78, where 4,000 to 6,000 are met). Each carrier says its own, and how it rounds
    masses up: the steps of the table say that.
    """
    width, tall = diameter + 2 * pricing.box_padding, height + 2 * pricing.box_padding
    area = 2 * width**2 + 4 * width * tall
    volume = width**2 * tall
    own = area / _MM2_IN_M2 * pricing.box_kg_m2
    return Box(
        width=width,
        height=tall,
        area=area,
        volume=volume,
        own_kg=round(own, _GRAM),
        gross_kg=round(piece_kg + own, _GRAM),
        by_volume_kg=round(volume / _MM3_IN_CM3 / pricing.volume_divisor, _GRAM),
    )


def step_for(chargeable_kg: float, table: tuple[CarriageStep, ...]) -> CarriageStep:
    """The first step of the table that carries so much. Errors: InvalidInput at the table where it ends below that."""
    for step in table:
        if chargeable_kg <= step.up_to_kg:
            return step
    ends = f"ends at {table[-1].up_to_kg:g} kg" if table else "is empty"
    raise InvalidInput(
        "pricing.carriage",
        f"is the table of carriage and {ends}; a box of this piece is charged at {chargeable_kg:g} kg: add a step to "
        "the table, or write the freight in by hand",
    )


def carry(box: Box, *, boxes: int, pricing: Pricing) -> Carriage:
    """What carriage comes to: every piece in a box of its own, and every box a parcel by itself.

    The crate is the box's six sides at `crate_per_m2` and `crate_fixed` besides, rounded once for each box.
    Errors: InvalidInput at the table of carriage where it ends below what a box is charged at.
    """
    found = Carriage(box, boxes)
    if pricing.freight_from == "worked_out":
        step = step_for(box.chargeable_kg, pricing.carriage)
        freight = round_money(step.price, currency=pricing.currency) * boxes
        found = replace(found, step=step, freight=freight)
    if pricing.crate_from == "worked_out":
        sides = exact(box.area) / exact(_MM2_IN_M2)
        each = round_money(sides * pricing.crate_per_m2 + pricing.crate_fixed, currency=pricing.currency)
        found = replace(found, crate_each=each, crate=each * boxes)
    return found


def with_carriage(pricing: Pricing, carriage: Carriage) -> Pricing:
    """The terms with what was worked out in the place of what is typed."""
    return replace(
        pricing,
        freight=pricing.freight if carriage.freight is None else carriage.freight,
        crate=pricing.crate if carriage.crate is None else carriage.crate,
    )
