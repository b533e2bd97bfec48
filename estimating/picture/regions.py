"""What is left between two lines beside the axis when a hole is bored, or is filled with a plug."""

from collections.abc import Callable, Iterator, Sequence
from itertools import groupby

import numpy as np
import numpy.typing as npt

from estimating.picture.profile import AXIS, Line, Loop, loop_between
from estimating.shape.curves import Floats

Pick = Callable[[Floats, Floats], Floats]


def held(line: Line, radius: float, pick: Pick) -> Line:
    """The line kept outside a radius (`pick` np.maximum) or inside it (np.minimum), with points where it crosses."""
    heights, radii = line.heights, line.radii
    off = radii - radius
    crossed = np.flatnonzero(off[:-1] * off[1:] < 0)
    share = off[crossed] / (off[crossed] - off[crossed + 1])
    places = heights[crossed] + share * np.diff(heights)[crossed]
    grid = np.insert(heights, crossed + 1, places)
    values = pick(np.insert(radii, crossed + 1, radius), np.full(len(grid), radius))
    straight_out = np.tile([1.0, 0.0], (len(crossed), 1))
    kept = np.insert(pick(radii, np.full(len(radii), radius)) == radii, crossed + 1, True)[:, None]
    below, above = (
        np.where(kept, np.insert(normals, crossed + 1, straight_out, axis=0), [1.0, 0.0])
        for normals in (line.below, line.above)
    )
    return Line(grid, values, below, above)


def joined(lines: Sequence[Line]) -> Line:
    """Lines end to end, one above the other, with a step wherever one begins at another radius than the last ended."""
    parts = ("heights", "radii", "below", "above")
    return Line(*(np.concatenate([getattr(line, part) for line in lines]) for part in parts))


def loops_between(outer: Line, inner: Line) -> Iterator[Loop]:
    """The outlines of all that lies outside the inner line and inside the outer one, from the bottom up.

    Both lines begin and end at the same heights; either may have steps.
    """
    grid = _with_crossings(outer, inner)
    width = _between(outer, grid)[0] - _between(inner, grid)[0]
    wide = width.max(axis=1) > AXIS
    for is_wide, run in groupby(range(len(wide)), lambda interval: bool(wide[interval])):
        if is_wide:
            which = list(run)
            edges = grid[which[0] : which[-1] + 2]
            yield loop_between(_cut(outer, edges), _cut(inner, edges))


def _with_crossings(outer: Line, inner: Line) -> Floats:
    """The heights of both lines' points, and those between where they cross."""
    grid: Floats = np.unique(np.concatenate([outer.heights, inner.heights]))
    grid = grid[np.diff(grid, prepend=-np.inf) > AXIS]
    width = _between(outer, grid)[0] - _between(inner, grid)[0]
    crossed = np.flatnonzero(width[:, 0] * width[:, 1] < -(AXIS**2))
    share = width[crossed, 0] / (width[crossed, 0] - width[crossed, 1])
    places = grid[crossed] + share * np.diff(grid)[crossed]
    return np.unique(np.concatenate([grid, places]))


def _between(line: Line, grid: Floats) -> tuple[Floats, npt.NDArray[np.float64]]:
    """Radii (k, 2) and normals (k, 2, 2) at the two ends of every interval of the grid, as the line is within it."""
    inside = (grid[:-1] + grid[1:]) / 2
    at = np.clip(np.searchsorted(line.heights, inside, side="right") - 1, 0, len(line.heights) - 2)
    start, step = line.heights[at], line.heights[at + 1] - line.heights[at]
    share = np.stack([(edge - start) / step for edge in (grid[:-1], grid[1:])], axis=1)
    radii = line.radii[at][:, None] + share * (line.radii[at + 1] - line.radii[at])[:, None]
    first, last = line.above[at][:, None], line.below[at + 1][:, None]
    normals = first + share[:, :, None] * (last - first)
    return radii, normals / np.linalg.norm(normals, axis=2, keepdims=True)


def _cut(line: Line, grid: Floats) -> Line:
    """The line between the first and the last height of the grid, with points at all of it."""
    radii, normals = _between(line, grid)
    heights = np.stack([grid[:-1], grid[1:]], axis=1).ravel()
    flat = radii.ravel()
    # A point that two intervals share is one point, with the normal of either side.
    twice = np.zeros(len(flat), dtype=bool)
    twice[2::2] = np.abs(flat[2::2] - flat[1:-1:2]) < AXIS
    below, above = normals.reshape(-1, 2).copy(), normals.reshape(-1, 2).copy()
    shared = np.flatnonzero(twice)
    above[shared - 1] = above[shared]
    return Line(heights[~twice], flat[~twice], below[~twice], above[~twice])
