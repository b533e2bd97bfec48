"""Every glued area of a piece: segment ends, layer faces by true overlap, plugs, waste blocks, parts on parts."""

from collections.abc import Callable, Mapping, Sequence
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
    0 where a part ends; `inside` the joints within laminated segments of each ring, (rings,). `margins` is what is
    coated of a face beyond `faces`, the mean of the two that meet there, (layers - 1,) or (1,) for none at all.
    `plugs` by their lowest layer, `blocks` by the layer a waste block is glued to, `seats` by the two layers a part
    stands with.
    """

    ends: Floats
    faces: Floats
    inside: Floats
    plugs: Mapping[int, float] = field(default_factory=dict)
    blocks: Mapping[int, float] = field(default_factory=dict)
    seats: Mapping[tuple[int, int], float] = field(default_factory=dict)
    margins: Floats = field(default_factory=lambda: np.zeros(1))

    @property
    def coated(self) -> Floats:
        """What is coated of each of the two faces that meet between layer i and the one above it, (layers - 1,)."""
        coated: Floats = self.faces + self.margins
        return coated

    @property
    def all_faces(self) -> float:
        """Everything glued face to face or along the grain, mm2."""
        rest = (*self.plugs.values(), *self.blocks.values(), *self.seats.values())
        return float(self.faces.sum() + self.inside.sum()) + sum(rest)

    @property
    def all_coated(self) -> float:
        """Everything coated face to face or along the grain, of one face of each joint, mm2."""
        return self.all_faces + float((self.coated - self.faces).sum())


def joint_areas(shapes: Sequence[Shape], *, margin: float = 0.0) -> JointAreas:
    """Glued areas of one piece, each joint once, and what is coated beyond them between layers.

    Ends: strip width / cos(half angle) x ring height, as many as a closed ring has segments, none in an open one.
    Faces: the true overlap of the two polygon rings, or discs, as they are turned on one another. Of each of the two,
    what lies within `margin` (mm) of the other layer's edges is coated, the corners of those drawn out square; inwards
    and outwards, not into the gaps of an open layer. Finished faces, plugs and blocks are coated where they are glued.
    """
    rings = [ring for shape in shapes for ring in shape.rings]
    faces = [np.append(_face_areas(shape), 0.0) for shape in shapes]
    margins = [np.append(_margins(shape, margin), 0.0) for shape in shapes] if margin else [np.zeros(2)]
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
        margins=np.concatenate(margins)[:-1],
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
    """Wood on wood between each two layers of a part, (layers - 1,)."""
    return _between_layers(shape, contact_areas)


def _margins(shape: Shape, margin: float) -> Floats:
    """What is coated beyond that, the mean of the two faces, (layers - 1,); nothing where they do not touch."""

    def beyond(below: Course, above: Course) -> Floats:
        touching = contact_areas(below, above)
        of_two = contact_areas(below, above.grown(margin)) + contact_areas(below.grown(margin), above)
        return np.where(touching > 0, of_two / 2 - touching, 0.0)

    return _between_layers(shape, beyond)


def _between_layers(shape: Shape, area: Callable[[Course, Course], Floats]) -> Floats:
    """An area for each two layers of a part, (layers - 1,), like joints at once."""
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
            areas[below] = area(
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
