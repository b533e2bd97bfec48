"""Ring plans at full size, one for each shape of ring: segments, witness mark, and the circles turned from it."""

from collections.abc import Hashable, Iterable, Iterator, Sequence

import numpy as np

from estimating.picture.dimensions import Pen, hairlines
from estimating.picture.plates import (
    DrawnPart,
    Plate,
    around,
    centre_mark,
    circle,
    cut_list,
    layers_of,
    named,
    said_angle,
    sizes_of,
)
from estimating.picture.ring_plan import segment_corners, strips_in_plan, turned_radii
from estimating.picture.svg import element, number, outline, wood_colour
from estimating.picture.templates_section import PALE
from estimating.shape.rings import Ring


def faces(ring: Ring) -> tuple[tuple[float, float], tuple[float, float]]:
    """Outer and inner apothem of the lower face and of the upper one, which differ where staves lean."""
    return ring.face(top=False), ring.face(top=True)


def alike(rings: Iterable[Ring]) -> list[list[Ring]]:
    """Rings in groups of one shape in plan, to the hundredth of a millimetre, in the order they come."""
    groups: dict[Hashable, list[Ring]] = {}
    for ring in rings:
        sizes = [round(apothem, 2) for face in faces(ring) for apothem in face]
        key = (ring.is_disc, ring.segments, round(ring.gap, 6), round(ring.bore, 2), *sizes)
        groups.setdefault(key, []).append(ring)
    return list(groups.values())


def ring_plates(part: DrawnPart, rings: Sequence[Ring], *, pen: Pen) -> list[Plate]:
    """Plans of some of a part's rings, from above, segment 1 on top and the count anticlockwise. The axis is 0, 0."""
    return [_plan(part, group, pen) for group in alike(rings)]


def _plan(part: DrawnPart, rings: list[Ring], pen: Pen) -> Plate:
    ring = rings[0]
    subject = part.subject
    turned = turned_radii(
        subject.form, subject.stack, [layer - 1 - part.first_layer for layer in layers_of(rings)]
    )
    reach = max(ring.corner_radius, *turned)
    body = _disc(part, rings, pen) if ring.is_disc else _segments(part, rings, pen)
    circles = "".join(circle(pen, radius, dashes="2 1.5", weight=1.4) for radius in turned if radius > 0)
    hole = circle(pen, ring.bore / 2, weight=1.6) if ring.bore else ""
    witness = "" if ring.is_disc else _witness(ring, pen)
    title = part.titled(named("Ring", [ring.number for ring in rings]))
    box = around((-reach, -reach - 4, 2 * reach, 2 * reach + 4), margin=0.5)
    drawn = element("g", body, circles, hole, centre_mark(pen, reach=5), witness, data_ring=ring.number)
    return Plate(title, _notes(part, rings, turned, pen), drawn, box)


def _segments(part: DrawnPart, rings: list[Ring], pen: Pen) -> str:
    """Every segment's lower face; tinted with its wood where all the rings have the same woods all round.

    The upper face is dashed where staves lean. Strips of laminated segments are drawn as the upper face shows them.
    """
    ring, laminates = rings[0], part.subject.laminates
    same = all(other.pattern == ring.pattern for other in rings)
    lower, upper = (_face(ring, *apothems) for apothems in faces(ring))
    paths = [
        element(
            "path",
            d=shape,
            fill=wood_colour(part.subject.colours.get(wood)) if same and wood not in laminates else "none",
            fill_opacity=PALE,
            stroke="currentColor",
            stroke_width=1.4 * pen.line,
            class_="dw-segment",
        )
        for wood, shape in zip(ring.pattern, lower, strict=True)
    ]
    if same and len({round(other.height, 2) for other in rings}) == 1:
        paths += _strips(part, ring, pen)
    if upper != lower:
        paths.append(hairlines(pen, "".join(upper), opacity=1.0, dashes="3 1"))
    return "".join(paths)


def _strips(part: DrawnPart, ring: Ring, pen: Pen) -> Iterator[str]:
    """The strips of every laminated segment, as the ring's upper face shows them."""
    for place, key in enumerate(ring.pattern):
        if laminate := part.subject.laminates.get(key):
            for wood, corners in strips_in_plan(ring, laminate, place):
                yield element(
                    "path",
                    d=outline(*zip(*corners, strict=True)),
                    fill=wood_colour(part.subject.colours.get(wood)),
                    fill_opacity=PALE,
                    stroke="currentColor",
                    stroke_width=0.6 * pen.line,
                    class_="dw-strip",
                )


def _face(ring: Ring, outer: float, inner: float) -> list[str]:
    """Path data of every segment's face at a height, from the apothems there."""
    corners = segment_corners(ring)[:, [0, 1, 1, 0]] / ring.outer_apothem
    corners *= np.array([outer, outer, inner, inner])[:, None]
    return [outline(*zip(*four, strict=True)) for four in corners.tolist()]


def _disc(part: DrawnPart, rings: list[Ring], pen: Pen) -> str:
    ring = rings[0]
    colour = wood_colour(part.subject.colours.get(ring.pattern[0]))
    tinted = all(other.pattern == ring.pattern for other in rings)
    return element(
        "circle",
        r=number(ring.outer_radius, 3),
        fill=colour if tinted else "none",
        fill_opacity=PALE,
        stroke="currentColor",
        stroke_width=1.4 * pen.line,
        class_="dw-disc",
    )


def _witness(ring: Ring, pen: Pen) -> str:
    upper, lower = -ring.outer_radius - 3.5, -ring.outer_radius + min(5.0, ring.strip_width / 2)
    return element(
        "path",
        d=f"M0,{number(upper)}V{number(lower)}",
        stroke="currentColor",
        stroke_width=5 * pen.line,
        class_="dw-witness",
    )


_DISCS = {"solid": "disc", "veneer": "veneer"}


def _notes(part: DrawnPart, rings: list[Ring], turned: tuple[float, float], pen: Pen) -> tuple[str, ...]:
    ring = rings[0]
    layers = named("layer", layers_of(rings))
    size = f"Across the flats {pen.length(2 * ring.outer_apothem)}"
    if ring.is_disc:
        made = " and ".join(dict.fromkeys(f"{other.pattern[0]} {_DISCS[other.made]}" for other in rings))
        size = f"Across {pen.length(2 * ring.outer_radius)}"
    else:
        made = f"{ring.segments} segments, saw {said_angle(ring.miter)}"
        if ring.lean:
            made, size = f"{ring.segments} staves", f"{size} at the wider end"
        if ring.inner_apothem > 0:
            size += f", inside {pen.length(2 * ring.inner_apothem)}"
    first = f"{layers[:1].upper()}{layers[1:]}: {made}"
    if bore := ring.bore:
        size += f", bored {pen.length(bore)}"
        if plug := part.subject.bands[ring.band].plug:
            size += f" and plugged with {plug}"
    high = "high" if ring.lean else "thick"
    lines = [first, f"{size}, {high} {sizes_of(pen, [ring.height for ring in rings])} {pen.unit}"]
    if ring.lean and faces(ring)[0] != faces(ring)[1]:
        lines.append("Solid lines: the lower face; long dashes: the upper")
    dashed = [pen.length(2 * radius) for radius in turned if radius > 0]
    lines.append(f"Dashed: as turned, {' and '.join(dashed)} across")
    if not ring.is_disc:
        lines.append("Segment 1 under the mark, the count anticlockwise from above")
        if len(rings) == 1:
            lines.append(cut_list(ring.wood_counts))
    return tuple(lines)
