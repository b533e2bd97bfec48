"""Every glue-up, in an order they can be done in: panels, half rings, rings, layers, joins, plugs, waste blocks."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil
from typing import Any, Literal

from estimating.glue.label import layers_at_once, working_minutes
from estimating.piece import Label, ShopSettings
from estimating.shape.build import Shape
from estimating.shape.rings import Ring, is_halved

Kind = Literal["panel", "half_ring", "ring", "stack", "join", "plug", "waste_block"]
Held = Literal["ring_clamp", "mandrel", "pin_jig", "press"]

OF_RINGS: tuple[Kind, ...] = ("half_ring", "ring")
"""Glue-ups of segment ends: they close rings and stack nothing."""


@dataclass(frozen=True, slots=True)
class GlueUp:
    """One gluing session. Rings, layers and glue-ups by number.

    A `panel` glue-up makes the panels that a ring's laminated segments are sawn from. A `half_ring` one glues both
    halves of its rings with dry spacers between them, a `ring` one closes rings: what is left of those in halves, or
    all at once; `end_shares` is how much of each ring's end joints is glued in it. A `stack` glues neighbouring layers,
    a `join` the glue-ups in `joins`, between the two layers named; a `plug` fills the bore of its layers, a
    `waste_block` is scrap glued under its layer. `after` must be done before it. `held` is what keeps it in place until
    the adhesive has set; `from_rim` says that it stands rim down, its topmost layer first.
    """

    number: int
    kind: Kind
    rings: tuple[int, ...] = ()
    layers: tuple[int, ...] = ()
    joins: tuple[int, ...] = ()
    after: tuple[int, ...] = ()
    held: Held = "press"
    end_shares: tuple[float, ...] = ()
    from_rim: bool = False


def plan_assembly(shapes: Sequence[Shape], *, shop: ShopSettings, label: Label) -> tuple[GlueUp, ...]:
    """The glue-ups of one piece, in an order they can be done in: part by part, then the parts on one another."""
    glue_ups: list[GlueUp] = []
    parts: dict[str, _Assembly] = {}
    for shape in shapes:
        part = parts[shape.part.name] = _Assembly(shape, shop, label, glue_ups)
        part.panels()
        part.rings()
        part.stack()
        part.plugs()
        part.waste_block()
    for part in parts.values():
        sits = part.shape.part.sits
        if sits is not None and sits.how == "on":
            part.set_on(parts[sits.other])
    return tuple(glue_ups)


def opening(ring: Ring) -> float:
    """What passes through the middle of a ring before it is bored, or of a bored disc, mm across; else 0."""
    return 2 * min(ring.face()[1], ring.face(top=True)[1])


def takes_mandrel(ring: Ring, shop: ShopSettings) -> bool:
    """Whether the shop's mandrel goes through it."""
    return (
        shop.mandrel_diameter > 0 and opening(ring) >= shop.mandrel_diameter + shop.mandrel_clearance - 1e-9
    )


def bowls(shape: Shape) -> list[range]:
    """The layers of a part between the lines where it is closed, from the bottom up; all of them where it is in one."""
    edges = [0, *(shape.index(layer) + 1 for layer in shape.closings), len(shape.layers)]
    return [shape.layers[start:end] for start, end in pairwise(edges)]


def built_from_rim(shape: Shape, layers: Sequence[int]) -> bool:
    """Whether a bowl is glued up rim down: where its part is, and the upper bowl of a closed form.

    Such a bowl is turned inside through its wide lower end, which must then look away from the headstock; common
    practice, no source.
    """
    return shape.part.build_from == "rim" or bool(shape.closings and layers[-1] == shape.layers[-1])


def _runs(layers: Sequence[int], most: int) -> list[tuple[int, ...]]:
    """Neighbouring layers in runs as even as can be, none longer than `most`."""
    count = ceil(len(layers) / most)
    edges = [round(len(layers) * run / count) for run in range(count + 1)]
    return [tuple(layers[start:end]) for start, end in pairwise(edges)]


@dataclass
class _Assembly:
    """The glue-ups of one part, added to those of the whole piece."""

    shape: Shape
    shop: ShopSettings
    label: Label
    glue_ups: list[GlueUp]
    glued_in: dict[int, int] = field(default_factory=dict)
    """The last glue-up so far of each ring by its number: of its panels, its halves, or the one that closed it."""
    whole: int | None = None

    def _add(self, kind: Kind, **what: Any) -> int:
        number = len(self.glue_ups) + 1
        self.glue_ups.append(GlueUp(number, kind, **what))
        return number

    def panels(self) -> None:
        """The panels of each ring that has laminated segments."""
        for ring in self.shape.rings:
            if ring.laminated:
                self.glued_in[ring.number] = self._add("panel", rings=(ring.number,))

    def rings(self) -> None:
        """All half rings, and then all rings: as many at once as the clamps and the working time allow."""
        closed = [ring for ring in self.shape.rings if ring.end_joints]
        halved = [ring for ring in closed if is_halved(ring, joining=self.shop.ring_joining)]
        joints = {ring.number: ring.end_joints for ring in closed}
        left = joints | {ring.number: 2 for ring in halved}
        self._batches("half_ring", halved, {number: joints[number] - 2 for number in joints})
        self._batches("ring", closed, left)

    def _batches(self, kind: Kind, rings: Sequence[Ring], joints: dict[int, int]) -> None:
        """Rings one by one into a session until its clamps or its time are used up; one ring at the least."""
        in_time = working_minutes(self.shop, self.label) / self.shop.coat_joint_min
        batch: list[Ring] = []
        for ring in rings:
            full = len(batch) == self.shop.ring_clamps
            late = sum(joints[one.number] for one in (*batch, ring)) > in_time + 1e-9
            if batch and (full or late):
                self._close(kind, batch, joints)
                batch = []
            batch.append(ring)
        if batch:
            self._close(kind, batch, joints)

    def _close(self, kind: Kind, batch: Sequence[Ring], joints: dict[int, int]) -> None:
        rings = tuple(ring.number for ring in batch)
        shares = tuple(joints[ring.number] / ring.end_joints for ring in batch)
        after = self._before(rings)
        number = self._add(kind, rings=rings, after=after, held="ring_clamp", end_shares=shares)
        self.glued_in |= dict.fromkeys(rings, number)

    def _before(self, rings: Iterable[int]) -> tuple[int, ...]:
        return tuple(sorted({self.glued_in[ring] for ring in rings if ring in self.glued_in}))

    def _waits(self, layers: Sequence[int]) -> tuple[int, ...]:
        """The glue-ups of rings that these layers wait for; of panels where rings stay open."""
        return self._before(self.shape.ring(layer).number for layer in layers)

    def stack(self) -> None:
        """Runs of layers, joined to bowls, and the bowls closed. `whole` is what the part ends up in, if anything."""
        parts = bowls(self.shape)
        ends = [self._bowl(bowl) for bowl in parts]
        self.whole = ends[0]
        for below, above, end in zip(parts, parts[1:], ends[1:], strict=False):
            self.whole = self._join(below[-1], above[0], self.whole, end)

    def set_on(self, other: "_Assembly") -> None:
        """The finished part glued on another one."""
        made = [number for part in (other, self) if (number := part.whole) is not None]
        alone = [number for part in (other, self) if part.whole is None for number in part.made()]
        layers = (other.shape.layers[-1], self.shape.layers[0])
        self._add("join", layers=layers, joins=tuple(made), after=tuple(sorted({*made, *alone})))

    def made(self) -> tuple[int, ...]:
        """What a part of a single layer waits for."""
        return (self.whole,) if self.whole is not None else self._waits(self.shape.layers)

    def _bowl(self, layers: Sequence[int]) -> int | None:
        """Its runs, and each joined to what stands: upwards from the foot, or downwards from the rim."""
        from_rim = built_from_rim(self.shape, layers)
        runs = _runs(layers, layers_at_once(self.shop, self.label))
        runs = runs[::-1] if from_rim else runs
        stacks = [self._stack(run, from_rim=from_rim) for run in runs]
        whole = stacks[0]
        for standing, run, stack in zip(runs, runs[1:], stacks[1:], strict=False):
            if from_rim:
                whole = self._join(run[-1], standing[0], stack, whole, from_rim=True)
            else:
                whole = self._join(standing[-1], run[0], whole, stack)
        return whole

    def _stack(self, run: tuple[int, ...], *, from_rim: bool) -> int | None:
        if len(run) == 1:
            return None
        through = all(takes_mandrel(self.shape.ring(layer), self.shop) for layer in run)
        held = "mandrel" if through else "pin_jig"
        return self._add("stack", held=held, layers=run, after=self._waits(run), from_rim=from_rim)

    def _join(
        self, lower: int, upper: int, below: int | None, above: int | None, *, from_rim: bool = False
    ) -> int:
        """One run or bowl glued to what stands already; a layer by itself waits for its ring."""
        joins = tuple(sorted(part for part in (below, above) if part is not None))
        alone = self._waits([layer for layer, part in ((lower, below), (upper, above)) if part is None])
        after = tuple(sorted({*joins, *alone}))
        return self._add("join", layers=(lower, upper), joins=joins, after=after, from_rim=from_rim)

    def plugs(self) -> None:
        """Each plug when its part is one."""
        for plug in self.shape.plugs:
            self._add("plug", layers=plug.layers, after=self.made())

    def waste_block(self) -> None:
        """Scrap under the lowest layer for the chuck."""
        holding = self.shape.part.holding
        if holding is not None and holding.by == "waste_block":
            self._add("waste_block", layers=(self.shape.layers[0],), after=self.made())
