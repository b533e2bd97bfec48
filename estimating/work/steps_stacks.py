"""Steps of all that is glued once there are rings: stacks, joins, plugs, waste blocks, each trued when it has cured."""

from collections import Counter

from estimating.glue.assembly import GlueUp
from estimating.work.steps_book import Draft
from estimating.work.steps_glue import add_glue_up, key_of, what_of
from estimating.work.steps_making import HOUR, Making

_COAT = "coat, stack and align layers"
_CLAMP = "clamp, clean squeeze-out, check"
_PLUG = "bore and plug the middle"
_DOWN = "take down, check run-out, true joint face"


def add_stacks(making: Making) -> None:
    """Every stacking glue-up of every piece; what joins finished parts is later made to wait for their turning."""
    layers = _newly_coated(making)
    for piece in making.pieces:
        for glue_up in making.stackings:
            _add_stacking(making, piece, glue_up, layers[glue_up.number])


def _newly_coated(making: Making) -> Counter[int]:
    """How many layers each glue-up is the first to coat: every layer is counted where it is first glued to another."""
    seen: set[int] = set()
    found: Counter[int] = Counter()
    for glue_up in making.stackings:
        found[glue_up.number] = len(set(glue_up.layers) - seen)
        seen |= set(glue_up.layers)
    return found


def _add_stacking(making: Making, piece: int, glue_up: GlueUp, layers: int) -> None:
    rings = {
        ring.number
        for shape in making.job.shapes
        for ring in shape.rings
        if set(ring.layers) & set(glue_up.layers)
    }
    before = [making.done[piece, number] for number in glue_up.after]
    before += [making.ready[piece, ring] for ring in sorted(rings)]
    work = {_COAT: (1.0, float(layers)), _CLAMP: (0.0, 1.0)}
    if glue_up.kind == "plug":
        work[_PLUG] = (1.0 if piece == 1 else 0.0, 1.0)
    after = list(dict.fromkeys(before))
    last = add_glue_up(making, piece, glue_up, name=_name(glue_up), work=work, after=after)
    shape = making.shape_of(glue_up)
    wait = making.job.sheet.shop.sand_wait_h * HOUR
    settled = [_add_settling(making, piece, glue_up, wait)] if shape is None and wait > 0 else []
    down = Draft(
        f"p{piece}.{key_of(glue_up)}.down",
        f"Take down and true: {what_of(glue_up)}{making.on_piece(piece)}",
        piece=piece,
        part=shape.part.name if shape else "",
        glue_up=glue_up.number,
        layers=glue_up.layers,
        after=[last, *settled],
        work={_DOWN: (0, 1)},
    )
    making.done[piece, glue_up.number] = making.book.add(down)


def _add_settling(making: Making, piece: int, glue_up: GlueUp, wait: float) -> str:
    """The joint of two finished parts rests before it is turned over, counted from the hour it was glued."""
    key = f"p{piece}.{key_of(glue_up)}.settle"
    rest = Draft(key, f"Let the {what_of(glue_up)} settle{making.on_piece(piece)}", "rest", wait, piece=piece)
    rest.after = [making.glued[piece, glue_up.number]]
    return making.book.add(rest)


def _name(glue_up: GlueUp) -> str:
    match glue_up.kind:
        case "stack":
            return f"Glue {what_of(glue_up)}"
        case "join":
            return f"Glue the {what_of(glue_up)}"
        case "plug":
            return f"Bore and glue in the {what_of(glue_up)}"
    return f"Glue on the {what_of(glue_up)}"
