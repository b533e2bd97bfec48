"""Flat geometry of glued-up segments: convex polygons split by lines, and how deep a segment is behind them."""

from dataclasses import dataclass
from itertools import combinations, pairwise
from math import atan2, dist

Point = tuple[float, float]
Polygon = tuple[Point, ...]

ON_LINE = 1e-9
"""mm: a corner no further than this from a cut lies on it."""


@dataclass(frozen=True)
class Plan:
    """A segment seen from above: a trapezium `length` outside, `inner` inside and `width` through, mm."""

    length: float
    inner: float
    width: float

    @property
    def miter(self) -> float:
        """Of its ends, from a square cut."""
        return atan2((self.length - self.inner) / 2, self.width)

    @property
    def area(self) -> float:
        """Seen from above, mm2."""
        return (self.length + self.inner) / 2 * self.width

    def depth(self, x: float) -> float:
        """Radially through the wood behind a point of the outer face."""
        beyond, taper = abs(x) - self.inner / 2, (self.length - self.inner) / 2
        return self.width if beyond <= 0 or taper <= ON_LINE else self.width * (1 - beyond / taper)

    def volume_over(self, polygon: Polygon) -> float:
        """Wood behind a polygon of the outer face, mm3: exact, the depth being level or sloping on each part."""
        left, rest, _ = split(polygon, -1.0, 0.0, self.inner / 2)
        right, middle, _ = split(rest, 1.0, 0.0, self.inner / 2)
        volume = moments(middle)[0] * self.width
        for end in (left, right):
            area, at = moments(end)
            volume += area * self.depth(at)
        return volume

    def area_along(self, start: Point, end: Point) -> float:
        """A joint that runs square in from this line of the outer face, mm2."""
        reach = end[0] - start[0]
        stations = [0.0, 1.0]
        if abs(reach) > ON_LINE:
            turns = ((side * self.inner / 2 - start[0]) / reach for side in (-1, 1))
            stations = sorted([*stations, *(t for t in turns if 0 < t < 1)])
        depths = [self.depth(start[0] + t * reach) for t in stations]
        mean = sum(
            (b - a) * (da + db) / 2 for (a, da), (b, db) in pairwise(zip(stations, depths, strict=True))
        )
        return dist(start, end) * mean


def split(
    polygon: Polygon, a: float, b: float, c: float
) -> tuple[Polygon, Polygon, tuple[tuple[Point, Point], ...]]:
    """A convex polygon where a x + b y is over c, where it is under, and the cut between; empty where there is none."""
    sides = [(a * x + b * y - c) for x, y in polygon]
    if all(side <= ON_LINE for side in sides):
        return (), polygon, ()
    if all(side >= -ON_LINE for side in sides):
        return polygon, (), ()
    over, under, cut = [], [], []
    for (p, v), (q, w) in pairwise([*zip(polygon, sides, strict=True), (polygon[0], sides[0])]):
        over += [p] * (v >= -ON_LINE)
        under += [p] * (v <= ON_LINE)
        cut += [p] * (abs(v) <= ON_LINE)
        if min(abs(v), abs(w)) > ON_LINE and (v > 0) != (w > 0):
            t = v / (v - w)
            crossing = p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])
            for corners in (over, under, cut):
                corners.append(crossing)
    ends = max(combinations(cut, 2), key=lambda pair: dist(*pair))
    return tuple(over), tuple(under), (ends,)


def moments(polygon: Polygon) -> tuple[float, float]:
    """Area, and the x of its middle: 0 for an empty one.

    Summed over the triangles round the first corner, so that slivers far from the origin keep their digits.
    """
    if not polygon:
        return 0.0, 0.0
    x, y = polygon[0]
    spokes = [(u - x, v - y) for u, v in polygon[1:]]
    fan = [(p[0] + q[0], p[0] * q[1] - q[0] * p[1]) for p, q in pairwise(spokes)]
    twice = sum(cross for _, cross in fan)
    middle = x + sum(reach * cross for reach, cross in fan) / (3 * twice) if twice else x
    return twice / 2, middle


def reflected(polygon: Polygon, *, x: bool = False, height: float = 0.0) -> Polygon:
    """Left for right, or upside down within `height`; corners anticlockwise again."""
    return tuple((-u, v) if x else (u, height - v) for u, v in reversed(polygon))
