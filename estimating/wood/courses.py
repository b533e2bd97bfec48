"""Which woods of a piece lie next to which: round each layer, across its glue lines, and in its bore."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, product

from estimating.piece import Laminate
from estimating.shape.build import Shape

Pair = tuple[str, str]
"""Two woods' keys, in alphabetical order."""


@dataclass(frozen=True)
class Course:
    """One layer: its number, its band's place in the sheet, the woods of each segment round it, and its plug's."""

    layer: int
    place: str
    part: str
    around: tuple[tuple[str, ...], ...]
    plug: str | None = None
    closed: bool = True

    @cached_property
    def woods(self) -> tuple[str, ...]:
        """All its woods, once."""
        plug = () if self.plug is None else (self.plug,)
        kinds = dict.fromkeys(self.around)
        return tuple(dict.fromkeys([wood for kind in kinds for wood in kind] + list(plug)))

    @cached_property
    def pairs(self) -> frozenset[Pair]:
        """Woods that are glued to one another within the layer: at ends of segments, in laminates, round a plug."""
        found = {pair for segment in set(self.around) for pair in _pairs(segment, segment)}
        if self.closed and len(self.around) > 1:
            for one, other in set(pairwise((*self.around, self.around[0]))):
                found |= set(_pairs(one, other))
        if self.plug is not None:
            found |= set(_pairs((self.plug,), self.woods))
        return frozenset(found)


def courses_of(shapes: Sequence[Shape], *, laminates: Mapping[str, Laminate]) -> tuple[Course, ...]:
    """Every layer of every part, by rising number."""
    return tuple(course for shape in shapes for course in _courses(shape, laminates))


def _courses(shape: Shape, laminates: Mapping[str, Laminate]) -> Iterator[Course]:
    for index, band in enumerate(shape.stack.band):
        ring = shape.rings[shape.ring_of[index]]
        kinds = {key: _woods_of(key, laminates) for key in ring.wood_counts}
        yield Course(
            layer=shape.number(index),
            place=shape.part.band_place(band),
            part=shape.part.name,
            around=tuple(kinds[key] for key in ring.pattern),
            plug=shape.plug_wood(index),
            closed=ring.end_joints > 0,
        )


def _woods_of(key: str, laminates: Mapping[str, Laminate]) -> tuple[str, ...]:
    if key in laminates:
        return tuple(dict.fromkeys(wood for wood, _ in laminates[key].strips))
    return (key,)


def touching(courses: Sequence[Course]) -> Mapping[Pair, tuple[int, ...]]:
    """Woods that lie next to one another in a layer or across a glue line, with the layers in which they do."""
    found: dict[Pair, dict[int, None]] = {}
    for course in courses:
        for pair in course.pairs:
            found.setdefault(pair, {})[course.layer] = None
    for lower, upper in pairwise(courses):
        if lower.part == upper.part:
            for pair in _pairs(lower.woods, upper.woods):
                found.setdefault(pair, {}).update({lower.layer: None, upper.layer: None})
    return {pair: tuple(sorted(found[pair])) for pair in sorted(found)}


def _pairs(some: Sequence[str], others: Sequence[str]) -> Iterator[Pair]:
    for one, other in product(some, others):
        if one != other:
            yield (one, other) if one < other else (other, one)
