"""Steps of all that is glued once there are rings: stacks, joins, plugs, waste blocks, each trued when it has cured."""

from estimating.glue.assembly import GlueUp
from estimating.steps.book import Draft
from estimating.steps.glue import add_glue_up, key_of, what_of
from estimating.steps.making import HOUR, Making

TAKING_DOWN = "take down, check run-out, true joint face"


def add_stacks(making: Making) -> None:
    """Every stacking glue-up of every piece; what joins finished parts is later made to wait for their turning."""
    for piece in making.pieces:
        for glue_up in making.stackings:
            _add_stacking(making, piece, glue_up)


def _add_stacking(making: Making, piece: int, glue_up: GlueUp) -> None:
    before = [making.done[piece, number] for number in glue_up.after]
    before += [
        making.ready[piece, ring] for ring in sorted({making.ring_at[layer] for layer in glue_up.layers})
    ]
    after = list(dict.fromkeys(before))
    last = add_glue_up(making, piece, glue_up, name=_name(glue_up), after=after)
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
        work={TAKING_DOWN: (0, 1)},
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
