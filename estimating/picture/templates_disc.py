"""An alignment disc at full size: a mark for the middle of every layer's segment 1, to glue a stack up by."""

from dataclasses import dataclass
from math import cos, degrees, pi, sin

from estimating.picture.dimensions import Pen, hairlines
from estimating.picture.plates import (
    ROW,
    TEXT,
    DrawnPart,
    Plate,
    around,
    caption,
    centre_mark,
    circle,
    label,
    said_numbers,
    wrapped,
)
from estimating.picture.svg import element, number

SMALLEST, LARGEST, SPACE = 55.0, 150.0, 4.2
"""A disc's least radius, the most it grows to for marks that are close, and the room they ask along its edge, mm."""

_HALF_SHEET = 90.0
MOST_TIERS, _LIST_WIDE = 4, 100

LONGEST = 16
"""A mark with more characters of layers than this is named by a letter, and its layers stand in the list below."""

_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class Mark:
    """One direction from the axis, radians anticlockwise from segment 1 of the first layer, and its layers."""

    angle: float
    layers: tuple[int, ...]


def _turned(part: DrawnPart) -> list[tuple[int, float]]:
    """Number and angle of every layer that has segments; a disc looks the same however it is turned."""
    angles = part.subject.stack.angle.tolist()
    return [
        (part.first_layer + place + 1, angle)
        for place, angle in enumerate(angles)
        if not part.subject.ring(place).is_disc
    ]


def marks_of(part: DrawnPart) -> list[Mark]:
    """The distinct directions of the layers' segment 1, in the order the layers first take them; discs have none."""
    found: list[tuple[float, list[int]]] = []
    for layer, angle in _turned(part):
        turned = angle % (2 * pi)
        for known, layers in found:
            if abs((turned - known + pi) % (2 * pi) - pi) < _SAME:
                layers.append(layer)
                break
        else:
            found.append((turned, [layer]))
    return [Mark(angle, tuple(layers)) for angle, layers in found]


def cycle_of(part: DrawnPart) -> int:
    """After how many layers the directions come round again, 0 where they do not within the stack."""
    angles = [angle for _, angle in _turned(part)]
    for step in range(1, len(angles) // 2 + 1):
        away = (abs((b - a + pi) % (2 * pi) - pi) for a, b in zip(angles, angles[step:], strict=False))
        if all(each < _SAME for each in away):
            return step
    return 0


def disc_plate(part: DrawnPart, *, pen: Pen, mandrel: float = 0.0) -> Plate:
    """The disc seen from above, rim up, segment 1 of the first layer on top. `mandrel` is its hole's diameter."""
    marks = marks_of(part)
    named_marks = _named(marks)
    step = 2.5 + max(pen.width_of(name) for name, _ in named_marks)
    radius, tiers = _radius(marks, step, mandrel)
    reach = radius + 3 + tiers * step
    ranks = {mark.angle: rank for rank, mark in enumerate(sorted(marks, key=lambda mark: mark.angle))}
    ends = [radius + 2 + (ranks[mark.angle] % tiers) * step for mark in marks]
    lines = "".join(
        f"M{number(-0.72 * radius * sin(m.angle), 3)},{number(-0.72 * radius * cos(m.angle), 3)}"
        f"L{number(-end * sin(m.angle), 3)},{number(-end * cos(m.angle), 3)}"
        for m, end in zip(marks, ends, strict=True)
    )
    names = "".join(
        _written(name, mark.angle, end + 1.2)
        for mark, end, (name, _) in zip(marks, ends, named_marks, strict=True)
    )
    lists = [
        line
        for name, layers in named_marks
        if layers
        for line in wrapped(f"Mark {name}: layers {layers}", width=_LIST_WIDE)
    ]
    words, wide, high = caption(pen, ["", *lists], x=-reach, y=reach - ROW) if lists else ("", 0.0, 0.0)
    drawn = element(
        "g",
        circle(pen, radius, weight=1.6),
        circle(pen, mandrel / 2, weight=1.6) if mandrel else "",
        centre_mark(pen, reach=max(6.0, mandrel / 2 + 3)),
        hairlines(pen, lines, opacity=1.0),
        names,
        _ways(pen, radius),
        words,
        class_="dw-alignment",
    )
    box = around((-reach, -reach, 2 * reach, 2 * reach), (-reach, reach - ROW, wide, high), margin=0.5)
    return Plate(part.titled("Alignment disc"), _notes(part, marks, mandrel, pen), drawn, box, _listed(marks))


def _radius(marks: list[Mark], step: float, mandrel: float) -> tuple[float, int]:
    """The disc's radius, and in how many tiers its marks' names stand: more where marks are close together.

    One sheet holds it as long as that leaves the names room.
    """
    angles = sorted(mark.angle for mark in marks)
    closest = min(b - a for a, b in zip(angles, [*angles[1:], angles[0] + 2 * pi], strict=True))
    asked = SPACE / closest
    for tiers in range(1, MOST_TIERS + 1):
        largest = _HALF_SHEET - 3 - tiers * step
        if asked <= tiers * largest:
            return max(SMALLEST, asked / tiers, 1.5 * mandrel), tiers
    return max(SMALLEST, min(asked / MOST_TIERS, LARGEST), 1.5 * mandrel), MOST_TIERS


def _named(marks: list[Mark]) -> list[tuple[str, str]]:
    """What stands at each mark, and the layers to list below where they are too many to stand there."""
    named, letters = [], 0
    for mark in marks:
        layers = said_numbers(mark.layers)
        if len(layers) <= LONGEST:
            named.append((layers, ""))
        else:
            named.append((chr(ord("a") + letters % 26) * (1 + letters // 26), layers))
            letters += 1
    return named


def _written(name: str, angle: float, radius: float) -> str:
    """A name along its radius, never upside down."""
    x, y = -radius * sin(angle), -radius * cos(angle)
    # The direction on the page, clockwise from the x axis as SVG turns.
    turn = -90.0 - degrees(angle)
    outward = cos(turn * pi / 180) >= -_SAME
    drop = 0.35 * TEXT
    face = turn if outward else turn + 180
    shift_x, shift_y = -drop * sin(face * pi / 180), drop * cos(face * pi / 180)
    return label(name, x=x + shift_x, y=y + shift_y, anchor="start" if outward else "end", turn=face)


def _ways(pen: Pen, radius: float) -> str:
    """Two arrows: which way the count runs, seen with the rim up (anticlockwise) and with the rim down."""
    d, words, lean = [], [], pi / 5
    for share, way, name in ((0.56, 1, "rim up"), (0.34, -1, "rim down")):
        r = share * radius
        x, y = r * sin(lean), r * cos(lean)
        d.append(f"M{number(-x)},{number(y)}A{number(r)},{number(r)} 0 0 0 {number(x)},{number(y)}")
        # The head stands at the right end where the arrow runs anticlockwise, below the centre from left to right.
        for side in (-0.4, 0.4):
            back_x, back_y = -way * 2.8 * cos(-lean + side), 2.8 * sin(lean - side)
            d.append(f"M{number(way * x)},{number(y)}l{number(back_x)},{number(back_y)}")
        words.append(label(name, x=0.0, y=r - 1.5, anchor="middle", size=0.9 * TEXT))
    return hairlines(pen, "".join(d), opacity=1.0) + "".join(words)


def _notes(part: DrawnPart, marks: list[Mark], mandrel: float, pen: Pen) -> tuple[str, ...]:
    cycle = cycle_of(part)
    again = f"; they come round again every {cycle} layers" if cycle > 1 else ""
    at = f"At each mark: the layers whose segment 1 has its middle there{again}"
    if len(marks) == 1:
        at = "All layers have the middle of segment 1 at the one mark"
    notes = [
        at,
        "Seen from above, rim up: fix it on the axis and glue each layer to its mark; "
        "the arrows run the way offsets are counted",
    ]
    if mandrel:
        notes.append(f"Hole for the mandrel: {pen.length(mandrel)} {pen.unit}")
    return tuple(notes)


def _listed(marks: list[Mark]) -> str:
    """The marks in words, the first sixty of them."""
    said = "; ".join(f"{degrees(mark.angle):.4g}° layers {said_numbers(mark.layers)}" for mark in marks[:60])
    return f"{len(marks)} marks, anticlockwise from segment 1 of the first layer: {said}"
