"""The order of turning: how each part is held, what is turned from which side, and when bowls are closed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from estimating.shape.build import Shape

Step = Literal["hold", "outside", "inside", "close", "part", "foot", "fit", "join"]


@dataclass(frozen=True, slots=True)
class TurningStep:
    """One step at the lathe. `layers` are the lowest and highest it is about, by number."""

    part: str
    step: Step
    layers: tuple[int, int]
    words: str


_HELD = {
    "tenon": "a tenon {depth:g} mm deep, cut in the wood below the foot",
    "recess": "a recess {depth:g} mm deep in the foot",
    "waste_block": "a waste block {depth:g} mm thick, glued under the foot",
}


def turning_steps(shapes: Sequence[Shape]) -> tuple[TurningStep, ...]:
    """Every step at the lathe, part by part from the bottom up; common practice, no source.

    A hollow form is turned and sanded inside bowl by bowl while it is still open, then closed, then turned outside.
    """
    return tuple(step for shape in shapes for step in _of_part(shape))


def _of_part(shape: Shape) -> Iterator[TurningStep]:
    name = shape.part.name
    lowest, highest = shape.layers[0], shape.layers[-1]
    whole = (lowest, highest)
    yield TurningStep(
        name, "hold", (lowest, lowest), f"Hold by {_held(shape)}. Turn round and true the face."
    )
    bowls = list(pairwise([lowest - 1, *shape.closings, highest]))
    if shape.form.inner is not None and len(bowls) > 1:
        yield from _closed_from_bowls(shape, bowls)
    yield TurningStep(
        name, "outside", whole, f"Turn the outside of layers {_run(whole)}, from the largest diameter down."
    )
    if shape.form.inner is not None and len(bowls) == 1:
        yield TurningStep(
            name, "inside", whole, "Turn the inside from the rim down, the wall last where it is thinnest."
        )
    sits = shape.part.sits
    if sits is not None and sits.how == "in":
        fitted = (
            f"Fit the lowest {sits.flange:g} mm to the rim of {sits.other}, {sits.clearance:g} mm free all round, "
            "measured when both have rested."
        )
        yield TurningStep(name, "fit", (lowest, lowest), fitted)
    yield TurningStep(name, "foot", (lowest, lowest), _foot(shape))
    if sits is not None and sits.how == "on":
        yield TurningStep(name, "join", (lowest, lowest), f"Glue on {sits.other} and turn the joint over.")


def _closed_from_bowls(shape: Shape, bowls: Sequence[tuple[int, int]]) -> Iterator[TurningStep]:
    name = shape.part.name
    for before, last in bowls:
        layers = (before + 1, last)
        between = before + 1 > shape.layers[0] and last < shape.layers[-1]
        side = "while it is open on both sides" if between else "from the face that will be closed"
        yield TurningStep(
            name, "inside", layers, f"Turn and sand the inside of layers {_run(layers)} {side}."
        )
    for layer in shape.closings:
        height = float(shape.stack.top[shape.index(layer)])
        words = f"True both faces and close between layers {layer} and {layer + 1}, at {height:.1f} mm; let it cure."
        yield TurningStep(name, "close", (layer, layer + 1), words)


def _held(shape: Shape) -> str:
    holding = shape.part.holding
    if holding is None:
        return "what suits the foot (no holding is set)"
    return _HELD[holding.by].format(depth=holding.depth)


def _foot(shape: Shape) -> str:
    holding = shape.part.holding
    if holding is None or holding.by == "recess":
        return "Turn it round and finish the foot."
    off = "tenon" if holding.by == "tenon" else "waste block"
    parting = (
        f"Part off the {off}, {holding.parting:g} mm for the tool"
        if holding.parting
        else f"Turn the {off} away"
    )
    return f"{parting}, then turn it round and finish the foot."


def _run(layers: tuple[int, int]) -> str:
    return str(layers[0]) if layers[0] == layers[1] else f"{layers[0]} to {layers[1]}"
