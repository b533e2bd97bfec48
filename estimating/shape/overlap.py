"""Where two neighbouring layers touch: the area of wood on wood between two polygon rings, exactly."""

from dataclasses import dataclass, replace
from math import gcd, pi

import numpy as np

from estimating.shape.curves import Floats


@dataclass(frozen=True)
class Course:
    """One face of a layer: `segments` trapezoids between two apothems, each 2 `half_angle` wide; mm and radians.

    A `disc` is round, with a round hole: its apothems are radii.
    """

    segments: int
    half_angle: float
    outer_apothem: Floats
    inner_apothem: Floats
    angle: Floats
    disc: bool = False

    def divided(self, segments: int) -> "Course":
        """A disc as so many equal sectors, which it may be taken for."""
        return replace(self, segments=segments, half_angle=pi / segments) if self.disc else self

    def grown(self, margin: float) -> "Course":
        """Every outer edge moved out and every inner one in, mm, to the axis at the farthest."""
        inner = np.maximum(self.inner_apothem - margin, 0.0)
        return replace(self, outer_apothem=self.outer_apothem + margin, inner_apothem=inner)


def contact_areas(below: Course, above: Course) -> Floats:
    """Area of wood on wood for each of m joints between layers of two kinds, mm2.

    Shape: the courses' arrays are (m,): apothems and the angle of segment 1's centre.
    Method: seen from the axis both rings are given in polar form, r = apothem / cos(theta - centre of the segment),
    so the common area is half the integral of (least outer r)^2 - (greatest inner r)^2 where positive. Between the
    ends of segments and the angles where two flats cross, one flat rules and the integral is a difference of
    tangents; of a disc r is constant. One period of the pattern is integrated, for its symmetry.
    """
    fewest = 3 if below.disc and above.disc else above.segments if below.disc else below.segments
    below, above = below.divided(fewest), above.divided(fewest)
    periods = gcd(below.segments, above.segments)
    period = 2 * pi / periods
    turned = np.mod(above.angle - below.angle, period)
    edges = _segment_edges(below, above, turned, period)
    lower, upper = _centres(edges, below, np.zeros_like(turned)), _centres(edges, above, turned)
    sides = [
        _Flats(below.outer_apothem, lower, below.half_angle, below.disc),
        _Flats(above.outer_apothem, upper, above.half_angle, above.disc),
        _Flats(below.inner_apothem, lower, below.half_angle, below.disc),
        _Flats(above.inner_apothem, upper, above.half_angle, above.disc),
    ]
    return periods * _common_area(edges, sides)


@dataclass(frozen=True)
class _Flats:
    """One polygon's flats: apothem (m,) and the centre of the segment ruling each interval, (m, intervals).

    `round`: a circle instead, of that radius.
    """

    apothem: Floats
    centre: Floats
    half_angle: float
    round: bool

    def radius(self, theta: Floats) -> Floats:
        apothem = self.apothem[:, None, None]
        return apothem + 0 * theta if self.round else apothem / np.cos(theta - self.centre[:, :, None])

    def sector(self, lower: Floats, upper: Floats) -> Floats:
        """Area between the axis and the flat, from one angle to another."""
        centre = self.centre[:, :, None]
        if self.round:
            return self.apothem[:, None, None] ** 2 / 2 * (upper - lower)
        area: Floats = (
            self.apothem[:, None, None] ** 2 / 2 * (np.tan(upper - centre) - np.tan(lower - centre))
        )
        return area


def _segment_edges(below: Course, above: Course, turned: Floats, period: float) -> Floats:
    """Sorted angles in [0, period] where a segment of either course begins or ends, (m, intervals + 1)."""
    angles = [np.zeros((len(turned), 1)), np.full((len(turned), 1), period)]
    for course, shift in ((below, np.zeros_like(turned)), (above, turned)):
        pitch = 2 * pi / course.segments
        centres = shift[:, None] + pitch * np.arange(round(period / pitch))
        angles += [np.mod(centres - course.half_angle, period), np.mod(centres + course.half_angle, period)]
    return np.sort(np.concatenate(angles, axis=1), axis=1)


def _centres(edges: Floats, course: Course, shift: Floats) -> Floats:
    """Centre of the course's segment nearest to the middle of each interval."""
    middle = (edges[:, 1:] + edges[:, :-1]) / 2
    pitch = 2 * pi / course.segments
    return shift[:, None] + pitch * np.round((middle - shift[:, None]) / pitch)


def _common_area(edges: Floats, sides: list[_Flats]) -> Floats:
    lower, upper = edges[:, :-1], edges[:, 1:]
    crossings = [
        np.clip(crossing, lower, upper)
        for one, other in ((0, 1), (2, 3), (0, 3), (1, 2))
        for crossing in _crossings(sides[one], sides[other], lower)
    ]
    angles = np.sort(np.stack([lower, *crossings, upper], axis=2), axis=2)
    start, end = angles[:, :, :-1], angles[:, :, 1:]
    middle = (start + end) / 2
    outer_first = sides[0].radius(middle) <= sides[1].radius(middle)
    inner_first = sides[2].radius(middle) >= sides[3].radius(middle)
    outer = np.where(outer_first, sides[0].radius(middle), sides[1].radius(middle))
    inner = np.where(inner_first, sides[2].radius(middle), sides[3].radius(middle))
    present = outer > inner
    for side in sides[:2]:
        present &= np.abs(middle - side.centre[:, :, None]) <= side.half_angle
    area = np.where(outer_first, sides[0].sector(start, end), sides[1].sector(start, end))
    area = area - np.where(inner_first, sides[2].sector(start, end), sides[3].sector(start, end))
    common: Floats = np.sum(np.where(present, area, 0.0), axis=(1, 2))
    return common


def _crossings(one: _Flats, other: _Flats, lower: Floats) -> list[Floats]:
    """The angles at which two sides cross: once where both are flat, twice where one is round, never where both are."""
    if one.round and other.round:
        return []
    if not (one.round or other.round):
        return [_crossing(one, other, lower)]
    circle, flat = (one, other) if one.round else (other, one)
    radius = np.broadcast_to(circle.apothem[:, None], flat.centre.shape)
    share = flat.apothem[:, None] / np.where(radius > 0, radius, np.inf)
    half = np.arccos(np.clip(share, 0.0, 1.0))
    return [flat.centre - half, flat.centre + half]


def _crossing(one: _Flats, other: _Flats, lower: Floats) -> Floats:
    """The angle at which two flats cross, in the half turn that begins at `lower`; `lower` itself if they do not."""
    a, b = one.apothem[:, None], other.apothem[:, None]
    across = b * np.cos(one.centre) - a * np.cos(other.centre)
    along = a * np.sin(other.centre) - b * np.sin(one.centre)
    theta = np.arctan2(across, along)
    meets = lower + np.mod(theta - lower, pi)
    return np.where((across == 0) & (along == 0), lower, meets)
