"""Patterns of single segments at full size, and lines to set the saw's angle by."""

from collections.abc import Callable, Hashable, Iterable, Sequence
from math import cos, sin, tan

from estimating.picture.dimensions import Pen, hairlines
from estimating.picture.plates import (
    TEXT,
    DrawnPart,
    Plate,
    around,
    cut_list,
    label,
    named,
    said_angle,
    sizes_of,
)
from estimating.picture.svg import element, number, outline, wood_colour
from estimating.picture.templates_section import PALE
from estimating.shape.rings import Ring

_LEVEL = 1e-9
FENCE, BLADE, _BEYOND = 54.0, 100.0, 12.0
"""Lengths of the lines that a bevel is set by, mm; and how far the fence runs on beyond where they meet."""


def segment_plates(part: DrawnPart, rings: Sequence[Ring], *, pen: Pen) -> list[Plate]:
    """One pattern for each distinct segment or stave of some rings; discs have none."""
    sawn = [ring for ring in rings if not ring.is_disc]
    return [
        _stave(part, group, pen) if group[0].lean else _segment(part, group, pen)
        for group in _grouped(sawn, _measures)
    ]


def saw_plates(rings: Iterable[Ring], *, pen: Pen) -> list[Plate]:
    """A pair of lines for each distinct angle the saw is set to: its miter, and its blade's tilt for staves."""
    sawn = [ring for ring in rings if not ring.is_disc]
    mitred = [ring for ring in sawn if not ring.lean or ring.miter > _LEVEL]
    tilted = [ring for ring in sawn if ring.lean]
    return [
        _lines(f"Saw set to {said_angle(group[0].miter)}", group[0].miter, group, pen)
        for group in _grouped(mitred, lambda ring: round(ring.miter, 6))
    ] + [
        _lines(f"Blade tilted {said_angle(group[0].tilt)}", group[0].tilt, group, pen, onto="table")
        for group in _grouped(tilted, lambda ring: round(ring.tilt, 6))
    ]


def _grouped(rings: Iterable[Ring], key: Callable[[Ring], Hashable]) -> list[list[Ring]]:
    groups: dict[Hashable, list[Ring]] = {}
    for ring in rings:
        groups.setdefault(key(ring), []).append(ring)
    return list(groups.values())


def _measures(ring: Ring) -> Hashable:
    """What two segments share that are cut to one pattern."""
    staves = ring.lean
    own = (staves.slant_length, staves.tilt, staves.board_thickness) if staves else ()
    sides = (ring.outer_edge, ring.inner_edge, ring.strip_width, *own)
    return ring.segments, round(ring.miter, 6), *(round(side, 2) for side in sides)


def _segment(part: DrawnPart, rings: list[Ring], pen: Pen) -> Plate:
    """The face of a segment, its long edge below; the saw's angle from a square cut at its left end."""
    ring = rings[0]
    long, short, wide = ring.outer_edge, ring.inner_edge, ring.strip_width
    shape = _trapezoid(part, rings, pen, long=long, short=short, high=wide)
    square = hairlines(pen, f"M0,0V{number(-wide - 3)}", dashes="1.5 1.2")
    box = around((0.0, -wide - 3.5, long, wide + 3.5), margin=0.5)
    arrow = _arrow(0.35 * (long + short) / 2, x=long / 2, y=-0.45 * wide)
    drawn = element("g", shape, square, hairlines(pen, arrow, opacity=1.0), data_pattern=ring.number)
    title = part.titled(f"Segment of {named('ring', [other.number for other in rings])}")
    return Plate(title, _notes(rings, pen), drawn, box)


def _stave(part: DrawnPart, rings: list[Ring], pen: Pen) -> Plate:
    """The outer face of a stave laid flat, its wide end below."""
    staves = rings[0].lean
    assert staves is not None, "only rings of staves have a stave"
    wide, narrow, long = staves.rip_width, staves.narrow_width, staves.slant_length
    shape = _trapezoid(part, rings, pen, long=wide, short=narrow, high=long)
    square = hairlines(pen, f"M0,0V{number(-long - 3)}", dashes="1.5 1.2")
    arrow = hairlines(pen, _arrow(0.25 * long, x=wide / 2, y=-0.5 * long, upright=True), opacity=1.0)
    notes = (
        f"{staves.staves} staves, outer face",
        f"{pen.length(long)} long, {pen.length(wide)} and {pen.length(narrow)} {pen.unit} wide",
        f"Board {pen.length(staves.board_thickness)} thick; grain along the arrow",
        f"Edges: taper {said_angle(staves.miter)}, blade tilted {said_angle(staves.tilt)}, so that the inner face is "
        "the narrower",
        f"Ends: blade tilted {said_angle(staves.end_bevel)}" if staves.end_bevel > _LEVEL else "Ends: square",
        cut_list(_counts(rings)),
    )
    title = part.titled(f"Stave of {named('ring', [other.number for other in rings])}")
    box = around((0.0, -long - 3.5, wide, long + 3.5), margin=0.5)
    return Plate(title, notes, element("g", shape, square, arrow, data_pattern=rings[0].number), box)


def _trapezoid(
    part: DrawnPart, rings: list[Ring], pen: Pen, *, long: float, short: float, high: float
) -> str:
    """The outline, its long edge on y = 0; tinted where all the rings are of one wood, which a laminate is not."""
    woods = {wood for ring in rings for wood in ring.pattern}
    corners = [(0.0, 0.0), (long, 0.0), ((long + short) / 2, -high), ((long - short) / 2, -high)]
    return element(
        "path",
        d=outline(*zip(*corners, strict=True)),
        fill=wood_colour(part.subject.colours.get(rings[0].pattern[0]))
        if len(woods) == 1 and not woods & part.subject.laminates.keys()
        else "none",
        fill_opacity=PALE,
        stroke="currentColor",
        stroke_width=1.4 * pen.line,
        class_="dw-segment",
    )


def _counts(rings: list[Ring]) -> dict[str, int]:
    """Segments of each wood over some rings."""
    counts: dict[str, int] = {}
    for ring in rings:
        for wood, count in ring.wood_counts.items():
            counts[wood] = counts.get(wood, 0) + count
    return counts


def _notes(rings: list[Ring], pen: Pen) -> tuple[str, ...]:
    ring = rings[0]
    thick = sizes_of(pen, [other.height for other in rings])
    return (
        f"Saw {said_angle(ring.miter)}, {ring.segments} to a ring",
        f"Edges {pen.length(ring.outer_edge)} and {pen.length(ring.inner_edge)} {pen.unit} long",
        f"Strip {pen.length(ring.strip_width)} wide, {thick} thick",
        "Grain along the arrow",
        cut_list(_counts(rings)),
    )


def _arrow(reach: float, *, x: float, y: float, upright: bool = False) -> str:
    """Path data of an arrow with two heads, as long as twice the reach: the way the fibres run."""
    head = min(1.5, reach / 2)
    points = [((-reach, 0.0), (reach, 0.0))]
    for way in (-1, 1):
        points += [((way * reach, 0.0), (way * (reach - head), side * head / 2)) for side in (-1, 1)]
    if upright:
        points = [((b, a), (d, c)) for (a, b), (c, d) in points]
    return "".join(
        f"M{number(x + a)},{number(y + b)}L{number(x + c)},{number(y + d)}" for (a, b), (c, d) in points
    )


def _lines(title: str, angle: float, rings: list[Ring], pen: Pen, *, onto: str = "fence") -> Plate:
    """A fence or table, a square to it, and the line of the blade; how far off in figures to measure by."""
    across, up = BLADE * sin(angle), -BLADE * cos(angle)
    left, right = -max(across, FENCE - _BEYOND), _BEYOND
    base = hairlines(pen, f"M{number(left)},0H{number(right)}", opacity=1.0)
    square = hairlines(pen, f"M0,0V{number(-BLADE)}", dashes="2 1.5")
    blade = element(
        "path",
        d=f"M0,0L{number(-across, 3)},{number(up, 3)}",
        stroke="currentColor",
        stroke_width=1.6 * pen.line,
        class_="dw-blade",
    )
    marks = label(onto, x=left, y=-1.0) + label("square", x=1.5, y=2 * TEXT - BLADE)
    notes = (
        f"For {named('ring', [ring.number for ring in rings])}",
        f"{pen.length(BLADE * tan(angle))} {pen.unit} off square over {pen.length(BLADE)}",
    )
    drawn = element("g", base, square, blade, marks, class_="dw-saw-lines")
    return Plate(title, notes, drawn, around((left, -BLADE, right - left, BLADE), margin=0.5))
