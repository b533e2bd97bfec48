"""Bars filled one after the other as full as can be, and bounds that need no relaxation: answers in a moment."""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

Gives = tuple[int, ...]
"""How often each size is cut from a bar."""

NOISE = (0.0, 0.1, 0.3, 1.0)
"""How much chance, in turn, has a say in which sizes go first."""

SHARES = 12
"""The step functions of `plain_bound` cut a bar in 2 to so many shares and one."""

THRESHOLDS = 400
"""So many small sizes, spread evenly, are tried as the least that `plain_bound` looks at."""


@dataclass(frozen=True, slots=True)
class Lengths:
    """What is wanted, in whole steps: distinct sizes from the longest to the shortest, and how many of each."""

    sizes: tuple[int, ...]
    counts: tuple[int, ...]
    room: int

    def total(self, counts: Sequence[int]) -> int:
        """All of them end to end."""
        return sum(size * count for size, count in zip(self.sizes, counts, strict=True))


def fill_plans(lengths: Lengths, tries: int) -> Iterator[list[Gives]]:
    """Plans by filling bars: each takes the longest length left, and with it what leaves the least of the bar.

    The first plan prefers long lengths where several leave as little; the others let chance have a say, from a seed.
    Source of the idea: J. N. D. Gupta, J. C. Ho, "A new heuristic algorithm for the one-dimensional bin-packing
    problem", Production Planning & Control 10 (1999) 598-603; the fill is exact, by sums reached as bits of a number.
    """
    for attempt in range(tries):
        draw = random.Random(attempt)
        noise = NOISE[attempt % len(NOISE)] if attempt else 0.0
        keys = [size * (1 + noise * draw.uniform(-1, 1)) for size in lengths.sizes]
        order = sorted(range(len(keys)), key=lambda at: -keys[at])
        yield fill_all(lengths, lengths.counts, order)


def fill_all(lengths: Lengths, counts: Sequence[int], order: Sequence[int]) -> list[Gives]:
    """Bars for all of `counts`, sizes earlier in `order` going first where nothing else decides."""
    left = list(counts)
    plan = []
    longest = 0
    while any(left):
        while not left[longest]:
            longest += 1
        gives = fill(lengths.sizes, left, lengths.room, longest, order)
        often = min(count // each for count, each in zip(left, gives, strict=True) if each)
        left = [count - often * each for count, each in zip(left, gives, strict=True)]
        plan += [gives] * often
    return plan


def fill(sizes: Sequence[int], left: Sequence[int], room: int, longest: int, order: Sequence[int]) -> Gives:
    """One of `longest`, and with it what of `left` leaves least of the room.

    Bit n of a number says whether lengths can add up to n.
    """
    room -= sizes[longest]
    pieces, reached = [], [1]
    mask = (1 << (room + 1)) - 1
    for at in order:
        for often in split(min(left[at] - (at == longest), room // sizes[at])):
            pieces.append((at, often))
            reached.append(reached[-1] | (reached[-1] << (often * sizes[at])) & mask)
        if reached[-1] >> room & 1:
            break
    gives = [0] * len(sizes)
    gives[longest] = 1
    filled = reached.pop().bit_length() - 1
    for at, often in reversed(pieces):
        if not reached.pop() >> filled & 1:
            gives[at] += often
            filled -= often * sizes[at]
    return tuple(gives)


def split(count: int) -> list[int]:
    """Numbers of which some add up to each of 0 to `count`: 1, 2, 4 and so on, and the rest."""
    parts, step = [], 1
    while count:
        part = min(step, count)
        parts.append(part)
        count -= part
        step *= 2
    return parts


def plain_bound(lengths: Lengths) -> int:
    """Bars needed at least, by step functions that no bar's lengths can outdo.

    Lengths under a threshold count for nothing, those that leave less than it beside them for a bar; the rest for
    their length, or for how many shares of a bar they reach past. Sources: S. Martello, P. Toth, "Lower bounds and
    reduction procedures for the bin packing problem", Discrete Applied Mathematics 28 (1990) 59-70 (the thresholds);
    S. P. Fekete, J. Schepers, "New classes of fast lower bounds for bin packing problems", Mathematical Programming
    91 (2001) 11-31 (the shares; formulas from memory).
    """
    if not lengths.sizes:
        return 0
    sizes = np.array(lengths.sizes, dtype=np.int64)
    counts = np.array(lengths.counts, dtype=np.int64)
    room = lengths.room
    small = np.unique(np.concatenate(([0], sizes[2 * sizes <= room])))
    small = small[np.unique(np.linspace(0, len(small) - 1, THRESHOLDS).astype(int))]
    ignored = sizes[None, :] < small[:, None]
    alone = sizes[None, :] > room - small[:, None]
    best = 0
    for shares in range(1, SHARES + 1):
        steps = (shares + 1) * sizes
        # `shares` 1 is the plain length: a share more or less would say no more than the thresholds do.
        scaled = sizes if shares == 1 else np.where(steps % room == 0, sizes * shares, steps // room * room)
        whole = room if shares == 1 else room * shares
        worth = np.where(ignored, 0, np.where(alone, whole, scaled[None, :]))
        best = max(best, int(-(-(worth @ counts).max() // whole)))
    return best


def settle_pairs(lengths: Lengths) -> tuple[list[Gives], Lengths]:
    """Bars that some best plan has, and the lengths left for the rest.

    Where beside the longest no two lengths fit, it goes with the longest that does: swapping that in makes no plan
    worse (the reduction of Martello and Toth, 1990, as cited at `plain_bound`).
    """
    left = list(lengths.counts)
    bars: list[Gives] = []
    longest, shortest = 0, len(left) - 1
    while True:
        while longest < len(left) and not left[longest]:
            longest += 1
        if longest == len(left):
            break
        left[longest] -= 1
        room = lengths.room - lengths.sizes[longest]
        while shortest > 0 and not left[shortest]:
            shortest -= 1
        two = sorted(_two_shortest(lengths.sizes, left, shortest))
        if len(two) == 2 and sum(two) <= room:
            left[longest] += 1
            break
        gives = [0] * len(left)
        gives[longest] = 1
        partner = next((at for at in range(len(left)) if left[at] and lengths.sizes[at] <= room), None)
        if partner is not None:
            gives[partner] += 1
            left[partner] -= 1
        bars.append(tuple(gives))
    return bars, Lengths(lengths.sizes, tuple(left), lengths.room)


def _two_shortest(sizes: Sequence[int], left: Sequence[int], shortest: int) -> list[int]:
    found: list[int] = []
    for at in range(shortest, -1, -1):
        found += [sizes[at]] * min(2 - len(found), left[at])
        if len(found) == 2:
            break
    return found
