"""How parts stand on one another, where bowls are closed to a hollow form, and how a lid fits."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from estimating.errors import InvalidInput, InvalidSheet
from estimating.piece import Sits
from estimating.shape.forms import Form
from estimating.shape.layers import Stack

if TYPE_CHECKING:
    from estimating.shape.build import Shape


@dataclass(frozen=True, slots=True)
class Fit:
    """How a loose part sits in the rim of another, mm: diameters where it is tightest, and the gap each side."""

    part: str
    within: str
    opening_diameter: float
    flange_diameter: float
    clearance: float

    @property
    def gap(self) -> float:
        """Room each side, negative where it does not go in."""
        return (self.opening_diameter - self.flange_diameter) / 2


def closing_layers(stack: Stack, close_at: Sequence[float]) -> tuple[int, ...]:
    """For each height the layer, counted from 1, on whose top the form is closed: at the nearest glue line.

    Errors: InvalidInput at `close_at[i]` for a height farther from every glue line than half a layer, or a second
    one at the same line.
    """
    found: list[int] = []
    lines = (stack.top[:-1] + stack.bottom[1:]) / 2
    for number, height in enumerate(close_at):
        place = f"close_at[{number}]"
        if not len(lines):
            raise InvalidInput(place, "needs a glue line to close at; there is only one layer")
        at = int(np.argmin(np.abs(lines - height)))
        if abs(lines[at] - height) > max(stack.thickness[at], stack.thickness[at + 1]) / 2 + 1e-9:
            reason = f"is {height:.5g} mm, but the nearest glue line is at {lines[at]:.5g} mm"
            raise InvalidInput(place, reason)
        if at + 1 in found:
            raise InvalidInput(place, f"falls on the same glue line as the one before, {lines[at]:.5g} mm")
        found.append(at + 1)
    return tuple(found)


def stand_on(shapes: Sequence["Shape"]) -> tuple["Shape", ...]:
    """The parts with the heights they stand at. A part that sits nowhere stands by itself.

    Errors: InvalidSheet at `parts[i].sits` for a part that is not among those before it, or a flange taller than
    its part.
    """
    placed: list[Shape] = []
    errors: list[InvalidInput] = []
    for shape in shapes:
        sits = shape.part.sits
        if sits is None:
            placed.append(shape)
            continue
        place = f"{shape.part.place}sits.{sits.how}"
        below = next((other for other in placed if other.part.name == sits.other), None)
        if below is None:
            known = ", ".join(other.part.name for other in placed) or "none"
            errors.append(
                InvalidInput(place, f'names no part before this one: "{sits.other}"; before it: {known}')
            )
            placed.append(shape)
            continue
        if sits.flange >= shape.form.height:
            reason = f"must be less than the part's own height, {shape.form.height:.5g} mm"
            errors.append(InvalidInput(f"{shape.part.place}sits.flange", reason))
        base = below.base + below.form.top - sits.flange - shape.form.bottom
        placed.append(replace(shape, base=base))
    if errors:
        raise InvalidSheet(errors)
    return tuple(placed)


def fits_of(shapes: Sequence["Shape"]) -> tuple[Fit, ...]:
    """Every loose part in its rim: the narrowest opening and the widest flange over the depth they share."""
    by_name = {shape.part.name: shape for shape in shapes}
    fits = []
    for shape in shapes:
        sits = shape.part.sits
        if sits is None or sits.how != "in":
            continue
        fits.append(fit_in(by_name[sits.other].form, shape.form, sits=sits, part=shape.part.name))
    return tuple(fits)


def fit_in(rim: Form, lid: Form, *, sits: Sits, part: str) -> Fit:
    """How one form sits in the rim of another, `sits.flange` deep."""
    lower, upper = np.array([rim.top - sits.flange]), np.array([rim.top])
    opening = 2 * float(rim.inner_cover(lower, upper)[0])
    depth = np.array([lid.bottom]), np.array([lid.bottom + sits.flange - 1e-6])
    flange = 2 * float(lid.outer_cover(*depth)[0])
    return Fit(part, sits.other, opening, flange, sits.clearance)
