"""Staves that lean: the compound miter, the slant, the board they are cut from, and the wall that covers a form."""

from dataclasses import dataclass
from functools import cached_property
from math import asin, atan, cos, pi, sin, tan

from estimating.errors import InvalidInput
from estimating.shape.curves import Floats

_ROUNDING = 1e-9
"""mm: an inside that misses the axis by no more than this meets it."""


def compound_miter(*, staves: int, flare: float) -> tuple[float, float]:
    """Miter and tilt of the edges of `staves` sides that lean by `flare` from the axis; all radians.

    Both are taken from a square cut and come without a sign: which end is wide decides how the board lies on the
    saw, not what is set. `miter` is the angle on the stave's face between the edge and the stave's length, `tilt`
    how far the edge is off square to the face.
    Limits: flare 0 gives miter 0 and tilt pi/n (upright staves), flare pi/2 miter pi/n and tilt 0 (a flat frame).
    Source: X = arctan(cos B tan(A/2)), Y = arcsin(sin B sin(A/2)), workshop article "Miter formula"
    (woodcentral.com/bparticles/miter_formula.shtml), with A = 2 pi/n and B = pi/2 - flare, the side's tilt up from
    the bench: sine and cosine of B change places when the lean is taken from the axis.

    >>> from math import degrees, radians
    >>> [round(degrees(angle), 2) for angle in compound_miter(staves=4, flare=radians(45))]
    [35.26, 30.0]
    """
    return atan(sin(abs(flare)) * tan(pi / staves)), asin(cos(flare) * sin(pi / staves))


def lean(*, bottom: float, top: float, height: float) -> float:
    """Flare of a straight wall whose radius goes from `bottom` to `top` over `height`: radians, + is wider at the top.

    >>> lean(bottom=40.0, top=40.0, height=90.0)
    0.0
    """
    return atan((top - bottom) / height)


@dataclass(frozen=True)
class StaveRing:
    """A ring of staves as glued: flat ends square to the axis, inner face parallel to the outer. mm, radians.

    `staves` is their number, `flare` how far they lean from the axis, + is wider at the top. `height` is along the
    axis, with what truing the ends takes. `bottom` is the apothem of the outer flats at the lower end; `wall` the
    horizontal distance from the outer to the inner flats, the same all the way up. The joints are closed.
    Heights `z` are from the ring's own lower end.
    """

    staves: int
    flare: float
    height: float
    bottom: float
    wall: float

    @property
    def half_angle(self) -> float:
        """Half a stave's included angle in plan."""
        return pi / self.staves

    @cached_property
    def _angles(self) -> tuple[float, float]:
        return compound_miter(staves=self.staves, flare=self.flare)

    @property
    def miter(self) -> float:
        """Taper of each edge along the face: what the saw's miter (or the taper sled) is set to."""
        return self._angles[0]

    @property
    def tilt(self) -> float:
        """What the blade is tilted to for the edges."""
        return self._angles[1]

    def apothems(self, z: float) -> tuple[float, float]:
        """Outer and inner apothem at a height."""
        outer = self.bottom + z * tan(self.flare)
        return outer, outer - self.wall

    def widths(self, z: float) -> tuple[float, float]:
        """Width of a stave's outer and inner face at a height."""
        outer, inner = self.apothems(z)
        return 2 * outer * tan(self.half_angle), 2 * inner * tan(self.half_angle)

    @property
    def top(self) -> float:
        """Outer apothem at the upper end."""
        return self.apothems(self.height)[0]

    @property
    def wide(self) -> float:
        """Outer apothem at the wider end."""
        return max(self.bottom, self.top)

    @property
    def narrow(self) -> float:
        """Outer apothem at the narrower end."""
        return min(self.bottom, self.top)

    @property
    def corner_radius(self) -> float:
        """From the axis to a corner of the wide end: what the lathe must swing."""
        return self.wide / cos(self.half_angle)

    @property
    def slant_length(self) -> float:
        """Length of a stave along its face."""
        return self.height / cos(self.flare)

    @property
    def board_thickness(self) -> float:
        """What the board must measure through, square to its face."""
        return self.wall * cos(self.flare)

    @property
    def rip_width(self) -> float:
        """Width of the board a stave is tapered from: its outer face at the wide end.

        The bevelled edges lean inwards from the outer face, so that nothing of the stave is wider than that.
        """
        return 2 * self.wide * tan(self.half_angle)

    @property
    def narrow_width(self) -> float:
        """Width of the outer face at the narrow end."""
        return 2 * self.narrow * tan(self.half_angle)

    @property
    def tip_width(self) -> float:
        """Width of the inner face at its narrow end: the least anywhere on the stave; 0 where tips meet at the axis."""
        return 2 * max(self.narrow - self.wall, 0.0) * tan(self.half_angle)

    @property
    def end_bevel(self) -> float:
        """What the blade is tilted to for the ends: the ends are level, the stave leans."""
        return abs(self.flare)

    @property
    def blank_length(self) -> float:
        """Length of board under one stave: both ends are bevelled alike, so the slant and the lean of one bevel."""
        return self.slant_length + self.board_thickness * tan(abs(self.flare))

    @property
    def blank_volume(self) -> float:
        """The boards all the staves are cut from, ripped parallel at the rip width, mm3; no kerf."""
        return self.staves * self.board_thickness * self.rip_width * self.blank_length

    @property
    def volume(self) -> float:
        """Wood in the glued ring, mm3: n tan(pi/n) times the integral of outer^2 - inner^2 = wall (2 outer - wall)."""
        return (
            self.staves
            * tan(self.half_angle)
            * self.wall
            * self.height
            * (self.bottom + self.top - self.wall)
        )

    @property
    def joint_area(self) -> float:
        """One edge joint, mm2. There are as many as staves.

        It lies in a plane through the axis and is a parallelogram there: `height` tall, wall / cos(pi/n) across.
        """
        return self.wall / cos(self.half_angle) * self.height

    def end_area(self, z: float) -> float:
        """Face of the ring cut level at a height, mm2; at its ends, what is glued to the next ring."""
        outer, inner = self.apothems(z)
        return self.staves * tan(self.half_angle) * (outer**2 - inner**2)


def cover(
    *,
    heights: Floats,
    outer: Floats,
    inner: Floats,
    staves: int,
    flare: float,
    height: float,
    place: str = "",
) -> StaveRing:
    """The thinnest ring of staves at this lean whose flats clear the outside and whose corners clear the inside.

    Shape: `heights`, `outer`, `inner` (m,): heights from the ring's lower end as glued, and the radii to cover there,
    allowances in; 0 in `inner` where it is solid. Between two heights the radii are taken to run straight, so give
    every extreme. mm, radians.
    The outer flats are the lowest line of slope tan(flare) with A_o(z) >= outer(z), the inner flats the highest with
    A_i(z) <= inner(z) cos(pi/n): a polygon's corners are 1 / cos(pi/n) further out than its flats.
    Errors: InvalidInput at `place`made when staves that lean would cross the axis, with what would mend it. Upright
    ones may meet there.
    """
    rise = heights * tan(flare)
    bottom = float((outer - rise).max())
    inside = float((inner * cos(pi / staves) - rise).min())
    ring = StaveRing(staves=staves, flare=flare, height=height, bottom=bottom, wall=bottom - inside)
    if flare != 0 and ring.narrow - ring.wall < -_ROUNDING:
        solid = not bool((inner > 0).all())
        why = "is solid within their height" if solid else "lies too far off their slope"
        end = "lower" if flare > 0 else "upper"
        raise InvalidInput(
            f"{place}made",
            f"staves cannot lean here: the inside {why}, so they would cross the axis at their {end} end; begin them "
            "above the floor, let the band be shorter, or make it of cut rings",
        )
    return ring
