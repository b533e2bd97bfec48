"""Options of a piece side by side: other sizes, woods, finishes and numbers, each estimated anew."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from estimating.errors import InvalidInput, InvalidSheet
from estimating.estimate import Estimate, estimate
from estimating.piece import Finish, Sheet
from estimating.shape.scaling import Size, scale_piece
from estimating.substitutes import replace_wood
from estimating.wood.sections import plate_thickness
from estimating.workshop import Workshop


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
        sheet = _of_size(sheet, option.size)
    return replace(
        sheet,
        finish=option.finish or sheet.finish,
        quantity=option.quantity or sheet.quantity,
    )


def _of_size(sheet: Sheet, factor: float) -> Sheet:
    try:
        return resized(sheet, Size(height=factor, radius=factor))[0]
    except InvalidInput as refusal:
        if refusal.place in ("size", "height_factor"):
            raise InvalidInput("size", refusal.reason) from refusal
        raise InvalidSheet([refusal]) from refusal  # a size, but one that it cannot be made in


def resized(sheet: Sheet, size: Size) -> tuple[Sheet, tuple[str, ...]]:
    """The piece at another size, with the boards it is sawn from as they are; and what followed, in words.

    Errors: as `scale_piece`.
    """
    usual, shop = sheet.usual_board, sheet.shop
    bought = (plate_thickness(thick, usual.surface, 1, shop) for thick in usual.thicknesses)
    on_rack = (plate_thickness(board.thickness, board.surface, 1, shop) for board in sheet.boards)
    scaled = scale_piece(
        sheet.parts,
        size=size,
        shop=shop,
        laminates=sheet.laminates,
        thickest=max((*bought, *on_rack), default=None),
    )
    return replace(sheet, parts=scaled.parts, laminates=scaled.laminates), scaled.notes
