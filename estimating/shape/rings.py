"""One ring: its angles, edges, strip width, areas and volumes."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from math import cos, pi, tan

FEWEST_SEGMENTS = 3
MOST_SEGMENTS = 360


@dataclass(frozen=True)
class Ring:
    """A glued course of equal segments, one layer or a thick ring of several. mm, radians.

    `outer_radius` is the circle that must lie inside the outer flats, `inner_radius` the circle outside which wood
    must be everywhere; 0 for wedges that meet at the centre. `gap` is the share of the pitch left open. `height` is
    as glued, before flattening. `pattern` has one wood a segment, all round.
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

    @cached_property
    def miter(self) -> float:
        """Half a segment's included angle; what the saw is set to."""
        return pi * (1 - self.gap) / self.segments

    @property
    def outer_apothem(self) -> float:
        return self.outer_radius

    @cached_property
    def inner_apothem(self) -> float:
        """The inner corners lie on the inner circle."""
        return self.inner_radius * cos(self.miter)

    @property
    def outer_edge(self) -> float:
        return 2 * self.outer_apothem * tan(self.miter)

    @property
    def inner_edge(self) -> float:
        return 2 * self.inner_apothem * tan(self.miter)

    @property
    def strip_width(self) -> float:
        return self.outer_apothem - self.inner_apothem

    @property
    def corner_radius(self) -> float:
        """From the axis to a segment's outer corner: what the lathe must swing."""
        return self.outer_apothem / cos(self.miter)

    @cached_property
    def segment_area(self) -> float:
        """Face of one segment, mm2."""
        return tan(self.miter) * (self.outer_apothem**2 - self.inner_apothem**2)

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
        """Glued joints between segments: none where gaps stand between them."""
        return 0 if self.gap > 0 else self.segments

    @property
    def end_joint_area(self) -> float:
        """One end of a segment, mm2."""
        return self.strip_width / cos(self.miter) * self.height

    @cached_property
    def wood_counts(self) -> Mapping[str, int]:
        """Segments of each wood, in the order the woods appear."""
        return Counter(self.pattern)
