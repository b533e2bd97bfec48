"""The section at full size: the profile over its layers, with their numbers, heights and the outlines of the rings."""

from typing import Literal

import numpy as np

from estimating.picture.dimensions import Pen, hairlines
from estimating.picture.plates import TEXT, DrawnPart, Plate, around, label
from estimating.picture.section import blank_spans, blanks, section
from estimating.picture.svg import element, number
from estimating.picture.tiling import Box
from estimating.shape.curves import Floats

Sides = Literal["both", "right"]
PALE = 0.45
"""How strongly wood is tinted, so that lines are read on it and ink is saved."""

_SCALE_AT, _SCALE_WIDE = 4.0, 18.0


def section_plate(part: DrawnPart, *, pen: Pen, sides: Sides = "both") -> Plate:
    """The section of one part, both sides or the right one alone. The axis is x = 0 and the rim y = 0."""
    subject = part.subject
    form, stack = subject.form, subject.stack
    shown = (-1, 1) if sides == "both" else (1,)
    reach = max(
        form.largest_diameter / 2, *(outer for side in shown for *_, outer in blank_spans(subject, side))
    )
    upper = min(0.0, form.top - float(stack.top.max()))
    lower = max(form.height, form.top - float(stack.bottom.min()))
    drawn = [
        element("g", section(subject, side=side, line=pen.line), fill_opacity=PALE)
        + blanks(subject, side=side, line=pen.line)
        for side in shown
    ]
    axis = hairlines(pen, f"M0,{number(upper - 4)}V{number(lower + 4)}", dashes="6 1.2 1 1.2")
    scale, scale_box = _heights(part, pen, x=reach + _SCALE_AT)
    left = -reach if sides == "both" else -4.0
    box = around((left, upper - 4, reach - left, lower - upper + 8), scale_box, margin=0.5)
    return Plate(part.titled("Section"), _notes(part, pen), "".join([*drawn, axis, scale]), box)


def _heights(part: DrawnPart, pen: Pen, *, x: float) -> tuple[str, Box]:
    """A scale beside the section: a line at every edge of a layer, its height, and the layers' numbers between."""
    form, stack = part.subject.form, part.subject.stack
    edges = np.append(stack.bottom, stack.top[-1])
    lines = "".join(f"M{number(x)},{number(form.top - z)}h4" for z in edges.tolist())
    upright = f"M{number(x)},{number(form.top - float(edges[0]))}V{number(form.top - float(edges[-1]))}"
    # The middle of a figure stands about a third of its size above its line.
    down = TEXT * 0.35
    heights = "".join(
        label(pen.length(z - float(edges[0])), x=x + _SCALE_WIDE, y=form.top - z + down, anchor="end")
        for z in _spread(edges)
    )
    middles = (stack.bottom + stack.top) / 2
    numbers = "".join(
        label(str(part.first_layer + place + 1), x=x + 5.5, y=form.top - middle + down, bold=True)
        for place, middle in enumerate(middles.tolist())
        if middle in set(_spread(middles))
    )
    box = (x, form.top - float(edges[-1]) - TEXT, _SCALE_WIDE, float(edges[-1] - edges[0]) + 2 * TEXT)
    return element(
        "g", hairlines(pen, lines + upright, opacity=1.0), heights, numbers, class_="dw-heights"
    ), box


def _spread(heights: Floats) -> list[float]:
    """As many of the heights, from the bottom up, as leave room for a figure between them."""
    shown: list[float] = []
    for height in heights.tolist():
        if not shown or height - shown[-1] >= 1.15 * TEXT:
            shown.append(height)
    return shown


def _notes(part: DrawnPart, pen: Pen) -> tuple[str, ...]:
    form, stack = part.subject.form, part.subject.stack
    return (
        f"{pen.length(form.height)} high, {pen.length(form.largest_diameter)} {pen.unit} across, {len(stack)} layers",
        "On the scale: layers, and heights above the bottom of the stack",
        "Dashed: the blanks before turning",
    )
