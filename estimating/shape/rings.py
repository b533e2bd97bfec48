"""One ring: its angles, edges, strip width, areas and volumes."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import cos, pi, tan

from estimating.piece import DISCS, Made, RingJoining
from estimating.shape.staves import StaveRing

FEWEST_SEGMENTS = 3
MOST_SEGMENTS = 360
FEWEST_TO_HALVE = 6
"""Halves of fewer segments are hardly longer than the plate they are trued on; common practice, no source."""


@dataclass(frozen=True)
class Ring:
    """A glued course of equal segments, one layer or a thick ring of several; a disc; a ring of staves. mm, radians.

    `outer_radius` is the circle that must lie inside the outer flats, `inner_radius` the circle outside which wood
    must be everywhere; 0 for wedges that meet at the centre. `gap` is the share of the pitch left open. `height` is
    as glued, before flattening. `pattern` has one wood or laminate a segment, all round. `bore` is the diameter of a
    hole through the middle, 0 without one. `lean` is how staves stand. `laminated` has each laminate's
    woods by share, `laminated_area` is what is glued inside all such segments, mm2.
    A disc is sawn round from a square: one segment, without corners.
    Source: a regular polygon of n sides and apothem a has side 2 a tan(pi/n) and area n a^2 tan(pi/n).
    """

    number: int
    band: int
    segments: int
    gap: float
    outer_radius: float
    inner_radius: float
    height: float
    layers: tuple[int, ...]
    pattern: tuple[str, ...]
    made: Made = "cut"
    bore: float = 0.0
    lean: StaveRing | None = None
    laminated: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    laminated_area: float = 0.0

    @property
    def is_disc(self) -> bool:
        """Whether it is in one piece and round."""
        return self.made in DISCS

    @cached_property
    def half_angle(self) -> float:
        """Half of what a segment takes of the circle."""
        return pi * (1 - self.gap) / self.segments

    @cached_property
    def miter(self) -> float:
        """What the saw is set to, from a square cut: half a segment's angle; less the more staves stand upright."""
        if self.is_disc:
            return 0.0
        return self.lean.miter if self.lean else self.half_angle

    @cached_property
    def tilt(self) -> float:
        """How far the blade is tilted for the edges of staves; 0 for what is cut with the blade upright."""
        return self.lean.tilt if self.lean else 0.0

    @property
    def outer_apothem(self) -> float:
        """The largest over its height."""
        return self.outer_radius

    @cached_property
    def inner_apothem(self) -> float:
        """The inner corners lie on the inner circle. The smallest over its height; half the bore of a disc."""
        if self.is_disc:
            return self.bore / 2
        return self.lean.narrow - self.lean.wall if self.lean else self.inner_radius * cos(self.half_angle)

    def face(self, top: bool = False) -> tuple[float, float]:
        """Outer and inner apothem of one face, the lower one unless `top`; they differ only where staves lean."""
        if self.lean:
            return self.lean.apothems(self.lean.height if top else 0.0)
        return self.outer_apothem, self.inner_apothem

    @property
    def outer_edge(self) -> float:
        """The longer edge; of a disc the side of the square it is sawn from."""
        return 2 * self.outer_apothem if self.is_disc else 2 * self.outer_apothem * tan(self.half_angle)

    @property
    def inner_edge(self) -> float:
        """The shorter edge; of a disc the side of the square it is sawn from."""
        return 2 * self.outer_apothem if self.is_disc else 2 * self.inner_apothem * tan(self.half_angle)

    @property
    def strip_width(self) -> float:
        """From the outer to the inner edge; of a disc the side of the square it is sawn from."""
        if self.lean:
            return self.lean.wall
        return 2 * self.outer_apothem if self.is_disc else self.outer_apothem - self.inner_apothem

    @property
    def corner_radius(self) -> float:
        """From the axis to a segment's outer corner: what the lathe must swing."""
        return self.outer_apothem if self.is_disc else self.outer_apothem / cos(self.half_angle)

    @cached_property
    def segment_area(self) -> float:
        """Face of one segment, mm2: of a disc before it is bored, of leaning staves at half their height."""
        if self.is_disc:
            return pi * self.outer_apothem**2
        (outer, inner), (outer_top, inner_top) = self.face(), self.face(top=True)
        return tan(self.half_angle) * (((outer + outer_top) / 2) ** 2 - ((inner + inner_top) / 2) ** 2)

    @property
    def area(self) -> float:
        """Face of the whole ring, mm2."""
        return self.segments * self.segment_area

    @property
    def volume(self) -> float:
        """Wood in the glued ring, mm3."""
        return self.area * self.height

    @property
    def end_joints(self) -> int:
        """Glued joints between segments: none in a disc, or where gaps stand between them."""
        return 0 if self.gap > 0 or self.is_disc else self.segments

    @property
    def end_joint_area(self) -> float:
        """One end of a segment, or one edge of a stave, mm2: in the plane through the axis."""
        return self.strip_width / cos(self.half_angle) * self.height

    @cached_property
    def wood_counts(self) -> Mapping[str, int]:
        """Segments of each wood or laminate, in the order they appear."""
        return Counter(self.pattern)

    @cached_property
    def wood_shares(self) -> Mapping[str, float]:
        """How many segments' worth of each wood, laminates shared out to their woods; they add up to `segments`."""
        shares: dict[str, float] = {}
        for key, count in self.wood_counts.items():
            parts = self.laminated.get(key, {key: 1.0})
            for wood, share in parts.items():
                shares[wood] = shares.get(wood, 0.0) + count * share
        return shares


def is_halved(ring: Ring, *, joining: RingJoining) -> bool:
    """Whether it is glued up as two halves whose ends are trued on one plane: closed, even, and of segments enough."""
    return joining == "halves" and ring.end_joints >= FEWEST_TO_HALVE and ring.segments % 2 == 0
