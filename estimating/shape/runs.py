"""Layers into thick rings by dynamic programming: over every grouping, or into runs along an order."""

from collections.abc import Iterator

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from estimating.shape.blanks import Blanks, Ints, Rings

_TIE = 1e-12


def orders(blanks: Blanks) -> Iterator[Ints]:
    """Orders in which neighbours are alike: as stacked, by outside, by inside, by both.

    By outside, of layers alike the one that is covered first: where layers are nested, none is covered by one
    before it.
    """
    outer, inner = blanks.outer, blanks.inner
    yield np.arange(len(outer))
    yield np.lexsort((-inner, outer))
    for key in (inner, outer + inner, outer - inner):
        yield np.argsort(key, kind="stable")


def best_along(blanks: Blanks, order: Ints) -> Rings:
    """The best grouping into runs along one order, by dynamic programming from its end."""
    count = len(order)
    filled, hollow = blanks.filled[order], blanks.hollow[order]
    sizes = range(1, min(blanks.height.most, count) + 1)
    run_costs = [
        np.asarray(
            blanks.of(
                sliding_window_view(filled, size).max(axis=1) - sliding_window_view(hollow, size).min(axis=1),
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


def best_of_all(blanks: Blanks) -> Rings:
    """The best of every possible grouping, by dynamic programming over sets of layers."""
    count = len(blanks.outer)
    costs = _costs_of_sets(blanks, count)
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


def _costs_of_sets(blanks: Blanks, count: int) -> dict[int, float]:
    filled, hollow = blanks.filled.tolist(), blanks.hollow.tolist()
    extremes = {0: (0.0, float("inf"))}
    costs = {}
    for ring in range(1, 1 << count):
        layer = ring.bit_length() - 1
        largest, smallest = extremes[ring ^ (1 << layer)]
        extremes[ring] = max(largest, filled[layer]), min(smallest, hollow[layer])
        if ring.bit_count() <= blanks.height.most:
            largest, smallest = extremes[ring]
            costs[ring] = float(blanks.of(largest - smallest, ring.bit_count()))
    return costs
