"""The drilling template of a pin jig at full size: holes with their centres, the discs, the clamps, and a table."""

from math import cos, degrees, sin

from estimating.picture.dimensions import Pen, hairlines
from estimating.picture.plates import (
    ROW,
    TEXT,
    Plate,
    around,
    centre_mark,
    circle,
    label,
)
from estimating.picture.svg import element, number
from estimating.quantities import Unit, unit_in_mm
from estimating.shape.pin_jig import PinCircle, PinTemplate, least_web

_CLAMP_LONG = 16.0
_SMALL = 0.85 * TEXT
_COLUMN, _ROWS = 42.0, 14
"""Width of a column of the table of holes, mm, and how many rows it has before the next begins."""


def jig_plate(template: PinTemplate, *, pen: Pen) -> Plate:
    """The template, its centre at 0, 0, x to the right and y up in the table, as on a drill press's fence and stop."""
    outer = template.circles[0]
    reach = outer.radius + outer.pin_diameter / 2 + _CLAMP_LONG
    first, drawn = 1, []
    for holes in template.circles:
        drawn.append(_circle(holes, pen, first=first))
        first += len(holes.angles)
    table, table_box = _table(template, pen, x=-reach, y=reach + ROW)
    box = around((-reach, -reach, 2 * reach, 2 * reach), table_box, margin=0.5)
    parts = element(
        "g", *drawn, _clamps(template, pen, reach=reach), centre_mark(pen, reach=6.0), table, class_="dw-jig"
    )
    return Plate("Drilling template of a pin jig", _notes(template, pen), parts, box, _listed(template, pen))


def _circle(holes: PinCircle, pen: Pen, *, first: int) -> str:
    """The edge of one disc, and its holes with their numbers outside them."""
    parts = [circle(pen, holes.disc_diameter / 2, weight=1.4)]
    at = holes.radius + holes.pin_diameter / 2 + 3.0
    for place, ((x, up), angle) in enumerate(zip(holes.positions.tolist(), holes.angles, strict=True)):
        parts.append(_hole(pen, x=x, y=-up, radius=holes.pin_diameter / 2))
        right, down = at * cos(angle), -at * sin(angle) + 0.35 * _SMALL
        parts.append(label(str(first + place), x=right, y=down, anchor="middle", size=_SMALL))
    return element("g", *parts, data_disc=number(holes.disc_diameter, 3))


def _hole(pen: Pen, *, x: float, y: float, radius: float) -> str:
    """A hole and the cross at its centre for the point of a punch."""
    ring = element(
        "circle",
        cx=number(x, 3),
        cy=number(y, 3),
        r=number(radius, 3),
        fill="none",
        stroke="currentColor",
        stroke_width=1.4 * pen.line,
        class_="dw-hole",
    )
    return ring + centre_mark(pen, reach=radius + 1.5, x=x, y=y)


def _clamps(template: PinTemplate, pen: Pen, *, reach: float) -> str:
    """Where clamps go: dashed strips as wide as one, each with the discs it is for."""
    towards: dict[float, list[PinCircle]] = {}
    for holes in template.circles:
        for gap in range(len(holes.gaps)):
            towards.setdefault(round(degrees(holes.middle(gap)) % 360, 1) % 360, []).append(holes)
    return "".join(
        _clamp(circles, turn, pen, half=template.clamping.clamp_width / 2, reach=reach)
        for turn, circles in sorted(towards.items())
    )


def _clamp(circles: list[PinCircle], turn: float, pen: Pen, *, half: float, reach: float) -> str:
    start = max(holes.disc_diameter for holes in circles) / 2 - 5
    d = f"M{number(reach)},{number(-half)}H{number(start)}V{number(half)}H{number(reach)}"
    sizes = ", ".join(pen.length(holes.disc_diameter) for holes in circles)
    upside_down = 90 < turn < 270
    words = label(
        f"clamp Ø {sizes}",
        x=-reach + 0.5 if upside_down else reach - 0.5,
        y=-half + 1.1 * TEXT,
        anchor="start" if upside_down else "end",
        size=_SMALL,
    )
    return element(
        "g",
        hairlines(pen, d, dashes="2 1.5"),
        element("g", words, transform="rotate(180)") if upside_down else words,
        transform=f"rotate({number(-turn, 3)})",
        class_="dw-clamp",
    )


def _notes(template: PinTemplate, pen: Pen) -> tuple[str, ...]:
    asked = template.clamping
    sizes = ", ".join(pen.length(holes.disc_diameter) for holes in template.circles)
    room = min(holes.room(gap) for holes in template.circles for gap in range(len(holes.gaps)))
    lines = [
        f"For discs of {sizes} {pen.unit}; {asked.pins} pins of {pen.length(asked.pin_diameter)}, {asked.clamps} "
        f"{'clamp' if asked.clamps == 1 else 'clamps'} with {pen.length(room)} or more between pins",
        f"Between holes at least {pen.length(least_web(template))}; between disc and pin "
        f"{pen.length(asked.clearance)} {pen.unit}",
        "Clamp the board down, punch the centres, drill square to the face; wear eye protection and keep to what the "
        "machines’ makers say",
    ]
    if len(template.circles) > 1:
        lines.insert(2, "Pins stand in the holes of one disc at a time")
    return tuple(lines)


def _table(
    template: PinTemplate, pen: Pen, *, x: float, y: float
) -> tuple[str, tuple[float, float, float, float]]:
    """Hole by hole its centre from the middle of the disc: x to the right, y up."""
    rows = [row for holes in template.circles for row in holes.positions.tolist()]
    parts = []
    for place, (right, up) in enumerate(rows):
        column, line = divmod(place, _ROWS)
        left, base = x + column * _COLUMN, y + (line + 1) * ROW + TEXT
        figures = (str(place + 1), _coordinate(right, pen.unit), _coordinate(up, pen.unit))
        for text, end in zip(figures, (6.0, 20.0, 34.0), strict=True):
            parts.append(label(text, x=left + end, y=base, anchor="end"))
        if not line:
            for text, end in zip(
                ("hole", f"x, {pen.unit}", f"y, {pen.unit}"), (6.0, 20.0, 34.0), strict=True
            ):
                parts.append(label(text, x=left + end, y=y + TEXT, anchor="end", bold=True))
    columns = -(-len(rows) // _ROWS)
    high = (min(len(rows), _ROWS) + 1) * ROW
    return element("g", *parts, class_="dw-holes"), (x, y, columns * _COLUMN, high)


def _coordinate(mm: float, unit: Unit) -> str:
    """To the hundredth of a millimetre, or the thousandth of an inch.

    >>> _coordinate(12.5, "mm"), _coordinate(-0.001, "mm"), _coordinate(25.4, "in")
    ('12.50', '0.00', '1.000')
    """
    places = 3 if unit == "in" else 2
    written = f"{mm / unit_in_mm(unit):.{places}f}"
    return written.lstrip("-") if not float(written) else written


def _listed(template: PinTemplate, pen: Pen) -> str:
    """The table in words."""
    said = "; ".join(
        f"{_coordinate(x, pen.unit)}, {_coordinate(y, pen.unit)}"
        for holes in template.circles
        for x, y in holes.positions.tolist()
    )
    return f"Centres of the holes, x and y in {pen.unit}: {said}"
