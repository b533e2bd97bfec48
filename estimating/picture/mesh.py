"""Outlines beside the axis swept round it into triangles: closed bodies, and skins to look at."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from math import acos, ceil, cos, pi, sin, sqrt

import numpy as np
import numpy.typing as npt

from estimating.picture.profile import AXIS, Loop
from estimating.shape.curves import Floats

Triangles = npt.NDArray[np.int64]


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
        the segment's middle, or up) and across it; `faces` (F, 3).
    """

    vertices: Floats
    normals: Floats
    grain: Floats
    faces: Triangles


@dataclass(frozen=True)
class Course:
    """The like bodies round one layer: an outline swept through 2 `half_angle` at each of the `angles`.

    Layers, rings and segments are counted from 1; a plug in the middle of a layer is its segment 0. `angles` (n,) are
    the bodies' middles, radians anticlockwise seen from above, 0 towards the viewer; `woods` one a body. An arc is
    drawn as `chords` chords; radii are `stretch` times the outline's. The grain runs round the ring, or up where it is
    `upright`, as in staves and plugs.
    """

    layer: int
    ring: int
    loop: Loop
    half_angle: float
    angles: Floats
    woods: tuple[str, ...]
    chords: int
    stretch: float
    first: int = 1
    upright: bool = False

    @property
    def is_plug(self) -> bool:
        """Whether it is a plug rather than segments or a disc."""
        return self.first == 0

    @property
    def lower(self) -> float:
        """Height of its lowest point, mm."""
        return float(self.loop.points[:, 1].min())

    @property
    def upper(self) -> float:
        """Height of its highest point, mm."""
        return float(self.loop.points[:, 1].max())

    @property
    def apart(self) -> Iterator[Body]:
        """Each body by itself."""
        one = self._one
        for vertices in turned(one.vertices, self.angles):
            yield Body(vertices, one.faces)

    @cached_property
    def _one(self) -> Body:
        return swept(self.loop, half_angle=self.half_angle, chords=self.chords, stretch=self.stretch)

    @cached_property
    def bodies(self) -> Body:
        """All bodies of the course, each closed by itself, one after another."""
        one = self._one
        count, size = len(self.angles), len(one.vertices)
        faces = one.faces + size * np.arange(count)[:, None, None]
        return Body(turned(one.vertices, self.angles).reshape(-1, 3), faces.reshape(-1, 3))

    @cached_property
    def skin(self) -> Skin:
        """One body's surface."""
        skin = skinned(self.loop, half_angle=self.half_angle, chords=self.chords, stretch=self.stretch)
        return replace(skin, grain=skin.grain[:, ::-1]) if self.upright else skin


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


def chords_of(half_angle: float, tolerance: float) -> int:
    """Chords of an arc that stay within a tolerance given as a share of the radius; at least 24 a turn."""
    step = min(2 * acos(1 - tolerance), pi / 12)
    return ceil(2 * half_angle / step - 1e-9)


def stretch_of(half_angle: float, chords: int) -> float:
    """What radii are multiplied by so that the chords' polygon has the area of the circle's sector.

    Source: the triangle of a chord of angle d has area r^2 sin(d) / 2, its sector r^2 d / 2.
    """
    step = 2 * half_angle / chords
    return sqrt(step / sin(step))
