"""What if this were cherry: one wood of a piece beside others in its place, each estimated anew."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimating.errors import InvalidInput
from estimating.estimate import Estimate, estimate
from estimating.piece import Band, Board, Laminate, Part, Sheet
from estimating.price.pricing import Price
from estimating.rooms import Air, Climate
from estimating.wood.colour import lightness
from estimating.wood.dust import WoodHazard, hazards_of
from estimating.wood.mass import mass_at
from estimating.wood.weather import Movement
from estimating.workshop import Workshop

MOST = 4
"""Alternatives that are set beside the wood at once."""

A_YEAR_INDOORS = Climate(
    shop=Air(temperature_c=20.0, humidity=65.0), client=Air(temperature_c=20.0, humidity=30.0)
)
"""Stands where a sheet has no climate: a damp summer and a heated winter (common practice, no source)."""


@dataclass(frozen=True)
class Substitute:
    """The piece with one wood in the place asked about. Money, g at 12 % moisture with the glue lines, mm.

    `wood_cost` is of all wood of the order. `lightness` is CIE L*. `mismatch` is the most that two layers part at a
    glue line, `ring_change` the largest change of a layer's width, + swelling; both None where the shrinkage of a wood
    of the piece is not known. `short` says that boards must be bought.
    """

    wood: str
    name: str
    price: Price
    wood_cost: Decimal
    mass_g: float
    colour: str
    lightness: float
    mismatch: float | None
    ring_change: float | None
    hazard: WoodHazard
    short: bool
    protected_note: str
    fades: str


@dataclass(frozen=True)
class Comparison:
    """The wood as it is and what may stand for it; `assumed` where a year indoors stands for the sheet's climate."""

    replaced: str
    present: Substitute
    others: tuple[Substitute, ...]
    climate: Climate
    assumed: bool


def compare(
    sheet: Sheet,
    workshop: Workshop,
    *,
    wood: str,
    alternatives: Sequence[str],
    boards: Sequence[Board] = (),
) -> Comparison:
    """The piece with a wood, and with each alternative in all the places of that wood.

    `boards` are those of the rack of the alternatives' woods, beside the sheet's own; boards of a wood that is not in
    the piece are left alone.
    Errors: InvalidInput at `wood` if it is not in the piece, at `alternatives[i]` for one that is not known, stands
    twice or is one too many; InvalidSheet where the piece cannot be estimated.
    """
    used = _used(sheet)
    if wood not in used:
        raise InvalidInput("wood", f"must be a wood of the piece ({', '.join(used)}), not {wood!r}")
    _check(alternatives, workshop)
    climate = sheet.climate or A_YEAR_INDOORS
    whole = replace(sheet, climate=climate, boards=(*sheet.boards, *_new(boards, sheet.boards)))
    present, *others = (
        _substitute(estimate(replace_wood(whole, wood=wood, by=other), workshop), other)
        for other in (wood, *alternatives)
    )
    return Comparison(wood, present, tuple(others), climate, assumed=sheet.climate is None)


def _check(alternatives: Sequence[str], workshop: Workshop) -> None:
    if not alternatives:
        raise InvalidInput("alternatives", f"name one to {MOST} woods to set beside it")
    for index, other in enumerate(alternatives):
        place = f"alternatives[{index}]"
        if index >= MOST:
            raise InvalidInput(place, f"is one too many: at most {MOST} are set side by side")
        if other not in workshop.woods:
            raise InvalidInput(place, f"is no wood of this shop: {other!r}")
        if other in alternatives[:index]:
            raise InvalidInput(place, f"{workshop.woods[other].name} stands here twice")


def _new(boards: Sequence[Board], there: Sequence[Board]) -> tuple[Board, ...]:
    """Boards of woods that the sheet has no boards of: none is counted twice."""
    known = {board.wood for board in there}
    return tuple(board for board in boards if board.wood not in known)


def replace_wood(sheet: Sheet, *, wood: str, by: str) -> Sheet:
    """The sheet with a wood replaced wherever it stands: in bands, charts, plugs and the strips of laminates."""

    def swap(key: str) -> str:
        return by if key == wood else key

    def band(one: Band) -> Band:
        return replace(
            one,
            woods=tuple(map(swap, one.woods)),
            chart=tuple(tuple(map(swap, row)) for row in one.chart),
            plug=None if one.plug is None else swap(one.plug),
        )

    def laminate(one: Laminate) -> Laminate:
        return replace(one, strips=tuple((swap(key), width) for key, width in one.strips))

    def part(one: Part) -> Part:
        return replace(one, bands=tuple(map(band, one.bands)))

    return replace(
        sheet,
        parts=tuple(map(part, sheet.parts)),
        laminates={key: laminate(one) for key, one in sheet.laminates.items()},
    )


def _used(sheet: Sheet) -> tuple[str, ...]:
    """The woods of the sheet, laminates' strips and plugs too."""
    found: dict[str, None] = {}
    for band in (band for part in sheet.parts for band in part.bands):
        for key in (*band.all_woods, *([band.plug] if band.plug else [])):
            strips = sheet.laminates[key].strips if key in sheet.laminates else ((key, 0.0),)
            found |= dict.fromkeys(wood for wood, _ in strips)
    return tuple(found)


def _substitute(found: Estimate, wood: str) -> Substitute:
    species = found.workshop.woods[wood]
    weight = mass_at(
        found.shapes, woods=found.workshop.woods, moisture=12.0, bond_line=found.sheet.shop.bond_line
    )
    mismatch, ring_change = _movement(found.movement)
    return Substitute(
        wood=wood,
        name=species.name,
        price=found.price,
        wood_cost=found.cost.wood,
        mass_g=weight.finished_g,
        colour=species.colour,
        lightness=lightness(species.colour),
        mismatch=mismatch,
        ring_change=ring_change,
        hazard=hazards_of([wood], woods=found.workshop.woods)[0],
        short=any(board.buy and board.wood == wood for board in found.cutting.boards),
        protected_note=species.protected_note,
        fades=species.fades,
    )


def _movement(movement: Movement | None) -> tuple[float | None, float | None]:
    if movement is None or movement.unknown:
        return None, None
    held = (joint.held or 0.0 for joint in movement.joints)
    changes = (layer.width_change or 0.0 for layer in movement.layers)
    return max(held, default=0.0), max(changes, key=abs, default=0.0)
