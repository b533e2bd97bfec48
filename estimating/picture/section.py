"""The piece cut through its axis: the wood in the cut, glue lines, and the blanks it is turned from."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import cos, floor, pi

import numpy as np

from estimating.picture.subject import Subject
from estimating.picture.svg import element, joint_colour, joint_width, number, outline

_TIE = 1e-9


@dataclass(frozen=True)
class Cut:
    """Where the plane of the section meets one layer: the wood there, None in a gap, and the angle from the
    middle of the segment to the plane, radians, at most half a segment's angle."""

    wood: str | None
    off_centre: float


def cut_of(subject: Subject, layer: int, side: int) -> Cut:
    """What the plane cuts right (side 1) or left (-1) of the axis.

    The half before the plane is taken away: where the plane runs along a joint, the segment behind it is seen.
    """
    ring = subject.ring(layer)
    if ring.is_disc:
        return Cut(ring.pattern[0], 0.0)
    pitch = 2 * pi / ring.segments
    # Turned so that behind the plane is the way the count goes up.
    turned = side * (side * pi / 2 - float(subject.stack.angle[layer])) / pitch
    place = floor(turned + 0.5 + _TIE)
    off_centre = abs(turned - place) * pitch
    wood = ring.pattern[(side * place) % ring.segments] if off_centre <= ring.half_angle + _TIE else None
    return Cut(wood, min(off_centre, ring.half_angle))


def section(subject: Subject, *, side: int, line: float) -> str:
    """One half of the section as a group: one path a layer, then the outline. `line` is a hairline, mm."""
    layers = [_layer(subject, layer, side, line) for layer in subject.turned_layers]
    contour = element(
        "path",
        d=_profile(subject, side),
        fill="none",
        stroke="currentColor",
        stroke_width=2.6 * line,
        class_="dw-outline",
    )
    glue = _glue_lines(subject, side)
    return element(
        "g",
        element("path", d=glue, fill="currentColor", fill_opacity=0.5) if glue else "",
        element("g", *layers, stroke_opacity=0.6),
        contour,
        class_="dw-section",
    )


def _layer(subject: Subject, layer: int, side: int, line: float) -> str:
    wood = cut_of(subject, layer, side).wood
    shape = _between(subject, side, float(subject.lower[layer]), float(subject.upper[layer]))
    ink: dict[str, str | float] = {
        "fill": "none",
        "stroke": "currentColor",
        "stroke_dasharray": number(3 * line),
    }
    if wood is not None:
        colour = subject.colour(wood)
        ink = {"fill": colour, "stroke": joint_colour(colour)}
    width = joint_width(1.2 * line, spacing=float(subject.stack.thickness[layer]))
    return element(
        "path", d=shape, stroke_width=number(width, 4), class_="dw-layer", **subject.marks(layer), **ink
    )


def _between(subject: Subject, side: int, lower: float, upper: float) -> str:
    """Path data of the cut between two heights: up the outside, down the inside."""
    out_heights, out_radii = subject.outer_part(lower, upper)
    in_heights, in_radii = subject.inner_part(lower, upper)
    radii = np.concatenate([out_radii, in_radii[::-1]])
    heights = np.concatenate([out_heights, in_heights[::-1]])
    return outline((side * radii).tolist(), (subject.form.top - heights).tolist())


def _profile(subject: Subject, side: int) -> str:
    """Path data round the whole cut, without the axis, where nothing ends."""
    top = subject.form.top
    out_heights, out_radii = subject.outer
    in_heights, in_radii = subject.inner_part(subject.form.bottom, top)
    hollow = np.flatnonzero(in_radii > 0)
    first = max(int(hollow[0]) - 1, 0) if len(hollow) else len(in_radii) - 1
    radii = [float(in_radii[0]), *out_radii.tolist(), *in_radii[first:][::-1].tolist()]
    heights = [subject.form.bottom, *out_heights.tolist(), *in_heights[first:][::-1].tolist()]
    return outline([side * r for r in radii], [top - z for z in heights], closed=False)


def _glue_lines(subject: Subject, side: int) -> str:
    parts = []
    layers = subject.turned_layers
    for below, above in pairwise(layers):
        lower, upper = float(subject.upper[below]), float(subject.lower[above])
        both = cut_of(subject, below, side).wood and cut_of(subject, above, side).wood
        if upper - lower > 0.005 and both:
            parts.append(_between(subject, side, lower, upper))
    return "".join(parts)


def blank_spans(subject: Subject, side: int) -> Iterator[tuple[float, float, float, float]]:
    """From each layer: bottom, top, and the blank's inner and outer radius in the plane of the section, mm.

    A blank is flat between its corners, so in the plane it reaches apothem / cos(angle from the segment's middle).
    """
    for layer in range(len(subject.stack)):
        ring, off = subject.ring(layer), cos(cut_of(subject, layer, side).off_centre)
        bottom, top = float(subject.stack.bottom[layer]), float(subject.stack.top[layer])
        yield bottom, top, ring.inner_apothem / off, ring.outer_apothem / off


def _blank_ends(subject: Subject, side: int) -> Iterator[tuple[float, float, float]]:
    """Height, inner and outer radius of every blank's lower and upper end in the plane of the section, mm."""
    for layer in range(len(subject.stack)):
        ring, off = subject.ring(layer), cos(cut_of(subject, layer, side).off_centre)
        for height, top in ((subject.stack.bottom[layer], False), (subject.stack.top[layer], True)):
            outer, inner = ring.face(top)
            yield float(height), inner / off, outer / off


def blanks(subject: Subject, *, side: int, line: float) -> str:
    """The blanks before turning, dashed: their outside and their inside as two flights of steps."""
    ends = list(_blank_ends(subject, side))
    outer = [(outer, z) for z, _, outer in ends]
    inner = [(inner, z) for z, inner, _ in ends]
    loop = [*outer, *reversed(inner)]
    steps = outline([side * r for r, _ in loop], [subject.form.top - z for _, z in loop])
    return element(
        "path",
        d=steps,
        fill="none",
        stroke="currentColor",
        stroke_opacity=0.75,
        stroke_width=line,
        stroke_dasharray=f"{number(4 * line)} {number(4 * line)}",
        class_="dw-blanks",
    )
