"""One glue-up from above and in section: marks and the turn between courses as they are held, faces that stay dry."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi, radians, sin

import numpy as np

from estimating.picture.dimensions import Pen, hairlines, write
from estimating.picture.ring_plan import segment_corners
from estimating.picture.svg import PAPER, document, element, joint_colour, number, outline, wood_colour
from estimating.shape.build import Shape
from estimating.shape.curves import Floats
from estimating.shape.in_hand import order_in_hand, turn_in_hand, within_half_turn
from estimating.shape.rings import Ring

MOST_ROWS = 24
"""Courses of a section; what is more than that is told in the table beside it."""

_ROW = 1.5
"""Height of a course in section, in heights of text: thin layers and thick ones alike."""

_APART = 0.09
"""How far the halves of a ring stand apart, as a share of its radius."""


@dataclass(frozen=True)
class _Look:
    """What all parts of one drawing share: the pen, colours by wood, and which laminate is mostly of which wood."""

    pen: Pen
    colours: Mapping[str, str]

    def colour(self, ring: Ring, segment: int) -> str:
        """Of one segment; a laminated one has the colour of the wood that is most of it."""
        key = ring.pattern[segment % len(ring.pattern)]
        woods = ring.laminated.get(key, {key: 1.0})
        return wood_colour(self.colours.get(max(woods, key=lambda wood: woods[wood])))


def draw_stack(
    shapes: Sequence[Shape],
    layers: Sequence[int],
    *,
    from_rim: bool,
    colours: Mapping[str, str],
    turned: bool = True,
    prefix: str = "dw-glue",
) -> str:
    """Neighbouring layers that are glued, given from the bottom of the piece up: two from above, and all in section.

    From above: the first two turned on one another, marks over the middle of segment 1, the lower one's on top.
    In section: rows of one height, the first to go on lowest; thick lines are coated, dashed faces stay dry.
    `turned` is False for parts that stand on one another as they look best. An SVG element whose user unit is 1 mm.
    """
    order = order_in_hand(layers, from_rim=from_rim)
    shape_of = {layer: shape for shape in shapes for layer in shape.layers if layer in order}
    rings = [shape_of[layer].ring(layer) for layer in order]
    turns = [0.0] * (len(order) - 1)
    if turned:
        angles = [float(shape_of[layer].stack.angle[shape_of[layer].index(layer)]) for layer in order]
        turns = [within_half_turn(turn_in_hand(a, b, from_rim=from_rim)) for a, b in pairwise(angles)]
    reach = max(ring.corner_radius for ring in rings)
    look = _Look(Pen(size=reach / 50, text=5.5 * reach / 50), colours)
    shown = next((place for place, turn in enumerate(turns) if turn), 0)
    pair, turn = order[shown : shown + 2], turns[shown]
    plan = _plan(look, rings[shown : shown + 2], pair, turn=turn, from_rim=from_rim, turned=turned)
    section, low = _section(look, order, rings, turns, top=reach + 3.4 * look.pen.text, turned=turned)
    above = wide = reach + 3.6 * look.pen.text
    held = ", rim down" if from_rim else ""
    said = f"Layers {', '.join(map(str, order))} in the order they go on{held}."
    if turn:
        said += (
            f" From above, layer {pair[1]} is turned {_degrees(abs(turn))} {_way(turn)} on layer {pair[0]}."
        )
    return document(
        plan,
        section,
        box=(-wide, -above, 2 * wide, above + low + 0.6 * look.pen.text),
        title=f"Glue-up of layers {order[0]} to {order[-1]}",
        description=f"{said} The lowest face and the topmost stay dry.",
        prefix=prefix,
    )


def draw_ring_halves(
    ring: Ring,
    *,
    spacers: bool,
    colours: Mapping[str, str],
    prefix: str = "dw-glue",
) -> str:
    """A ring in two halves from above: dry spacers between them, or the two trued joints that are left to be coated."""
    reach = ring.corner_radius * (1 + _APART)
    look = _Look(Pen(size=reach / 50, text=5.5 * reach / 50), colours)
    half, apart = ring.segments // 2, _APART * ring.corner_radius
    corners = _turned(segment_corners(ring), -(half - 1) * pi / ring.segments)
    parts = []
    for segment in range(ring.segments):
        moved = corners[segment] + [0.0, -apart if segment < half else apart]
        parts.append(_segment(look, moved, look.colour(ring, segment)))
    inner, outer = ring.inner_apothem, ring.corner_radius
    between = []
    for side in (-1, 1):
        xs = (side * inner, side * outer, side * outer, side * inner)
        ys = (-0.7 * apart, -0.7 * apart, 0.7 * apart, 0.7 * apart)
        between.append(_spacer(look, outline(xs, ys)) if spacers else _coat(look, xs[:2], (-apart, apart)))
    what = "dry spacers between them" if spacers else "coat the two joints that are left"
    words = write(look.pen, what, x=0.0, y=reach + 1.4 * look.pen.text, anchor="middle", share=0.8)
    wide = reach + 2 * look.pen.size
    return document(
        element("g", *parts, *between, class_="dw-halves", data_ring=ring.number),
        words,
        box=(-wide, -wide, 2 * wide, 2 * wide + 1.4 * look.pen.text),
        title=f"Halves of ring {ring.number}",
        description=f"Ring {ring.number} from above in two halves of {half} segments: {what}.",
        prefix=prefix,
    )


def _turned(points: Floats, turn: float) -> Floats:
    """Points on the page turned anticlockwise about the axis, radians."""
    x, y = points[..., 0], points[..., 1]
    return np.stack([x * cos(turn) + y * sin(turn), y * cos(turn) - x * sin(turn)], axis=-1)


def _plan(
    look: _Look,
    rings: Sequence[Ring],
    layers: Sequence[int],
    *,
    turn: float,
    from_rim: bool,
    turned: bool,
) -> str:
    """The course below in its woods, the one set on it in outline, both marks and the turn between them."""
    pen, (below, above) = look.pen, rings
    reach = max(ring.corner_radius for ring in rings)
    angle = radians(turn)
    parts = [_face(look, below, from_rim=from_rim), _edges(look, above, turn=angle, from_rim=from_rim)]
    words = f"layer {layers[1]} on layer {layers[0]}, {'mark over mark' if turned else 'as it looks best'}"
    if turned and not turn:
        parts.append(_mark(pen, reach, 0.0, f"{layers[0]}, {layers[1]}", out=0.9 * pen.text))
    if turn:
        parts.append(_mark(pen, reach, 0.0, f"{layers[0]}", out=0.9 * pen.text))
        parts.append(_mark(pen, reach, angle, f"{layers[1]}", out=2.2 * pen.text))
        parts.append(_arrow(pen, reach + 0.5 * pen.text, angle))
        words = f"layer {layers[1]}: {_degrees(abs(turn))} {_way(turn)} on layer {layers[0]}"
    parts.append(write(pen, words, x=0.0, y=reach + 1.5 * pen.text, anchor="middle", share=0.8))
    return element("g", *parts, class_="dw-plan")


def _face(look: _Look, ring: Ring, *, from_rim: bool) -> str:
    if ring.is_disc:
        colour = look.colour(ring, 0)
        hole = element("circle", r=ring.bore / 2, fill=PAPER) if ring.bore else ""
        disc = element(
            "circle", r=ring.outer_apothem, fill=colour, stroke=joint_colour(colour), stroke_opacity=0.5
        )
        return element("g", disc, hole, stroke_width=2 * look.pen.line, class_="dw-below")
    corners = segment_corners(ring) * ([-1, 1] if from_rim else [1, 1])
    drawn = [_segment(look, corners[place], look.colour(ring, place)) for place in range(ring.segments)]
    return element("g", *drawn, class_="dw-below", opacity=0.75)


def _segment(look: _Look, corners: Floats, colour: str) -> str:
    path = outline(*corners.T.tolist())
    ink = joint_colour(colour)
    return element(
        "path", d=path, fill=colour, stroke=ink, stroke_opacity=0.5, stroke_width=2 * look.pen.line
    )


def _edges(look: _Look, ring: Ring, *, turn: float, from_rim: bool) -> str:
    """Outlines of the segments of the course that is set on."""
    if ring.is_disc:
        drawn = element("circle", r=ring.outer_apothem, fill="none")
    else:
        corners = _turned(segment_corners(ring) * ([-1, 1] if from_rim else [1, 1]), turn)
        path = "".join(outline(*segment.T.tolist()) for segment in corners)
        drawn = element("path", d=path, fill="none")
    return element("g", drawn, class_="dw-above", stroke="currentColor", stroke_width=4 * look.pen.line)


def _mark(pen: Pen, reach: float, turn: float, word: str, *, out: float) -> str:
    """A witness mark over segment 1, with its layer's number; the upper one's stands farther out, so both are read."""
    across, down = -sin(turn), -cos(turn)
    start, end, at = reach - 0.9 * pen.text, reach + out, reach + out + 0.7 * pen.text
    line = f"M{number(start * across)},{number(start * down)}L{number(end * across)},{number(end * down)}"
    drawn = element("path", d=line, fill="none", stroke="currentColor", stroke_width=6 * pen.line)
    said = write(pen, word, x=at * across, y=at * down + 0.35 * pen.text, anchor="middle")
    return element("g", drawn, said, class_="dw-mark")


def _arrow(pen: Pen, radius: float, turn: float) -> str:
    """From the lower mark's direction to the upper one's, about the axis."""
    way = 1 if turn > 0 else -1
    end = (-radius * sin(turn), -radius * cos(turn))
    big = int(abs(turn) > pi)
    sweep = 0 if turn > 0 else 1
    d = f"M0,{number(-radius)}A{number(radius)},{number(radius)} 0 {big} {sweep} {number(end[0])},{number(end[1])}"
    tips = []
    for spread in (2.6, 3.6):
        angle = turn - way * 1.3 * pen.size / radius
        tip = radius + (spread - 3.1) * 2.2 * pen.size
        tips.append(
            f"M{number(end[0])},{number(end[1])}L{number(-tip * sin(angle))},{number(-tip * cos(angle))}"
        )
    drawn = element(
        "path", d=d + "".join(tips), fill="none", stroke="currentColor", stroke_width=3.5 * pen.line
    )
    return element("g", drawn, class_="dw-turn")


def _section(
    look: _Look,
    order: Sequence[int],
    rings: Sequence[Ring],
    turns: Sequence[float],
    *,
    top: float,
    turned: bool,
) -> tuple[str, float]:
    """Rows from the first to go on, lowest, and how far down they reach."""
    pen, rows = look.pen, list(range(len(order)))[:MOST_ROWS]
    tall = _ROW * pen.text
    bottom = top + tall * len(rows)
    parts = []
    for row in rows:
        y = bottom - tall * (row + 1)
        parts.append(_row(look, rings[row], y, tall))
        reach = max(ring.corner_radius for ring in rings) + 0.5 * pen.text
        middle = y + tall / 2 + 0.35 * pen.text
        parts.append(write(pen, str(order[row]), x=-reach, y=middle, anchor="end"))
        turn = turns[row - 1] if row else 0.0
        if row and turned:
            parts.append(write(pen, _signed(turn), x=reach, y=middle, share=0.8))
    for row in rows[1:]:
        inner = max(rings[row - 1].inner_apothem, rings[row].inner_apothem)
        outer = min(rings[row - 1].corner_radius, rings[row].corner_radius)
        y = bottom - tall * row
        for side in (-1, 1):
            parts.append(_coat(look, (side * inner, side * outer), (y,)))
    ends = [(rings[0], bottom, "dry", 1.0)]
    if len(rows) == len(order):
        ends.append((rings[-1], top, "dry", -0.25))
    for ring, y, word, down in ends:
        dashes = f"{number(1.6 * pen.size)} {number(pen.size)}"
        path = f"M{number(-ring.corner_radius)},{number(y)}H{number(ring.corner_radius)}"
        parts.append(hairlines(pen, path, opacity=1.0, dashes=dashes))
        parts.append(write(pen, word, x=0.0, y=y + down * pen.text, anchor="middle", share=0.8))
    return element("g", *parts, class_="dw-rows"), bottom + pen.text


def _row(look: _Look, ring: Ring, y: float, tall: float) -> str:
    """A course in section: the wood on both sides of what is open."""
    drawn = []
    for side, segment in ((-1, ring.segments // 2), (1, 0)):
        start, end = sorted((side * ring.inner_apothem, side * ring.corner_radius))
        colour = look.colour(ring, segment)
        drawn.append(
            element(
                "rect", x=start, y=y, width=end - start, height=tall, fill=colour,
                stroke=joint_colour(colour), stroke_opacity=0.5, stroke_width=2 * look.pen.line,
            )
        )  # fmt: skip
    return element("g", *drawn, class_="dw-course", data_ring=ring.number)


def _coat(look: _Look, xs: Sequence[float], ys: Sequence[float]) -> str:
    """Thick lines along faces that are coated."""
    path = "".join(f"M{number(xs[0])},{number(y)}H{number(xs[1])}" for y in ys)
    return element(
        "path", d=path, fill="none", stroke="currentColor", stroke_width=7 * look.pen.line, class_="dw-coat"
    )


def _spacer(look: _Look, path: str) -> str:
    dashes = f"{number(1.2 * look.pen.size)} {number(0.8 * look.pen.size)}"
    drawn = hairlines(look.pen, path, opacity=1.0, dashes=dashes)
    return element("g", drawn, class_="dw-spacer")


def _degrees(turn_deg: float) -> str:
    return f"{turn_deg:.3f}".rstrip("0").rstrip(".") + "°"


def _signed(turn_deg: float) -> str:
    return ("+" if turn_deg > 0 else "\N{MINUS SIGN}" if turn_deg < 0 else "") + _degrees(abs(turn_deg))


def _way(turn_deg: float) -> str:
    return "anticlockwise" if turn_deg > 0 else "clockwise"
