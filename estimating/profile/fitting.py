"""A drawn half turned into the few points of a curve that follows it."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
import numpy.typing as npt

from estimating.errors import InvalidInput
from estimating.profile.halves import Halves
from estimating.profile.outline import Piece
from estimating.shape.curves import CurvePoint, Floats, mixed_curve

Marks = npt.NDArray[np.bool_]

MOST_POINTS = 200
TOLERANCE = 0.05
"""How far (mm) the curve through the points may lie from the line that was drawn."""

THINNED = 0.01
"""What thinning may move a line by (mm), where a file has more points than a profile may."""

CORNER = 5 * pi / 180
"""A drawn line that turns by more than this at a point has a corner there."""

LEAST_RISE = 0.005
"""A level ledge is given this rise (mm), for a curve has one radius at each height."""

_LIP = 0.02
_MEETING = 0.1
_FOLLOWED = TOLERANCE - LEAST_RISE
_FEWEST_SHORT_LINES = 8
_SHORT_LINES = 0.1
"""How far (mm) short lines may stand off the curve that they are taken to draw."""


@dataclass(frozen=True, slots=True)
class Trace:
    """A half drawn point by point: heights that never fall and radii, (n,) each, mm; which of them must be kept, and
    which are corners."""

    heights: Floats
    radii: Floats
    must: Marks
    corner: Marks


def fit_halves(halves: Halves) -> tuple[tuple[CurvePoint, ...], tuple[CurvePoint, ...], tuple[str, ...]]:
    """Outer and inner points whose mixed curves lie within 0.05 mm of the halves, and notes.

    Errors: InvalidInput at `file` where a half needs more than 200 points.
    """
    outer, notes = trace(halves.outer), list(halves.notes)
    if not halves.inner:
        return *fit_all(outer, None, notes), tuple(notes)
    inner = trace(halves.inner)
    outer, inner = _cut_lip(outer, inner, notes)
    return *fit_all(outer, inner, notes), tuple(notes)


def fit_all(
    outer: Trace, inner: Trace | None, notes: list[str]
) -> tuple[tuple[CurvePoint, ...], tuple[CurvePoint, ...]]:
    """Points of both halves, the inside ending where the outside does; a thinning is told in the notes."""
    outside = _points(outer, notes)
    inside = _points(inner, notes) if inner else ()
    if inside and inside[-2].height < outside[-1].height:
        inside = (*inside[:-1], inside[-1]._replace(height=outside[-1].height))
    return outside, inside


# --- from pieces to a trace ---------------------------------------------------------------------------------------


def trace(half: Sequence[Piece]) -> Trace:
    """The pieces sampled, their joints marked: corners, extremes, and the points the file itself has.

    Straight pieces end in corners, so that they stay straight, unless they are eight or more in a row that turn by
    less than 5 degrees each and would stand off a curve by less than 0.1 mm: those draw a curve in short lines.
    """
    if not half:
        raise InvalidInput("file", "has no side: nothing in it rises from the foot to the rim")
    short = _short_lines(half)
    samples = [piece.samples() for piece in half]
    must, corner = [True], [False]
    for number in range(len(half)):
        named, sharp = _joint(half, number, short) if number < len(half) - 1 else (True, False)
        between = [False] * (len(samples[number]) - 2)
        must += [*between, named]
        corner += [*between, sharp]
    along = np.concatenate([samples[0], *(part[1:] for part in samples[1:])])
    return Trace(
        heights=np.maximum.accumulate(along[:, 1]),
        radii=along[:, 0],
        must=np.array(must),
        corner=np.array(corner),
    )


def _joint(half: Sequence[Piece], number: int, short: Sequence[bool]) -> tuple[bool, bool]:
    """Whether the end of this piece must be a point, and whether it is a corner."""
    piece, after = half[number], half[number + 1]
    extreme = (piece.end[0] - piece.start[0]) * (after.end[0] - after.start[0]) < 0
    in_short_lines = short[number] and short[number + 1]
    if _turn(piece, after) > CORNER:
        return True, True
    if in_short_lines:
        return bool(extreme), False
    straight = (piece.straight and not short[number]) or (after.straight and not short[number + 1])
    return bool(straight or extreme or (piece.ends and after.starts)), straight


def _turn(piece: Piece, after: Piece) -> float:
    turn = after.bearing(at_end=False) - piece.bearing(at_end=True)
    return abs((turn + pi) % (2 * pi) - pi)


def _short_lines(half: Sequence[Piece]) -> list[bool]:
    """Which pieces are short lines that together draw a curve."""
    lengths = [float(np.hypot(*(piece.end - piece.start))) for piece in half]
    goes_on = []
    for number in range(len(half) - 1):
        turn = _turn(half[number], half[number + 1])
        # A chord whose ends turn by `turn` stands length x turn / 8 off its arc.
        near = max(lengths[number], lengths[number + 1]) * turn / 8 <= _SHORT_LINES
        both = half[number].straight and half[number + 1].straight
        goes_on.append(both and turn <= CORNER and near)
    short, first = [False] * len(half), 0
    for number in range(len(half)):
        if number == len(half) - 1 or not goes_on[number]:
            if number - first + 1 >= _FEWEST_SHORT_LINES:
                short[first : number + 1] = [True] * (number - first + 1)
            first = number + 1
    return short


# --- lips that come to an edge ------------------------------------------------------------------------------------


def _cut_lip(outer: Trace, inner: Trace, notes: list[str]) -> tuple[Trace, Trace]:
    """Outside and inside with the edges where they meet cut level, for a wall must have some thickness."""
    if outer.radii[-1] - inner.radii[-1] < _MEETING:
        level = min(outer.heights[-1], inner.heights[-1]) - _LIP
        outer, inner = _below(outer, level), _below(inner, level)
        notes.append(f"The lip comes to an edge; it is cut level {_LIP:g} mm below its top.")
    if abs(outer.heights[0] - inner.heights[0]) <= _LIP and outer.radii[0] - inner.radii[0] < _MEETING:
        level = max(outer.heights[0], inner.heights[0]) + _LIP
        outer, inner = _above(outer, level), _above(inner, level)
        notes.append(f"The foot comes to an edge; it is cut level {_LIP:g} mm above its lowest point.")
    return outer, inner


def _below(half: Trace, level: float) -> Trace:
    kept = half.heights < level - 1e-9
    return Trace(
        np.append(half.heights[kept], level),
        np.append(half.radii[kept], np.interp(level, half.heights, half.radii)),
        np.append(half.must[kept], True),
        np.append(half.corner[kept], False),
    )


def _above(half: Trace, level: float) -> Trace:
    """What lies above, its heights counted from the level."""
    kept = half.heights > level + 1e-9
    return Trace(
        np.append(0.0, half.heights[kept] - level),
        np.append(np.interp(level, half.heights, half.radii), half.radii[kept]),
        np.append(True, half.must[kept]),
        np.append(False, half.corner[kept]),
    )


# --- from a trace to points ---------------------------------------------------------------------------------------


def _points(half: Trace, notes: list[str]) -> tuple[CurvePoint, ...]:
    found = half.must, half.corner
    at = _followed(half, *found) if np.count_nonzero(half.must) <= MOST_POINTS else None
    for tolerance in (THINNED, _FOLLOWED):
        if at is None:
            found = _thinned(half, tolerance)
            at = _followed(half, *found)
    if at is None:
        reason = f"needs more than {MOST_POINTS} points to be followed within {TOLERANCE:g} mm"
        raise InvalidInput("file", f"{reason}; simplify it in the drawing")
    drawn = int(np.count_nonzero(half.must))
    if found[0] is not half.must:
        notes.append(
            f"{drawn:,} points were thinned to {len(at)}; the curve stays within {TOLERANCE:g} mm of them."
        )
    corner = found[1] & (np.arange(len(half.must)) > 0) & (np.arange(len(half.must)) < len(half.must) - 1)
    heights = _rising(half.heights[at])
    return tuple(
        CurvePoint(float(height), float(radius), bool(is_corner))
        for height, radius, is_corner in zip(heights, half.radii[at], corner[at], strict=True)
    )


def _rising(heights: Floats) -> Floats:
    """The heights with each at least a hair above the one before."""
    spare = np.arange(len(heights)) * LEAST_RISE
    risen = np.maximum.accumulate(heights - spare) + spare
    return np.where(risen > heights + 1e-12, risen, heights)


def _followed(half: Trace, must: Marks, corner: Marks) -> npt.NDArray[np.intp] | None:
    """Which samples to take so that the curve follows them all: those that must be, and more where it strays."""
    chosen = must.copy()
    while np.count_nonzero(chosen) <= MOST_POINTS:
        at = np.flatnonzero(chosen)
        heights = _rising(half.heights[at])
        curve = mixed_curve(heights, half.radii[at], corner[at])
        strays = np.abs(curve.radius(half.heights) - half.radii) > _FOLLOWED
        pieces = np.unique(np.searchsorted(at, np.flatnonzero(strays & ~chosen)) - 1)
        more = []
        for piece in pieces:
            samples = slice(at[piece] + 1, at[piece + 1])
            comb = np.linspace(heights[piece], heights[piece + 1], 129)
            if _error(half.heights[samples], half.radii[samples], comb, curve.radius(comb)) > _FOLLOWED:
                more += _middle(half, at[piece], at[piece + 1])
        if not more:
            return at
        chosen[more] = True
    return None


def _error(heights: Floats, radii: Floats, comb: Floats, fitted: Floats) -> float:
    """How far samples lie from a monotone piece of curve at most: level or upright, whichever is less."""
    across = np.abs(np.interp(heights, comb, fitted) - radii)
    way = 1 if fitted[-1] >= fitted[0] else -1
    upwards = np.abs(np.interp(radii, fitted[::way], comb[::way]) - heights)
    return float(np.minimum(across, upwards).max())


def _middle(half: Trace, first: int, last: int) -> list[int]:
    """The sample nearest the middle of a stretch, by length, that stands apart from both its ends in height."""
    steps = np.hypot(
        np.diff(half.heights[first : last + 1]) if last > first else np.zeros(0),
        np.diff(half.radii[first : last + 1]),
    )
    along = np.concatenate([[0.0], np.cumsum(steps)])
    inside = np.arange(first + 1, last)
    apart = (half.heights[inside] >= half.heights[first] + LEAST_RISE) & (
        half.heights[inside] <= half.heights[last] - LEAST_RISE
    )
    if not np.any(apart):
        return []
    off = np.abs(along[1:-1] - along[-1] / 2)
    return [int(inside[np.argmin(np.where(apart, off, np.inf))])]


def _thinned(half: Trace, tolerance: float) -> tuple[Marks, Marks]:
    """The corners and ends that a line thinned to the tolerance keeps (Ramer 1972; Douglas & Peucker 1973)."""
    at = np.flatnonzero(half.must)
    kept = at[keep_within(half.heights[at], half.radii[at], tolerance)]
    must = np.zeros_like(half.must)
    must[kept] = half.corner[kept]
    must[[0, -1]] = True
    return must, half.corner & must


def keep_within(x: Floats, y: Floats, tolerance: float) -> Marks:
    """Which points of a polyline to keep so that every other lies within the tolerance of it.

    Source: Ramer, Computer Graphics and Image Processing 1 (1972) 244-256; Douglas & Peucker, Cartographica 10
    (1973) 112-122.
    """
    keep = np.zeros(len(x), dtype=bool)
    keep[[0, -1]] = True
    spans = [(0, len(x) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        dx, dy = x[last] - x[first], y[last] - y[first]
        px, py = x[first + 1 : last] - x[first], y[first + 1 : last] - y[first]
        length = dx * dx + dy * dy
        share = np.clip((px * dx + py * dy) / length, 0, 1) if length else np.zeros_like(px)
        off = np.hypot(px - share * dx, py - share * dy)
        if off.max() > tolerance:
            middle = first + 1 + int(np.argmax(off))
            keep[middle] = True
            spans += [(first, middle), (middle, last)]
    return keep
