"""Which layers come out of which thick ring, so that the least wood is used."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, floor, pi, tan

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from estimating.errors import InvalidInput
from estimating.piece import Band, ShopSettings
from estimating.shape.curves import Floats

EXACT_UP_TO = 9
"""Bands of so many layers are grouped exactly, by trying every grouping; taller ones along a few natural orders."""

_TIE = 1e-12


@dataclass(frozen=True, slots=True)
class RingHeight:
    """How tall a thick ring is for N layers, as glued: `base` + N `each`, mm; at most `most` layers fit."""

    base: float
    each: float
    most: int

    def of(self, layers: int) -> float:
        return self.base + layers * self.each


def ring_height(band: Band, *, shop: ShopSettings, place: str) -> RingHeight:
    """Height of a thick ring of this band by its number of layers.

    The as-glued face is trued first. Held by a part that is not used, every layer costs a kerf; with nothing held,
    the last layer is what is left and its far face is trued too.
    Errors: InvalidInput at `place`.ring_height when not even one layer comes out of it.
    """
    each = band.thickness + shop.slice_sanding + shop.slice_kerf
    base = shop.flatten + shop.slice_hold if shop.slice_hold > 0 else 2 * shop.flatten - shop.slice_kerf
    assert band.ring_height is not None
    most = floor((band.ring_height - base) / each + 1e-9)
    if most < 1:
        raise InvalidInput(f"{place}.ring_height", f"must be at least {base + each:.5g} mm to give one layer")
    return RingHeight(base=base, each=each, most=most)


def group_layers(
    outer: Floats, inner: Floats, *, segments: int, gap: float, height: RingHeight, extra_ring: float
) -> tuple[tuple[int, ...], ...]:
    """Share n layers out to thick rings for the least blank volume plus `extra_ring` a ring.

    Shape: `outer` and `inner` (n,) are the layers' radii to cover, mm; `extra_ring` is mm3.
    Returns the rings as rising indices into the layers, the ring of the lowest layer first. A ring covers all its
    layers: the largest outer and the smallest inner radius among them.
    Ties go to fewer rings, then to the lower layers sharing a ring.
    """
    blank = _Blank(outer, inner, pi * (1 - gap) / segments, segments, height, extra_ring)
    if len(outer) <= EXACT_UP_TO:
        return _best_of_all(blank)
    groupings = [_best_along(blank, order) for order in _orders(outer, inner)]
    return min(groupings, key=lambda rings: (round(blank.cost(rings), 3), len(rings)))


@dataclass(frozen=True)
class _Blank:
    """The cost of a ring: its blank volume and the extra of having one ring more, mm3."""

    outer: Floats
    inner: Floats
    miter: float
    segments: int
    height: RingHeight
    extra: float

    def of(self, largest: Floats | float, smallest: Floats | float, layers: int) -> Floats | float:
        area = self.segments * tan(self.miter) * (largest**2 - (smallest * cos(self.miter)) ** 2)
        return area * self.height.of(layers) + self.extra

    def cost(self, rings: tuple[tuple[int, ...], ...]) -> float:
        return float(
            sum(self.of(self.outer[list(r)].max(), self.inner[list(r)].min(), len(r)) for r in rings),
        )


def _orders(outer: Floats, inner: Floats) -> Iterator[np.ndarray]:
    """Orders in which neighbours are alike: as stacked, by outside, by inside, by both."""
    for key in (np.arange(len(outer)), outer, inner, outer + inner, outer - inner):
        yield np.argsort(key, kind="stable")


def _best_along(blank: _Blank, order: np.ndarray) -> tuple[tuple[int, ...], ...]:
    """The best grouping into runs along one order, by dynamic programming from its end."""
    count = len(order)
    outer, inner = blank.outer[order], blank.inner[order]
    sizes = range(1, min(blank.height.most, count) + 1)
    run_costs = [
        np.asarray(
            blank.of(
                sliding_window_view(outer, size).max(axis=1),
                sliding_window_view(inner, size).min(axis=1),
                size,
            )
        ).tolist()
        for size in sizes
    ]
    best: list[tuple[float, int, int]] = [(0.0, 0, 0)] * (count + 1)
    for start in range(count - 1, -1, -1):
        found = (float("inf"), 0, 0)
        for size in range(min(len(sizes), count - start), 0, -1):
            rest = best[start + size]
            cost, rings = run_costs[size - 1][start] + rest[0], rest[1] + 1
            if cost < found[0] * (1 - _TIE) or (cost <= found[0] * (1 + _TIE) and rings < found[1]):
                found = (cost, rings, size)
        best[start] = found
    runs, start = [], 0
    while start < count:
        size = best[start][2]
        runs.append(tuple(sorted(order[start : start + size].tolist())))
        start += size
    return tuple(sorted(runs))


def _best_of_all(blank: _Blank) -> tuple[tuple[int, ...], ...]:
    """The best of every possible grouping, by dynamic programming over sets of layers."""
    count = len(blank.outer)
    costs = _costs_of_sets(blank, count)
    found: dict[int, tuple[float, int, int]] = {0: (0.0, 0, 0)}

    def best(left: int) -> tuple[float, int, int]:
        if left in found:
            return found[left]
        lowest = left & -left
        others = left ^ lowest
        answer = (float("inf"), 0, 0)
        chosen = others
        while True:
            ring = chosen | lowest
            if ring in costs:
                rest = best(left ^ ring)
                cost, rings = costs[ring] + rest[0], rest[1] + 1
                tied = cost <= answer[0] * (1 + _TIE)
                better = (rings, -_low_first(ring, count)) < (answer[1], -_low_first(answer[2], count))
                if cost < answer[0] * (1 - _TIE) or (tied and better):
                    answer = (cost, rings, ring)
            if not chosen:
                break
            chosen = (chosen - 1) & others
        found[left] = answer
        return answer

    rings, left = [], (1 << count) - 1
    while left:
        ring = best(left)[2]
        rings.append(tuple(layer for layer in range(count) if ring >> layer & 1))
        left ^= ring
    return tuple(rings)


def _low_first(ring: int, count: int) -> int:
    """The set read with its lowest layer as the highest digit: the larger, the more low layers share the ring."""
    return int(format(ring, f"0{count}b")[::-1], 2)


def _costs_of_sets(blank: _Blank, count: int) -> dict[int, float]:
    outer, inner = blank.outer.tolist(), blank.inner.tolist()
    extremes = {0: (0.0, float("inf"))}
    costs = {}
    for ring in range(1, 1 << count):
        layer = ring.bit_length() - 1
        largest, smallest = extremes[ring ^ (1 << layer)]
        extremes[ring] = max(largest, outer[layer]), min(smallest, inner[layer])
        if ring.bit_count() <= blank.height.most:
            costs[ring] = float(blank.of(*extremes[ring], ring.bit_count()))
    return costs
