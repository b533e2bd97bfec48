"""How a ring is made, as full-size drawings need to know it: discs, bores, and the two faces of staves that lean."""

from collections.abc import Sequence

from estimating.piece import Band
from estimating.shape.rings import Ring
from estimating.shape.staves import StaveRing


def is_disc(ring: Ring) -> bool:
    """Whether the ring is one round piece."""
    return bool(getattr(ring, "is_disc", False))


def bore_of(ring: Ring) -> float:
    """Diameter of the hole through the middle, mm; 0 without one."""
    return float(getattr(ring, "bore", 0.0))


def made_of(ring: Ring) -> str:
    """The way it is made."""
    return str(getattr(ring, "made", "cut"))


def plug_of(bands: Sequence[Band], ring: Ring) -> str:
    """The wood that fills its bore, empty without one."""
    return str(getattr(bands[ring.band], "plug", "") or "")


def staves_of(ring: Ring) -> StaveRing | None:
    """How its staves stand, where it is made of staves."""
    found: StaveRing | None = getattr(ring, "lean", None)
    return found


def leaning(ring: Ring) -> tuple[tuple[float, float], tuple[float, float]]:
    """Outer and inner apothem of the lower face, and of the upper one."""
    if staves := staves_of(ring):
        return staves.apothems(0.0), staves.apothems(staves.height)
    same = (ring.outer_apothem, ring.inner_apothem)
    return same, same
