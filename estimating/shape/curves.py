"""A profile: radius as a function of height, in polynomial pieces that rise or fall but never turn inside."""

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import pi
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

SAME_HEIGHT = 1e-6
"""Heights nearer than this (mm) are one height."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_RUN = np.linspace(-1.0, 1.0, 9)
_PARTS = (1 + np.sign(_RUN) * (1 - (1 - np.abs(_RUN)) ** 4)) / 2


class CurvePoint(NamedTuple):
    """A point of a profile: height and radius, mm, and whether the curve has a corner there."""

    height: float
    radius: float
    corner: bool = False


@dataclass(frozen=True)
class Curve:
    """Radius over height in K pieces.

    Shape: `breaks` (K + 1,) rising heights; `coefficients` (degree + 1, K), lowest power first, of
        t = -1 at the lower break of the piece and 1 at its upper one.
    Units: mm. Beyond either end the radius is that of the end.
    Pieces are monotone, so the extremes over any span lie at its ends or at breaks inside it.
    `squared`: the polynomials give r^2 rather than r, so that round ends, which stand upright on the axis, are as
    exact as the rest: the square of a sphere's radius is a parabola.
    """

    breaks: Floats
    coefficients: Floats
    squared: bool = False

    @property
    def bottom(self) -> float:
        return float(self.breaks[0])

    @property
    def top(self) -> float:
        return float(self.breaks[-1])

    @cached_property
    def at_breaks(self) -> Floats:
        """Radii at the breaks, (K + 1,)."""
        lower = self.coefficients.T @ (-1.0) ** np.arange(len(self.coefficients))
        return self._rooted(np.append(lower, self.coefficients[:, -1].sum()))

    @property
    def is_straight(self) -> bool:
        """Whether every piece is a straight line."""
        return len(self.coefficients) <= 2 and not self.squared

    def _rooted(self, values: Floats) -> Floats:
        return np.sqrt(np.maximum(values, 0.0)) if self.squared else values

    @cached_property
    def _halves(self) -> Floats:
        return np.diff(self.breaks) / 2

    def _locate(self, heights: Floats) -> tuple[npt.NDArray[np.intp], Floats]:
        """Piece and t of each height, heights beyond an end taken to that end."""
        inside = np.clip(heights, self.breaks[0], self.breaks[-1])
        piece = np.clip(np.searchsorted(self.breaks, inside, side="right") - 1, 0, len(self.breaks) - 2)
        return piece, (inside - self.breaks[piece]) / self._halves[piece] - 1.0

    def radius(self, heights: Floats) -> Floats:
        """Radius at each height, mm."""
        piece, t = self._locate(heights)
        return self._rooted(evaluate(self.coefficients[:, piece], t))

    def slope(self, heights: Floats) -> Floats:
        """dr/dz at each height (at a corner, that of the piece above); infinite where a round end meets the axis."""
        run, rise = self.bearing(*self._locate(heights))
        with np.errstate(divide="ignore"):
            return run / rise

    def bearing(self, piece: npt.NDArray[np.intp], t: Floats) -> tuple[Floats, Floats]:
        """The curve's direction as (run, rise): dr/dz is run / rise, infinite where a round end meets the axis."""
        gradient = evaluate(derivative(self.coefficients)[:, piece], t) / self._halves[piece]
        if self.squared:
            return gradient / 2, self._rooted(evaluate(self.coefficients[:, piece], t))
        return gradient, np.ones_like(gradient)

    def end_bearings(self) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:
        """Direction at the lower and at the upper end of every piece, (K,) each."""
        pieces = np.arange(len(self.breaks) - 1)
        ends = np.ones(len(pieces))
        return self.bearing(pieces, -ends), self.bearing(pieces, ends)

    def largest(self, lower: Floats, upper: Floats) -> Floats:
        """Largest radius over each span [lower, upper], mm."""
        return self._extreme(lower, upper, np.maximum, -np.inf)

    def smallest(self, lower: Floats, upper: Floats) -> Floats:
        """Smallest radius over each span [lower, upper], mm."""
        return self._extreme(lower, upper, np.minimum, np.inf)

    def _extreme(self, lower: Floats, upper: Floats, pick: np.ufunc, nothing: float) -> Floats:
        within = (self.breaks > lower[:, None]) & (self.breaks < upper[:, None])
        at_breaks = pick.reduce(np.where(within, self.at_breaks, nothing), axis=1)
        ends: Floats = pick(self.radius(lower), self.radius(upper))
        result: Floats = pick(ends, at_breaks)
        return result

    def square_integral(self, lower: Floats, upper: Floats) -> Floats:
        """Integral of r^2 dz over each span, within the curve's own heights, mm3.

        Exact: r is a polynomial in each piece, so r^2 has a polynomial antiderivative.
        """
        return self._square_up_to(upper) - self._square_up_to(lower)

    def capped_square_integral(self, lower: float, upper: float, *, cap: float) -> float:
        """Integral of min(r, cap)^2 dz over the span's part within the curve's own heights, mm3.

        Pieces are monotone, so each crosses the cap once at most: there it is divided, found by bisection.
        """
        lower, upper = max(lower, self.bottom), min(upper, self.top)
        if upper <= lower:
            return 0.0
        within = self.breaks[(self.breaks > lower) & (self.breaks < upper)]
        edges = np.concatenate([[lower], within, [upper]])
        over = self.radius(edges) > cap
        crossings = [
            self._height_of(cap, float(edges[i]), float(edges[i + 1]))
            for i in np.flatnonzero(over[1:] != over[:-1])
        ]
        edges = np.sort(np.append(edges, crossings))
        start, end = edges[:-1], edges[1:]
        capped = self.radius((start + end) / 2) > cap
        return float(np.where(capped, cap**2 * (end - start), self.square_integral(start, end)).sum())

    def _height_of(self, radius: float, lower: float, upper: float) -> float:
        """Where a monotone stretch of the curve has that radius."""
        rising = float(self.radius(np.array([upper]))[0]) > radius
        for _ in range(60):
            middle = (lower + upper) / 2
            if (float(self.radius(np.array([middle]))[0]) > radius) == rising:
                upper = middle
            else:
                lower = middle
        return (lower + upper) / 2

    def _square_up_to(self, heights: Floats) -> Floats:
        piece, t = self._locate(heights)
        antiderivative, before = self._square_antiderivative
        return before[piece] + self._halves[piece] * evaluate(antiderivative[:, piece], t)

    @cached_property
    def _square_antiderivative(self) -> tuple[Floats, Floats]:
        square = self.coefficients if self.squared else _square(self.coefficients)
        powers = np.arange(1, len(square) + 1)
        antiderivative = np.vstack([np.zeros(square.shape[1]), square / powers[:, None]])
        antiderivative[0] = -(antiderivative.T @ (-1.0) ** np.arange(len(antiderivative)))
        whole = self._halves * antiderivative.sum(axis=0)
        return antiderivative, np.concatenate([[0.0], np.cumsum(whole)[:-1]])

    def surface(self) -> float:
        """Area swept by the curve round the axis, without its ends, mm2.

        Straight pieces are frustums, exact: pi (r0 + r1) slant (Pappus). Others by Gauss-Legendre quadrature of
        2 pi r sqrt(1 + r'^2), 16 nodes on each part of a piece, the parts narrow near its ends, where a steep piece
        levels out.
        """
        if self.is_straight:
            rise, run = np.diff(self.breaks), np.diff(self.at_breaks)
            return float(pi * np.sum((self.at_breaks[:-1] + self.at_breaks[1:]) * np.hypot(rise, run)))
        parts = self.breaks[:-1, None] + np.diff(self.breaks)[:, None] * _PARTS
        lower, half = parts[:, :-1, None], np.diff(parts, axis=1)[:, :, None] / 2
        heights = (lower + half * (_NODES + 1)).ravel()
        run, rise = self.bearing(*self._locate(heights))
        # r sqrt(1 + r'^2); where r^2 is what is known, r times run over rise keeps it finite at a round end.
        integrand = np.hypot(run, rise) * (1.0 if self.squared else self.radius(heights))
        weights = (half * _WEIGHTS).ravel()
        return float(2 * pi * np.sum(integrand * weights))


def evaluate(coefficients: Floats, t: Floats) -> Floats:
    """Polynomials, lowest power first along the first axis, each at its t."""
    value = np.array(coefficients[-1])
    for row in coefficients[-2::-1]:
        value = value * t + row
    return value


def derivative(coefficients: Floats) -> Floats:
    """Coefficients of the derivative by t."""
    if len(coefficients) == 1:
        return np.zeros_like(coefficients)
    return coefficients[1:] * np.arange(1, len(coefficients))[:, None]


def _square(coefficients: Floats) -> Floats:
    degree = len(coefficients) - 1
    square = np.zeros((2 * degree + 1, coefficients.shape[1]))
    for power, row in enumerate(coefficients):
        square[power : power + degree + 1] += row * coefficients
    return square


def straight_curve(heights: Floats, radii: Floats) -> Curve:
    """The polyline through the points."""
    return Curve(heights, np.array([(radii[:-1] + radii[1:]) / 2, np.diff(radii) / 2]))


def smooth_curve(heights: Floats, radii: Floats) -> Curve:
    """The monotone cubic through the points: it never overshoots them.

    Source: Fritsch & Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304, with the three-point end slopes that
    scipy's PchipInterpolator uses; written out because importing scipy costs a third of a second at every start.
    """
    return Curve(heights, _cubic_pieces(heights, radii))


def mixed_curve(heights: Floats, radii: Floats, corners: npt.NDArray[np.bool_]) -> Curve:
    """The monotone cubic through the points, broken at corners: each run between two of them is a curve of its own.

    Shapes: (n,) each. What `corners` says of the first and the last point changes nothing. A run of two points is
    straight, so two corners in a row stand at the ends of a straight line; where every run is, the curve is the
    polyline itself. Source of each run: see `smooth_curve`.
    """
    inner = 1 + np.flatnonzero(corners[1:-1])
    if len(inner) == len(heights) - 2:
        return straight_curve(heights, radii)
    ends = [0, *inner.tolist(), len(heights) - 1]
    runs = [_cubic_pieces(heights[a : b + 1], radii[a : b + 1]) for a, b in pairwise(ends)]
    return Curve(heights, np.concatenate(runs, axis=1))


def _cubic_pieces(heights: Floats, radii: Floats) -> Floats:
    """Coefficients (4, n - 1) of one smooth run."""
    steps = np.diff(heights)
    slopes = _monotone_slopes(steps, np.diff(radii) / steps) * 1.0
    lower, upper = slopes[:-1] * steps / 2, slopes[1:] * steps / 2
    mean, half = (radii[:-1] + radii[1:]) / 2, np.diff(radii) / 2
    # Hermite cubic on t in [-1, 1] from its end values and end slopes.
    return np.array(
        [
            mean + (lower - upper) / 4,
            (6 * half - lower - upper) / 4,
            (upper - lower) / 4,
            (lower + upper - 2 * half) / 4,
        ]
    )


def _monotone_slopes(steps: Floats, chords: Floats) -> Floats:
    if len(steps) == 1:
        return np.array([chords[0], chords[0]])
    first, second = 2 * steps[1:] + steps[:-1], steps[1:] + 2 * steps[:-1]
    same_way = chords[:-1] * chords[1:] > 0
    safe = np.where(same_way, chords[:-1], 1.0), np.where(same_way, chords[1:], 1.0)
    inner = np.where(same_way, (first + second) / (first / safe[0] + second / safe[1]), 0.0)
    start = _end_slope(steps[0], steps[1], chords[0], chords[1])
    end = _end_slope(steps[-1], steps[-2], chords[-1], chords[-2])
    return np.concatenate([[start], inner, [end]])


def _end_slope(near: float, next_: float, near_chord: float, next_chord: float) -> float:
    slope = ((2 * near + next_) * near_chord - near * next_chord) / (near + next_)
    if np.sign(slope) != np.sign(near_chord):
        return 0.0
    if np.sign(near_chord) != np.sign(next_chord) and abs(slope) > 3 * abs(near_chord):
        return 3 * near_chord
    return float(slope)
