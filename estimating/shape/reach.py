"""How deep a hollow goes behind the opening that a tool works through, bowl by bowl."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from estimating.shape.build import Shape
from estimating.shape.curves import Floats

_BETWEEN = 33
"""Heights looked at in a bowl, besides the points of the inside."""


@dataclass(frozen=True)
class Hollow:
    """A hollow that is turned through one opening: depth and the opening's diameter, mm.

    `entry` is the layer at whose face the tool goes in; `close_at` the height of a glue line near the widest place at
    which it could be closed instead, above the layer `close_above`; None where there is no such line.
    """

    depth: float
    opening: float
    entry: int
    close_at: float | None
    close_above: int | None


def hollows(shape: Shape) -> list[Hollow]:
    """The hollows of a part, one for each bowl that it is built of, from the bottom up.

    A bowl is turned through its upper opening, or where it has no floor through its lower one if that is wider. The
    opening is the narrowest place on the way to the widest of the bowl.
    """
    inner = shape.form.inner
    if inner is None:
        return []
    stack = shape.stack
    lines = [float(stack.top[shape.index(layer)]) for layer in shape.closings]
    edges = [inner.bottom, *(line for line in lines if inner.bottom < line < inner.top), inner.top]
    found = []
    for number, (low, high) in enumerate(pairwise(edges)):
        heights = np.concatenate([np.linspace(low, high, _BETWEEN), inner.breaks])
        heights = np.unique(heights[(heights >= low) & (heights <= high)])
        radii = inner.radius(heights)
        widest = int(np.argmax(radii))
        above, below = float(radii[widest:].min()), float(radii[: widest + 1].min())
        from_below = (number > 0 or not shape.form.has_floor) and below > above
        entry = low if from_below else high
        close = _line_near(shape, float(heights[widest]), low, high)
        found.append(
            Hollow(
                depth=high - low,
                opening=2 * (below if from_below else above),
                entry=shape.number(_layer_at(stack.bottom, entry, upper=not from_below)),
                close_at=None if close is None else float(stack.top[close]),
                close_above=None if close is None else shape.number(close),
            )
        )
    return found


def _layer_at(bottoms: Floats, height: float, *, upper: bool) -> int:
    """The layer that ends (`upper`) or begins at a height, or holds it."""
    begun = bottoms < height - 1e-9 if upper else bottoms <= height + 1e-9
    return max(0, int(np.count_nonzero(begun)) - 1)


def _line_near(shape: Shape, height: float, low: float, high: float) -> int | None:
    """The layer on whose top the glue line within the bowl is that is nearest to a height."""
    tops = shape.stack.top[:-1]
    inside = np.flatnonzero((tops > low + 1e-6) & (tops < high - 1e-6))
    if not len(inside):
        return None
    return int(inside[np.argmin(np.abs(tops[inside] - height))])
