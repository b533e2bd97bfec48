"""A ring's pattern in words, as the papers and glue cards print it."""

from collections import Counter
from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from estimating.shape.rings import Ring

LONGEST_RUN = 6
"""Segments of a run that is still said one by one."""


def ring_woods(ring: "Ring", names: Mapping[str, str]) -> str:
    """Pieces of each wood; where they go round in a short run, that run."""
    counts = Counter(ring.pattern)
    said = ", ".join(f"{count} {names.get(key, key)}" for key, count in counts.items())
    run = next(
        length
        for length in range(1, ring.segments + 1)
        if ring.segments % length == 0 and ring.pattern == ring.pattern[:length] * (ring.segments // length)
    )
    if 1 < run <= LONGEST_RUN:
        said += f", round as {' · '.join(names.get(key, key) for key in ring.pattern[:run])}"
    return said
