"""How freight and crate came about where they are worked out: each figure with its working. Says; does not reckon."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from projects.models import Studio
from projects.templatetags import turnery as show

if TYPE_CHECKING:
    from estimating.estimate import Estimate

_MM2_IN_M2 = 1e6
_MM3_IN_CM3 = 1000.0


class Row(NamedTuple):
    """One figure: what it is, the figure, and how it came about."""

    head: str
    figure: str
    words: str


def carriage_rows(estimate: "Estimate", studio: Studio) -> list[Row]:
    """From the piece to its box, its mass, the table's step and the crate; none where nothing is worked out."""
    return [] if estimate.carriage is None else list(_rows(estimate, studio))


def _rows(estimate: "Estimate", studio: Studio) -> Iterator[Row]:
    assert estimate.carriage is not None
    carriage, pricing = estimate.carriage, estimate.sheet.pricing
    box, currency = carriage.box, pricing.currency
    wide = show.size(box.width, studio)
    tall, across, high, padding = (
        show.size_unit(length, studio)
        for length in (box.height, estimate.largest_diameter, estimate.height, pricing.box_padding)
    )
    sides = f"{show.figure(box.area / _MM2_IN_M2, 3)} m²"
    yield Row(
        "box of one piece",
        f"{wide} × {wide} × {tall}",
        f"The piece is {across} across and {high} high, with {padding} of padding on every side.",
    )
    if carriage.step is not None:
        yield from _masses(estimate)
        price = show.money(carriage.step.price, currency)
        yield Row(
            "freight",
            show.money(carriage.freight, currency),
            f"The table of carriage asks {price} for what is charged at up to {carriage.step.up_to_kg:g} kg"
            f"{_times(carriage.boxes)}.",
        )
    if carriage.crate_each is not None:
        each = show.money(carriage.crate_each, currency)
        yield Row(
            "crate",
            show.money(carriage.crate, currency),
            f"Six sides, {sides}, × {show.money(pricing.crate_per_m2, currency)} a m² + "
            f"{show.money(pricing.crate_fixed, currency)} is {each}{_times(carriage.boxes)}.",
        )


def _masses(estimate: "Estimate") -> Iterator[Row]:
    assert estimate.carriage is not None
    box, pricing = estimate.carriage.box, estimate.sheet.pricing
    sides = f"{show.figure(box.area / _MM2_IN_M2, 3)} m²"
    yield Row(
        "gross mass",
        _kg(box.gross_kg),
        f"The finished piece, {_kg(box.gross_kg - box.own_kg)}, and six sides of the box, {sides} × "
        f"{pricing.box_kg_m2:g} kg a m², {_kg(box.own_kg)}.",
    )
    yield Row(
        "mass by volume",
        _kg(box.by_volume_kg),
        f"{show.figure(box.volume / _MM3_IN_CM3)} cm³ ÷ {show.figure(pricing.volume_divisor)} cm³ a kg.",
    )
    yield Row(
        "charged at",
        _kg(box.chargeable_kg),
        f"The greater of the two: {'what it takes up' if box.is_bulky else 'what it weighs'}.",
    )


def _kg(mass: float) -> str:
    return f"{show.figure(mass, 3)} kg"


def _times(boxes: int) -> str:
    return "" if boxes == 1 else f", for each of {boxes} boxes, a piece in each"
