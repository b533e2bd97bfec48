"""What each segment of an open layer stands on: the arcs of wood it shares with the segments below it."""

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, gcd, pi

import numpy as np

from estimating.shape.build import Shape
from estimating.shape.curves import Floats

_AT_ONCE = 1_000_000
"""Arcs compared in one go: many layers of many segments are taken a few at a time."""


@dataclass(frozen=True)
class Contact:
    """How segments of the layers above stand on those below, for m joints, (m,); radians.

    `least` is the least that any segment has on each side: on the two or more segments it bridges the shortest shared
    arc, on one alone half of that arc; 0 where one stands on nothing. `share` is the shared part of the shorter
    course's wood, of all that it has.
    """

    least: Floats
    share: Floats


def open_contact(*, below: tuple[int, float], above: tuple[int, float], turned: Floats) -> Contact:
    """Contact of two open courses, each given as (segments, half of what a segment takes of the circle, radians).

    Shape: `turned` (m,) is the angle from the centre of a segment below to the centre of one above.
    Method: two segments whose centres are d apart share min(2 a, 2 b, a + b - |d|) where that is positive, a and b
    being half of what each takes. Turning by the greatest common part of both courses brings the picture back, so the
    segments above within one such part are compared with every segment below that they can reach.
    """
    (lower, half_lower), (upper, half_upper) = below, above
    pitch = 2 * pi / lower
    periods = gcd(lower, upper)
    centres = 2 * pi / upper * np.arange(upper // periods)
    reach = ceil((half_lower + half_upper) / pitch) + 1
    neighbours = pitch * np.arange(-reach, reach + 1)
    at_once = max(1, _AT_ONCE // (len(centres) * len(neighbours)))
    least, shared = [np.zeros(0)], [np.zeros(0)]
    for start in range(0, len(turned), at_once):
        at = np.mod(turned[start : start + at_once, None] + centres, pitch)
        apart = np.abs(at[:, :, None] - neighbours)
        # Neighbours may reach round the ring and meet a segment again, but that far away nothing is shared.
        arcs = np.minimum(min(2 * half_lower, 2 * half_upper), half_lower + half_upper - apart)
        arcs = np.where(arcs > 1e-12, arcs, 0.0)
        least.append(_each_side(arcs).min(axis=1))
        shared.append(arcs.sum(axis=(1, 2)) * periods)
    wood = 2 * min(lower * half_lower, upper * half_upper)
    return Contact(np.concatenate(least), np.concatenate(shared) / wood)


def _each_side(arcs: Floats) -> Floats:
    """Of each segment the arc on each side, (m, segments), from its arcs with all neighbours, (m, segments, k)."""
    on = (arcs > 0).sum(axis=2)
    shortest = np.where(arcs > 0, arcs, np.inf).min(axis=2)
    return np.where(on == 0, 0.0, np.where(on == 1, shortest / 2, shortest))


@dataclass(frozen=True)
class OpenJoint:
    """A joint between two open layers: the number of the upper one, the contact each side in mm, and the share."""

    layer: int
    contact: float
    share: float


def open_joints(shape: Shape) -> list[OpenJoint]:
    """Every joint between two open layers of a part, from the bottom up.

    The contact is measured along the circle in the middle of the finished wall at the joint.
    """
    rings = [shape.rings[ring] for ring in shape.ring_of]
    kinds: dict[tuple[tuple[int, float], tuple[int, float]], list[int]] = {}
    for joint, (below, above) in enumerate(pairwise(rings)):
        if below.gap > 0 and above.gap > 0:
            kind = ((below.segments, below.half_angle), (above.segments, above.half_angle))
            kinds.setdefault(kind, []).append(joint)
    found = []
    for (below_kind, above_kind), joints in kinds.items():
        at = np.array(joints)
        turned = shape.stack.angle[at + 1] - shape.stack.angle[at]
        contact = open_contact(below=below_kind, above=above_kind, turned=turned)
        lines = (shape.stack.top[at] + shape.stack.bottom[at + 1]) / 2
        middle = (shape.form.outer.radius(lines) + shape.form.inner_radius(lines)) / 2
        for number, least, radius, share in zip(
            at.tolist(), contact.least, middle, contact.share, strict=True
        ):
            found.append(OpenJoint(shape.number(number + 1), float(least * radius), float(share)))
    return sorted(found, key=lambda joint: joint.layer)
