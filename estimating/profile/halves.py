"""Where the axis is, and which of an outline is the outside and which the inside."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import pi

import numpy as np

from estimating.errors import InvalidInput
from estimating.profile.outline import JOINED, Drawing, Piece, checked, rising_or_falling

LARGEST = 10_000.0
SMALLEST = 0.1
NEAR = 0.05
"""What comes this near the axis (mm) touches it."""

LEVEL = 0.02
"""A rise or a fall of less than this (mm) is level."""

SQUARE_TO_AXIS = 5 * pi / 180


@dataclass(frozen=True, slots=True)
class Halves:
    """Outside and inside from the bottom up, x the radius and y the height; `inner` empty where there is none."""

    outer: tuple[Piece, ...]
    inner: tuple[Piece, ...] = ()
    notes: tuple[str, ...] = ()


def find_halves(drawing: Drawing) -> Halves:
    """Outside and inside of a drawn outline. Heights count from its lowest point.

    The axis is the first of these that is there:
      1. a separate upright line beside the outline;
      2. x = 0 of the drawing, where the outline comes within 0.05 mm of it and stays on one side;
      3. the upright line through both ends of an open outline, where it leaves one of them level (a face, or a round
         end), or the upright straight edge of a closed outline;
      4. x = 0 of the drawing.
    A closed outline, or one that begins and ends on the axis, is a section: level straight faces at the foot and the
    rim are dropped, what rises from the foot to the top is the outside, what falls from there is the inside. Any
    other outline is the outside alone, and level runs at its ends that lead inwards are faces and are dropped.
    Errors: InvalidInput at `file` for what cannot be turned, or is too large or too small.
    """
    pieces = [part for piece in checked(drawing.pieces) for part in rising_or_falling(piece)]
    if not pieces:
        raise InvalidInput("file", "has no line: a profile needs two points at least")
    axis, note = _axis(pieces, drawing.axis)
    pieces = _from_axis(pieces, axis)
    closed = _is_closed(pieces)
    if closed or (pieces[0].start[0] <= NEAR and pieces[-1].end[0] <= NEAR and len(pieces) > 1):
        outer, inner = _section(pieces, closed=closed)
    else:
        outer, inner = _outside(pieces), []
    for half in (outer, inner):
        _refuse_turning_back(half)
    return Halves(tuple(outer), tuple(inner), (note, *drawing.notes))


def _is_closed(pieces: Sequence[Piece]) -> bool:
    return len(pieces) > 1 and bool(np.abs(pieces[0].start - pieces[-1].end).max() <= JOINED)


# --- the axis -----------------------------------------------------------------------------------------------------


def _axis(pieces: Sequence[Piece], drawn: float | None) -> tuple[float, str]:
    if drawn is not None:
        return drawn, f"The axis is the upright line drawn at x = {drawn:.6g} mm."
    xs = [x for piece in pieces for x in (piece.start[0], piece.end[0])]
    left, right = float(min(xs)), float(max(xs))
    if abs(left) <= NEAR or abs(right) <= NEAR:
        return 0.0, "The axis is x = 0 of the drawing, which the outline touches."
    edge = _edge_of_closed(pieces, left, right) if _is_closed(pieces) else _line_of_ends(pieces, left, right)
    if edge is not None:
        return edge, f"The axis is the upright line at x = {edge:.6g} mm, where the outline ends."
    note = "No axis is drawn, so radii are measured from x = 0 of the drawing; a separate upright line marks another."
    return 0.0, note


def _line_of_ends(pieces: Sequence[Piece], left: float, right: float) -> float | None:
    start, end = float(pieces[0].start[0]), float(pieces[-1].end[0])
    ends_meet = abs(start - end) <= NEAR and any(abs(start - side) <= NEAR for side in (left, right))
    square = any(
        abs(np.sin(piece.bearing(at_end=at_end))) <= np.sin(SQUARE_TO_AXIS)
        for piece, at_end in ((pieces[0], False), (pieces[-1], True))
    )
    return start if ends_meet and square and right - left > NEAR else None


def _edge_of_closed(pieces: Sequence[Piece], left: float, right: float) -> float | None:
    """The outermost upright straight edge, the longer of two."""
    lengths = {
        side: sum(abs(float(p.end[1] - p.start[1])) for p in pieces if _lies_at(p, side))
        for side in (left, right)
    }
    longest = max(lengths, key=lambda side: lengths[side])
    return longest if lengths[longest] > NEAR else None


def _lies_at(piece: Piece, x: float) -> bool:
    return piece.straight and bool(np.abs(piece.control[:, 0] - x).max() <= NEAR)


def _from_axis(pieces: Sequence[Piece], axis: float) -> list[Piece]:
    """The pieces with x as the radius and y as the height above the lowest point."""
    ends = np.array([end for piece in pieces for end in (piece.start, piece.end)])
    radii, heights = ends[:, 0] - axis, ends[:, 1]
    side = -1.0 if radii.max() < -radii.min() else 1.0
    _check_size(float(np.ptp(heights)), float(np.abs(radii).max()))
    beyond = side * radii
    if beyond.min() < -NEAR:
        at = float(heights[np.argmin(np.abs(radii))] - heights.min())
        reason = f"crosses the axis (x = {axis:.6g} mm), near height {at:.4g} mm; draw one side only"
        raise InvalidInput("file", reason)
    matrix, shift = np.diag([side, 1.0]), np.array([-side * axis, -heights.min()])
    return [_off_axis(piece.moved(matrix, shift)) for piece in pieces]


def _off_axis(piece: Piece) -> Piece:
    """The piece without what is drawn a hair beyond the axis."""
    control = piece.control.copy()
    control[:, 0] = np.where(control[:, 0] < 1e-6, 0.0, control[:, 0])
    return Piece(control, piece.straight, piece.starts, piece.ends)


def _check_size(height: float, radius: float) -> None:
    for name, size in (("high", height), ("from the axis to its outside", radius)):
        if size > LARGEST:
            raise InvalidInput(
                "file", f"is {size:.5g} mm {name}, more than {LARGEST:,.0f} mm; check its unit"
            )
        if size < SMALLEST:
            raise InvalidInput("file", f"is {size:.2g} mm {name}, less than {SMALLEST:g} mm; check its unit")


# --- outside and inside -------------------------------------------------------------------------------------------


def _reversed(pieces: Sequence[Piece]) -> list[Piece]:
    return [piece.backwards() for piece in reversed(pieces)]


def _is_level(piece: Piece) -> bool:
    return piece.straight and bool(abs(piece.end[1] - piece.start[1]) <= LEVEL)


def _outside(pieces: list[Piece]) -> list[Piece]:
    upwards = pieces if pieces[0].start[1] <= pieces[-1].end[1] else _reversed(pieces)
    start = _count(upwards, lambda piece: _is_level(piece) and bool(piece.start[0] < piece.end[0]))
    rest = upwards[start:]
    end = _count(rest[::-1], lambda piece: _is_level(piece) and bool(piece.end[0] < piece.start[0]))
    return rest[: len(rest) - end]


def _count(pieces: Sequence[Piece], holds: Callable[[Piece], bool]) -> int:
    """How many pieces from the first on of which it holds."""
    return next((n for n, piece in enumerate(pieces) if not holds(piece)), len(pieces))


def _section(pieces: list[Piece], *, closed: bool) -> tuple[list[Piece], list[Piece]]:
    chain = _opened(pieces) if closed else pieces
    on_axis = bool(chain[0].start[0] <= NEAR and chain[-1].end[0] <= NEAR)
    if on_axis and chain[0].start[1] > chain[-1].end[1]:
        chain = _reversed(chain)
    chain = chain[_count(chain, _is_level) :]
    top = int(np.argmax([piece.end[1] for piece in chain])) + 1 if chain else 0
    before = _count(chain[:top][::-1], _is_level)
    after = _count(chain[top:], _is_level)
    up, down = chain[: top - before], _reversed(chain[top + after :])
    inside = down[_count(down, _is_level) :]
    if not on_axis and inside and _widest(inside) > _widest(up):
        up, inside = inside, up
    return up, inside


def _widest(pieces: Sequence[Piece]) -> float:
    return max(float(max(piece.start[0], piece.end[0])) for piece in pieces)


def _opened(loop: list[Piece]) -> list[Piece]:
    """A closed outline cut open: along the axis where it runs there, else at its lowest point."""
    along = [_lies_at(piece, 0.0) for piece in loop]
    if any(along):
        first = next(n for n in range(len(loop)) if along[n - 1] and not along[n]) if not all(along) else 0
        turned, on_axis = loop[first:] + loop[:first], along[first:] + along[:first]
        kept = on_axis.index(True)
        if not all(on_axis[kept:]):
            height = float(turned[kept].start[1])
            raise InvalidInput("file", f"touches the axis between its ends, at height {height:.4g} mm")
        return turned[:kept]
    lowest = int(np.argmin([piece.start[1] for piece in loop]))
    return loop[lowest:] + loop[:lowest]


def _refuse_turning_back(half: Sequence[Piece]) -> None:
    reached = float(half[0].start[1]) if half else 0.0
    for number, piece in enumerate(half):
        end = float(piece.end[1])
        if end < reached - LEVEL:
            reason = (
                f"turns back in height at {reached:.4g} mm: an undercut has two radii at one height; draw the "
                "outside from the foot up, or the whole section as one closed outline"
            )
            raise InvalidInput("file", reason)
        if number < len(half) - 1 and piece.end[0] <= 1e-6:
            raise InvalidInput("file", f"touches the axis between its ends, at height {end:.4g} mm")
        reached = max(reached, end)
