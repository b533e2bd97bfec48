"""A commission's piece as it is and otherwise: other woods, sizes, finishes and numbers, each estimated anew."""

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil
from typing import TYPE_CHECKING, Any

from projects import models
from projects.estimates import PartRecords, finish_as_sheet, parts_of, sheet_data, workshop_of

if TYPE_CHECKING:
    from estimating.options import Tried
    from estimating.piece import Band, Laminate, ShopSettings
    from estimating.shape.scaling import Size

_PLACES_OF_A_TURN = 6
"""Of an offset in segments: far below what a protractor shows."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What is other: a wood's key by another's, the size as a factor, a finish off the shelf, how many."""

    wood: str = ""
    by: str = ""
    size: float = 1.0
    finish: models.Finish | None = None
    quantity: int | None = None

    @property
    def is_none(self) -> bool:
        """Whether nothing is other."""
        return self == Choice()


def options_of(
    design: models.Design, *, commission: models.Commission, choices: Sequence[Choice]
) -> "tuple[Tried, ...]":
    """The piece as it is, and each choice; one that cannot be made says why.

    Errors: estimating.errors.InvalidInput for what is no option; InvalidSheet where the design cannot be read.
    """
    # Imported here since the arithmetic brings numpy and the solver, which most pages never need.
    from estimating.options import Option, try_options
    from estimating.sheet import read_sheet

    workshop = workshop_of(design.studio)
    data = sheet_data(design, commission=commission, more_woods=[one.by for one in choices if one.by])
    options = [
        Option(
            wood=one.wood,
            by=one.by,
            size=one.size,
            finish=finish_as_sheet(one.finish) if one.finish else None,
            quantity=one.quantity,
        )
        for one in (Choice(), *choices)
    ]
    return try_options(read_sheet(data, workshop=workshop), workshop, options)


@dataclass(frozen=True, slots=True)
class Otherwise:
    """A design with a choice applied to its records, none of them saved: what the choice would be drawn as."""

    design: models.Design
    parts: list[PartRecords]
    quantity: int | None

    def sheet_data(self, *, commission: models.Commission) -> dict[str, Any]:
        """Its piece sheet, as `projects.estimates.sheet_data` makes one."""
        data = sheet_data(self.design, commission=commission, parts=self.parts)
        return data | ({"quantity": self.quantity} if self.quantity else {})


def otherwise(design: models.Design, choice: Choice, *, commission: models.Commission) -> Otherwise:
    """The records of a design with a choice applied; lengths are rounded to what the records hold.

    Errors: estimating.errors.InvalidInput for what is no option; InvalidSheet where the design cannot be read.
    """
    other, parts = copy(design), [copied(one) for one in parts_of(design)]
    if choice.size != 1.0:
        from estimating.shape.scaling import Size

        size = Size(height=choice.size, radius=choice.size)
        scale(other, parts, size, sheet_data(design, commission=commission))
    if choice.wood:
        swap(other, parts, by={choice.wood: choice.by})
    if choice.finish is not None:
        other.finish = choice.finish
    return Otherwise(other, parts, choice.quantity)


def copied(one: PartRecords) -> PartRecords:
    """A part's records, to be changed and not saved."""
    return PartRecords(copy(one.part), copy(one.form), [copy(band) for band in one.bands])


def scale(
    design: models.Design, parts: list[PartRecords], size: "Size", data: Mapping[str, Any]
) -> tuple[str, ...]:
    """Set the records' lengths, layers and turns to those of the scaled sheet, which knows what grows and what stays.

    `data` is the sheet of the records as they are. Returns what followed, in words of mm. Errors: as `resized`.
    """
    from estimating.options import resized
    from estimating.sheet import read_sheet

    sheet, notes = resized(read_sheet(data, workshop=workshop_of(design.studio)), size)
    for record, part in zip(parts, sheet.parts, strict=True):
        form, inside = record.form, part.form.inside
        form.outer = _points(part.form.outer, form.outer)
        if form.inside == "wall":
            form.wall, form.floor = _length(inside.wall), _length(inside.floor)
        if form.inside == "curve":
            form.inner = _points(inside.inner, form.inner)
        record.part.close_at = [_to_micron(height) for height in part.close_at]
        if record.part.flange is not None and part.sits is not None:
            record.part.flange = _length(part.sits.flange)
        for band, scaled in zip(record.bands, part.bands, strict=True):
            _scale_band(band, scaled, sheet.shop)
    design.laminates = {
        key: laminate | {"strips": _strips(laminate["strips"], sheet.laminates[key])}
        if key in sheet.laminates
        else laminate
        for key, laminate in design.laminates.items()
    }
    return notes


def _scale_band(band: models.Band, scaled: "Band", shop: "ShopSettings") -> None:
    band.layers, band.thickness = scaled.layers, _length(scaled.thickness)
    if band.bore is not None and isinstance(scaled.bore, int | float):
        band.bore = _length(scaled.bore)
    if list(scaled.offsets) != [float(offset) for offset in band.offsets]:
        band.offsets = [round(offset, _PLACES_OF_A_TURN) for offset in scaled.offsets]
    if band.chart and len(band.chart["rows"]) != band.layers:
        # A row for each layer: begun again, or cut short.
        rows = band.chart["rows"]
        band.chart = band.chart | {"rows": [rows[layer % len(rows)] for layer in range(band.layers)]}
    if scaled.ring_height is not None and _length(scaled.ring_height) != band.ring_height:
        band.ring_height = _ring_height(band, scaled, shop)


def _ring_height(band: models.Band, scaled: "Band", shop: "ShopSettings") -> Decimal:
    """Rounded up, and no less than its layers take once they are rounded: else one would be lost to a micron."""
    from estimating.shape.slicing import ring_height

    assert scaled.ring_height is not None
    most = ring_height(scaled, shop=shop, place="").most
    rounded = ring_height(replace(scaled, thickness=float(band.thickness)), shop=shop, place="")
    return Decimal(ceil(max(scaled.ring_height, rounded.of(most)) * 1000 - 1e-6)) / 1000


def _strips(strips: Sequence[Mapping[str, Any]], scaled: "Laminate") -> list[dict[str, Any]]:
    """Rounded up likewise, so that the panel spans its segments."""
    return [
        {**strip, "width": ceil(width * 1000 - 1e-6) / 1000}
        for strip, (_, width) in zip(strips, scaled.strips, strict=True)
    ]


def swap(design: models.Design, parts: list[PartRecords], *, by: Mapping[str, str]) -> None:
    """Put woods in others' places, all at once, wherever a key stands: bands, charts, plugs, strips of laminates."""

    def other(key: str) -> str:
        return by.get(key, key)

    for band in (band for one in parts for band in one.bands):
        band.woods, band.plug = [other(key) for key in band.woods], other(band.plug)
        if band.chart:
            legend = {letter: other(key) for letter, key in band.chart["legend"].items()}
            band.chart = band.chart | {"legend": legend}
    design.laminates = {
        key: laminate | {"strips": [strip | {"wood": other(strip["wood"])} for strip in laminate["strips"]]}
        for key, laminate in design.laminates.items()
    }


def _points(scaled: Sequence[tuple[float, float]], drawn: list[Any]) -> list[Any]:
    """Points at their new places, each a corner where it was one."""
    return [[*map(_to_micron, new), *old[2:]] for new, old in zip(scaled, drawn, strict=True)]


def _to_micron(mm: float) -> float:
    return round(mm, 3)


def _length(mm: float) -> Decimal:
    return Decimal(repr(_to_micron(mm)))
