"""What is drawn: a form, its layers and rings, seen from the front with segment 1 of angle 0 towards the viewer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import ceil, sqrt

import numpy as np

from estimating.picture.svg import wood_colour
from estimating.piece import Band, Holding, Laminate, ShopSettings
from estimating.shape.build import Shape
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
    a point at radius r and angle theta stands r sin(theta) right of the axis. `bore` is the diameter of the hole
    through each layer, (n,). `level` is the height, as the form counts heights, that is drawn at y = 0: the form's
    top unless asked otherwise. `closings` are places of layers on whose top bowls are joined. `loose` parts sit in
    another's rim. `shop` says how thick rings are sliced.
    """

    form: Form
    stack: Stack
    rings: Sequence[Ring]
    ring_of_layer: Sequence[int]
    bands: Sequence[Band]
    colours: Mapping[str, str]
    bore: Floats | None = None
    laminates: Mapping[str, Laminate] = field(default_factory=dict)
    shop: ShopSettings = field(default_factory=ShopSettings)
    level: float | None = None
    first_layer: int = 0
    closings: Sequence[int] = ()
    holding: Holding | None = None
    name: str = ""
    loose: bool = False

    @property
    def zero(self) -> float:
        """The height drawn at y = 0."""
        return self.form.top if self.level is None else self.level

    def bore_radius(self, layer: int) -> float:
        """Of the hole through a layer, 0 without one."""
        return 0.0 if self.bore is None else float(self.bore[layer]) / 2

    def plug_wood(self, layer: int) -> str | None:
        """What fills the hole through a layer."""
        return self.bands[self.stack.band[layer]].plug if self.bore_radius(layer) > 0 else None

    def ring(self, layer: int) -> Ring:
        """The ring a layer is cut from."""
        return self.rings[self.ring_of_layer[layer]]

    def marks(self, layer: int) -> dict[str, int]:
        """Attributes a page finds a layer and its ring by, counted from 1."""
        return {"data_layer": self.first_layer + layer + 1, "data_ring": self.ring(layer).number}

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


def subject_of(
    shape: Shape,
    *,
    colours: Mapping[str, str],
    laminates: Mapping[str, Laminate] | None = None,
    shop: ShopSettings | None = None,
    named: bool = False,
    level: float | None = None,
) -> Subject:
    """One part as the drawings see it, by itself unless `level` says what height is drawn at y = 0."""
    sits = shape.part.sits
    return Subject(
        form=shape.form,
        stack=shape.stack,
        rings=shape.rings,
        ring_of_layer=shape.ring_of,
        bands=shape.bands,
        colours=colours,
        bore=shape.bore,
        laminates=laminates or {},
        shop=shop or ShopSettings(),
        level=level,
        first_layer=shape.first_layer,
        closings=tuple(shape.index(layer) for layer in shape.closings),
        holding=shape.part.holding,
        name=shape.part.name if named else "",
        loose=sits is not None and sits.how == "in",
    )


def subjects_of(
    shapes: Sequence[Shape],
    *,
    colours: Mapping[str, str],
    laminates: Mapping[str, Laminate] | None = None,
    shop: ShopSettings | None = None,
) -> tuple[Subject, ...]:
    """All the parts where they stand in the assembled piece, its highest point at y = 0."""
    top = max(shape.base + shape.form.top for shape in shapes)
    return tuple(
        subject_of(
            shape,
            colours=colours,
            laminates=laminates,
            shop=shop,
            named=len(shapes) > 1,
            level=top - shape.base,
        )
        for shape in shapes
    )
