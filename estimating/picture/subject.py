"""What is drawn: a form, its layers and rings, seen from the front with segment 1 of angle 0 towards the viewer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil, sqrt

import numpy as np

from estimating.picture.svg import wood_colour
from estimating.piece import Band
from estimating.shape.curves import Curve, Floats
from estimating.shape.forms import Form
from estimating.shape.layers import Stack
from estimating.shape.rings import Ring

FLATNESS = 0.02
"""How far (mm) the drawn polyline may lie beside the curve it stands for."""

_MOST_PARTS = 200


@dataclass(frozen=True)
class Subject:
    """A piece as the drawings see it. mm and radians.

    `ring_of_layer` gives each layer's place in `rings`. Angles run anticlockwise seen from above, from the viewer:
    a point at radius r and angle theta stands r sin(theta) right of the axis.
    """

    form: Form
    stack: Stack
    rings: Sequence[Ring]
    ring_of_layer: Sequence[int]
    bands: Sequence[Band]
    colours: Mapping[str, str]

    def ring(self, layer: int) -> Ring:
        """The ring a layer is cut from."""
        return self.rings[self.ring_of_layer[layer]]

    def marks(self, layer: int) -> dict[str, int]:
        """Attributes a page finds a layer and its ring by, counted from 1."""
        return {"data_layer": layer + 1, "data_ring": self.ring_of_layer[layer] + 1}

    def colour(self, wood: str) -> str:
        """The wood's colour as #rrggbb."""
        return wood_colour(self.colours.get(wood))

    @cached_property
    def lower(self) -> Floats:
        """Where each layer's turned part begins, (n,)."""
        return np.clip(self.stack.bottom, self.form.bottom, self.form.top)

    @cached_property
    def upper(self) -> Floats:
        """Where each layer's turned part ends, (n,); no higher than it begins where nothing of it is turned."""
        return np.clip(self.stack.top, self.form.bottom, self.form.top)

    @cached_property
    def turned_layers(self) -> list[int]:
        """The layers something of which is left after turning."""
        return [int(layer) for layer in np.flatnonzero(self.upper - self.lower > 1e-6)]

    @cached_property
    def outer(self) -> tuple[Floats, Floats]:
        """Heights and outer radii of the form as a polyline, with a point at every edge of a layer."""
        edges = [self.lower, self.upper, self.form.outer.breaks]
        if self.form.opening is not None:
            edges.append(np.array([self.form.opening]))
        return _polyline(self.form.outer, np.unique(np.concatenate(edges)))

    @cached_property
    def inner(self) -> tuple[Floats, Floats]:
        """Heights and radii of the inside from its opening up; empty for a solid piece."""
        curve = self.form.inner
        if curve is None:
            return np.zeros(0), np.zeros(0)
        edges = np.unique(np.concatenate([self.lower, self.upper, curve.breaks]))
        return _polyline(curve, edges[(edges >= curve.bottom) & (edges <= curve.top)])

    def outer_part(self, lower: float, upper: float) -> tuple[Floats, Floats]:
        """Heights and outer radii between two edges of layers, both included."""
        return _part(self.outer, lower, upper)

    def inner_part(self, lower: float, upper: float) -> tuple[Floats, Floats]:
        """Heights and inner radii between two edges of layers; the floor as a step out from the axis."""
        heights, radii = _part(self.inner, lower, upper)
        opening = self.form.opening
        if opening is None or not self.form.has_floor or lower >= opening:
            return (heights, radii) if len(heights) else _on_axis(lower, upper)
        if upper <= opening:
            return _on_axis(lower, upper)
        return np.concatenate([[lower, opening], heights]), np.concatenate([[0.0, 0.0], radii])


def _on_axis(lower: float, upper: float) -> tuple[Floats, Floats]:
    return np.array([lower, upper]), np.zeros(2)


def _part(line: tuple[Floats, Floats], lower: float, upper: float) -> tuple[Floats, Floats]:
    heights, radii = line
    start, end = np.searchsorted(heights, lower, "left"), np.searchsorted(heights, upper, "right")
    return heights[start:end], radii[start:end]


def _polyline(curve: Curve, edges: Floats) -> tuple[Floats, Floats]:
    """Divide each interval until its chords lie within FLATNESS of the curve."""
    start, step = edges[:-1], np.diff(edges)
    ends = curve.radius(edges)
    bulge = np.zeros(len(start))
    for share in (0.25, 0.5, 0.75):
        chord = ends[:-1] + share * np.diff(ends)
        bulge = np.maximum(bulge, np.abs(curve.radius(start + share * step) - chord))
    # A parabola's bulge falls with the square of the parts; half the tolerance is kept for what is no parabola.
    parts = [min(max(ceil(sqrt(2 * b / FLATNESS)), 1), _MOST_PARTS) for b in bulge.tolist()]
    within = [np.linspace(a, b, n, endpoint=False) for a, b, n in zip(start, edges[1:], parts, strict=True)]
    heights = np.append(np.concatenate(within), edges[-1])
    return heights, curve.radius(heights)
