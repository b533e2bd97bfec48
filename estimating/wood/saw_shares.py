"""Which segments come out of which strip: each strip's count shared out over the rings that it is sawn for."""

from collections import deque
from collections.abc import Hashable, Mapping, Sequence
from itertools import pairwise
from typing import TypeVar

R = TypeVar("R", bound=Hashable)


def share_out(
    counts: Sequence[int], may: Sequence[Sequence[R]], wanted: Mapping[R, int]
) -> list[dict[R, int]]:
    """How many of each strip's segments go to each of its rings, so that every ring has what it wants.

    Shape: strip i gives `counts[i]` segments, to rings of `may[i]` alone; `wanted` is by ring. One dictionary a strip,
    in the order of its rings, none of them 0.
    Method: a flow from strips to rings, made larger along the shortest chain of strips that can change rings among
    themselves, until none is left (Edmonds and Karp 1972). Strips for one ring are served first.
    Errors: ValueError where no sharing gives each strip's count and each ring's number.

    >>> share_out([4, 2], [(1, 2), (1,)], {1: 3, 2: 3})
    [{1: 1, 2: 3}, {1: 2}]
    """
    given: list[dict[R, int]] = [dict.fromkeys(rings, 0) for rings in may]
    left = dict(wanted)
    for strip in sorted(range(len(counts)), key=lambda index: len(may[index])):
        waiting = counts[strip]
        while waiting:
            chain = _chain(strip, given, left)
            if chain is None:
                raise ValueError(f"{waiting} segments of a strip are wanted by none of its rings")
            waiting -= _pass_on(chain, given, left, waiting)
    if any(left.values()):
        raise ValueError(f"{sum(left.values())} segments are wanted and come from no strip")
    return [{ring: count for ring, count in of.items() if count} for of in given]


def _chain(strip: int, given: Sequence[Mapping[R, int]], left: Mapping[R, int]) -> list[tuple[int, R]] | None:
    """Strips and the ring each takes on, the last of which still wants segments; each but the first gives one up."""
    came: dict[R, tuple[int, R | None]] = {}
    ahead: deque[tuple[int, R | None]] = deque([(strip, None)])
    while ahead:
        at, before = ahead.popleft()
        for ring in given[at]:
            if ring in came:
                continue
            came[ring] = (at, before)
            if left.get(ring, 0) > 0:
                return _back(ring, came)
            ahead += [(other, ring) for other, of in enumerate(given) if of.get(ring, 0) > 0]
    return None


def _back(ring: R, came: Mapping[R, tuple[int, R | None]]) -> list[tuple[int, R]]:
    chain: list[tuple[int, R]] = []
    at: R | None = ring
    while at is not None:
        strip, before = came[at]
        chain.append((strip, at))
        at = before
    return chain[::-1]


def _pass_on(
    chain: Sequence[tuple[int, R]], given: Sequence[dict[R, int]], left: dict[R, int], most: int
) -> int:
    """Move as many along the chain as all of it takes; how many."""
    amount = min(most, left[chain[-1][1]])
    for (_, ring), (strip, _) in pairwise(chain):
        amount = min(amount, given[strip][ring])
    for place, (strip, ring) in enumerate(chain):
        given[strip][ring] += amount
        if place:
            given[strip][chain[place - 1][1]] -= amount
    left[chain[-1][1]] -= amount
    return amount
