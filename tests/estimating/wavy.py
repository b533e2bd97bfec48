"""Bands of many layers, made up: waves, vases, bowls that flare, walls that wander. The same ones at every run."""

import numpy as np

from estimating.shape.blanks import RingHeight
from estimating.shape.curves import Floats

HEIGHT = RingHeight(base=8.5, each=4.2, most=7)
"""Layers of 2.5 mm, 0.5 mm to sand and 1.2 mm of kerf each; 8 mm held and 0.5 mm trued."""


def made_up_band(*, layers: int, seed: int) -> tuple[Floats, Floats]:
    """Outer and inner radii to cover, mm, (layers,)."""
    draw = np.random.default_rng((layers, seed))
    up = np.linspace(0, 1, layers)
    kind = seed % 4
    if kind == 0:  # a vase
        outer = 70 + 25 * np.sin(2 * np.pi * up * draw.uniform(0.5, 2.5) + draw.uniform(0, 6))
    elif kind == 1:  # ripples on a cone, each layer a little off
        outer = 60 + 30 * up * draw.uniform(-1, 1) + 15 * np.sin(2 * np.pi * up * draw.uniform(1, 5))
        outer += draw.normal(0, 0.3, layers)
    elif kind == 2:  # a wall that wanders
        outer = 70 + np.cumsum(draw.uniform(-3, 3.5, layers)) * (20 / layers) ** 0.5
    else:  # a bowl that flares
        outer = 40 + 50 * up ** draw.uniform(0.4, 1.6)
    wall = draw.uniform(11, 18) + 2 * np.sin(2 * np.pi * up * draw.uniform(0, 3))
    return outer, outer - wall
