"""What the tests of profiles share: curves through points as lines that shapely can measure."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely

from estimating.shape.curves import CurvePoint, mixed_curve

TOLERANCE = 0.05
"""What a profile may lie off the line that was drawn, mm, as the reader says."""


def curve_of(points: Sequence[CurvePoint]) -> shapely.LineString:
    """The curve through the points, x the radius and y the height, in steps far finer than the tolerance."""
    heights, radii, corners = (np.array(values) for values in zip(*points, strict=True))
    curve = mixed_curve(heights, radii, corners.astype(bool))
    along = np.unique(np.concatenate([np.linspace(a, b, 200) for a, b in pairwise(heights)]))
    return shapely.LineString(np.column_stack([curve.radius(along), along]))


def apart(points: Sequence[CurvePoint], drawn: Sequence[tuple[float, float]]) -> float:
    """The Hausdorff distance between the curve through the points and a drawn line of (radius, height), mm."""
    return float(shapely.hausdorff_distance(curve_of(points), shapely.LineString(drawn)))


def plain(points: Sequence[CurvePoint]) -> list[tuple[float, float, bool]]:
    """The points to a millionth of a mm."""
    return [(round(h, 6) + 0.0, round(r, 6) + 0.0, corner) for h, r, corner in points]
