"""How a ring is made, as full-size drawings need to know it: discs, bores, and the two faces of staves that lean."""

from estimating.shape.rings import Ring


def is_disc(ring: Ring) -> bool:
    """Whether the ring is one round piece."""
    return bool(getattr(ring, "is_disc", False))


def bore_of(ring: Ring) -> float:
    """Diameter of the hole through the middle, mm; 0 without one."""
    return float(getattr(ring, "bore", 0.0) or 0.0)


def tilt_of(ring: Ring) -> float:
    """How far the blade is tilted for the edges, radians; 0 but for staves."""
    return float(getattr(ring, "tilt", 0.0))


def leaning(ring: Ring) -> tuple[tuple[float, float], tuple[float, float]]:
    """Outer and inner apothem of the lower face, and of the upper one."""
    face = getattr(ring, "face", None)
    if face is None:
        same = (ring.outer_apothem, ring.inner_apothem)
        return same, same
    return face(False), face(True)
