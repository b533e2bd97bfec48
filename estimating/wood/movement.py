"""How wood changes its size between two moistures, and what that does to closed rings, discs and glue lines.

Strains are fractions of the size at the first moisture, + is swelling. Along the grain wood hardly moves (0.1 to
0.2 % from green to ovendry, American Wood Council), which counts here as nothing.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import atan, cos, hypot, isfinite, sin, sqrt, tan
from typing import Literal

from estimating.errors import InvalidInput

FIBRE_SATURATION = 30.0
"""Moisture, %, above which wood keeps its green size (Wood Handbook ch. 4)."""

COEFFICIENTS_HOLD = (6.0, 14.0)
"""Moistures, %, between which the coefficients of dimensional change hold (Wood Handbook Table 13-5)."""

_COEFFICIENTS_MADE_AT = 10.0
"""Moisture, %, at which S / (3000 - 20 S) gives the coefficients as the handbook's table prints them."""


def shrinkage_form(*, shrink_pct: float, start: float, end: float) -> float:
    """Strain from moisture `start` to `end` (%), by the shrinkage of the wood from green to ovendry, %.

    Errors: InvalidInput at `start` or `end` for a moisture below 0 or above fibre saturation, at `shrink_pct` for
    no shrinkage of wood.
    Source: Wood Handbook (FPL-GTR-282) ch. 13 equation (13-3), dD = D (M_F - M_I) / (30 (100) / S - 30 + M_I).

    >>> round(300 * shrinkage_form(shrink_pct=7.8, start=8, end=12), 2)
    3.31
    """
    _check_shrinkage(shrink_pct)
    for place, moisture in (("start", start), ("end", end)):
        if not (isfinite(moisture) and 0 <= moisture <= FIBRE_SATURATION):
            reason = f"must be a moisture from 0 to {FIBRE_SATURATION:g} %, not {moisture:g}"
            raise InvalidInput(place, reason)
    return (end - start) / (FIBRE_SATURATION * 100 / shrink_pct - FIBRE_SATURATION + start)


def coefficient_form(*, coefficient: float, start: float, end: float) -> float:
    """Strain from moisture `start` to `end` (%), by the wood's coefficient of dimensional change for 1 %.

    Errors: InvalidInput at `start` or `end` for a moisture outside 6 to 14 %, where the coefficients do not hold.
    Source: Wood Handbook (FPL-GTR-282) ch. 13 equation (13-2), dD = D C (M_F - M_I).

    >>> round(232 * coefficient_form(coefficient=0.00245, start=8, end=11), 1)
    1.7
    """
    low, high = COEFFICIENTS_HOLD
    for place, moisture in (("start", start), ("end", end)):
        if not low <= moisture <= high:
            reason = f"must be from {low:g} to {high:g} %, where coefficients hold, not {moisture:g}"
            raise InvalidInput(place, reason)
    return coefficient * (end - start)


def coefficient_of(shrink_pct: float) -> float:
    """Coefficient of dimensional change for 1 % of moisture, from the shrinkage green to ovendry, %.

    Equation (13-3) at 10 % moisture; so made, it is the handbook's Table 13-5 to its last digit for nearly all woods.
    Errors: InvalidInput at `shrink_pct` for no shrinkage of wood.

    >>> round(coefficient_of(7.8), 5)
    0.00274
    """
    _check_shrinkage(shrink_pct)
    return 1 / (FIBRE_SATURATION * 100 / shrink_pct - FIBRE_SATURATION + _COEFFICIENTS_MADE_AT)


def _check_shrinkage(shrink_pct: float) -> None:
    if not 0 < shrink_pct < 50:
        raise InvalidInput("shrink_pct", f"must be more than 0 and less than 50 %, not {shrink_pct:g}")


@dataclass(frozen=True, slots=True)
class Strain:
    """How a ring's wood changes: radially (`width`), along the axis (`height`), and round the ring (`round`)."""

    width: float
    height: float
    round: float


def turned_to_ring(across: float, *, grain: float) -> Strain:
    """The strain of segments whose grain stands at `grain` radians to the ring's plane, square to the radius.

    Segments have it at 0, staves at pi/2, slanting strips of a laminate between. All directions across the grain
    take `across`; along it nothing. The strain tensor diag(0, across) turned by the angle has across cos^2 and
    across sin^2, written here with twice the angle so that upright staves come out at 0 exactly.
    """
    twice = cos(2 * grain)
    return Strain(width=across, height=across * (1 + twice) / 2 + 0.0, round=across * (1 - twice) / 2 + 0.0)


@dataclass(frozen=True, slots=True)
class Free:
    """How far points of one layer move outwards while nothing holds it: `offset` + `slope` r, mm at radius r, mm.

    A disc, besides, moves by `across` r square to its grain and not at all along it; its grain lies at `grain`
    radians in plan.
    """

    offset: float = 0.0
    slope: float = 0.0
    across: float = 0.0
    grain: float = 0.0


def free_ring(strain: Strain, *, outer: float, inner: float) -> Free:
    """A closed ring: the circle through the middle of its width keeps its length along the grain.

    From there the width swells outwards and inwards alike. In the true ring, glued and stiff along the grain, the
    circle that stays lies at the logarithmic mean of the radii instead, a little further in; for wedges that meet at
    the centre neither is more than a rule.
    """
    middle = (outer + inner) / 2
    return Free(offset=(strain.round - strain.width) * middle, slope=strain.width)


def free_disc(across: float, *, grain: float) -> Free:
    """A disc in one piece: it turns oval."""
    return Free(across=across, grain=grain)


def mismatch(below: Free, above: Free, *, outer: float, inner: float) -> float:
    """The most by which two layers would slide on one another between two radii, mm at one side.

    The difference runs straight in the radius and as a squared cosine round the axis, so the largest stands at one of
    the radii, at one of two angles.
    """
    offset, slope = above.offset - below.offset, above.slope - below.slope
    one, other = above.across, below.across
    swing = sqrt(max(one**2 + other**2 - 2 * one * other * cos(2 * (above.grain - below.grain)), 0.0))
    return max(
        abs(offset + (slope + (one - other + sign * swing) / 2) * radius)
        for radius in (outer, inner)
        for sign in (1, -1)
    )


@dataclass(frozen=True, slots=True)
class Closing:
    """What a closed ring does at its joints. Radians and mm.

    `joint` is the angle by which each joint would open, were the ring let go, + at its outside, - at its inside;
    `all_joints` the same of all together; `opening` how wide each would stand open at that side. `forced` is the
    strain along the grain at the edges if the glue holds instead, at the middle radius: an indicator.
    """

    joint: float
    all_joints: float
    opening: float
    forced: float

    @property
    def opens(self) -> Literal["outside", "inside", "nowhere"]:
        """Where: swelling segments grow wider but no longer, too square to meet outside; shrinking ones, inside."""
        if self.joint == 0:
            return "nowhere"
        return "outside" if self.joint > 0 else "inside"


def closing(strain: Strain, *, segments: int, half_angle: float, outer: float, inner: float) -> Closing:
    """What the joints of a closed ring want to do: its segments keep their length and change their width.

    A point x out from the axis on an end face is x tan(phi) from the segment's middle line; wider by `width` and
    longer by `round` the face stands at atan(tan(phi) (1 + round) / (1 + width)), and two such faces meet at a joint.
    """
    face = atan(tan(half_angle) * (1 + strain.round) / (1 + strain.width))
    joint = 2 * (half_angle - face)
    width = outer - inner
    length = width * hypot(1 + strain.width, tan(half_angle) * (1 + strain.round))
    bend = (strain.width - strain.round) * width / (outer + inner)
    return Closing(
        joint=joint,
        all_joints=segments * joint,
        opening=2 * length * sin(abs(joint) / 2),
        forced=abs(bend),
    )


def widest_disc(across: Iterable[float], *, limit: float) -> float | None:
    """The widest disc that moves at most `limit` mm at each side across its grain; None where it does not move."""
    most = max((abs(strain) for strain in across), default=0.0)
    return 2 * limit / most if most > 0 else None
