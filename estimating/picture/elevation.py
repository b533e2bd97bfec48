"""The piece as turned, seen from the front: every visible segment where the turned surface cuts it."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import pi, radians, sin

import numpy as np
import numpy.typing as npt

from estimating.picture.strips import strips_seen
from estimating.picture.subject import Subject
from estimating.picture.svg import element, joint_colour, joint_width, number, outline, shaded, strip_outline
from estimating.shape.curves import Floats

Window = tuple[float, float]
"""The angles looked at, radians: from and to, 0 towards the viewer."""

LEFT: Window = (-pi / 2, 0.0)
FRONT: Window = (-pi / 2, pi / 2)

_SLIVER = 1e-9
_SHADES = tuple(radians(angle) for angle in (42, 54, 64, 72, 79, 85))
_SHADE_STRENGTH = 0.045
_END_SHADE = 0.3


@dataclass(frozen=True)
class Visible:
    """The segments of one layer that the window shows, from left to right, (m,) each.

    `start` and `end` are the angles of a segment's edges within the window; `wood` its wood.
    """

    start: Floats
    end: Floats
    wood: list[str]


def visible_segments(subject: Subject, layer: int, window: Window) -> Visible:
    """The segments of a layer within a window. Segments are whole round the ring, so their edges are meridians."""
    ring, angle = subject.ring(layer), float(subject.stack.angle[layer])
    if ring.is_disc:  # it has no joint that its turning could show
        return Visible(np.array([window[0]]), np.array([window[1]]), [ring.pattern[0]])
    pitch = 2 * pi / ring.segments
    first = np.ceil((window[0] - ring.half_angle - angle) / pitch)
    last = np.floor((window[1] + ring.half_angle - angle) / pitch)
    count = np.arange(first, last + 1)
    centre = angle + count * pitch
    start = np.maximum(centre - ring.half_angle, window[0])
    end = np.minimum(centre + ring.half_angle, window[1])
    seen = end - start > _SLIVER
    places = np.mod(count[seen], ring.segments).astype(int).tolist()
    return Visible(start[seen], end[seen], [ring.pattern[place] for place in places])


def elevation(subject: Subject, *, window: Window, line: float) -> str:
    """The view as a group: one path a layer and wood, then shading, then the outline. `line` is a hairline, mm."""
    top = subject.zero
    layers = [_layer(subject, layer, window, line) for layer in subject.turned_layers]
    shades = [
        element("path", d=shade, fill="currentColor", fill_opacity=_SHADE_STRENGTH)
        for shade in _shading(subject, window)
    ]
    heights, radii = subject.outer
    ys = (top - heights).tolist()
    limbs = [
        outline((sin(angle) * radii).tolist(), ys, closed=False) for angle in window if abs(angle) > _SLIVER
    ]
    ends = [
        outline([sin(angle) * radii[end] for angle in window], [ys[end]] * 2, closed=False) for end in (0, -1)
    ]
    contour = element(
        "path",
        d="".join(limbs + ends),
        fill="none",
        stroke="currentColor",
        stroke_width=2.6 * line,
        class_="dw-outline",
    )
    glue = _glue_lines(subject, window)
    return element(
        "g",
        element("path", d=glue, fill="currentColor", fill_opacity=0.5) if glue else "",
        element("g", *layers, stroke_opacity=0.45, stroke_width=line),
        *shades,
        contour,
        class_="dw-elevation",
    )


def _layer(subject: Subject, layer: int, window: Window, line: float) -> str:
    heights, radii = subject.outer_part(float(subject.lower[layer]), float(subject.upper[layer]))
    ys = subject.zero - heights
    seen = visible_segments(subject, layer, window)
    left = np.outer(np.sin(seen.start), radii)
    right = np.outer(np.sin(seen.end), radii)
    drawn: dict[str, list[str]] = {}
    for wood, a, b in zip(seen.wood, left, right, strict=True):
        if wood in subject.laminates:
            continue
        drawn.setdefault(wood, []).append(strip_outline(a, b, ys))
    if not subject.laminates.keys().isdisjoint(seen.wood):
        for wood, strip in strips_seen(subject, layer, window):
            drawn.setdefault(wood, []).append(strip)
    paths = [
        element(
            "path",
            d="".join(parts),
            fill=subject.colour(wood),
            stroke=joint_colour(subject.colour(wood)),
        )
        for wood, parts in drawn.items()
    ]
    ends = _segment_ends(subject, layer, window) if subject.ring(layer).gap > 0 else ""
    pitch = 2 * pi * float(radii.max()) / subject.ring(layer).segments
    width = joint_width(line, spacing=min(pitch, float(subject.stack.thickness[layer])))
    finer = number(width, 4) if width < line else None
    return element("g", ends, *paths, stroke_width=finer, class_="dw-layer", **subject.marks(layer))


def _segment_ends(subject: Subject, layer: int, window: Window) -> str:
    """The ends of segments seen through the gaps beside them, as far as the next segment does not hide them."""
    heights, outer = subject.outer_part(float(subject.lower[layer]), float(subject.upper[layer]))
    inner = subject.form.inner_radius(heights)
    ys = subject.zero - heights
    drawn: dict[str, list[str]] = {}
    for wood, edge, side, next_edge in _open_ends(subject, layer, window):
        far = sin(edge) * outer
        near = np.maximum(np.minimum(sin(edge) * inner, sin(next_edge) * outer), far)
        if not np.any(near - far > _SLIVER):
            continue
        left, right = (far, near) if side > 0 else (-near, -far)
        drawn.setdefault(wood, []).append(strip_outline(left, right, ys))
    return "".join(
        element(
            "path",
            d="".join(parts),
            fill=shaded(subject.colour(wood), _END_SHADE),
            stroke="currentColor",
            class_="dw-end",
        )
        for wood, parts in drawn.items()
    )


def _open_ends(subject: Subject, layer: int, window: Window) -> Iterator[tuple[str, float, int, float]]:
    """Each end that may be seen: its wood, its angle, side, and the angle at which the next segment hides it.

    On the left half (side 1) a segment's anticlockwise end faces the viewer. The right half (side -1) is its mirror
    image, and is given as such, so that every gap is looked at as on the left.
    """
    ring, angle = subject.ring(layer), float(subject.stack.angle[layer])
    pitch = 2 * pi / ring.segments
    gap = pitch - 2 * ring.half_angle
    for place, wood in enumerate(ring.pattern):
        for side in (1,) * (window[0] < 0) + (-1,) * (window[1] > 0):
            edge = _turn(side * (angle + place * pitch) + ring.half_angle)
            if edge < 0 and edge + gap > -pi / 2:
                yield wood, edge, side, min(edge + gap, pi / 2)


def _turn(angle: float) -> float:
    """The angle within half a turn either way."""
    return (angle + pi) % (2 * pi) - pi


def _shading(subject: Subject, window: Window) -> Iterator[str]:
    """Path data of what lies beyond each shade's angle, on wood only: a tint that deepens towards the limbs."""
    runs = list(_closed_runs(subject))
    open_layers = [layer for layer in subject.turned_layers if subject.ring(layer).gap > 0]
    for shade in _SHADES:
        parts = []
        for side in (-1, 1):
            beyond = (max(window[0], -pi / 2), -shade) if side < 0 else (shade, min(window[1], pi / 2))
            if beyond[1] - beyond[0] <= _SLIVER:
                continue
            for lower, upper in runs:
                parts.append(_patch(subject, lower, upper, *beyond))
            for layer in open_layers:
                lower, upper = float(subject.lower[layer]), float(subject.upper[layer])
                seen = visible_segments(subject, layer, beyond)
                for start, end in zip(seen.start.tolist(), seen.end.tolist(), strict=True):
                    parts.append(_patch(subject, lower, upper, start, end))
        if parts:
            yield "".join(parts)


def _patch(subject: Subject, lower: float, upper: float, start: float, end: float) -> str:
    heights, radii = subject.outer_part(lower, upper)
    return strip_outline(sin(start) * radii, sin(end) * radii, subject.zero - heights)


def _closed_runs(subject: Subject) -> Iterator[tuple[float, float]]:
    """From and to of each run of closed layers."""
    closed: npt.NDArray[np.bool_] = np.array(
        [subject.ring(layer).gap == 0 for layer in subject.turned_layers]
    )
    edges = np.flatnonzero(np.diff(np.concatenate([[False], closed, [False]]).astype(int)))
    for start, end in edges.reshape(-1, 2).tolist():
        yield (
            float(subject.lower[subject.turned_layers[start]]),
            float(subject.upper[subject.turned_layers[end - 1]]),
        )


def _glue_lines(subject: Subject, window: Window) -> str:
    """The adhesive between closed layers, where bond lines have a height."""
    parts = []
    layers = subject.turned_layers
    for below, above in pairwise(layers):
        lower, upper = float(subject.upper[below]), float(subject.lower[above])
        closed = subject.ring(below).gap == 0 and subject.ring(above).gap == 0
        if upper - lower > 0.005 and closed:
            parts.append(_patch(subject, lower, upper, *window))
    return "".join(parts)
