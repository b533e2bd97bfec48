"""The inside of a piece whose wall has one thickness, measured square to the outer curve."""

from functools import cached_property

import numpy as np
import numpy.typing as npt

from estimating.shape.curves import Curve, Floats, derivative, evaluate

_DEGREE = 7
_FIT = np.cos(np.pi * (np.arange(_DEGREE + 1) + 0.5) / (_DEGREE + 1))[::-1]
_CHECK = np.array([-1.0, -0.41, 0.13, 0.71, 1.0])
_TO_COEFFICIENTS = np.linalg.inv(np.vander(_FIT, increasing=True))
_SAMPLES_A_PIECE = 17
_FEET = 3
_MOST_COMPARED = 2_000_000
_SAME_WAY = 1e-9
"""Sine of the angle between two directions that are one: rounding, not a corner."""


def wall_curve(outer: Curve, *, wall: float, opening: float) -> Curve:
    """Radius of the inside from the height `opening` to the rim, mm.

    r_i(z) = max(0, min over z' of r_o(z') - sqrt(wall^2 - (z - z')^2)), |z - z'| <= wall: the wall is as thick as
    a ball of radius `wall` rolled along the outside needs it. The outer curve goes straight on past both ends, so
    the rim keeps its full opening.
    The result is piecewise polynomial to 1e-10 of the largest radius, halved where it is not yet that near.
    """
    envelope = _Envelope(outer, wall)
    edges = _likely_kinks(outer, wall, opening)
    edges = _with_roots(envelope, edges)
    scale = float(np.max(outer.at_breaks)) ** (2 if outer.squared else 1)
    done: list[tuple[Floats, Floats, Floats]] = []
    lower, upper = edges[:-1], edges[1:]
    while len(lower):
        coefficients, error = _fit(envelope, lower, upper)
        width = (upper - lower) / (outer.top - outer.bottom)
        accepted = (error <= 1e-10 * scale) | (error * width <= 1e-12 * scale) | (width <= 1e-6)
        done.append((lower[accepted], upper[accepted], coefficients[:, accepted]))
        lower, upper = lower[~accepted], upper[~accepted]
        middle = (lower + upper) / 2
        lower, upper = np.concatenate([lower, middle]), np.concatenate([middle, upper])
    order = np.argsort(np.concatenate([part[0] for part in done]))
    breaks = np.append(np.concatenate([part[0] for part in done])[order], outer.top)
    return Curve(breaks, np.concatenate([part[2] for part in done], axis=1)[:, order], outer.squared)


class _Envelope:
    """The lower envelope of the circles of radius `wall` whose centres lie on the outer curve."""

    def __init__(self, outer: Curve, wall: float) -> None:
        self.wall = wall
        self.outer = _going_straight_on(outer, wall)
        self._straight = outer.is_straight
        self._points = _points_by_themselves(self.outer)
        self._halves = np.diff(self.outer.breaks) / 2
        self._middles = (self.outer.breaks[:-1] + self.outer.breaks[1:]) / 2
        self._slopes = np.diff(self.outer.at_breaks) / np.diff(self.outer.breaks)

    def values(self, heights: Floats) -> Floats:
        """What the inside's polynomials give: its radius, or the square of it as for the outer curve."""
        radius = np.maximum(self.signed(heights), 0.0)
        return radius**2 if self.outer.squared else radius

    def signed(self, heights: Floats) -> Floats:
        """The envelope before it is cut off at the axis."""
        if self._straight:
            return self._from_lines(heights)
        # A few heights at a time: against every piece of the curve, all at once would fill a gigabyte.
        at_once = max(1, _MOST_COMPARED // (_SAMPLES_A_PIECE * len(self._middles)))
        parts = [self._from_feet(heights[at : at + at_once]) for at in range(0, len(heights), at_once)]
        return np.concatenate(parts) if parts else np.zeros(0)

    def _from_lines(self, heights: Floats) -> Floats:
        """Exact: over a straight piece the lowest circle is the one square to it, or the one at its nearer end."""
        breaks, slopes, wall = self.outer.breaks, self._slopes, self.wall
        square = heights[:, None] - wall * slopes / np.sqrt(1 + slopes**2)
        centre = np.clip(square, breaks[:-1], breaks[1:])
        reach = wall**2 - (centre - heights[:, None]) ** 2
        low = self.outer.at_breaks[:-1] + slopes * (centre - breaks[:-1]) - np.sqrt(np.maximum(reach, 0.0))
        lowest: Floats = np.where(reach >= 0, low, np.inf).min(axis=1)
        return lowest

    def _from_feet(self, heights: Floats) -> Floats:
        """The lowest foot of a normal: where the curve is smooth, every lowest circle touches it squarely."""
        feet_z, feet_r, samples = self._feet
        beyond = feet_z > heights[:, None, None]
        crossed = beyond[:, :, 1:] != beyond[:, :, :-1]
        low = np.where(crossed, np.minimum(feet_r[:, 1:], feet_r[:, :-1]), np.inf).reshape(len(heights), -1)
        best = np.argsort(low, axis=1, kind="stable")[:, :_FEET]
        piece, part = np.divmod(best, feet_z.shape[1] - 1)
        rises = np.take_along_axis(beyond.reshape(len(heights), -1), best + piece + 1, axis=1)
        t = self._touching(heights[:, None], piece, samples[part], samples[part + 1], rises)
        found = self._foot(piece, t)[1]
        reached = np.isfinite(np.take_along_axis(low, best, axis=1))
        lowest: Floats = np.where(reached, found, np.inf).min(axis=1)
        return np.minimum(lowest, self._round_points(heights))

    def _round_points(self, heights: Floats) -> Floats:
        """The circles round corners, and round ends that nothing goes on past: no normal reaches all of these."""
        lowest = np.full_like(heights, np.inf)
        for height, radius in self._points:
            reach = self.wall**2 - (heights - height) ** 2
            low = radius - np.sqrt(np.maximum(reach, 0.0))
            lowest = np.where(reach >= 0, np.minimum(lowest, low), lowest)
        return lowest

    @cached_property
    def _feet(self) -> tuple[Floats, Floats, Floats]:
        """Heights and radii, (K, samples) each, of points one wall inside the curve, and the t they stand at."""
        samples = np.linspace(-1.0, 1.0, _SAMPLES_A_PIECE)
        pieces = np.arange(len(self.outer.breaks) - 1)[:, None]
        feet_z, feet_r = self._foot(pieces, samples)
        return feet_z, feet_r, samples

    def _foot(self, piece: npt.NDArray[np.intp], t: Floats) -> tuple[Floats, Floats]:
        """Height and radius of the point one wall inside the curve, square to it at t of the piece."""
        run, rise = self.outer.bearing(piece, t)
        length = np.hypot(run, rise)
        value = evaluate(self.outer.coefficients[:, piece], t)
        radius = np.sqrt(np.maximum(value, 0.0)) if self.outer.squared else value
        height = self._middles[piece] + self._halves[piece] * t
        return height + self.wall * run / length, radius - self.wall * rise / length

    def _touching(
        self,
        heights: Floats,
        piece: npt.NDArray[np.intp],
        start: Floats,
        end: Floats,
        rises: npt.NDArray[np.bool_],
    ) -> Floats:
        """Where in each piece, between t = start and end, the foot stands at the height: Newton, kept in bounds."""
        middle, half = self._middles[piece], self._halves[piece]
        t = (start + end) / 2
        for _ in range(50):
            run, rise = self.outer.bearing(piece, t)
            length = np.hypot(run, rise)
            error = middle + half * t + self.wall * run / length - heights
            over = (error > 0) == rises
            start, end = np.where(over, start, t), np.where(over, t, end)
            rate = half * (1 + self.wall * self._turning(piece, t, run, rise) / length**3)
            step = t - np.divide(error, rate, out=np.full_like(error, 9.0), where=rate != 0)
            step = np.where((step >= start) & (step <= end), step, (start + end) / 2)
            moved = float(np.max(np.abs(step - t), initial=0.0))
            t = step
            if moved <= 1e-12:
                break
        return t

    def _turning(self, piece: npt.NDArray[np.intp], t: Floats, run: Floats, rise: Floats) -> Floats:
        """How fast the direction turns with height: rise d(run) - run d(rise), times rise."""
        bend = evaluate(self._bends[:, piece], t) / self._halves[piece] ** 2
        return rise**2 * bend / 2 - run**2 if self.outer.squared else bend

    @cached_property
    def _bends(self) -> Floats:
        """Second derivative of the pieces by t."""
        return derivative(derivative(self.outer.coefficients))


def _points_by_themselves(outer: Curve) -> list[tuple[float, float]]:
    """Height and radius of the curve's corners, and of round ends, past which nothing goes on."""
    (lower_run, lower_rise), (upper_run, upper_rise) = outer.end_bearings()
    turn = upper_run[:-1] * lower_rise[1:] - lower_run[1:] * upper_rise[:-1]
    both = np.hypot(upper_run[:-1], upper_rise[:-1]) * np.hypot(lower_run[1:], lower_rise[1:])
    at = [1 + int(corner) for corner in np.flatnonzero(np.abs(turn) > _SAME_WAY * both)]
    at += [end for end, rise in ((0, lower_rise[0]), (len(outer.breaks) - 1, upper_rise[-1])) if not rise]
    return [(float(outer.breaks[place]), float(outer.at_breaks[place])) for place in at]


def _going_straight_on(outer: Curve, wall: float) -> Curve:
    """The curve with a straight piece as long as the wall is thick at either end, so that the ends have neighbours.

    A round end that meets the axis squarely has none: the wall there is measured to the end itself.
    """
    pieces, breaks = [outer.coefficients], [outer.breaks]
    for (run, rise), way, first in ((_end(outer, 0), -1, True), (_end(outer, -1), 1, False)):
        if not rise:
            continue
        radius = float(outer.at_breaks[0 if first else -1])
        piece = _straight_piece(radius, slope=way * run / rise, wall=wall, outward=way, outer=outer)
        pieces.insert(0 if first else len(pieces), piece)
        edge = np.array([outer.bottom - wall if first else outer.top + wall])
        breaks.insert(0 if first else len(breaks), edge)
    return Curve(np.concatenate(breaks), np.concatenate(pieces, axis=1), outer.squared)


def _end(outer: Curve, which: int) -> tuple[float, float]:
    run, rise = outer.end_bearings()[which]
    return float(run[which]), float(rise[which])


def _straight_piece(radius: float, *, slope: float, wall: float, outward: int, outer: Curve) -> Floats:
    """Coefficients (degree + 1, 1) of a line that leaves the end at `radius` and changes by `slope` outwards."""
    middle, half = radius + slope * wall / 2, outward * slope * wall / 2
    line = [middle**2, 2 * middle * half, half**2] if outer.squared else [middle, half]
    piece = np.zeros((len(outer.coefficients), 1))
    piece[: len(line), 0] = line
    return piece


def _likely_kinks(outer: Curve, wall: float, opening: float) -> Floats:
    """Heights where the inside may turn or bend: the outer curve's points, their images, and where images meet."""
    (lower_run, lower_rise), (upper_run, upper_rise) = outer.end_bearings()
    run, rise = np.concatenate([lower_run, upper_run]), np.concatenate([lower_rise, upper_rise])
    points = np.concatenate([outer.breaks[:-1], outer.breaks[1:]])
    images = points + wall * run / np.hypot(run, rise)
    heights = np.concatenate([outer.breaks, images, _where_neighbours_meet(outer, wall)])
    heights = np.unique(heights[(heights > opening) & (heights < outer.top)])
    return _apart(np.concatenate([[opening], heights, [outer.top]]))


def _apart(edges: Floats) -> Floats:
    """The edges without those that stand on the next one, the outermost kept as they are."""
    inner = edges[1:-1][np.diff(edges)[:-1] > 1e-9 * (edges[-1] - edges[0])]
    inner = inner[edges[-1] - inner > 1e-9 * (edges[-1] - edges[0])]
    return np.concatenate([edges[:1], inner, edges[-1:]])


def _where_neighbours_meet(outer: Curve, wall: float) -> Floats:
    """Where the offsets of two neighbouring straight pieces cross (a corner that bulges)."""
    if not outer.is_straight or len(outer.breaks) < 3:
        return np.zeros(0)
    slope = np.diff(outer.at_breaks) / np.diff(outer.breaks)
    drop = wall * np.sqrt(1 + slope**2)
    bend = np.diff(slope)
    shift = np.divide(np.diff(drop), bend, out=np.full_like(bend, np.nan), where=np.abs(bend) > 1e-12)
    meets = outer.breaks[1:-1] + shift
    return meets[np.isfinite(meets)]


def _with_roots(envelope: _Envelope, edges: Floats) -> Floats:
    """The edges with the heights added where the inside reaches the axis."""
    heights = np.unique(np.linspace(edges[:-1], edges[1:], 9).ravel())
    signed = envelope.signed(heights)
    tops = _short_hollows(envelope, heights, signed)
    if len(tops):
        heights = np.unique(np.concatenate([heights, tops]))
        signed = envelope.signed(heights)
    signs = signed > 0
    turns = np.flatnonzero(signs[:-1] != signs[1:])
    if not len(turns):
        return edges
    lower, upper, rising = heights[turns], heights[turns + 1], signs[turns + 1]
    for _ in range(50):
        middle = (lower + upper) / 2
        beyond = (envelope.signed(middle) > 0) == rising
        lower, upper = np.where(beyond, lower, middle), np.where(beyond, middle, upper)
    return _apart(np.unique(np.concatenate([edges, (lower + upper) / 2])))


def _short_hollows(envelope: _Envelope, heights: Floats, signed: Floats) -> Floats:
    """Heights between the given ones where the inside stands out of the axis and falls back before the next."""
    peaks = 1 + np.flatnonzero(
        (signed[1:-1] <= 0) & (signed[1:-1] >= signed[:-2]) & (signed[1:-1] >= signed[2:])
    )
    lower, upper, tops, highest = heights[peaks - 1], heights[peaks + 1], heights[peaks], signed[peaks]
    columns = np.arange(len(peaks))
    for _ in range(3 if len(peaks) else 0):
        comb = np.linspace(lower, upper, 17)
        values = envelope.signed(comb.ravel()).reshape(comb.shape)
        best = np.argmax(values, axis=0)
        tops, highest = comb[best, columns], values[best, columns]
        lower, upper = comb[np.maximum(best - 1, 0), columns], comb[np.minimum(best + 1, 16), columns]
    return tops[highest > 0]


def _fit(envelope: _Envelope, lower: Floats, upper: Floats) -> tuple[Floats, Floats]:
    """Polynomials over each interval, (degree + 1, K), and their largest error at the check points, (K,)."""
    middle, half = (lower + upper) / 2, (upper - lower) / 2
    at = np.concatenate([_FIT, _CHECK])
    values = envelope.values((middle + half * at[:, None]).ravel()).reshape(len(at), -1)
    coefficients = _TO_COEFFICIENTS @ values[: len(_FIT)]
    found = np.vander(_CHECK, _DEGREE + 1, increasing=True) @ coefficients
    return coefficients, np.max(np.abs(found - values[len(_FIT) :]), axis=0)
