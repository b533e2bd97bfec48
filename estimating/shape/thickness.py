"""How thick the wall of a finished form is, at its glue lines and at its lip."""

from collections.abc import Callable

import numpy as np

from estimating.shape.curves import SAME_HEIGHT, Floats
from estimating.shape.forms import Form

_LOOKS = np.linspace(-1.0, 1.0, 65)
_CLOSER = np.linspace(-1.0, 1.0, 17)
_ROUNDS = 4
_AT_ONCE = 1000


def wall_thickness(form: Form, heights: Floats) -> Floats:
    """Thickness of the wall at each height, (n,), mm: the shortest way through it from the outside or the inside.

    Infinite where there is no wall: below the hollow, or beyond the form. A point of the other side nearer than the
    level thickness lies within that much above or below. There it is looked for in 64 steps, then four times closer
    about the best, each time in steps an eighth as long.
    """
    thickness = np.full(len(heights), np.inf)
    if form.inner is None:
        return thickness
    lowest = form.inner.bottom
    walled = np.flatnonzero((heights >= lowest - SAME_HEIGHT) & (heights <= form.top + SAME_HEIGHT))
    for start in range(0, len(walled), _AT_ONCE):
        here = walled[start : start + _AT_ONCE]
        at = heights[here]
        outer, inner = form.outer.radius(at), form.inner.radius(at)
        ways = (
            _shortest(at, outer, form.inner.radius, reach=outer - inner, low=lowest, high=form.top),
            _shortest(at, inner, form.outer.radius, reach=outer - inner, low=form.bottom, high=form.top),
        )
        thickness[here] = np.minimum(*ways)
    return thickness


def _shortest(
    heights: Floats,
    radii: Floats,
    other: Callable[[Floats], Floats],
    *,
    reach: Floats,
    low: float,
    high: float,
) -> Floats:
    """From each point (height, radius) the distance to the other side, a radius over heights from low to high."""
    rows = np.arange(len(heights))
    middle, step, best = heights, reach, reach
    for looks in (_LOOKS, *(_CLOSER for _ in range(_ROUNDS))):
        tried = np.clip(middle[:, None] + step[:, None] * looks, low, high)
        ways = np.hypot(tried - heights[:, None], other(tried) - radii[:, None])
        at = np.argmin(ways, axis=1)
        middle, best = tried[rows, at], np.minimum(best, ways[rows, at])
        step = step * (looks[1] - looks[0])
    return best


def level_thickness(form: Form, height: float) -> float:
    """Thickness of the wall at a height, measured level, mm."""
    at = np.array([height])
    return float((form.outer.radius(at) - form.inner_radius(at))[0])
