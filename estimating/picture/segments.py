"""Every segment, disc and plug of a part in triangles, turned or as glued, and the part as closed solids."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from math import cos, pi

import numpy as np

from estimating.picture.mesh import Body, Course, chords_of, stretch_of, swept
from estimating.picture.profile import Line, Loop, Profile, loop_between, slanted
from estimating.picture.regions import held, joined, loops_between
from estimating.shape.build import Shape
from estimating.shape.curves import Floats
from estimating.shape.rings import Ring

LOOKS = 1 / 1000
"""Tolerance of a mesh to look at, as a share of the piece's largest radius."""

MAKES = 1 / 5000
"""Tolerance of a solid to make from."""

_THINNEST = 1e-6


def turned_courses(shape: Shape, *, tolerance: float = LOOKS) -> list[Course]:
    """Every segment, disc and plug as it will be turned, by layers from the bottom up.

    `tolerance` is how far the mesh may lie beside the form, as a share of the largest radius; areas and volumes are
    kept whatever it is (see line_of and stretch_of), and neighbouring layers meet within it.
    """
    courses = []
    for index, loop, wood in layer_loops(shape, tolerance=tolerance):
        made = _plug(shape, index, loop, wood, tolerance) if wood else _course(shape, index, loop, tolerance)
        courses.append(made)
    return courses


def layer_loops(shape: Shape, *, tolerance: float) -> Iterator[tuple[int, Loop, str | None]]:
    """The turned outline of every layer by its index, and of its plug, which comes with its wood."""
    spans = _spans(shape)
    profile = _profile(shape, spans, tolerance)
    for index in np.flatnonzero(spans[:, 1] - spans[:, 0] > _THINNEST).tolist():
        lower, upper = spans[index].tolist()
        bore = float(shape.bore[index]) / 2
        if not bore:
            yield index, profile.loop(lower, upper), None
            continue
        outer, inner = profile.outer.between(lower, upper), profile.inside(lower, upper)
        for loop in loops_between(outer, held(inner, bore, np.maximum)):
            yield index, loop, None
        if wood := shape.plug_wood(index):
            for loop in loops_between(held(outer, bore, np.minimum), inner):
                yield index, loop, wood


def glued_courses(shape: Shape) -> list[Course]:
    """Every segment as it is glued up, before turning: flat outside and inside, its layer's full thickness.

    Staves lean; discs are round, with their bore. Plugs are not there yet: rings are bored for them later.
    """
    courses = []
    for index, ring_at in enumerate(shape.ring_of):
        ring = shape.rings[ring_at]
        bottom, top = float(shape.stack.bottom[index]), float(shape.stack.top[index])
        (outer, inner), (outer_top, inner_top) = ring.face(), ring.face(top=True)
        sides = (
            slanted(outer, outer_top, bottom, top),
            slanted(max(inner, 0.0), max(inner_top, 0.0), bottom, top),
        )
        courses.append(_course(shape, index, loop_between(*sides), LOOKS, flat=not ring.is_disc))
    return courses


def _course(shape: Shape, index: int, loop: Loop, tolerance: float, *, flat: bool = False) -> Course:
    """The segments of a layer: their arcs in chords, or `flat` from corner to corner."""
    ring = shape.rings[shape.ring_of[index]]
    half = ring.half_angle
    chords = 1 if flat else chords_of(half, tolerance)
    return Course(
        layer=shape.number(index),
        ring=ring.number,
        loop=loop,
        half_angle=half,
        angles=middles(ring, float(shape.stack.angle[index])),
        woods=ring.pattern,
        chords=chords,
        stretch=1 / cos(half) if flat else stretch_of(half, chords),
        upright=ring.made == "staves",
    )


def _plug(shape: Shape, index: int, loop: Loop, wood: str, tolerance: float) -> Course:
    chords = chords_of(pi, tolerance)
    return Course(
        layer=shape.number(index),
        ring=shape.rings[shape.ring_of[index]].number,
        loop=loop,
        half_angle=pi,
        angles=np.zeros(1),
        woods=(wood,),
        chords=chords,
        stretch=stretch_of(pi, chords),
        first=0,
        upright=True,
    )


def middles(ring: Ring, angle: float) -> Floats:
    """Angle of every segment's middle, (n,), the first at `angle`, radians."""
    return angle + 2 * pi / ring.segments * np.arange(ring.segments, dtype=np.float64)


def solids(shape: Shape, *, tolerance: float = MAKES) -> list[Body]:
    """The turned piece as closed solids: one where it is closed all round, and every segment where gaps are open.

    Layers that are closed all round are one solid of revolution as far as they reach, glue lines and plugs included;
    a bore that nothing fills is left open. A piece without open gaps is therefore a single solid.
    """
    found: list[Body] = []
    spans = _spans(shape)
    for is_open, layers in _runs(shape, spans):
        if is_open:
            courses = turned_courses(shape, tolerance=tolerance)
            numbers = {shape.number(index) for index in layers}
            found += [body for course in courses if course.layer in numbers for body in course.apart]
            continue
        chords = chords_of(pi, tolerance)
        for loop in _revolved(shape, spans[layers], layers, tolerance):
            found.append(swept(loop, half_angle=pi, chords=chords, stretch=stretch_of(pi, chords)))
    return found


def outlines(shape: Shape, *, tolerance: float) -> list[Loop]:
    """Round the turned wood beside the axis, as if no gaps were open: one outline unless a bore cuts it in two."""
    spans = _spans(shape)
    layers = np.flatnonzero(spans[:, 1] - spans[:, 0] > _THINNEST).tolist()
    return list(_revolved(shape, spans[layers], layers, tolerance))


def _revolved(shape: Shape, spans: Floats, layers: Sequence[int], tolerance: float) -> Iterator[Loop]:
    """The outline of neighbouring layers that are closed all round."""
    lower, upper = float(spans[0, 0]), float(spans[-1, 1])
    open_bores = [0.0 if shape.plug_wood(index) else float(shape.bore[index]) / 2 for index in layers]
    if not any(open_bores):
        profile = _profile(shape, np.array([lower, upper]), tolerance)
        yield profile.loop(lower, upper)
        return
    profile = _profile(shape, spans, tolerance)
    inner: list[Line] = []
    for (start, end), bore in zip(spans.tolist(), open_bores, strict=True):
        if inner and start > inner[-1].heights[-1] + _THINNEST:
            inner.append(
                profile.inside(float(inner[-1].heights[-1]), start)
            )  # the glue line is bored with them
            inner[-1] = held(inner[-1], bore, np.maximum)
        part = profile.inside(start, end)
        inner.append(held(part, bore, np.maximum) if bore else part)
    yield from loops_between(profile.outer.between(lower, upper), joined(inner))


def glued_segments(shape: Shape) -> list[Body]:
    """Every segment of the glued stack as a closed solid."""
    return [body for course in glued_courses(shape) for body in course.apart]


def _runs(shape: Shape, spans: Floats) -> Iterator[tuple[bool, list[int]]]:
    """Neighbouring layers that are alike in being open or closed all round; those turned away left out."""
    layers = np.flatnonzero(spans[:, 1] - spans[:, 0] > _THINNEST).tolist()
    for is_open, run in groupby(layers, lambda index: shape.rings[shape.ring_of[index]].gap > 0):
        yield is_open, list(run)


def _spans(shape: Shape) -> Floats:
    """Where each layer's turned part begins and ends, (n, 2), mm."""
    form, stack = shape.form, shape.stack
    spans: Floats = np.clip(np.stack([stack.bottom, stack.top], axis=1), form.bottom, form.top)
    return spans


def _profile(shape: Shape, edges: Floats, tolerance: float) -> Profile:
    heights: Floats = np.unique(edges)
    return Profile(shape.form, heights, tolerance * shape.form.largest_diameter / 2)
