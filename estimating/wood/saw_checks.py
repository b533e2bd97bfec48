"""What a glued ring must measure across, to hold a caliper to before the next one is cut."""

from collections.abc import Iterable
from dataclasses import dataclass

from estimating.shape.rings import Ring


@dataclass(frozen=True, slots=True)
class RingCheck:
    """One ring glued up and not yet turned, mm; of leaning staves at the wide end.

    An even ring is measured corner to corner and flat to flat, an odd one from a corner to the flat opposite; there is
    no corner opposite a flat where open gaps stand between an odd number of segments. The rest is None.
    """

    ring: int
    segments: int
    outer_edge: float
    inner_edge: float
    width: float
    corners: float | None
    flats: float | None
    corner_to_flat: float | None


def ring_checks(rings: Iterable[Ring]) -> tuple[RingCheck, ...]:
    """The check dimensions of every ring of segments or staves. Discs have none: they are turned round.

    A regular polygon of apothem a has its corners at a / cos(half angle). Opposite an even ring's corner is a corner
    (2 a / cos), opposite its flat a flat (2 a), gaps or not, since half a turn lays the ring on itself; opposite an odd
    ring's flat is a joint, where the corners meet unless a gap is left open (a + a / cos).
    Source: trigonometry of regular polygons.
    """
    return tuple(_check(ring) for ring in rings if not ring.is_disc)


def _check(ring: Ring) -> RingCheck:
    apothem, corner = ring.outer_apothem, ring.corner_radius
    even = ring.segments % 2 == 0
    return RingCheck(
        ring=ring.number,
        segments=ring.segments,
        outer_edge=ring.outer_edge,
        inner_edge=ring.inner_edge,
        width=ring.strip_width,
        corners=2 * corner if even else None,
        flats=2 * apothem if even else None,
        corner_to_flat=apothem + corner if not even and ring.gap == 0 else None,
    )
