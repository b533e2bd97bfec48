"""A plain order of glue-ups: rings, then runs of layers from the bottom up, then the runs joined."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor
from typing import Literal

from estimating.piece import ShopSettings
from estimating.shape.build import Shape
from estimating.shape.rings import Ring

Kind = Literal["ring", "stack", "join"]


@dataclass(frozen=True, slots=True)
class GlueUp:
    """One gluing session. Rings, layers and glue-ups by number.

    A `ring` glue-up closes rings, a `stack` one glues neighbouring layers, a `join` one the glue-ups in `joins`,
    between the two layers named. `after` must be done before it.
    """

    number: int
    kind: Kind
    rings: tuple[int, ...] = ()
    layers: tuple[int, ...] = ()
    joins: tuple[int, ...] = ()
    after: tuple[int, ...] = ()


def pot_life(shop: ShopSettings) -> float:
    """Pot life at the bench's temperature, minutes: twice as long for every 10 degrees C colder.

    Source: the common rule that the reaction doubles in speed for every 10 degrees C (18 degrees F), as resin
    makers' guides print it; common practice. The label decides.
    """
    return float(shop.pot_life_min * 2 ** ((shop.pot_life_at_c - shop.temperature_c) / 10))


def working_minutes(shop: ShopSettings) -> float:
    """Minutes in which coating and closing must end."""
    return shop.working_share * pot_life(shop)


def layers_at_once(shop: ShopSettings) -> int:
    """Most layers in one glue-up: the shop's own limit, or what can be coated and set in the working time."""
    in_time = floor(working_minutes(shop) / shop.coat_stack_min + 1e-9)
    return max(2, min(shop.layers_per_glue_up, in_time))


def plain_order(shape: Shape, *, shop: ShopSettings) -> tuple[GlueUp, ...]:
    """The glue-ups of one piece, in an order they can be done in."""
    glue_ups = list(_ring_glue_ups(shape.rings, shop))
    closed_in = {ring: glue_up.number for glue_up in glue_ups for ring in glue_up.rings}
    stacks = list(_stack_glue_ups(shape, closed_in, first=len(glue_ups) + 1, shop=shop))
    glue_ups += stacks
    glue_ups += _joins(stacks, shape, closed_in, first=len(glue_ups) + 1, shop=shop)
    return tuple(glue_ups)


def _ring_glue_ups(rings: Sequence[Ring], shop: ShopSettings) -> Iterator[GlueUp]:
    """Rings closed together as long as their joints can be coated in the working time; one ring at the least."""
    most = working_minutes(shop) / shop.coat_joint_min
    batch: list[Ring] = []
    number = 1
    for ring in rings:
        if not ring.end_joints:
            continue
        if batch and sum(r.end_joints for r in batch) + ring.end_joints > most + 1e-9:
            yield GlueUp(number=number, kind="ring", rings=tuple(r.number for r in batch))
            number, batch = number + 1, []
        batch.append(ring)
    if batch:
        yield GlueUp(number=number, kind="ring", rings=tuple(r.number for r in batch))


def _runs(layers: int, most: int) -> list[tuple[int, ...]]:
    """Layers 1 to n in runs as even as can be, none longer than `most`."""
    count = ceil(layers / most)
    edges = [round(layers * run / count) for run in range(count + 1)]
    return [tuple(range(start + 1, end + 1)) for start, end in pairwise(edges)]


def _stack_glue_ups(
    shape: Shape, closed_in: dict[int, int], *, first: int, shop: ShopSettings
) -> Iterator[GlueUp]:
    number = first
    for run in _runs(len(shape.stack), layers_at_once(shop)):
        if len(run) > 1:
            after = _closing(run, shape, closed_in)
            yield GlueUp(number=number, kind="stack", layers=run, after=after)
            number += 1


def _closing(run: Sequence[int], shape: Shape, closed_in: dict[int, int]) -> tuple[int, ...]:
    """The ring glue-ups that these layers wait for."""
    rings = {shape.rings[shape.ring_of[layer - 1]].number for layer in run}
    return tuple(sorted({closed_in[ring] for ring in rings if ring in closed_in}))


def _joins(
    stacks: Sequence[GlueUp], shape: Shape, closed_in: dict[int, int], *, first: int, shop: ShopSettings
) -> list[GlueUp]:
    """Each run glued on what stands already, from the bottom up."""
    runs = _runs(len(shape.stack), layers_at_once(shop))
    stack_of = {stack.layers: stack.number for stack in stacks}
    joins: list[GlueUp] = []
    for lower, upper in pairwise(runs):
        number = first + len(joins)
        below = joins[-1].number if joins else stack_of.get(lower)
        parts = tuple(part for part in (below, stack_of.get(upper)) if part is not None)
        waits = parts or _closing((lower[-1], upper[0]), shape, closed_in)
        joins.append(
            GlueUp(number=number, kind="join", layers=(lower[-1], upper[0]), joins=parts, after=waits)
        )
    return joins
