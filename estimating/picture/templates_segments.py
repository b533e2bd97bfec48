"""Patterns of single segments at full size, and lines to set the saw's angle by."""

from collections.abc import Callable, Hashable, Iterable, Sequence
from math import cos, degrees, radians, sin, tan

from estimating.picture.dimensions import Pen, hairlines
from estimating.picture.making import is_disc, tilt_of
from estimating.picture.plates import (
    TEXT,
    DrawnPart,
    Plate,
    around,
    cut_list,
    label,
    named,
    sizes_of,
)
from estimating.picture.ring_plan import saw_angle
from estimating.picture.svg import element, number, outline, wood_colour
from estimating.picture.templates_section import PALE
from estimating.shape.rings import Ring

FENCE, BLADE, _BEYOND = 54.0, 100.0, 12.0
"""Lengths of the lines that a bevel is set by, mm; and how far the fence runs on beyond where they meet."""


def segment_plates(part: DrawnPart, rings: Sequence[Ring], *, pen: Pen) -> list[Plate]:
    """One pattern for each distinct segment of some rings; discs have none, and leaning staves one of their own."""
    flat = [ring for ring in rings if not is_disc(ring) and not tilt_of(ring)]
    return [_pattern(part, group, pen) for group in _grouped(flat, _edges)]


def saw_plates(rings: Iterable[Ring], *, pen: Pen) -> list[Plate]:
    """One pair of lines for each distinct setting of the saw."""
    sawn = [ring for ring in rings if not is_disc(ring)]
    return [
        _saw(group, pen) for group in _grouped(sawn, lambda ring: (saw_angle(ring), round(tilt_of(ring), 6)))
    ]


def _grouped(rings: Iterable[Ring], key: Callable[[Ring], Hashable]) -> list[list[Ring]]:
    groups: dict[Hashable, list[Ring]] = {}
    for ring in rings:
        groups.setdefault(key(ring), []).append(ring)
    return list(groups.values())


def _edges(ring: Ring) -> Hashable:
    return saw_angle(ring), round(ring.outer_edge, 2), round(ring.inner_edge, 2), round(ring.strip_width, 2)


def _pattern(part: DrawnPart, rings: list[Ring], pen: Pen) -> Plate:
    """The face of a segment, its long edge below; the saw's angle from a square cut at its left end."""
    ring = rings[0]
    long, short, wide = ring.outer_edge, ring.inner_edge, ring.strip_width
    same_wood = len({wood for other in rings for wood in other.pattern}) == 1
    corners = [(0.0, 0.0), (long, 0.0), ((long + short) / 2, -wide), ((long - short) / 2, -wide)]
    shape = element(
        "path",
        d=outline(*zip(*corners, strict=True)),
        fill=wood_colour(part.subject.colours.get(ring.pattern[0])) if same_wood else "none",
        fill_opacity=PALE,
        stroke="currentColor",
        stroke_width=1.4 * pen.line,
        class_="dw-segment",
    )
    square = hairlines(pen, f"M0,0V{number(-wide - 3)}", dashes="1.5 1.2")
    box = around((0.0, -wide - 3.5, long, wide + 3.5), margin=0.5)
    drawn = element("g", shape, square, _grain(pen, long, short, wide), data_pattern=ring.number)
    title = part.titled(f"Segment of {named('ring', [other.number for other in rings])}")
    return Plate(title, _notes(rings, pen), drawn, box)


def _notes(rings: list[Ring], pen: Pen) -> tuple[str, ...]:
    ring = rings[0]
    counts: dict[str, int] = {}
    for other in rings:
        for wood, count in other.wood_counts.items():
            counts[wood] = counts.get(wood, 0) + count
    thick = sizes_of(pen, [other.height for other in rings])
    return (
        f"Saw {saw_angle(ring)}, {ring.segments} to a ring",
        f"Edges {pen.length(ring.outer_edge)} and {pen.length(ring.inner_edge)} {pen.unit} long",
        f"Strip {pen.length(ring.strip_width)} wide, {thick} thick",
        "Grain along the arrow",
        cut_list(counts),
    )


def _grain(pen: Pen, long: float, short: float, wide: float) -> str:
    """An arrow with two heads along the fibres, which run along the long edge."""
    reach = 0.35 * (long + short) / 2
    head, y, middle = min(1.5, reach / 2), -wide * 0.45, long / 2
    d = f"M{number(middle - reach)},{number(y)}H{number(middle + reach)}"
    for way in (-1, 1):
        tip = middle + way * reach
        d += (
            f"M{number(tip - way * head)},{number(y - head / 2)}L{number(tip)},{number(y)}"
            f"L{number(tip - way * head)},{number(y + head / 2)}"
        )
    return hairlines(pen, d, opacity=1.0)


def _saw(rings: list[Ring], pen: Pen) -> Plate:
    """A fence, a square to it, and the line of the blade; the rise over its length in figures to measure by."""
    miter = radians(float(saw_angle(rings[0]).rstrip("°")))
    across, up = BLADE * sin(miter), -BLADE * cos(miter)
    left, right = -max(across, FENCE - _BEYOND), _BEYOND
    fence = hairlines(pen, f"M{number(left)},0H{number(right)}", opacity=1.0)
    square = hairlines(pen, f"M0,0V{number(-BLADE)}", dashes="2 1.5")
    blade = element(
        "path",
        d=f"M0,0L{number(-across, 3)},{number(up, 3)}",
        stroke="currentColor",
        stroke_width=1.6 * pen.line,
        class_="dw-blade",
    )
    marks = label("fence", x=left, y=-1.0) + label("square", x=1.5, y=2 * TEXT - BLADE)
    title = f"Saw set to {saw_angle(rings[0])}"
    numbers = named("ring", [ring.number for ring in rings])
    notes = [
        f"For {numbers}",
        f"{pen.length(BLADE * tan(miter))} {pen.unit} off square over {pen.length(BLADE)}",
    ]
    if tilt := tilt_of(rings[0]):
        notes.append(f"Blade tilted {degrees(tilt):.2f}° from upright")
    drawn = element("g", fence, square, blade, marks, class_="dw-saw-lines")
    return Plate(title, tuple(notes), drawn, around((left, -BLADE, right - left, BLADE), margin=0.5))
