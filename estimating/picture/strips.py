"""The strips of laminated segments as drawings show them: on the turned surface, and from above."""

from collections.abc import Iterator
from itertools import pairwise
from math import ceil, pi, sin, tan

import numpy as np
import numpy.typing as npt

from estimating.picture.subject import Subject
from estimating.picture.svg import outline
from estimating.piece import Laminate
from estimating.shape.clipping import Polygon
from estimating.shape.curves import Floats
from estimating.shape.laminates import segment_faces
from estimating.shape.rings import Ring

_CHORD = 1.5
"""Edges longer than this, mm, are divided: the turned surface is round, and what is straight on a flat face is not."""

_SLIVER = 1e-6

_ROWS = 41
"""Heights at which a strip in the section is measured."""


def faces_of(laminate: Laminate, ring: Ring, place: int) -> tuple[tuple[str, Polygon], ...]:
    """Wood and polygon of each strip of the segment at a place of the ring: x along it, y from the ring's bottom."""
    return segment_faces(
        laminate,
        length=2 * ring.outer_apothem * tan(ring.half_angle),
        height=ring.height,
        mirrored=laminate.is_mirrored(place),
    )


def height_in_ring(subject: Subject, layer: int) -> float:
    """How far above the ring's bottom, as glued, the bottom of a layer is, mm.

    What is flattened comes off both faces alike; of a sliced ring each slice costs its kerf and sanding.
    """
    ring, shop = subject.ring(layer), subject.shop
    if ring.made != "sliced":
        return (ring.height - float(subject.stack.thickness[layer])) / 2
    each = float(subject.stack.thickness[layer]) + shop.slice_sanding + shop.slice_kerf
    return shop.flatten + sorted(ring.layers).index(subject.first_layer + layer + 1) * each


def strips_seen(subject: Subject, layer: int, window: tuple[float, float]) -> Iterator[tuple[str, str]]:
    """Wood and path data of every strip of a layer's laminated segments that the window shows.

    A strip runs square through its segment, so that the turned surface, at radius r and an angle t from the
    segment's middle, shows what the face shows at r sin(t).
    """
    ring, angle = subject.ring(layer), float(subject.stack.angle[layer])
    pitch, foot = 2 * pi / ring.segments, float(subject.stack.bottom[layer]) - height_in_ring(subject, layer)
    laid: dict[tuple[str, bool], list[tuple[str, Floats, Floats]]] = {}
    for place, wood in enumerate(ring.pattern):
        laminate = subject.laminates.get(wood)
        middle = (angle + place * pitch + pi) % (2 * pi) - pi
        if laminate is None:
            continue
        if middle - ring.half_angle >= window[1] or middle + ring.half_angle <= window[0]:
            continue
        key = (wood, place % 2 == 1)
        if key not in laid:
            faces = faces_of(laminate, ring, place)
            laid[key] = [(of, *_turned(subject, layer, polygon, foot)) for of, polygon in faces]
        for of, angles, heights in laid[key]:
            at = np.clip(middle + angles, *window)
            if np.ptp(at) < _SLIVER or np.ptp(heights) < _SLIVER:
                continue
            across = subject_radius(subject, heights) * np.sin(at)
            yield of, outline(across.tolist(), (subject.zero - heights).tolist())


def strips_cut(
    subject: Subject, layer: int, *, place: int, turn: float
) -> Iterator[tuple[str, Floats, Floats, Floats]]:
    """Wood, heights, and the radii from and to which each strip is met by a plane through the axis.

    The plane stands `turn` from the segment's middle, anticlockwise, and meets at radius r what the face shows at
    r sin(turn). A strip is convex, so that at each height it is met once.
    """
    ring = subject.ring(layer)
    foot = float(subject.stack.bottom[layer]) - height_in_ring(subject, layer)
    lower, upper = float(subject.lower[layer]), float(subject.upper[layer])
    for wood, polygon in faces_of(subject.laminates[ring.pattern[place]], ring, place):
        corners = [y + foot for _, y in polygon]
        start, end = max(min(corners), lower), min(max(corners), upper)
        if end - start < _SLIVER:
            continue
        inside = [y for y in corners if start < y < end]
        heights = np.unique(np.concatenate([np.linspace(start, end, _ROWS), inside]))
        out, inner = subject_radius(subject, heights), subject.form.inner_radius(heights)
        inner = np.minimum(np.maximum(inner, subject.bore_radius(layer)), out)
        ends = np.array([_width_at(polygon, y - foot) for y in heights.tolist()])
        if abs(sin(turn)) < _SLIVER:
            met = (ends[:, 0] <= 0) & (ends[:, 1] > 0)
            near, far = inner, np.where(met, out, inner)
        else:
            radii = np.sort(ends / sin(turn), axis=1)
            near, far = np.clip(radii[:, 0], inner, out), np.clip(radii[:, 1], inner, out)
        if np.any(far - near > _SLIVER):
            yield wood, heights, near, far


def _width_at(polygon: Polygon, y: float) -> tuple[float, float]:
    """From which x to which a convex polygon reaches at a height, held within it."""
    xs = []
    for (x, v), (u, w) in pairwise((*polygon, polygon[0])):
        if min(v, w) - _SLIVER <= y <= max(v, w) + _SLIVER:
            share = min(max((y - v) / (w - v), 0.0), 1.0) if abs(w - v) > _SLIVER else 0.0
            xs += [x + share * (u - x)] if abs(w - v) > _SLIVER else [x, u]
    return min(xs), max(xs)


def subject_radius(subject: Subject, heights: Floats) -> Floats:
    """Outer radius by height, as the drawing's polyline has it."""
    line, radii = subject.outer
    return np.interp(heights, line, radii)


def _turned(subject: Subject, layer: int, polygon: Polygon, foot: float) -> tuple[Floats, Floats]:
    """Angles from the segment's middle and heights of points round a strip, held within segment and layer."""
    xs, ys = _divided(np.array(polygon))
    heights = np.clip(ys + foot, subject.lower[layer], subject.upper[layer])
    radii = np.maximum(subject_radius(subject, heights), _SLIVER)
    half = subject.ring(layer).half_angle
    angles = np.clip(np.arcsin(np.clip(xs / radii, -1.0, 1.0)), -half, half)
    return angles, heights


def _divided(corners: Floats) -> tuple[Floats, Floats]:
    """Points along the edges of a polygon, no farther apart than a chord."""
    after: npt.NDArray[np.float64] = np.roll(corners, -1, axis=0)
    points = []
    for start, end in zip(corners, after, strict=True):
        parts = max(ceil(float(np.hypot(*(end - start))) / _CHORD), 1)
        points.append(start + np.outer(np.arange(parts) / parts, end - start))
    found = np.concatenate(points)
    return found[:, 0], found[:, 1]


def strips_above(laminate: Laminate, ring: Ring, place: int) -> Iterator[tuple[str, float, float]]:
    """Wood, and from where to where along the segment, of each strip on the ring's upper face."""
    for wood, polygon in faces_of(laminate, ring, place):
        top = [x for x, y in polygon if y > ring.height - _SLIVER]
        if len(top) > 1 and max(top) - min(top) > _SLIVER:
            yield wood, min(top), max(top)
