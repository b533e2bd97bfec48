"""The piece cut through its axis: the wood in the cut, glue lines, and the blanks it is turned from."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import cos, floor, inf, pi

import numpy as np

from estimating.picture.strips import strips_cut
from estimating.picture.subject import Subject
from estimating.picture.svg import element, joint_colour, joint_width, number, outline
from estimating.shape.curves import Floats

_TIE = 1e-9


@dataclass(frozen=True)
class Cut:
    """Where the plane of the section meets one layer: the wood there, None in a gap, and the angle from the
    middle of the segment to the plane, radians, at most half a segment's angle. `place` is the segment's, and
    `turn` that angle with its sign, anticlockwise from the middle."""

    wood: str | None
    off_centre: float
    place: int = 0
    turn: float = 0.0


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
    off_centre, way = min(off_centre, ring.half_angle), side if turned >= place else -side
    return Cut(wood, off_centre, (side * place) % ring.segments, way * off_centre)


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
    closed = closing_lines(subject, side)
    return element(
        "g",
        element("path", d=glue, fill="currentColor", fill_opacity=0.5) if glue else "",
        element("g", *layers, stroke_opacity=0.6),
        contour,
        element(
            "path",
            d="".join(outline((x, to), (y, y), closed=False) for y, x, to in closed),
            fill="none",
            stroke="currentColor",
            stroke_width=4.5 * line,
            class_="dw-closing",
        )
        if closed
        else "",
        class_="dw-section",
    )


def _layer(subject: Subject, layer: int, side: int, line: float) -> str:
    wood = cut_of(subject, layer, side).wood
    within = (subject.bore_radius(layer), inf)
    shape = _between(subject, side, float(subject.lower[layer]), float(subject.upper[layer]), within=within)
    ink: dict[str, str | float] = {
        "fill": "none",
        "stroke": "currentColor",
        "stroke_dasharray": number(3 * line),
    }
    if wood is not None:
        colour = subject.colour(wood)
        ink = {"fill": colour, "stroke": joint_colour(colour)}
    width = number(joint_width(1.2 * line, spacing=float(subject.stack.thickness[layer])), 4)
    marks = subject.marks(layer)
    drawn = element("path", d=shape, stroke_width=width, class_="dw-layer", **marks, **ink) if shape else ""
    return drawn + _strips(subject, layer, side, width) + _plug(subject, layer, side, width)


def _strips(subject: Subject, layer: int, side: int, width: str) -> str:
    """The strips of a laminated segment in the cut, over it."""
    cut, ring = cut_of(subject, layer, side), subject.ring(layer)
    laminate = subject.laminates.get(cut.wood or "")
    if laminate is None:
        return ""
    paths = []
    for wood, heights, near, far in strips_cut(subject, layer, place=cut.place, turn=cut.turn):
        line = np.concatenate([far, near[::-1]])
        ys = subject.zero - np.concatenate([heights, heights[::-1]])
        colour = subject.colour(wood)
        ink = {"fill": colour, "stroke": joint_colour(colour), "stroke_width": width}
        drawn = outline((side * line).tolist(), ys.tolist())
        paths.append(element("path", d=drawn, class_="dw-strip", data_ring=ring.number, **ink))
    return "".join(paths)


def _plug(subject: Subject, layer: int, side: int, width: str) -> str:
    """The plug within a layer's bore, in its own wood."""
    wood = subject.plug_wood(layer)
    if wood is None:
        return ""
    within = (0.0, subject.bore_radius(layer))
    shape = _between(subject, side, float(subject.lower[layer]), float(subject.upper[layer]), within=within)
    colour = subject.colour(wood)
    ink = {"fill": colour, "stroke": joint_colour(colour), "stroke_width": width}
    return element("path", d=shape, class_="dw-plug", **ink) if shape else ""


def _between(
    subject: Subject, side: int, lower: float, upper: float, *, within: tuple[float, float] = (0.0, inf)
) -> str:
    """Path data of the cut between two heights: up the outside, down the inside, held within two radii.

    Empty where no wood is between them.
    """
    out_heights, out_radii = subject.outer_part(lower, upper)
    in_heights, in_radii = subject.inner_part(lower, upper)
    if within != (0.0, inf):
        out_heights, out_radii = held(out_heights, out_radii, within)
        in_heights, in_radii = held(in_heights, in_radii, within)
        if np.max(out_radii) - np.min(in_radii) < _TIE:
            return ""
    radii = np.concatenate([out_radii, in_radii[::-1]])
    heights = np.concatenate([out_heights, in_heights[::-1]])
    return outline((side * radii).tolist(), (subject.zero - heights).tolist())


def held(heights: Floats, radii: Floats, within: tuple[float, float]) -> tuple[Floats, Floats]:
    """A line held within two radii, with points where it meets them."""
    found = [(float(heights[0]), float(radii[0]))]
    for (z, r), (end, to) in pairwise(zip(heights.tolist(), radii.tolist(), strict=True)):
        met = [(limit - r) / (to - r) for limit in within if min(r, to) < limit < max(r, to)]
        found += [(z + share * (end - z), r + share * (to - r)) for share in sorted(met)]
        found.append((end, to))
    line = np.array(found)
    return line[:, 0], np.clip(line[:, 1], *within)


def _inside(subject: Subject) -> tuple[Floats, Floats]:
    """The inside as turned, with the bores that no plug fills."""
    form = subject.form
    heights, radii = subject.inner_part(form.bottom, form.top)
    bored = [i for i in subject.turned_layers if subject.bore_radius(i) and not subject.plug_wood(i)]
    if not bored:
        return heights, radii
    parts = []
    for layer in subject.turned_layers:
        line = subject.inner_part(float(subject.lower[layer]), float(subject.upper[layer]))
        parts.append(held(*line, (subject.bore_radius(layer), inf)) if layer in bored else line)
    return np.concatenate([z for z, _ in parts]), np.concatenate([r for _, r in parts])


def _profile(subject: Subject, side: int) -> str:
    """Path data round the whole cut, without the axis, where nothing ends."""
    top = subject.zero
    out_heights, out_radii = subject.outer
    in_heights, in_radii = _inside(subject)
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


def closing_lines(subject: Subject, side: int) -> list[tuple[float, float, float]]:
    """Where bowls are joined to a hollow form: y, and from which x to which the glue line runs."""
    found = []
    for layer in subject.closings:
        height = np.array([float(subject.upper[layer])])
        inner = float(subject.form.inner_radius(height)[0])
        outer = float(subject.form.outer.radius(height)[0])
        found.append((subject.zero - float(height[0]), side * inner, side * outer))
    return found


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
    steps = outline([side * r for r, _ in loop], [subject.zero - z for _, z in loop])
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
