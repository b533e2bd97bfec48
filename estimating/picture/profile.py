"""The turned profile as polylines that enclose the same volume as the curves, cut into the loop of each layer."""

from dataclasses import dataclass
from functools import cached_property
from math import cos, radians

import numpy as np
import numpy.typing as npt

from estimating.shape.curves import SAME_HEIGHT, Curve, Floats
from estimating.shape.forms import Form

AXIS = 1e-6
"""Radii smaller than this (mm) are on the axis."""

_SPLITS = 14
_ROUNDS = 3
_MOST_MOVED = 0.2
_CREASE = cos(radians(25))
_SHARES = np.array([0.25, 0.5, 0.75])


@dataclass(frozen=True)
class Line:
    """A curve as a polyline, from the bottom up. mm.

    Shape: `heights` and `radii` (K,); `below` and `above` (K, 2), the unit normals (across, up) away from the axis
        that the surface has just below and just above each point: the same two where the curve runs on smoothly.
    """

    heights: Floats
    radii: Floats
    below: Floats
    above: Floats

    def between(self, lower: float, upper: float) -> "Line":
        """The part between two heights that are both points of the line."""
        start = int(np.searchsorted(self.heights, lower - SAME_HEIGHT, "left"))
        end = int(np.searchsorted(self.heights, upper + SAME_HEIGHT, "right"))
        which = slice(start, end)
        return Line(self.heights[which], self.radii[which], self.below[which], self.above[which])


def line_of(curve: Curve, edges: Floats, *, tolerance: float) -> Line:
    """The curve as a polyline with points at `edges` (rising, mm), never farther from it than `tolerance` (mm).

    Its points stand a little off the curve, so that the chords lie outside it as much as inside and the solid turned
    from the polyline has the curve's own volume: what each chord would lose of the integral of r^2 is given back at
    its two ends.
    """
    heights = _divided(curve, edges, tolerance)
    radii = _volume_kept(curve, heights)
    below, above = _normals(heights, radii)
    return Line(heights, radii, below, above)


def _volume_kept(curve: Curve, heights: Floats) -> Floats:
    """The curve's radii, moved so that the frustums between them hold what the curve does."""
    radii, steps = curve.radius(heights), np.diff(heights)
    whole = curve.square_integral(heights[:-1], heights[1:])
    lever = np.append(steps, 0.0) + np.append(0.0, steps)
    for _ in range(_ROUNDS):
        start, end = radii[:-1], radii[1:]
        lost = whole - steps * (start**2 + start * end + end**2) / 3
        # Each end takes what its radius can: a point on the axis cannot move.
        share = np.divide(lost, start + end, out=np.zeros_like(lost), where=start + end > AXIS)
        moved = (np.append(share, 0.0) + np.append(0.0, share)) / lever
        radii = radii + np.clip(moved, -_MOST_MOVED * radii, _MOST_MOVED * radii)
    return radii


def _divided(curve: Curve, edges: Floats, tolerance: float) -> Floats:
    """Halve intervals until the chord of each lies within the tolerance of the curve, square to the chord."""
    heights = edges
    for _ in range(_SPLITS):
        start, step = heights[:-1], np.diff(heights)
        radii = curve.radius(heights)
        run = np.diff(radii)
        inside = start[:, None] + _SHARES * step[:, None]
        off = np.abs(
            curve.radius(inside.ravel()).reshape(inside.shape) - (radii[:-1, None] + _SHARES * run[:, None])
        )
        far = off.max(axis=1) * step / np.hypot(step, run) > tolerance
        if not far.any():
            break
        heights = np.unique(np.concatenate([heights, (start + step / 2)[far]]))
    return heights


def _normals(heights: Floats, radii: Floats) -> tuple[Floats, Floats]:
    """Normals of the chords, evened out over points where the line bends by less than a crease."""
    along = np.stack([np.diff(radii), np.diff(heights)], axis=1)
    chord = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.linalg.norm(along, axis=1, keepdims=True)
    below, above = np.vstack([chord[:1], chord]), np.vstack([chord, chord[-1:]])
    soft = np.einsum("ij,ij->i", below, above) > _CREASE
    mean = below + above
    mean /= np.linalg.norm(mean, axis=1, keepdims=True)
    return np.where(soft[:, None], mean, below), np.where(soft[:, None], mean, above)


@dataclass(frozen=True)
class Loop:
    """A closed outline beside the axis, anticlockwise in (across, up): what is swept round to make a body. mm.

    Shape: `points` (m, 2); edge j runs from point j to the next. `normals` (m, 2, 2) has the surface's unit normals
        at the start and end of each edge. `caps` (c, 3) are the triangles that fill the outline, anticlockwise.
    """

    points: Floats
    normals: Floats
    caps: npt.NDArray[np.intp]


def loop_between(outer: Line, inner: Line) -> Loop:
    """The outline between two lines that begin and end at the same heights: up the outer, down the inner."""
    chains = [np.stack([line.radii, line.heights], axis=1) for line in (outer, inner)]
    points = np.concatenate([chains[0], chains[1][::-1]])
    points[points[:, 0] < AXIS, 0] = 0.0
    normals = np.stack([_square_to(points, np.roll(points, -1, axis=0))] * 2, axis=1)
    up, down = len(outer.heights), len(inner.heights)
    # Steps keep the normals of their own edges.
    rising = np.flatnonzero(np.diff(outer.heights) > 0)
    normals[rising, 0], normals[rising, 1] = outer.above[rising], outer.below[rising + 1]
    rising = np.flatnonzero(np.diff(inner.heights) > 0)
    places = up + down - 2 - rising
    normals[places, 0], normals[places, 1] = -inner.below[rising + 1], -inner.above[rising]
    caps = _zipped(points, np.arange(up), np.arange(up + down)[up:][::-1])
    return _without_repeats(Loop(points, normals, caps))


def _square_to(start: Floats, end: Floats) -> Floats:
    """Unit normals to the right of each edge; zeros for an edge without length."""
    along = end - start
    length = np.linalg.norm(along, axis=1, keepdims=True)
    right = np.stack([along[:, 1], -along[:, 0]], axis=1)
    unit: Floats = np.divide(right, length, out=np.zeros_like(right), where=length > 0)
    return unit


def _zipped(points: Floats, right: npt.NDArray[np.intp], left: npt.NDArray[np.intp]) -> npt.NDArray[np.intp]:
    """Triangles between two chains of points that both rise: always on from the one whose next point is lower."""
    triangles, i, j = [], 0, 0
    while i + 1 < len(right) or j + 1 < len(left):
        on_the_left = j + 1 < len(left) and (
            i + 1 == len(right) or points[left[j + 1], 1] <= points[right[i + 1], 1] + SAME_HEIGHT
        )
        ahead = left[j + 1] if on_the_left else right[i + 1]
        triangles.append((right[i], ahead, left[j]))
        i, j = (i, j + 1) if on_the_left else (i + 1, j)
    return np.array(triangles, dtype=np.intp)


def _without_repeats(loop: Loop) -> Loop:
    """The outline without points that stand on the one before, and without triangles that have no area for it."""
    same = np.all(np.abs(loop.points - np.roll(loop.points, 1, axis=0)) < AXIS, axis=1)
    keep = ~same
    # A point that goes takes the number of the one before; its edge, which leads on from there, stays.
    numbers = np.cumsum(keep) - 1
    numbers[numbers < 0] = keep.sum() - 1
    caps = numbers[loop.caps]
    whole = (caps[:, 0] != caps[:, 1]) & (caps[:, 1] != caps[:, 2]) & (caps[:, 2] != caps[:, 0])
    normals = loop.normals[~np.roll(same, -1)]
    # Where the first point is the last one again, the edge on from there comes last.
    return Loop(loop.points[keep], np.roll(normals, -1, axis=0) if same[0] else normals, caps[whole])


@dataclass(frozen=True)
class Profile:
    """Outside and inside of a form as polylines with points at every edge of a layer. mm."""

    form: Form
    edges: Floats
    tolerance: float

    @cached_property
    def outer(self) -> Line:
        form = self.form
        edges = [self.edges, form.outer.breaks]
        if form.opening is not None:
            edges.append(np.array([form.opening]))
        return line_of(form.outer, _apart(edges, form.bottom, form.top), tolerance=self.tolerance)

    @cached_property
    def inner(self) -> Line | None:
        curve = self.form.inner
        if curve is None:
            return None
        edges = _apart([self.edges, curve.breaks], curve.bottom, curve.top)
        return line_of(curve, edges, tolerance=self.tolerance)

    def inside(self, lower: float, upper: float) -> Line:
        """The inside between two edges of layers: along the axis below the floor, then the floor as a step out."""
        opening = self.form.opening
        if self.inner is None or opening is None or (self.form.has_floor and upper <= opening + SAME_HEIGHT):
            return upright(0.0, lower, upper)
        line = self.inner.between(max(lower, opening), upper)
        if not self.form.has_floor or lower >= opening - SAME_HEIGHT:
            return line
        axis = upright(0.0, lower, opening)
        return Line(
            np.concatenate([axis.heights, line.heights]),
            np.concatenate([axis.radii, line.radii]),
            np.concatenate([axis.below, line.below]),
            np.concatenate([axis.above, line.above]),
        )

    def loop(self, lower: float, upper: float) -> Loop:
        """The turned outline between two edges of layers."""
        return loop_between(self.outer.between(lower, upper), self.inside(lower, upper))


def upright(radius: float, lower: float, upper: float) -> Line:
    """A line at one radius."""
    return slanted(radius, radius, lower, upper)


def slanted(start: float, end: float, lower: float, upper: float) -> Line:
    """A straight line from one radius to another."""
    square = np.array([upper - lower, start - end])
    normals = np.tile(square / np.linalg.norm(square), (2, 1))
    return Line(np.array([lower, upper]), np.array([start, end]), normals, normals)


def _apart(edges: list[Floats], bottom: float, top: float) -> Floats:
    """All edges between bottom and top once, rising, both ends exactly."""
    inside = np.unique(np.concatenate(edges))
    inside = inside[(inside > bottom + SAME_HEIGHT) & (inside < top - SAME_HEIGHT)]
    inside = inside[np.diff(inside, prepend=bottom) > SAME_HEIGHT]
    return np.concatenate([[bottom], inside, [top]])
