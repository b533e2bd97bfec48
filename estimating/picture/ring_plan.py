"""The plan of one ring from above: every segment, the circles turned from it, the witness mark and the saw's angle."""

from collections.abc import Iterator, Mapping, Sequence
from math import cos, degrees, pi, sin, tan

import numpy as np

from estimating.picture.dimensions import Pen, across, hairlines, write
from estimating.picture.strips import strips_above
from estimating.picture.svg import (
    PAPER,
    document,
    element,
    joint_colour,
    joint_width,
    number,
    outline,
    wood_colour,
)
from estimating.piece import Laminate
from estimating.quantities import InchStyle, Unit
from estimating.shape.curves import Floats
from estimating.shape.forms import Form
from estimating.shape.layers import Stack
from estimating.shape.rings import Ring


def turned_radii(form: Form, stack: Stack, layers: Sequence[int]) -> tuple[float, float]:
    """Largest outer and smallest inner radius of the turned piece over some layers (from 0), mm."""
    which = list(layers)
    lower, upper = stack.bottom[which], stack.top[which]
    return float(form.outer_cover(lower, upper).max()), float(form.inner_cover(lower, upper).min())


def draw_ring(
    ring: Ring,
    *,
    colours: Mapping[str, str],
    laminates: Mapping[str, Laminate] | None = None,
    turned: tuple[float, float] | None = None,
    title: str = "",
    unit: Unit = "mm",
    inches: InchStyle = "fraction",
    with_dimensions: bool = True,
    text: float = 4.0,
    prefix: str = "dw-ring",
    full_size: bool = False,
) -> str:
    """One ring as glued, from above, segment 1 on top and the count anticlockwise.

    Shape: an SVG element whose user unit is 1 mm, the axis at 0, 0. `turned` is the largest outer and smallest inner
        radius of the turned piece in the ring's layers (see turned_radii), drawn dashed; `colours` is #rrggbb by
        wood key; `text` the height of figures in hundredths of the ring's width.
    Errors: none. A wood with no colour is grey.
    """
    size = 2 * ring.corner_radius / 100
    pen = Pen(size=size, text=text * size, unit=unit, inches=inches)
    reach = ring.corner_radius + 2 * size
    left, above, right, below = -reach, -reach - 4 * size, reach, reach
    bore = (ring.bore / 2,) if ring.bore and not ring.is_disc else ()
    parts = [
        _segments(ring, colours, laminates or {}, pen.line),
        _narrow_end(ring, pen),
        _circles(turned or (), pen),
        _circles(bore, pen, name="dw-bore"),
        _witness(ring, pen),
    ]
    if with_dimensions:
        if not ring.is_disc:
            parts.append(_saw_angle(ring, pen))
        y = ring.corner_radius + 1.6 * pen.text + 2 * size
        parts.append(across(pen, radius=ring.outer_radius, y=y, start=0.0, name="flats"))
        below, above = y + 2.5 * size, -ring.corner_radius - 8 * size - 1.2 * pen.text
    return document(
        *parts,
        box=(left, above, right - left, below - above),
        title=title or f"Ring {ring.number}",
        description=_described(ring, pen),
        prefix=prefix,
        full_size=full_size,
    )


def segment_corners(ring: Ring) -> Floats:
    """Corners of every segment on the page, (segments, 4, 2), mm: outer start, outer end, inner end, inner start.

    Page coordinates: x to the right, y down, segment 1 centred on top, anticlockwise.
    """
    centre = 2 * pi / ring.segments * np.arange(ring.segments)
    angles = np.stack(
        [
            centre - ring.half_angle,
            centre + ring.half_angle,
            centre + ring.half_angle,
            centre - ring.half_angle,
        ],
        axis=1,
    )
    outer, inner = ring.outer_apothem / cos(ring.half_angle), ring.inner_apothem / cos(ring.half_angle)
    radii = np.array([outer, outer, inner, inner])
    return np.stack([-radii * np.sin(angles), -radii * np.cos(angles)], axis=2)


def _disc(ring: Ring, colours: Mapping[str, str], line: float) -> str:
    """A disc from above, and the hole bored through it."""
    colour = wood_colour(colours.get(ring.pattern[0]))
    ink: dict[str, str | float] = {
        "stroke": joint_colour(colour),
        "stroke_opacity": 0.6,
        "stroke_width": number(1.5 * line, 4),
    }
    hole = element("circle", r=ring.bore / 2, fill=PAPER, **ink) if ring.bore else ""
    disc = element("circle", r=ring.outer_apothem, fill=colour, **ink)
    return element("g", disc, hole, class_="dw-segments", data_ring=ring.number)


def _segments(ring: Ring, colours: Mapping[str, str], laminates: Mapping[str, Laminate], line: float) -> str:
    if ring.is_disc:
        return _disc(ring, colours, line)
    drawn: dict[str, list[str]] = {}
    for place, (wood, corners) in enumerate(zip(ring.pattern, segment_corners(ring).tolist(), strict=True)):
        if wood in laminates:
            for of, points in strips_in_plan(ring, laminates[wood], place):
                drawn.setdefault(of, []).append(outline(*zip(*points, strict=True)))
            continue
        drawn.setdefault(wood, []).append(outline(*zip(*corners, strict=True)))
    paths = []
    width = joint_width(1.5 * line, spacing=2 * pi * ring.outer_radius / ring.segments)
    for wood, parts in drawn.items():
        colour = wood_colour(colours.get(wood))
        paths.append(
            element(
                "path",
                d="".join(parts),
                fill=colour,
                stroke=joint_colour(colour),
                stroke_opacity=0.6,
                stroke_width=number(width, 4),
            )
        )
    return element("g", *paths, class_="dw-segments", data_ring=ring.number)


def strips_in_plan(
    ring: Ring, laminate: Laminate, place: int
) -> Iterator[tuple[str, list[tuple[float, float]]]]:
    """Wood and corners of each strip on a segment's upper face: the segment cut square to its outer edge."""
    outer, inner, slope = ring.outer_apothem, ring.inner_apothem, tan(ring.half_angle)
    middle = 2 * pi * place / ring.segments
    for wood, start, end in strips_above(laminate, ring, place):
        marks = sorted({start, end, *(x for x in (-inner * slope, inner * slope) if start < x < end)})
        # A segment reaches inwards as far as its inner edge, and beside that edge as far as its ends.
        depths = [max(inner, abs(x) / slope) for x in marks]
        corners = [(end, outer), (start, outer), *zip(marks, depths, strict=True)]
        # Along the segment is to the right seen from outside: anticlockwise, as the count goes.
        yield (
            wood,
            [(-x * cos(middle) - r * sin(middle), x * sin(middle) - r * cos(middle)) for x, r in corners],
        )


def _narrow_end(ring: Ring, pen: Pen) -> str:
    """The other end of staves that lean, dashed: the polygons of its outer and inner flats."""
    if not ring.lean or not ring.lean.flare:
        return ""
    narrow = min(ring.face(False), ring.face(True))
    turns = ring.half_angle * (1 + 2 * np.arange(ring.segments))
    rounds = []
    for apothem in narrow:
        radius = apothem / cos(ring.half_angle)
        rounds.append(outline((radius * np.sin(turns)).tolist(), (-radius * np.cos(turns)).tolist()))
    dashes = f"{number(0.5 * pen.size)} {number(0.5 * pen.size)}"
    drawn = hairlines(pen, "".join(rounds), opacity=0.9, dashes=dashes)
    return element("g", drawn, class_="dw-narrow")


def _circles(radii: Sequence[float], pen: Pen, *, name: str = "dw-turned") -> str:
    dashes = f"{number(1.2 * pen.size)} {number(0.9 * pen.size)}"
    return "".join(
        element(
            "circle",
            r=radius,
            fill="none",
            stroke="currentColor",
            stroke_width=1.6 * pen.line,
            stroke_dasharray=dashes,
            class_=name,
        )
        for radius in radii
        if radius > 0
    )


def _witness(ring: Ring, pen: Pen) -> str:
    """A line over the outer edge of segment 1, where the maker pencils it."""
    upper, lower = (
        -ring.outer_radius - 3.2 * pen.size,
        -ring.outer_radius + min(2 * pen.size, ring.strip_width / 2),
    )
    return element(
        "path",
        d=f"M0,{number(upper)}V{number(lower)}",
        fill="none",
        stroke="currentColor",
        stroke_width=5 * pen.line,
        class_="dw-witness",
    )


def _saw_angle(ring: Ring, pen: Pen) -> str:
    """Half a segment's angle beside segment 1, from its middle to its end, and what the saw is set to."""
    start, arc_at = ring.corner_radius + 0.8 * pen.size, ring.corner_radius + 4.4 * pen.size
    end = arc_at + 1.2 * pen.size
    across_end, down_end = sin(ring.half_angle), -cos(ring.half_angle)
    d = (
        f"M{number(start * across_end)},{number(start * down_end)}L{number(end * across_end)},{number(end * down_end)}"
        f"M0,{number(-start - 2.6 * pen.size)}V{number(-end)}"
        f"M0,{number(-arc_at)}A{number(arc_at)},{number(arc_at)} 0 0 1 "
        f"{number(arc_at * across_end)},{number(arc_at * down_end)}"
    )
    label = write(pen, f"saw {saw_settings(ring)}", x=0.0, y=-end - 0.5 * pen.text, anchor="middle")
    return element("g", hairlines(pen, d), label, class_="dw-saw")


def saw_settings(ring: Ring) -> str:
    """What the saw is set to: the miter, and for staves the blade's tilt too."""
    if not ring.lean:
        return saw_angle(ring)
    return f"{saw_angle(ring)}, tilt {_degrees(ring.tilt)}"


def saw_angle(ring: Ring) -> str:
    """The miter angle as it is set, to a thousandth of a degree, as tables print it.

    >>> saw_angle(Ring(1, 0, 24, 0.0, 90.0, 70.0, 20.0, (1,), ("maple",) * 24))
    '7.5°'
    """
    return _degrees(ring.miter)


def _degrees(angle: float) -> str:
    return f"{degrees(angle):.3f}".rstrip("0").rstrip(".") + "°"


def _described(ring: Ring, pen: Pen) -> str:
    if ring.is_disc:
        bored = f", bored {pen.length(ring.bore)} {pen.unit}" if ring.bore else ""
        return f"Plan of a disc of {ring.pattern[0]}, {pen.length(2 * ring.outer_radius)} {pen.unit} across{bored}."
    counts = ", ".join(f"{count} {wood}" for wood, count in ring.wood_counts.items())
    spaced = f", {round(100 * ring.gap)} % of the way round left open" if ring.gap > 0 else ""
    circle = f"{pen.length(2 * ring.outer_radius)} {pen.unit}"
    return (
        f"Plan of a ring of {ring.segments} segments{spaced}: {counts}. "
        f"Its flats stand outside a circle of {circle}; saw set to {saw_settings(ring)}. "
        "Segment 1 is on top, under the witness mark; the count runs anticlockwise."
    )
