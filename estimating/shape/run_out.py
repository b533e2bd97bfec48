"""How much wood a blank needs beyond the form, since layers are glued a little off the axis and off their height."""

from dataclasses import dataclass
from math import radians

import numpy as np

from estimating.piece import ShopSettings
from estimating.shape.build import Shape
from estimating.shape.curves import Floats
from estimating.shape.rings import Ring, is_halved

DRIFT_A_LAYER = 0.02
"""mm of height that each further layer may be off, on top of the shop's own tolerance; common practice, no source."""

MITER_ERROR = radians(0.02)
"""Error of the saw's angle at each cut, after a test ring; common practice, no source."""

FLOOR_SLOPE = 2.0
"""Where the inside falls flatter than this (radius over height) it is floor: drift makes that thinner, not the wall."""


@dataclass(frozen=True)
class Coverage:
    """Wood beyond the finished form in each layer's blank, and what run-out needs of it, mm, (n,) each.

    Level, outside and inside; `inside` is infinite where there is no hollow to miss.
    """

    outside: Floats
    inside: Floats
    outside_need: Floats
    inside_need: Floats


def closing_loss(ring: Ring, *, shop: ShopSettings) -> float:
    """Radius lost where a ring is glued in halves and these are trued to meet, mm.

    Each end loses what brings it on the plane, and at the corner a half turn's share of the saw's error besides:
    of n segments each has two ends that are off by e, so the halves are off by n e together, n e / 2 an end.
    What is closed all at once loses nothing.
    """
    if not is_halved(ring, joining=shop.ring_joining):
        return 0.0
    return shop.half_true + ring.corner_radius * ring.segments * MITER_ERROR / 2


def height_drift(shape: Shape, shop: ShopSettings) -> Floats:
    """How far off its height each layer may stand, mm, (n,): the shop's tolerance, and more with every layer."""
    drift: Floats = shop.height_tolerance + DRIFT_A_LAYER * np.arange(1.0, len(shape.stack) + 1)
    return drift


def coverage(shape: Shape, *, shop: ShopSettings) -> Coverage:
    """How the blank of every layer covers the form, as the rings themselves say.

    Where staves lean both faces of the ring and the heights between are compared; elsewhere the extremes of the curves
    over the layer. Only the part of a layer within the form counts.
    The need: the layer off the axis, its height off by the drift (exactly: the form's reach over the span made longer
    by it), and outside the radius lost in closing half rings, which the inside gains.
    """
    form, stack = shape.form, shape.stack
    outer, inner = _flats(shape, shop)
    lower, upper = np.maximum(stack.bottom, form.bottom), np.minimum(stack.top, form.top)
    within = upper - lower > 1e-6
    lower, upper = np.where(within, lower, form.bottom), np.where(within, upper, form.bottom)
    drift = height_drift(shape, shop)
    reached, hollow = form.outer_cover(lower, upper), form.inner_cover(lower, upper)
    outside = np.where(within, outer - reached, np.inf)
    inside = np.where(within & (inner > 0), hollow - inner, np.inf)
    loss = np.array([closing_loss(ring, shop=shop) for ring in shape.rings])[np.array(shape.ring_of)]
    off = shop.centring_error
    further = form.outer_cover(lower - drift, upper + drift) - reached
    return Coverage(
        outside=_with_leaning(shape, shop, outside, outer_side=True),
        inside=_with_leaning(shape, shop, inside, outer_side=False),
        outside_need=np.where(within, off + further + loss, 0.0),
        inside_need=np.where(within, off + _nearer(shape, lower, upper, drift), 0.0),
    )


def _flats(shape: Shape, shop: ShopSettings) -> tuple[Floats, Floats]:
    """Apothem outside and radius of the corners inside of each layer's ring, (n,); 0 inside where a plug fills it."""
    ring_of = np.array(shape.ring_of)
    outer = np.array([min(ring.face()[0], ring.face(top=True)[0]) for ring in shape.rings])[ring_of]
    inner = np.array([inner_corner(ring) for ring in shape.rings])[ring_of]
    plugged = np.array([shape.plug_wood(index) is not None for index in range(len(shape.stack))])
    return outer, np.where(plugged, 0.0, inner)


def inner_corner(ring: Ring) -> float:
    """Radius outside which the ring is wood all round, mm: the circle through its inner corners, or a disc's hole."""
    if ring.is_disc:
        return ring.bore / 2
    widest = max(ring.face()[1], ring.face(top=True)[1])
    return widest / float(np.cos(ring.half_angle))


def _nearer(shape: Shape, lower: Floats, upper: Floats, drift: Floats) -> Floats:
    """How much nearer to the axis the hollow's wall comes where a layer is off its height, mm, (n,)."""
    inner = shape.form.inner
    if inner is None:
        return np.zeros_like(lower)
    lower, upper = np.maximum(lower, inner.bottom), np.maximum(upper, inner.bottom)
    here = inner.smallest(lower, upper)
    nearer = here - inner.smallest(np.maximum(lower - drift, inner.bottom), upper + drift)
    return np.where(nearer > FLOOR_SLOPE * drift, 0.0, nearer)


def _with_leaning(shape: Shape, shop: ShopSettings, margin: Floats, *, outer_side: bool) -> Floats:
    """The margins with those of leaning staves measured along their slope."""
    margin = margin.copy()
    for index, ring_index in enumerate(shape.ring_of):
        lean = shape.rings[ring_index].lean
        if lean is None or not np.isfinite(margin[index]):
            continue
        bottom, top = float(shape.stack.bottom[index]), float(shape.stack.top[index])
        bottom, top = max(bottom, shape.form.bottom), min(top, shape.form.top)
        curves = [shape.form.outer.breaks, *([shape.form.inner.breaks] if shape.form.inner else [])]
        heights = np.unique(np.concatenate([np.linspace(bottom, top, 65), *curves]))
        heights = heights[(heights >= bottom) & (heights <= top)]
        z = heights - float(shape.stack.bottom[index]) + shop.flatten
        outer = lean.bottom + z * np.tan(lean.flare)
        if outer_side:
            margin[index] = float((outer - shape.form.outer.radius(heights)).min())
        else:
            corner = (outer - lean.wall) / np.cos(lean.half_angle)
            margin[index] = float((shape.form.inner_radius(heights) - corner).min())
    return margin
