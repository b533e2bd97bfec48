"""Triangles of the piece: every segment as turned or as glued, and each part as one closed solid."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from math import acos, ceil, cos, pi, sin, sqrt

import numpy as np
import numpy.typing as npt

from estimating.picture.profile import AXIS, Loop, Profile, loop_between, upright
from estimating.shape.build import Shape
from estimating.shape.curves import Floats
from estimating.shape.rings import Ring

Triangles = npt.NDArray[np.int64]

LOOKS = 1 / 1000
"""Tolerance of a mesh to look at, as a share of the piece's largest radius."""

MAKES = 1 / 5000
"""Tolerance of a solid to make from."""

_THINNEST = 1e-6


@dataclass(frozen=True)
class Body:
    """A closed surface, its triangles anticlockwise seen from outside.

    Shape: `vertices` (V, 3) mm: x to the right, y away from the viewer, z up, the axis at 0, 0; `faces` (F, 3).
    """

    vertices: Floats
    faces: Triangles

    @property
    def volume(self) -> float:
        """What it encloses, mm3, by the divergence theorem: a sixth of the sum of a . (b x c) over its triangles."""
        a, b, c = (self.vertices[self.faces[:, corner]] for corner in range(3))
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


@dataclass(frozen=True)
class Skin:
    """One segment's surface for looking at, its edges sharp; the segment's middle faces the viewer.

    Shape: `vertices` and `normals` (V, 3), mm and unit; `grain` (V, 2) mm, along the grain (tangent to the ring in
        the segment's middle) and across it; `faces` (F, 3).
    """

    vertices: Floats
    normals: Floats
    grain: Floats
    faces: Triangles


@dataclass(frozen=True)
class Course:
    """The like bodies round one layer: an outline swept through 2 `half_angle` at each of the `angles`.

    Layers, rings and segments are counted from 1. `angles` (n,) are the bodies' middles, radians anticlockwise seen
    from above, 0 towards the viewer; `woods` one a body. An arc is drawn as `chords` chords; radii are `stretch`
    times the outline's.
    """

    layer: int
    ring: int
    loop: Loop
    half_angle: float
    angles: Floats
    woods: tuple[str, ...]
    chords: int
    stretch: float

    @property
    def lower(self) -> float:
        """Height of its lowest point, mm."""
        return float(self.loop.points[:, 1].min())

    @property
    def upper(self) -> float:
        """Height of its highest point, mm."""
        return float(self.loop.points[:, 1].max())

    @cached_property
    def bodies(self) -> Body:
        """All bodies of the course, each closed by itself, one after another."""
        one = swept(self.loop, half_angle=self.half_angle, chords=self.chords, stretch=self.stretch)
        count, size = len(self.angles), len(one.vertices)
        faces = one.faces + size * np.arange(count)[:, None, None]
        return Body(turned(one.vertices, self.angles).reshape(-1, 3), faces.reshape(-1, 3))

    @cached_property
    def skin(self) -> Skin:
        """One body's surface."""
        return skinned(self.loop, half_angle=self.half_angle, chords=self.chords, stretch=self.stretch)


def turned(vectors: Floats, angles: Floats) -> Floats:
    """Vectors (V, 3) turned about the axis by each of the angles: (n, V, 3)."""
    cosines, sines = np.cos(angles)[:, None], np.sin(angles)[:, None]
    x, y, z = vectors.T
    return np.stack(
        [x * cosines - y * sines, x * sines + y * cosines, np.broadcast_to(z, (len(angles), len(z)))], -1
    )


def swept(loop: Loop, *, half_angle: float, chords: int, stretch: float) -> Body:
    """The outline swept from -half_angle to half_angle and closed at its ends; all round where that is a full turn."""
    whole = half_angle > pi - 1e-9
    points, columns = len(loop.points), chords if whole else chords + 1
    numbers = np.arange(points * columns).reshape(points, columns)
    numbers[loop.points[:, 0] < AXIS] = numbers[loop.points[:, 0] < AXIS, :1]
    start, end = numbers, np.roll(numbers, -1, axis=0)
    if whole:
        a, b, c, d = start, np.roll(start, -1, axis=1), np.roll(end, -1, axis=1), end
    else:
        a, b, c, d = start[:, :-1], start[:, 1:], end[:, 1:], end[:, :-1]
    faces = [np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)]
    if not whole:
        faces += [numbers[loop.caps, 0], numbers[loop.caps[:, ::-1], -1]]
    triangles = _with_three_corners(np.concatenate(faces))
    used, renumbered = np.unique(triangles, return_inverse=True)
    angles = np.linspace(-half_angle, half_angle, chords + 1)[:columns]
    vertices = _placed(loop.points * (stretch, 1.0), angles).reshape(-1, 3)[used]
    return Body(vertices, renumbered.reshape(-1, 3).astype(np.int64))


def skinned(loop: Loop, *, half_angle: float, chords: int, stretch: float) -> Skin:
    """The same surface with its own corners for every edge of the outline and for both ends."""
    angles = np.linspace(-half_angle, half_angle, chords + 1)
    ends = np.stack([loop.points, np.roll(loop.points, -1, axis=0)], axis=1) * (stretch, 1.0)
    round_ = _placed(ends.reshape(-1, 2), angles)
    normals = _placed(loop.normals.reshape(-1, 2), angles)
    numbers = np.arange(round_.shape[0] * (chords + 1)).reshape(-1, 2, chords + 1)
    a, b = numbers[:, 0, :-1], numbers[:, 0, 1:]
    c, d = numbers[:, 1, 1:], numbers[:, 1, :-1]
    starts_off, ends_off = (ends[:, which, 0] > AXIS for which in (0, 1))
    faces = [
        np.stack([a, b, c], -1)[starts_off].reshape(-1, 3),
        np.stack([a, c, d], -1)[ends_off].reshape(-1, 3),
    ]
    lying = np.abs(loop.normals[:, 0, 1]) > sqrt(0.5)
    radius = np.hypot(round_[..., 0], round_[..., 1])
    across = np.where(np.repeat(lying, 2)[:, None], radius * np.cos(angles), round_[..., 2])
    vertices, skin_normals = [round_.reshape(-1, 3)], [normals.reshape(-1, 3)]
    grain = [np.stack([(radius * np.sin(angles)).ravel(), across.ravel()], -1)]
    if half_angle < pi - 1e-9:
        first = numbers.size
        for angle, caps, way in ((-half_angle, loop.caps, -1), (half_angle, loop.caps[:, ::-1], 1)):
            points = _placed(loop.points * (stretch, 1.0), np.array([angle]))[:, 0]
            vertices.append(points)
            skin_normals.append(np.tile([way * cos(angle), way * sin(angle), 0.0], (len(points), 1)))
            grain.append(np.stack([points[:, 0], points[:, 2]], -1))
            faces.append(caps + first)
            first += len(points)
    return _trimmed(*(np.concatenate(part) for part in (vertices, skin_normals, grain, faces)))


def _trimmed(vertices: Floats, normals: Floats, grain: Floats, faces: Triangles) -> Skin:
    used, renumbered = np.unique(faces, return_inverse=True)
    return Skin(vertices[used], normals[used], grain[used], renumbered.reshape(-1, 3).astype(np.int64))


def _placed(points: Floats, angles: Floats) -> Floats:
    """Points (m, 2) across and up, at each angle: (m, k, 3)."""
    across, up = points[:, :1], points[:, 1:]
    return np.stack(
        [across * np.sin(angles), -across * np.cos(angles), np.repeat(up, len(angles), axis=1)], -1
    )


def _with_three_corners(faces: Triangles) -> Triangles:
    a, b, c = faces.T
    kept: Triangles = faces[(a != b) & (b != c) & (c != a)]
    return kept


def _chords(half_angle: float, tolerance: float) -> int:
    """Chords of an arc that stay within a tolerance given as a share of the radius; at least 24 a turn."""
    step = min(2 * acos(1 - tolerance), pi / 12)
    return ceil(2 * half_angle / step - 1e-9)


def _stretch(half_angle: float, chords: int) -> float:
    """What radii are multiplied by so that the chords' polygon has the area of the circle's sector.

    Source: the triangle of a chord of angle d has area r^2 sin(d) / 2, its sector r^2 d / 2.
    """
    step = 2 * half_angle / chords
    return sqrt(step / sin(step))


def turned_courses(shape: Shape, *, tolerance: float = LOOKS) -> list[Course]:
    """Every segment as it will be turned, by layers from the bottom up.

    `tolerance` is how far the mesh may lie beside the form, as a share of the largest radius; areas and volumes are
    kept whatever it is (see line_of and _stretch), and neighbouring layers meet within it.
    """
    spans = _spans(shape)
    profile = _profile(shape, spans, tolerance)
    courses = []
    for layer in np.flatnonzero(spans[:, 1] - spans[:, 0] > _THINNEST).tolist():
        half = shape.rings[shape.ring_of[layer]].half_angle
        chords = _chords(half, tolerance)
        loop = profile.loop(*spans[layer].tolist())
        courses.append(_course(shape, layer, loop, chords=chords, stretch=_stretch(half, chords)))
    return courses


def glued_courses(shape: Shape) -> list[Course]:
    """Every segment as it is glued up, before turning: flat outside and inside, its layer's full thickness."""
    courses = []
    for layer, (bottom, top) in enumerate(
        zip(shape.stack.bottom.tolist(), shape.stack.top.tolist(), strict=True)
    ):
        ring = shape.rings[shape.ring_of[layer]]
        sides = (upright(apothem, bottom, top) for apothem in (ring.outer_apothem, ring.inner_apothem))
        courses.append(
            _course(shape, layer, loop_between(*sides), chords=1, stretch=1 / cos(ring.half_angle))
        )
    return courses


def _course(shape: Shape, layer: int, loop: Loop, *, chords: int, stretch: float) -> Course:
    ring = shape.rings[shape.ring_of[layer]]
    return Course(
        layer=layer + 1,
        ring=ring.number,
        loop=loop,
        half_angle=ring.half_angle,
        angles=middles(ring, float(shape.stack.angle[layer])),
        woods=ring.pattern,
        chords=chords,
        stretch=stretch,
    )


def middles(ring: Ring, angle: float) -> Floats:
    """Angle of every segment's middle, (n,), the first at `angle`, radians."""
    return angle + 2 * pi / ring.segments * np.arange(ring.segments, dtype=np.float64)


def solids(shape: Shape, *, tolerance: float = MAKES) -> list[Body]:
    """The turned piece as closed solids: one where it is closed all round, and every segment where gaps are open.

    Layers that are closed all round are one solid of revolution as far as they reach, glue lines included. A piece
    without open gaps is therefore a single solid.
    """
    spans = _spans(shape)
    runs = list(_runs(shape, spans))
    ends = np.array([[spans[layers[0], 0], spans[layers[-1], 1]] for _, layers in runs])
    profile = _profile(shape, ends, tolerance)
    found: list[Body] = []
    for (is_open, layers), (lower, upper) in zip(runs, ends.tolist(), strict=True):
        if is_open:
            courses = turned_courses(shape, tolerance=tolerance)
            found += [body for course in courses if course.layer - 1 in layers for body in _apart(course)]
            continue
        chords = _chords(pi, tolerance)
        loop = profile.loop(lower, upper)
        found.append(swept(loop, half_angle=pi, chords=chords, stretch=_stretch(pi, chords)))
    return found


def glued_segments(shape: Shape) -> list[Body]:
    """Every segment of the glued stack as a closed solid."""
    return [body for course in glued_courses(shape) for body in _apart(course)]


def _apart(course: Course) -> Iterator[Body]:
    one = swept(course.loop, half_angle=course.half_angle, chords=course.chords, stretch=course.stretch)
    for vertices in turned(one.vertices, course.angles):
        yield Body(vertices, one.faces)


def _runs(shape: Shape, spans: Floats) -> Iterator[tuple[bool, Sequence[int]]]:
    """Neighbouring layers that are alike in being open or closed all round; those turned away left out."""
    layers = np.flatnonzero(spans[:, 1] - spans[:, 0] > _THINNEST).tolist()
    for is_open, run in groupby(layers, lambda layer: shape.rings[shape.ring_of[layer]].gap > 0):
        yield is_open, list(run)


def _spans(shape: Shape) -> Floats:
    """Where each layer's turned part begins and ends, (n, 2), mm."""
    form, stack = shape.form, shape.stack
    spans: Floats = np.clip(np.stack([stack.bottom, stack.top], axis=1), form.bottom, form.top)
    return spans


def _profile(shape: Shape, edges: Floats, tolerance: float) -> Profile:
    heights: Floats = np.unique(edges)
    return Profile(shape.form, heights, tolerance * shape.form.largest_diameter / 2)
