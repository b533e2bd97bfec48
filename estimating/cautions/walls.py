"""Cautions of the finished wall: thin at a glue line, thin in the floor, short grain and feathers at the lip."""

from collections.abc import Iterator
from math import inf, sin

import numpy as np

from estimating.cautions.seen import Caution, Rule, Seen, numbers, part_said
from estimating.shape.build import Shape
from estimating.shape.thickness import level_thickness, wall_thickness

SHORTEST_FIBRE = 10.0
"""mm of fibre that the lip has at a segment's joint, where the grain runs out soonest; common practice, no source."""

NOTHING = 0.05
"""mm of a layer that sanding takes off."""

_ROUNDING = 1e-6


def thin_wall(seen: Seen) -> Iterator[Caution]:
    """The wall at the glue lines between layers, where it breaks first."""
    least = seen.shop.min_wall
    for shape in seen.shapes:
        stack = shape.stack
        lines = (stack.top[:-1] + stack.bottom[1:]) / 2
        walls = wall_thickness(shape.form, lines)
        thin = np.flatnonzero(walls < least - _ROUNDING)
        if not len(thin):
            continue
        at = int(np.argmin(walls))
        others = numbers(shape.number(line) for line in thin.tolist())
        message = (
            f"The wall{part_said(seen, shape)} is {float(walls[at]):.1f} mm thick at the glue line between layers "
            f"{shape.number(at)} and {shape.number(at) + 1}, under the shop's least {least:g} mm: a joint so narrow "
            f"opens or chips under the tool (too thin above layer {others}). Make the wall thicker there, or move the "
            "glue line by other thicknesses of layers."
        )
        yield Caution("thin_wall", "warning", f"{shape.part.place}form.inside", message)


def thin_floor(seen: Seen) -> Iterator[Caution]:
    """The floor under the hollow, less what a recess takes of it."""
    least = seen.shop.min_wall
    for shape in seen.shapes:
        form, holding = shape.form, shape.part.holding
        floor = _floor(shape)
        recess = holding.depth if holding is not None and holding.by == "recess" else 0.0
        if floor - recess >= least - _ROUNDING:
            continue
        if recess:
            message = (
                f"The foot's recess{part_said(seen, shape)}, {recess:g} mm deep, leaves {floor - recess:.1f} mm of a "
                f"floor {floor:.1f} mm thick, under the shop's least {least:g} mm: it may break through or ring out. "
                f"Make the recess {max(floor - least, 0):.1f} mm deep at most, the floor thicker, or hold by a tenon."
            )
            yield Caution("thin_floor", "warning", f"{shape.part.place}holding.depth", message)
        elif form.has_floor:
            message = (
                f"The floor{part_said(seen, shape)} is {floor:.1f} mm thick, under the shop's least {least:g} mm: "
                "a little drift of the stack's height and the tool goes through. Let the inside begin higher."
            )
            yield Caution("thin_floor", "warning", f"{shape.part.place}form.inside", message)


def _floor(shape: Shape) -> float:
    """Wood between the foot and the hollow, mm; none counts where the hole goes through."""
    form = shape.form
    if form.opening is None:
        return form.height
    return form.opening - form.bottom if form.has_floor else inf


def short_grain_at_the_lip(seen: Seen) -> Iterator[Caution]:
    """The grain runs along each segment, so at its ends it leaves a thin lip soonest.

    At the joint it crosses the wall at half the segment's angle phi: a fibre is wall / sin(phi) long, the wall
    measured level. Common practice, no source.
    """
    for shape in seen.shapes:
        ring = shape.rings[shape.ring_of[-1]]
        if shape.form.inner is None or ring.is_disc or ring.lean is not None:
            continue
        level = level_thickness(shape.form, shape.form.top)
        fibre = level / sin(ring.half_angle)
        thick = float(wall_thickness(shape.form, np.array([shape.form.top]))[0])
        least = seen.shop.min_wall
        if fibre >= SHORTEST_FIBRE - _ROUNDING and thick >= least - _ROUNDING:
            continue
        why, mend = f"under the shop's least {least:g} mm", ""
        if fibre < SHORTEST_FIBRE - _ROUNDING:
            why = f"and where its {ring.segments} segments meet, fibres run only {fibre:.1f} mm to the side of it"
            mend = ", or the top layer more segments"
        message = (
            f"The lip{part_said(seen, shape)}, in layer {shape.layers[-1]}, is {thick:.1f} mm thick, {why}: short end "
            f"grain at the joints snaps off. Give the lip {_lip_wanted(ring.half_angle, least):.1f} mm or more{mend}."
        )
        yield Caution("short_grain", "warning", shape.part.band_place(ring.band), message)


def _lip_wanted(half_angle: float, least: float) -> float:
    return max(least, SHORTEST_FIBRE * sin(half_angle))


def feathered_rim(seen: Seen) -> Iterator[Caution]:
    """The top layer, of which turning leaves a sliver, thinner than a wall and than half of the layer, or nothing."""
    for shape in seen.shapes:
        thickness = float(shape.stack.thickness[-1])
        left = shape.form.top - float(shape.stack.bottom[-1])
        if len(shape.stack) < 2 or left >= min(seen.shop.min_wall, thickness / 2) - _ROUNDING:
            continue
        where, layer = shape.part.band_place(shape.stack.band[-1]), shape.layers[-1]
        if left < NOTHING:
            message = (
                f"Layer {layer}{part_said(seen, shape)} stands wholly above the rim and is turned away. Leave it "
                "out, or make the layers below a little thinner, so that it carries the rim."
            )
            yield Caution("wasted_layer", "note", where, message)
        else:
            message = (
                f"Only {left:.1f} mm of layer {layer}{part_said(seen, shape)} is left at the rim: such a feather chips "
                "off its glue line. Make the layers below a little thinner or the form taller, or leave it out."
            )
            yield Caution("feathered_rim", "warning", where, message)


RULES: tuple[Rule, ...] = (thin_wall, thin_floor, short_grain_at_the_lip, feathered_rim)
