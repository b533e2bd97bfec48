"""What a thick ring costs for the layers that come out of it, and the sizes a ring can have at all."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil, cos, pi, tan
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from estimating.shape.curves import Floats

Ints = NDArray[np.intp]
Rings = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class RingHeight:
    """How tall a thick ring is for N layers, as glued: `base` + N `each`, mm; at most `most` layers fit."""

    base: float
    each: float
    most: int

    def of(self, layers: int) -> float:
        return self.base + layers * self.each


class Size(NamedTuple):
    """A ring's plan: which outer radius it has (`wide`, an index, the smallest first) and which inner one
    (`open`, the largest first). The greater both are, the more wood and the more layers come out of it."""

    wide: int
    open: int


@dataclass(frozen=True)
class Blanks:
    """Layers to be sawn from rings, and what rings cost: blank volume plus the extra of one ring more, mm3.

    Shape: `outer` and `inner` (n,) mm. A ring's face is n tan(phi) (largest^2 - (smallest cos(phi))^2), phi half
    the angle a segment takes up; times its height that is the wood in it.
    """

    outer: Floats
    inner: Floats
    segments: int
    gap: float
    height: RingHeight
    extra: float

    @cached_property
    def filled(self) -> Floats:
        """Each layer's outer flats, as the area of their polygon, mm2."""
        return self.segments * tan(self._half_angle) * self.outer**2

    @cached_property
    def hollow(self) -> Floats:
        """Each layer's inner flats likewise."""
        return self.segments * tan(self._half_angle) * (self.inner * cos(self._half_angle)) ** 2

    @property
    def _half_angle(self) -> float:
        return pi * (1 - self.gap) / self.segments

    @cached_property
    def most(self) -> int:
        """Layers to a ring, at most."""
        return min(self.height.most, len(self.outer))

    def of(self, face: Floats | float, layers: int) -> Floats | float:
        """Cost of a ring of that face, mm2, and so many layers."""
        return face * self.height.of(layers) + self.extra

    def face(self, ring: Sequence[int]) -> float:
        """Face of the ring these layers need, mm2."""
        return float(max(self.filled[list(ring)]) - min(self.hollow[list(ring)]))

    def cost(self, rings: Rings) -> float:
        return sum(float(self.of(self.face(ring), len(ring))) for ring in rings)

    @cached_property
    def nested(self) -> bool:
        """Of any two layers one covers the other: no ring is larger than its largest layer.

        So it is in a cylinder, in discs and wherever only one of the two radii changes.
        """
        order = np.lexsort((-self.inner, self.outer))
        return bool((np.diff(self.inner[order]) <= 0).all())

    @cached_property
    def least(self) -> float:
        """A cost under that of every grouping, at sight: each layer in a ring of its own size, full of its like."""
        faces = float((self.filled - self.hollow).sum())
        rings = ceil(len(self.outer) / self.most)
        return faces * (self.height.each + self.height.base / self.most) + rings * self.extra


@dataclass(frozen=True)
class Sizes:
    """The sizes rings can have, and the kinds of layers: those of the same radii are one kind.

    Shape: k kinds, w outer and o inner radii. `wide` and `open` (k,) are the least size each kind needs; `face`
    (w, o) mm2; `fits` (w, o) whether the size is just what some layers need.
    """

    blanks: Blanks
    kind_of: Ints
    counts: Ints
    wide: Ints
    open: Ints
    face: Floats
    fits: NDArray[np.bool_]

    @classmethod
    def of(cls, blanks: Blanks) -> "Sizes":
        filled, wide_of = np.unique(blanks.filled, return_inverse=True)
        hollow, open_of = np.unique(-blanks.hollow, return_inverse=True)
        kinds, kind_of, counts = np.unique(
            np.stack([wide_of, open_of]), axis=1, return_inverse=True, return_counts=True
        )
        wide, open_ = kinds
        narrowest = np.full(len(filled), len(hollow))
        np.minimum.at(narrowest, wide, open_)
        smallest = np.full(len(hollow), len(filled))
        np.minimum.at(smallest, open_, wide)
        fits = (np.arange(len(hollow)) >= narrowest[:, None]) & (np.arange(len(filled))[:, None] >= smallest)
        return cls(
            blanks=blanks,
            kind_of=kind_of,
            counts=counts,
            wide=wide,
            open=open_,
            face=filled[:, None] + hollow,
            fits=fits,
        )

    def size(self, kinds: Ints) -> Size:
        """The least size that gives all these kinds."""
        return Size(int(self.wide[kinds].max()), int(self.open[kinds].max()))
