"""A drawn line in pieces, straight ones and cubic curves: what every kind of drawing is turned into first."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import atan2, ceil, cos, pi, sin, sqrt, tan

import numpy as np

from estimating.errors import InvalidInput
from estimating.shape.curves import Floats

JOINED = 0.01
"""Ends nearer than this (mm) are joined."""

MOST_PIECES = 5_000
_LARGEST = 1e9
_ROUGH = 0.001
_STRAIGHT_SAMPLES = 8


@dataclass(frozen=True, eq=False, slots=True)
class Piece:
    """A cubic Bezier curve, or a straight line, by its four control points (4, 2): x to the right, y up, mm.

    `starts`, `ends`: whether the file itself has a point there, or the reader only cut the curve in two.
    """

    control: Floats
    straight: bool
    starts: bool = True
    ends: bool = True

    @property
    def start(self) -> Floats:
        first: Floats = self.control[0]
        return first

    @property
    def end(self) -> Floats:
        last: Floats = self.control[3]
        return last

    @property
    def is_nothing(self) -> bool:
        """Whether it is a point."""
        return bool(np.ptp(self.control, axis=0).max() <= 1e-9)

    def backwards(self) -> "Piece":
        return Piece(self.control[::-1], self.straight, starts=self.ends, ends=self.starts)

    def moved(self, matrix: Floats, shift: Floats) -> "Piece":
        """The piece under an affine map: `matrix` (2, 2), then `shift` (2,)."""
        return replace(self, control=self.control @ matrix.T + shift)

    def bearing(self, *, at_end: bool) -> float:
        """Direction of travel at one end, radians from the x axis."""
        control = self.control[::-1] if at_end else self.control
        steps = control[1:] - control[0]
        lengths = np.hypot(steps[:, 0], steps[:, 1])
        far = int(np.argmax(lengths > 1e-9 * max(1.0, float(lengths.max()))))
        dx, dy = steps[far] * (-1 if at_end else 1)
        return atan2(dy, dx)

    def points(self, t: Floats) -> Floats:
        """Points at each t from 0 to 1, (n, 2)."""
        weights = np.array([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3])
        result: Floats = weights.T @ self.control
        return result

    def samples(self) -> Floats:
        """Points along the piece whose chords lie within a few thousandths of a mm of it, both ends included."""
        if self.straight:
            return self.points(np.linspace(0, 1, _STRAIGHT_SAMPLES + 1))
        bend = float(np.abs(np.diff(self.control, n=2, axis=0)).max())
        return self.points(np.linspace(0, 1, min(512, max(16, ceil(sqrt(0.75 * bend / _ROUGH)))) + 1))


@dataclass(frozen=True, slots=True)
class Drawing:
    """What a file shows: one connected line, the axis where the file draws one (its x), and notes for the reader."""

    pieces: tuple[Piece, ...]
    axis: float | None = None
    notes: tuple[str, ...] = ()


def straight_piece(start: Sequence[float] | Floats, end: Sequence[float] | Floats) -> Piece:
    a, b = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    return Piece(np.array([a, a + (b - a) / 3, a + (b - a) * 2 / 3, b]), straight=True)


def curved_piece(control: Sequence[Sequence[float]] | Floats) -> Piece:
    return Piece(np.asarray(control, dtype=float), straight=False)


def elliptic_pieces(centre: Floats, across: Floats, along: Floats, start: float, sweep: float) -> list[Piece]:
    """An arc centre + across cos(u) + along sin(u), u from `start` through `sweep` radians, as cubics.

    Each covers 22.5 degrees at most, where a cubic is within 1e-7 of the radius of a circle (the usual handles of
    4/3 tan(angle / 4); Goldapp, Computer Aided Geometric Design 8 (1991) 227-238).
    """
    count = max(1, ceil(abs(sweep) / (pi / 8) - 1e-9))
    step = sweep / count
    handle = 4 / 3 * tan(step / 4)
    pieces = []
    for number in range(count):
        u, v = start + number * step, start + (number + 1) * step
        first, last = (centre + across * cos(w) + along * sin(w) for w in (u, v))
        leaving, arriving = (along * cos(w) - across * sin(w) for w in (u, v))
        control = np.array([first, first + handle * leaving, last - handle * arriving, last])
        pieces.append(Piece(control, straight=False, starts=number == 0, ends=number == count - 1))
    return pieces


def is_upright(pieces: Sequence[Piece]) -> bool:
    """Whether the line is one straight stroke straight up or down."""
    return len(pieces) == 1 and pieces[0].straight and bool(np.ptp(pieces[0].control[:, 0]) <= JOINED)


def checked(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces that have a length, refused where a coordinate is no number or there are too many."""
    if len(pieces) > MOST_PIECES:
        raise InvalidInput("file", f"has more than {MOST_PIECES} pieces of line; simplify it in the drawing")
    for piece in pieces:
        if not np.all(np.abs(piece.control) <= _LARGEST):  # false for what is not a number, too
            raise InvalidInput("file", "has a coordinate that is not a finite number, or far too large")
    return [piece for piece in pieces if not piece.is_nothing]


def rising_or_falling(piece: Piece) -> list[Piece]:
    """The piece cut where it turns in x or in y, so that each part is monotone in both."""
    if piece.straight:
        return [piece]
    cuts = sorted(t for axis in (0, 1) for t in _turns(piece.control[:, axis]))
    parts, rest, done = [], piece, 0.0
    for cut in cuts:
        if cut - done < 1e-6:
            continue
        first, rest = _cut(rest, (cut - done) / (1 - done))
        parts.append(first)
        done = cut
    return [*parts, rest]


def _turns(values: Floats) -> list[float]:
    """Where a cubic in one coordinate has an extreme that stands out from its ends."""
    a, b, c, d = values
    roots = np.roots(np.array([d - 3 * c + 3 * b - a, 2 * (c - 2 * b + a), b - a]))
    found = []
    for root in roots:
        t = float(root.real)
        if abs(root.imag) < 1e-9 and 1e-6 < t < 1 - 1e-6:
            value = (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t * t * (1 - t) * c + t**3 * d
            if abs(value - a) > _ROUGH and abs(value - d) > _ROUGH:
                found.append(t)
    return found


def _cut(piece: Piece, t: float) -> tuple[Piece, Piece]:
    """The two parts either side of t (de Casteljau)."""
    rows = [piece.control]
    for _ in range(3):
        rows.append(rows[-1][:-1] * (1 - t) + rows[-1][1:] * t)
    first = np.array([row[0] for row in rows])
    second = np.array([row[-1] for row in rows[::-1]])
    return (
        Piece(first, straight=False, starts=piece.starts, ends=False),
        Piece(second, straight=False, starts=False, ends=piece.ends),
    )
