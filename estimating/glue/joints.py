"""Every glued area of a piece: segment ends, layer faces by true overlap, plugs, waste blocks, parts on parts."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import pi, tan

import numpy as np

from estimating.shape.build import Shape
from estimating.shape.curves import Floats
from estimating.shape.overlap import Course, contact_areas
from estimating.shape.rings import Ring

_JOINTS_AT_ONCE = 2048


@dataclass(frozen=True)
class JointAreas:
    """Areas of wood on wood, mm2.

    `ends` of all segment joints in each ring, (rings,); `faces` between layer i and the one above it, (layers - 1,),
    0 where a part ends; `inside` the joints within laminated segments of each ring, (rings,). `plugs` by their
    lowest layer, `blocks` by the layer a waste block is glued to, `seats` by the two layers a part stands with.
    """

    ends: Floats
    faces: Floats
    inside: Floats
    plugs: Mapping[int, float] = field(default_factory=dict)
    blocks: Mapping[int, float] = field(default_factory=dict)
    seats: Mapping[tuple[int, int], float] = field(default_factory=dict)

    @property
    def all_faces(self) -> float:
        """Everything glued face to face or along the grain, mm2."""
        rest = (*self.plugs.values(), *self.blocks.values(), *self.seats.values())
        return float(self.faces.sum() + self.inside.sum()) + sum(rest)


def joint_areas(shapes: Sequence[Shape]) -> JointAreas:
    """Glued areas of one piece, each joint once.

    Ends: strip width / cos(half angle) x ring height, as many as a closed ring has segments, none in an open one.
    Faces: the true overlap of the two polygon rings, or discs, as they are turned on one another.
    """
    rings = [ring for shape in shapes for ring in shape.rings]
    faces = [np.append(_face_areas(shape), 0.0) for shape in shapes]
    return JointAreas(
        ends=np.array([ring.end_joints * ring.end_joint_area for ring in rings]),
        faces=np.concatenate(faces)[:-1],
        inside=np.array([ring.laminated_area for ring in rings]),
        plugs={plug.layers[0]: plug.lateral_area for shape in shapes for plug in shape.plugs},
        blocks={
            shape.layers[0]: _block(shape)
            for shape in shapes
            if shape.part.holding and shape.part.holding.by == "waste_block"
        },
        seats=dict(_seats(shapes)),
    )


def _block(shape: Shape) -> float:
    """A waste block covers the lowest layer's face, its hole included where a plug fills it, mm2."""
    ring = shape.rings[shape.ring_of[0]]
    outer, inner = ring.face()
    of_apothem_1 = pi if ring.is_disc else ring.segments * tan(ring.half_angle)
    bore = pi * (float(shape.bore[0]) / 2) ** 2
    if not bore:
        return of_apothem_1 * (outer**2 - inner**2)
    bored = of_apothem_1 * outer**2 - (1 - ring.gap) * bore
    return bored if shape.plug_wood(0) is None else bored + bore


def _seats(shapes: Sequence[Shape]) -> list[tuple[tuple[int, int], float]]:
    """Finished faces of parts glued on one another: the smaller circle, less the wider opening."""
    by_name = {shape.part.name: shape for shape in shapes}
    found = []
    for shape in shapes:
        sits = shape.part.sits
        if sits is None or sits.how != "on":
            continue
        below = by_name[sits.other]
        top, bottom = np.array([below.form.top]), np.array([shape.form.bottom])
        outer = min(float(below.form.outer.radius(top)[0]), float(shape.form.outer.radius(bottom)[0]))
        inner = max(float(below.form.inner_radius(top)[0]), float(shape.form.inner_radius(bottom)[0]))
        found.append(((below.layers[-1], shape.layers[0]), pi * max(outer**2 - inner**2, 0.0)))
    return found


def _face_areas(shape: Shape) -> Floats:
    rings = [shape.rings[ring] for ring in shape.ring_of]
    courses = [(ring.segments, ring.gap, ring.is_disc) for ring in rings]
    areas = np.zeros(len(courses) - 1)
    joints_of_kind: dict[tuple[object, object], list[int]] = {}
    for joint, pair in enumerate(pairwise(courses)):
        joints_of_kind.setdefault(pair, []).append(joint)
    for joints in joints_of_kind.values():
        # Layers with many segments and no common divisor make long rows: a few at a time keep memory small.
        for start in range(0, len(joints), _JOINTS_AT_ONCE):
            below = np.array(joints[start : start + _JOINTS_AT_ONCE])
            areas[below] = contact_areas(
                _course(shape, rings, below, top=True), _course(shape, rings, below + 1, top=False)
            )
    return areas


def _course(shape: Shape, rings: Sequence[Ring], layers: np.ndarray, *, top: bool) -> Course:
    """The upper or lower faces of some layers that are of one kind."""
    ring = rings[layers[0]]
    faces = np.array([rings[layer].face(top) for layer in layers.tolist()])
    return Course(
        segments=ring.segments,
        half_angle=ring.half_angle,
        outer_apothem=faces[:, 0],
        inner_apothem=faces[:, 1],
        angle=shape.stack.angle[layers],
        disc=ring.is_disc,
    )
