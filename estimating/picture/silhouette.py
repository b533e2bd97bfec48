"""A form as a small silhouette, to be told from others at a glance."""

import numpy as np

from estimating.picture.svg import element, number, strip_outline
from estimating.shape.curves import Curve

STEPS = 48
SIDE = 100.0
"""Side of the square that every silhouette fits into and stands on the ground of, whatever its size."""


def silhouette(curve: Curve) -> str:
    """A profile turned about its axis and seen from the side, as SVG; `aria-hidden`, since words stand beside it.

    Shape: the form fills the square in its height or its width. Units: none, it is not to scale.

    >>> silhouette(Curve(np.array([0.0, 50.0]), np.array([[50.0]]))).count("<path")
    1
    """
    # Close together towards the ends, where a round form turns fastest.
    shares = (1 - np.cos(np.linspace(0, np.pi, STEPS))) / 2
    heights = np.union1d(curve.bottom + shares * (curve.top - curve.bottom), curve.breaks)
    radii = curve.radius(heights)
    scale = SIDE / max(curve.top - curve.bottom, 2 * float(radii.max()))
    middle, ys = SIDE / 2, SIDE - (heights - curve.bottom) * scale
    path = element("path", d=strip_outline(middle - radii * scale, middle + radii * scale, ys))
    return element("svg", path, viewBox=f"0 0 {number(SIDE)} {number(SIDE)}", aria_hidden="true")
