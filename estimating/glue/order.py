"""A plain order of glue-ups: panels, rings, runs of layers from the bottom up, joins, plugs, waste blocks, parts."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil
from typing import Literal

from estimating.glue.label import layers_at_once, working_minutes
from estimating.piece import Label, ShopSettings
from estimating.shape.build import Shape
from estimating.shape.rings import Ring

Kind = Literal["panel", "ring", "stack", "join", "plug", "waste_block"]


@dataclass(frozen=True, slots=True)
class GlueUp:
    """One gluing session. Rings, layers and glue-ups by number.

    A `panel` glue-up makes the panels that a ring's laminated segments are sawn from, a `ring` one closes rings, a
    `stack` one glues neighbouring layers, a `join` one the glue-ups in `joins`, between the two layers named; a `plug`
    one fills the bore of its layers, a `waste_block` one glues scrap under its layer. `after` must be done before it.
    """

    number: int
    kind: Kind
    rings: tuple[int, ...] = ()
    layers: tuple[int, ...] = ()
    joins: tuple[int, ...] = ()
    after: tuple[int, ...] = ()


def plain_order(shapes: Sequence[Shape], *, shop: ShopSettings, label: Label) -> tuple[GlueUp, ...]:
    """The glue-ups of one piece, in an order they can be done in: part by part, then the parts on one another."""
    glue_ups: list[GlueUp] = []
    whole: dict[str, int | None] = {}
    for shape in shapes:
        order = _Order(shape, shop, label, glue_ups)
        order.panels()
        order.rings()
        whole[shape.part.name] = order.stack()
        order.plugs()
        order.waste_block()
    by_name = {shape.part.name: shape for shape in shapes}
    for shape in shapes:
        sits = shape.part.sits
        if sits is not None and sits.how == "on":
            parts = tuple(
                number for name in (sits.other, shape.part.name) if (number := whole[name]) is not None
            )
            layers = (by_name[sits.other].layers[-1], shape.layers[0])
            glue_ups.append(GlueUp(len(glue_ups) + 1, "join", layers=layers, joins=parts, after=parts))
    return tuple(glue_ups)


def _runs(layers: Sequence[int], most: int) -> list[tuple[int, ...]]:
    """Neighbouring layers in runs as even as can be, none longer than `most`."""
    count = ceil(len(layers) / most)
    edges = [round(len(layers) * run / count) for run in range(count + 1)]
    return [tuple(layers[start:end]) for start, end in pairwise(edges)]


@dataclass
class _Order:
    """The glue-ups of one part, added to those of the whole piece."""

    shape: Shape
    shop: ShopSettings
    label: Label
    glue_ups: list[GlueUp]
    closed_in: dict[int, int] = field(default_factory=dict)
    panel_of: dict[int, int] = field(default_factory=dict)
    whole: int | None = None

    def _add(self, kind: Kind, **what: tuple[int, ...]) -> int:
        number = len(self.glue_ups) + 1
        self.glue_ups.append(GlueUp(number, kind, **what))
        return number

    def panels(self) -> None:
        """The panels of each ring that has laminated segments."""
        for ring in self.shape.rings:
            if ring.laminated:
                self.panel_of[ring.number] = self._add("panel", rings=(ring.number,))

    def rings(self) -> None:
        """Rings closed together as long as their joints can be coated in the working time; one ring at the least."""
        most = working_minutes(self.shop, self.label) / self.shop.coat_joint_min
        batch: list[Ring] = []
        for ring in self.shape.rings:
            if not ring.end_joints:
                continue
            if batch and sum(r.end_joints for r in batch) + ring.end_joints > most + 1e-9:
                self._close(batch)
                batch = []
            batch.append(ring)
        if batch:
            self._close(batch)

    def _close(self, batch: Sequence[Ring]) -> None:
        rings = tuple(ring.number for ring in batch)
        after = tuple(self.panel_of[ring] for ring in rings if ring in self.panel_of)
        number = self._add("ring", rings=rings, after=after)
        self.closed_in |= dict.fromkeys(rings, number)

    def _waits(self, layers: Sequence[int]) -> tuple[int, ...]:
        """The ring glue-ups that these layers wait for; panels of rings that stay open."""
        rings = {self.shape.ring(layer).number for layer in layers}
        made_in = (self.closed_in.get(ring, self.panel_of.get(ring)) for ring in rings)
        return tuple(sorted({number for number in made_in if number is not None}))

    def stack(self) -> int | None:
        """Runs of layers, joined to bowls, and the bowls closed; what the part ends up in, None for a single layer."""
        edges = [0, *(self.shape.index(layer) + 1 for layer in self.shape.closings), len(self.shape.layers)]
        bowls = [self.shape.layers[start:end] for start, end in pairwise(edges)]
        ends = [self._bowl(bowl) for bowl in bowls]
        self.whole = ends[0]
        for below, above, end in zip(bowls, bowls[1:], ends[1:], strict=False):
            self.whole = self._join(below[-1], above[0], self.whole, end)
        return self.whole

    def _bowl(self, layers: Sequence[int]) -> int | None:
        runs = _runs(layers, layers_at_once(self.shop, self.label))
        stacks = [
            self._add("stack", layers=run, after=self._waits(run)) if len(run) > 1 else None for run in runs
        ]
        whole = stacks[0]
        for lower, upper, stack in zip(runs, runs[1:], stacks[1:], strict=False):
            whole = self._join(lower[-1], upper[0], whole, stack)
        return whole

    def _join(self, lower: int, upper: int, below: int | None, above: int | None) -> int:
        """One run or bowl glued on what stands already."""
        parts = tuple(part for part in (below, above) if part is not None)
        return self._add(
            "join", layers=(lower, upper), joins=parts, after=parts or self._waits((lower, upper))
        )

    def plugs(self) -> None:
        """Each plug when its part is one."""
        for plug in self.shape.plugs:
            after = (self.whole,) if self.whole is not None else self._waits(plug.layers)
            self._add("plug", layers=plug.layers, after=after)

    def waste_block(self) -> None:
        """Scrap under the lowest layer for the chuck."""
        holding = self.shape.part.holding
        if holding is not None and holding.by == "waste_block":
            lowest = self.shape.layers[0]
            after = (self.whole,) if self.whole is not None else self._waits((lowest,))
            self._add("waste_block", layers=(lowest,), after=after)
