"""Options of a piece side by side: other sizes, woods, finishes and numbers, each estimated anew."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite

from estimating.errors import InvalidInput, InvalidSheet
from estimating.estimate import Estimate, estimate
from estimating.piece import Band, Finish, Part, Sheet
from estimating.substitutes import replace_wood
from estimating.workshop import Workshop

SMALLEST, LARGEST = 0.25, 4.0
"""What a piece may be scaled by here; farther off it is another design."""


@dataclass(frozen=True, slots=True)
class Option:
    """What is other than in the piece as it is: a wood by another, its size as a factor, the finish, how many."""

    wood: str = ""
    by: str = ""
    size: float = 1.0
    finish: Finish | None = None
    quantity: int | None = None


@dataclass(frozen=True)
class Tried:
    """An option and its estimate, or why there is none."""

    option: Option
    estimate: Estimate | None
    refusals: tuple[str, ...] = ()


def try_options(sheet: Sheet, workshop: Workshop, options: Sequence[Option]) -> tuple[Tried, ...]:
    """Each option estimated; one that cannot be made says why, and leaves the others be."""
    return tuple(_tried(sheet, workshop, option) for option in options)


def _tried(sheet: Sheet, workshop: Workshop, option: Option) -> Tried:
    try:
        return Tried(option, estimate(vary(sheet, option), workshop))
    except InvalidSheet as refusal:
        return Tried(option, None, tuple(map(str, refusal.errors)))


def vary(sheet: Sheet, option: Option) -> Sheet:
    """The sheet with an option's changes.

    Errors: InvalidInput at `wood` where the piece has none such, `by` where none is named, or `size` out of range.
    """
    if option.wood:
        used = {wood for part in sheet.parts for band in part.bands for wood in (*band.all_woods, band.plug)}
        used |= {wood for laminate in sheet.laminates.values() for wood, _ in laminate.strips}
        if option.wood not in used:
            raise InvalidInput("wood", f"must be a wood of the piece, not {option.wood!r}")
        if not option.by:
            raise InvalidInput("by", "must say which wood stands in its place")
        sheet = replace_wood(sheet, wood=option.wood, by=option.by)
    if option.size != 1.0:
        sheet = replace(sheet, parts=tuple(scale_part(part, option.size) for part in sheet.parts))
    return replace(
        sheet,
        finish=option.finish or sheet.finish,
        quantity=option.quantity or sheet.quantity,
    )


def scale_part(part: Part, factor: float) -> Part:
    """A part larger or smaller all over: its form, its wall, and the thickness of its layers, whose count stays.

    Allowances, glue lines and veneers stay as thick as they are; the other layers share what the height gains, so that
    the stack overruns its form by as much as before.
    Errors: InvalidInput at `size`.
    """
    if not (isfinite(factor) and SMALLEST <= factor <= LARGEST):
        raise InvalidInput("size", f"must be from {SMALLEST:g} to {LARGEST:g}, not {factor:g}")
    form, inside = part.form, part.form.inside
    if not form.outer:
        raise InvalidInput("size", "is given by the measures of a ready form: change those")

    def points(curve: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
        return tuple((height * factor, radius * factor) for height, radius in curve)

    scaled = replace(
        form,
        outer=points(form.outer),
        inside=replace(
            inside, wall=inside.wall * factor, floor=inside.floor * factor, inner=points(inside.inner)
        ),
    )
    solid = sum(band.layers * band.thickness for band in part.bands if band.made != "veneer")
    gained = (factor - 1) * (form.outer[-1][0] - form.outer[0][0])
    if solid + gained <= 0:
        raise InvalidInput("size", "leaves its layers no thickness")
    return replace(
        part,
        form=scaled,
        bands=tuple(_scale_band(band, factor, layers=(solid + gained) / solid) for band in part.bands),
        close_at=tuple(height * factor for height in part.close_at),
        sits=part.sits and replace(part.sits, flange=part.sits.flange * factor),
    )


def _scale_band(band: Band, factor: float, *, layers: float) -> Band:
    bore = band.bore * factor if isinstance(band.bore, int | float) else band.bore
    return replace(band, thickness=band.thickness * (1.0 if band.made == "veneer" else layers), bore=bore)
