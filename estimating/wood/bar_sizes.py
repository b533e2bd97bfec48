"""What is wanted of bars, checked, and put into whole steps: exactly where the figures are decimal."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil, floor, gcd, isfinite
from numbers import Real

from estimating.errors import InvalidInput
from estimating.wood.bar_fill import Gives, Lengths

MOST_STEPS = 400_000
"""A longer bar than so many of the smallest common step is taken on a grid."""

GRID = 360_360
"""Steps of the longest bar on that grid: it can be cut in 2 to 15 equal parts without rounding."""

SAME = 1e-6
"""Steps of the grid; what is this near to a whole step is one."""

MOST_PIECES = 100_000
"""Lengths wanted, all together."""


@dataclass(frozen=True, slots=True)
class Steps:
    """Sizes and rooms of bars in whole steps: rounded so that what fits truly fits, and so that all that fits does.

    Where figures are decimal with a common step that is not too small, both are the figures themselves (`exact`).
    """

    sizes: tuple[int, ...]
    rooms: tuple[int, ...]
    low_sizes: tuple[int, ...]
    high_rooms: tuple[int, ...]

    @property
    def exact(self) -> bool:
        """Nothing was rounded."""
        return self.sizes == self.low_sizes and self.rooms == self.high_rooms


def steps_of(sizes: Sequence[float], bars: Sequence[float], kerf: float) -> Steps:
    """Sizes and bars with a kerf on each: as many lengths fit a bar as sizes + kerf fit bar + kerf.

    The last length needs no cut where it ends with the bar.
    """
    cut = Decimal(repr(float(kerf)))
    exact = [Decimal(repr(float(size))) + cut for size in (*sizes, *bars)]
    places = max(0, *(-int(figure.as_tuple().exponent) for figure in exact))
    whole = [int(figure.scaleb(places)) for figure in exact]
    step = gcd(*whole)
    whole = [figure // step for figure in whole]
    if max(whole) <= MOST_STEPS:
        rounded = tuple(whole[: len(sizes)]), tuple(whole[len(sizes) :])
        return Steps(*rounded, *rounded)
    longest = max(whole)
    scaled = [figure * GRID / longest for figure in whole]
    lengths, rooms = scaled[: len(sizes)], scaled[len(sizes) :]
    return Steps(
        tuple(max(1, ceil(figure - SAME)) for figure in lengths),
        tuple(floor(figure + SAME) for figure in rooms),
        tuple(max(1, floor(figure + SAME)) for figure in lengths),
        tuple(ceil(figure - SAME) for figure in rooms),
    )


@dataclass(frozen=True, slots=True)
class Merged:
    """Sizes that are the same made one, longest first, without those not wanted; `where` they come from."""

    lengths: Lengths
    where: tuple[tuple[int, ...], ...]

    def spread(self, bars: Sequence[Gives], counts: Sequence[int]) -> tuple[Gives, ...]:
        """The bars in the sizes that were asked for, in their order."""
        left = list(counts)
        spread = []
        for gives in bars:
            row = [0] * len(counts)
            for often, places in zip(gives, self.where, strict=True):
                for at in places:
                    row[at] = min(often, left[at])
                    left[at] -= row[at]
                    often -= row[at]
            spread.append(tuple(row))
        return tuple(spread)


def merged(sizes: Sequence[int], counts: Sequence[int], room: int) -> Merged:
    """Lengths wanted, ready for a search."""
    places: dict[int, list[int]] = {}
    for at, (size, count) in enumerate(zip(sizes, counts, strict=True)):
        if count:
            places.setdefault(size, []).append(at)
    order = sorted(places, reverse=True)
    totals = tuple(sum(counts[at] for at in places[size]) for size in order)
    return Merged(Lengths(tuple(order), totals, room), tuple(tuple(places[size]) for size in order))


def checked(
    sizes: Sequence[float], counts: Sequence[int], bars: Sequence[tuple[str, float]], kerf: float
) -> tuple[int, ...]:
    """The counts as whole numbers. `bars` are (place, length).

    Errors: InvalidInput at the first figure that cannot be cut to, and at a size that no bar is long enough for.
    """
    if len(sizes) != len(counts):
        raise InvalidInput("counts", f"{len(counts)} for {len(sizes)} sizes; give one count for each size")
    _refuse_unless(_finite(kerf) and kerf >= 0, "kerf", kerf, "0 or more")
    if not bars:
        raise InvalidInput("stocks", "no bars at all; give one length of bar at least")
    for place, length in (*bars, *((f"sizes[{at}]", size) for at, size in enumerate(sizes))):
        _refuse_unless(_finite(length) and length > 0, place, length, "above 0")
    for at, count in enumerate(counts):
        whole = _finite(count) and count >= 0 and count == int(count)
        _refuse_unless(whole, f"counts[{at}]", count, "a whole number, 0 or more")
    if sum(counts) > MOST_PIECES:
        raise InvalidInput(
            "counts", f"{int(sum(counts)):,} lengths; at most {MOST_PIECES:,} can be planned at once"
        )
    longest = max(length for _, length in bars)
    for at, (size, count) in enumerate(zip(sizes, counts, strict=True)):
        if count and size > longest:
            reason = f"a length of {size:g} is longer than any bar; the longest is {longest:g}"
            raise InvalidInput(f"sizes[{at}]", reason)
    return tuple(int(count) for count in counts)


def _finite(figure: object) -> bool:
    return isinstance(figure, Real) and isfinite(figure)


def _refuse_unless(good: bool, place: str, figure: object, right: str) -> None:
    if not good:
        raise InvalidInput(place, f"{figure!r} is not a figure that can be planned with; it must be {right}")
