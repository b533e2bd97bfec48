"""Which layers come out of which thick ring, so that the least wood is used."""

from math import floor

from estimating.errors import InvalidInput
from estimating.piece import Band, ShopSettings
from estimating.shape.blanks import Blanks, RingHeight, Rings
from estimating.shape.curves import Floats
from estimating.shape.grouping import EXACT_UP_TO, Grouping, group_blanks

__all__ = ["EXACT_UP_TO", "Grouping", "RingHeight", "group", "group_layers", "ring_height"]


def ring_height(band: Band, *, shop: ShopSettings, place: str) -> RingHeight:
    """Height of a thick ring of this band by its number of layers.

    The as-glued face is trued first. Held by a part that is not used, every layer costs a kerf; with nothing held,
    the last layer is what is left and its far face is trued too.
    Errors: InvalidInput at `place`.ring_height when not even one layer comes out of it.
    """
    each = band.thickness + shop.slice_sanding + shop.slice_kerf
    base = shop.flatten + shop.slice_hold if shop.slice_hold > 0 else 2 * shop.flatten - shop.slice_kerf
    assert band.ring_height is not None
    most = floor((band.ring_height - base) / each + 1e-9)
    if most < 1:
        raise InvalidInput(f"{place}.ring_height", f"must be at least {base + each:.5g} mm to give one layer")
    return RingHeight(base=base, each=each, most=most)


def group(
    outer: Floats, inner: Floats, *, segments: int, gap: float, height: RingHeight, extra_ring: float
) -> Grouping:
    """Share n layers out to thick rings for the least blank volume plus `extra_ring` a ring.

    Shape: `outer` and `inner` (n,) are the layers' radii to cover, mm; `extra_ring` is mm3; n is 1 or more.
    Returns the rings, the ring of the lowest layer first, and how good they are: see Grouping. A ring covers all its
    layers: the largest outer and the smallest inner radius among them.
    The answer is the best there is up to EXACT_UP_TO layers, where layers are nested (a cylinder, discs, one radius
    the same all through) and where it meets the bound; else mostly within 1 % of the bound. Up to EXACT_UP_TO layers,
    ties go to fewer rings, then to the lower layers sharing a ring.
    Errors: none.
    """
    return group_blanks(
        Blanks(outer=outer, inner=inner, segments=segments, gap=gap, height=height, extra=extra_ring)
    )


def group_layers(
    outer: Floats, inner: Floats, *, segments: int, gap: float, height: RingHeight, extra_ring: float
) -> Rings:
    """The rings of `group` alone."""
    return group(outer, inner, segments=segments, gap=gap, height=height, extra_ring=extra_ring).rings
