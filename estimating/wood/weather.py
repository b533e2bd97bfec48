"""What moves when a piece leaves the shop for the client's room: every layer, and every glue line between layers.

It is the turned wood that moves, so widths are those of the form, without allowances. Which way the growth rings of a
segment lie is not known unless the boards are sorted: what is given first is the larger, tangential, shrinkage in
width and height alike; beside it stands the least, the radial one.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, product
from math import pi
from typing import Literal

import numpy as np

from estimating.errors import InvalidInput
from estimating.piece import Laminate
from estimating.rooms import Climate
from estimating.shape.build import Shape
from estimating.wood.climate import equilibrium_moisture, humidity_for
from estimating.wood.movement import (
    Closing,
    Free,
    closing,
    free_disc,
    free_ring,
    mismatch,
    shrinkage_form,
    turned_to_ring,
    widest_disc,
)
from estimating.wood.species import Species

Severity = Literal["none", "note", "warning", "danger", "unknown"]

FELT = 0.1
"""mm of mismatch that a finger finds; common practice, no source."""

OPENS = 0.4
"""mm of mismatch at one side from which a glue line is at risk. It lets a solid disc of hard maple be 75 mm across at
a change of 3 % moisture: three inches, the usual advice (common practice, no source)."""

BREAKS = 2 * OPENS
"""mm of mismatch at one side from which something gives: the glue line, or the wood beside it (our own rule)."""


@dataclass(frozen=True, slots=True)
class _Range:
    """Strains across the grain of what one kind of segment is made of: with rings lying alike, and of any lie."""

    alike: tuple[float, float]
    every: tuple[float, float]
    grain: float


@dataclass(frozen=True)
class LayerMovement:
    """One layer, mm. `width` and `height` are what moves, a disc's width its diameter; changes are None where nothing
    is known of one of its woods (`unknown`).

    `woods` have the strains by tangential and radial shrinkage; `closing` is there for closed rings; `safe_diameter`
    for solid discs: the widest that is not at risk beside a ring that stands still.
    """

    number: int
    part: str
    made: str
    width: float
    height: float
    outer: float
    inner: float
    woods: Mapping[str, tuple[float, float]]
    unknown: tuple[str, ...] = ()
    width_change: float | None = None
    width_change_least: float | None = None
    height_change: float | None = None
    height_change_least: float | None = None
    closing: Closing | None = None
    safe_diameter: float | None = None
    alike: tuple[Free, ...] = ()
    every: tuple[Free, ...] = ()


@dataclass(frozen=True, slots=True)
class Joint:
    """A glue line between two layers by their numbers, mm at one side.

    `mismatch` is with the growth rings of both lying alike, `mismatch_most` with them lying as badly as they can;
    None where nothing is known of a wood. `strained` are the layers that pull at the line: these two, but past veneer,
    which follows what it is glued to (common practice, no source); None where veneer ends a part. `held` is the most
    between those, and what `severity` goes by.
    """

    below: int
    above: int
    mismatch: float | None
    mismatch_most: float | None
    held: float | None
    severity: Severity
    strained: tuple[int, int] | None


@dataclass(frozen=True)
class Movement:
    """The whole piece between two rooms. Moistures in %, layers by rising number."""

    climate: Climate
    emc_shop: float
    emc_client: float
    layers: tuple[LayerMovement, ...]
    joints: tuple[Joint, ...]

    @cached_property
    def unknown(self) -> tuple[str, ...]:
        """Woods whose shrinkage is not known."""
        return tuple(dict.fromkeys(wood for layer in self.layers for wood in layer.unknown))

    @property
    def humidity_to_hold(self) -> float | None:
        """Humidity, %, that would keep the shop's moisture at the client's temperature; None beyond the table."""
        try:
            return humidity_for(moisture=self.emc_shop, temperature_c=self.climate.client.temperature_c)
        except InvalidInput:
            return None

    def layer(self, number: int) -> LayerMovement:
        """A layer by its number."""
        return self.layers[number - 1]

    @cached_property
    def safe_bases(self) -> Mapping[str, float | None]:
        """For each wood that is known, the widest solid disc of it, mm, that is at little risk beside a ring that
        stands still; None where it does not move at all."""
        strains = {wood: pair for layer in self.layers for wood, pair in layer.woods.items()}
        return {wood: widest_disc(pair, limit=OPENS) for wood, pair in strains.items()}

    @property
    def at_risk(self) -> tuple[Joint, ...]:
        """Glue lines with a mismatch of at least `OPENS`."""
        return tuple(joint for joint in self.joints if joint.severity in ("warning", "danger"))

    @property
    def moves_most(self) -> LayerMovement | None:
        """The layer whose width changes most; None where nothing is known of any."""
        known = [layer for layer in self.layers if layer.width_change is not None]
        return max(known, key=lambda layer: abs(layer.width_change or 0.0), default=None)


def movement_of(
    shapes: Sequence[Shape],
    *,
    climate: Climate,
    woods: Mapping[str, Species],
    laminates: Mapping[str, Laminate],
) -> Movement:
    """How a piece moves from the shop's air to the client's, every layer as if it were free.

    Errors: InvalidInput at `temperature_c` or `humidity` for air outside the published table.
    """
    moistures = [
        equilibrium_moisture(temperature_c=air.temperature_c, humidity=air.humidity)
        for air in (climate.shop, climate.client)
    ]
    strains = _Strains(woods, laminates, *moistures)
    layers = tuple(layer for shape in shapes for layer in _layers(shape, strains))
    return Movement(
        climate=climate,
        emc_shop=moistures[0],
        emc_client=moistures[1],
        layers=layers,
        joints=tuple(_joint(layers, below, above) for below, above in _glue_lines(shapes)),
    )


class _Strains:
    """The strains of every wood, worked out once."""

    def __init__(
        self, woods: Mapping[str, Species], laminates: Mapping[str, Laminate], start: float, end: float
    ) -> None:
        self._woods, self._laminates, self._start, self._end = woods, laminates, start, end
        self._known: dict[str, tuple[float, float] | None] = {}

    def of(self, wood: str) -> tuple[float, float] | None:
        """By tangential and by radial shrinkage, the larger first; None where one is not known."""
        if wood not in self._known:
            species = self._woods[wood]
            both = (species.shrink_tangential_pct, species.shrink_radial_pct)
            self._known[wood] = None
            if both[0] is not None and both[1] is not None:
                large, small = sorted((both[0], both[1]), reverse=True)
                self._known[wood] = (self._by(large), self._by(small))
        return self._known[wood]

    def _by(self, shrink_pct: float) -> float:
        return shrinkage_form(shrink_pct=shrink_pct, start=self._start, end=self._end)

    def parts(self, key: str, *, upright: bool) -> tuple[tuple[str, ...], float]:
        """What a segment is made of, and how its grain stands to the ring's plane."""
        if key in self._laminates:
            laminate = self._laminates[key]
            return tuple(wood for wood, _ in laminate.strips), laminate.angle
        return (key,), pi / 2 if upright else 0.0


def _layers(shape: Shape, strains: _Strains) -> Iterator[LayerMovement]:
    stack = shape.stack
    outer = shape.form.outer_cover(stack.bottom, stack.top)
    inner = np.maximum(shape.form.inner_cover(stack.bottom, stack.top), shape.bore / 2)
    for index in range(len(stack)):
        wide = float(outer[index])
        yield _layer(shape, index, strains, outer=wide, inner=min(float(inner[index]), wide))


def _layer(shape: Shape, index: int, strains: _Strains, *, outer: float, inner: float) -> LayerMovement:
    ring = shape.rings[shape.ring_of[index]]
    kinds = [strains.parts(key, upright=ring.lean is not None) for key in ring.wood_counts]
    names = tuple(dict.fromkeys(wood for woods, _ in kinds for wood in woods))
    known = {wood: found for wood in names if (found := strains.of(wood)) is not None}
    width, height = (2 * outer if ring.is_disc else outer - inner), float(shape.stack.thickness[index])
    number = shape.number(index)
    if len(known) < len(names):
        unknown = tuple(wood for wood in names if wood not in known)
        return LayerMovement(number, shape.part.name, ring.made, width, height, outer, inner, known, unknown)
    ranges = [_range([known[wood] for wood in woods], grain) for woods, grain in kinds]
    turned = [turned_to_ring(across, grain=r.grain) for r in ranges for across in r.every]
    return LayerMovement(
        number=number,
        part=shape.part.name,
        made=ring.made,
        width=width,
        height=height,
        outer=outer,
        inner=inner,
        woods=known,
        width_change=width * max((strain.width for strain in turned), key=abs),
        width_change_least=width * min((strain.width for strain in turned), key=abs),
        height_change=height * max((strain.height for strain in turned), key=abs),
        height_change_least=height * min((strain.height for strain in turned), key=abs),
        closing=_closing(shape, index, ranges, outer=outer, inner=inner),
        safe_diameter=widest_disc(ranges[0].every, limit=OPENS) if ring.made == "solid" else None,
        alike=_free(shape, index, ranges, "alike", outer=outer, inner=inner),
        every=_free(shape, index, ranges, "every", outer=outer, inner=inner),
    )


def _range(strains: Sequence[tuple[float, float]], grain: float) -> _Range:
    tangential = [large for large, _ in strains]
    both = [strain for pair in strains for strain in pair]
    return _Range((min(tangential), max(tangential)), (min(both), max(both)), grain)


def _free(
    shape: Shape,
    index: int,
    ranges: Sequence[_Range],
    lie: Literal["alike", "every"],
    *,
    outer: float,
    inner: float,
) -> tuple[Free, ...]:
    """The ways the layer may move. Any mismatch is largest at an end of each range, for it runs straight in both."""
    ring = shape.rings[shape.ring_of[index]]
    found: dict[Free, None] = {}
    for one in ranges:
        for across in getattr(one, lie):
            if ring.is_disc:
                found[free_disc(across, grain=float(shape.stack.angle[index]))] = None
            else:
                found[free_ring(turned_to_ring(across, grain=one.grain), outer=outer, inner=inner)] = None
    return tuple(found)


def _closing(
    shape: Shape, index: int, ranges: Sequence[_Range], *, outer: float, inner: float
) -> Closing | None:
    """The worst of a closed ring's kinds of segments; staves lean and move round the ring, and are left out."""
    ring = shape.rings[shape.ring_of[index]]
    if not ring.end_joints or ring.lean is not None or outer <= inner:
        return None
    ways = [
        closing(
            turned_to_ring(across, grain=one.grain),
            segments=ring.segments,
            half_angle=ring.half_angle,
            outer=outer,
            inner=inner,
        )
        for one in ranges
        for across in one.alike
    ]
    return max(ways, key=lambda way: abs(way.joint))


def _glue_lines(shapes: Sequence[Shape]) -> Iterator[tuple[int, int]]:
    """Neighbouring layers of each part, and where a part is glued on another."""
    by_name = {shape.part.name: shape for shape in shapes}
    for shape in shapes:
        sits = shape.part.sits
        if sits is not None and sits.how == "on":
            yield by_name[sits.other].layers[-1], shape.layers[0]
        yield from pairwise(shape.layers)


def _joint(layers: Sequence[LayerMovement], below: int, above: int) -> Joint:
    lower, upper = layers[below - 1], layers[above - 1]
    strained = _strained(layers, below, above)
    held: float | None = 0.0
    if strained is not None:
        held = _mismatch(layers[strained[0] - 1], layers[strained[1] - 1], "every")
    return Joint(
        below=below,
        above=above,
        mismatch=_mismatch(lower, upper, "alike"),
        mismatch_most=_mismatch(lower, upper, "every"),
        held=held,
        severity=severity_of(held),
        strained=strained,
    )


def _mismatch(lower: LayerMovement, upper: LayerMovement, lie: Literal["alike", "every"]) -> float | None:
    """The largest over all ways the two may move, where they touch; 0 for none in common."""
    if lower.unknown or upper.unknown:
        return None
    outer, inner = touching(lower, upper)
    return max(mismatch(one, other, outer=outer, inner=inner) for one, other in _ways(lower, upper, lie))


def _ways(
    lower: LayerMovement, upper: LayerMovement, lie: Literal["alike", "every"]
) -> Iterator[tuple[Free, Free]]:
    return product(getattr(lower, lie), getattr(upper, lie))


def touching(lower: LayerMovement, upper: LayerMovement) -> tuple[float, float]:
    """Outer and inner radius, mm, of where two layers touch."""
    return min(lower.outer, upper.outer), max(lower.inner, upper.inner)


def worst_way(lower: LayerMovement, upper: LayerMovement) -> tuple[Free, Free, float]:
    """The ways of two known layers that part them most, growth rings lying as badly as they can, and at which radius,
    mm."""
    outer, inner = touching(lower, upper)
    found = (
        (mismatch(one, other, outer=radius, inner=radius), one, other, radius)
        for one, other in _ways(lower, upper, "every")
        for radius in (outer, inner)
    )
    _, one, other, radius = max(found, key=lambda way: way[0])
    return one, other, radius


def _strained(layers: Sequence[LayerMovement], below: int, above: int) -> tuple[int, int] | None:
    """The layers that pull at this glue line; at an end of a part nothing holds a veneer."""
    lower, upper = _thick(layers, below, step=-1), _thick(layers, above, step=1)
    return None if lower is None or upper is None else (lower, upper)


def _thick(layers: Sequence[LayerMovement], number: int, *, step: int) -> int | None:
    """The number of the nearest layer of this part that is no veneer, from a layer on."""
    part = layers[number - 1].part
    while 0 < number <= len(layers) and layers[number - 1].part == part:
        if layers[number - 1].made != "veneer":
            return number
        number += step
    return None


def severity_of(held: float | None) -> Severity:
    """What a mismatch of so many mm at one side means; None where it is not known."""
    if held is None:
        return "unknown"
    if held >= BREAKS:
        return "danger"
    if held >= OPENS:
        return "warning"
    return "note" if held >= FELT else "none"
