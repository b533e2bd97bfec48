"""The least costly way to saw layers from thick rings, and a bound that says how near to it an answer is."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from estimating.shape.blanks import Blanks, Rings, Sizes
from estimating.shape.relaxing import NOISE, relax
from estimating.shape.resplit import resplit
from estimating.shape.runs import best_along, best_of_all, orders
from estimating.shape.whole import choose_rings, column_of

EXACT_UP_TO = 9
"""Bands of so many layers are grouped by trying every grouping."""

RESPLIT_UP_TO = 600
"""Bands of more layers are only cut into runs: with so many, neighbours are alike."""

RELAXED_UP_TO = 400
"""Bands of more kinds of layers have no bound but the one that shows at sight: see Blanks.least."""

TALL, VERY_TALL = 60, 200
"""Bands of more kinds of layers, and how near the bound an answer must be not to be looked into further: in those
between, and in those beyond."""
CLOSE, VERY_TALL_CLOSE = 0.003, 0.008

LOOSE = 0.01
"""An answer farther from its bound than this is looked into harder, where the band is not tall."""


@dataclass(frozen=True, slots=True)
class _Effort:
    """Work done at most: rings to choose from, nodes of the search."""

    choice: int
    nodes: int


PASSES, ROUNDS = 20, 60
USUAL, HARD = _Effort(200, 10), _Effort(2000, 100)


@dataclass(frozen=True, slots=True)
class Grouping:
    """Rings as rising indices into the layers, the ring of the lowest layer first.

    `volume` is the wood of the rings and the extra of each, mm3; no grouping has less than `bound`. Where `proven`
    there is none better.
    """

    rings: Rings
    volume: float
    bound: float
    proven: bool


def group_blanks(blanks: Blanks) -> Grouping:
    """The best grouping found: exact up to EXACT_UP_TO layers and where layers are nested."""
    count = len(blanks.outer)
    if count <= EXACT_UP_TO:
        return _proven(blanks, best_of_all(blanks))
    along = [best_along(blanks, order) for order in orders(blanks)]
    if blanks.nested:
        # Of two rings, the smaller layers may all go to the one: it gets no larger, and the other stays as it is.
        # So the layers of a ring follow each other in the order by size.
        return _proven(blanks, along[1])
    along.sort(key=lambda way: (round(blanks.cost(way), 3), len(way)))
    if count <= RESPLIT_UP_TO:
        best = along if count <= 2 * TALL else along[:2]
        along += [resplit(blanks, way, passes=PASSES) for way in best]
    rings = min(along, key=lambda way: (round(blanks.cost(way), 3), len(way)))
    sizes = Sizes.of(blanks)
    if len(sizes.counts) > RELAXED_UP_TO:
        return _judged(blanks, rings, blanks.least)
    return _bounded(sizes, rings, along)


def _bounded(sizes: Sizes, rings: Rings, ways: Sequence[Rings]) -> Grouping:
    """The rings made better by the relaxation if they can be, with its bound."""
    volume, close = sizes.blanks.cost(rings), _close(sizes)
    columns = [column_of(sizes, ring) for way in (*ways, _runs(sizes.blanks)) for ring in way]
    rounds = ROUNDS if len(sizes.counts) <= VERY_TALL else ROUNDS // 2
    relaxed = relax(sizes, columns, rounds=rounds, enough=volume * (1 - close))
    bound = relaxed.bound
    for effort, gap in ((USUAL, close), (HARD, LOOSE)):
        if bound < sizes.blanks.cost(rings) * (1 - gap) and (gap < LOOSE or len(sizes.counts) <= TALL):
            relaxed = replace(relaxed, bound=bound)
            rings, bound = choose_rings(sizes, relaxed, rings, choice=effort.choice, nodes=effort.nodes)
    return _judged(sizes.blanks, rings, bound)


def _close(sizes: Sizes) -> float:
    kinds = len(sizes.counts)
    return VERY_TALL_CLOSE if kinds > VERY_TALL else CLOSE if kinds > TALL else NOISE


def _runs(blanks: Blanks) -> Rings:
    """Every run of layers in the order of both radii together: rings to begin from."""
    *_, order, _ = orders(blanks)
    layers = order.tolist()
    return tuple(
        tuple(layers[first : first + size])
        for size in range(1, blanks.most + 1)
        for first in range(len(layers) - size + 1)
    )


def _proven(blanks: Blanks, rings: Rings) -> Grouping:
    volume = blanks.cost(rings)
    return Grouping(rings, volume, volume, proven=True)


def _judged(blanks: Blanks, rings: Rings, bound: float) -> Grouping:
    volume = blanks.cost(rings)
    bound = max(bound, blanks.least)
    return Grouping(rings, volume, min(bound, volume), proven=bound >= volume * (1 - NOISE))
