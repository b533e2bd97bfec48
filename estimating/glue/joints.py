"""Every glued area of a piece: segment ends within rings, and the faces between neighbouring layers."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from estimating.shape.build import Shape
from estimating.shape.curves import Floats
from estimating.shape.overlap import Course, contact_areas

_JOINTS_AT_ONCE = 2048


@dataclass(frozen=True)
class JointAreas:
    """Areas of wood on wood, mm2: `ends` of all segment joints in each ring, (rings,); `faces` between layer i
    and the one above it, (layers - 1,)."""

    ends: Floats
    faces: Floats


def joint_areas(shape: Shape) -> JointAreas:
    """Glued areas of one piece, each joint once.

    Ends: strip width / cos(miter) x ring height, as many as a closed ring has segments, none in an open one.
    Faces: the true overlap of the two polygon rings as they are turned on one another.
    """
    ends = np.array([ring.end_joints * ring.end_joint_area for ring in shape.rings])
    return JointAreas(ends=ends, faces=_face_areas(shape))


def _face_areas(shape: Shape) -> Floats:
    ring_of = np.array(shape.ring_of)
    outer = np.array([ring.outer_apothem for ring in shape.rings])[ring_of]
    inner = np.array([ring.inner_apothem for ring in shape.rings])[ring_of]
    courses = [(shape.rings[ring].segments, shape.rings[ring].gap) for ring in shape.ring_of]
    areas = np.zeros(len(courses) - 1)
    joints_of_kind: dict[tuple[tuple[int, float], tuple[int, float]], list[int]] = {}
    for joint, pair in enumerate(pairwise(courses)):
        joints_of_kind.setdefault(pair, []).append(joint)
    for joints in joints_of_kind.values():
        # Layers with many segments and no common divisor make long rows: a few at a time keep memory small.
        for start in range(0, len(joints), _JOINTS_AT_ONCE):
            below = np.array(joints[start : start + _JOINTS_AT_ONCE])
            areas[below] = contact_areas(
                _course(shape, ring_of, outer, inner, below), _course(shape, ring_of, outer, inner, below + 1)
            )
    return areas


def _course(shape: Shape, ring_of: np.ndarray, outer: Floats, inner: Floats, layers: np.ndarray) -> Course:
    ring = shape.rings[ring_of[layers[0]]]
    return Course(
        segments=ring.segments,
        miter=ring.miter,
        outer_apothem=outer[layers],
        inner_apothem=inner[layers],
        angle=shape.stack.angle[layers],
    )
