"""What the estimate page shows of the making: rings, laminated segments, plugs, thick rings, fits, the lathe."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.utils.safestring import SafeString, mark_safe

from projects.drawings import sawing_drawing
from projects.models import Studio
from projects.pages.workings import Workings

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.picture.sawing_order import Cut
    from estimating.shape.rings import Ring


@dataclass(frozen=True, slots=True)
class RingRow:
    """A ring, where it belongs, and its working in words; `across` is a disc's diameter, mm."""

    ring: "Ring"
    part: str
    band: str
    across: float
    words: list[str]


@dataclass(frozen=True, slots=True)
class ThickRing:
    """A thick ring: its drawing on the holder, and its cuts in the order they are sawn."""

    ring: "Ring"
    drawing: SafeString
    cuts: "tuple[Cut, ...]"


@dataclass(frozen=True, slots=True)
class BandSharing:
    """How well a band's layers share thick rings: `gap` is the share of wood that could be saved at most."""

    name: str
    proven: bool
    gap: float


def making(estimate: "Estimate", *, workings: Workings, studio: Studio) -> dict[str, Any]:
    """The context of the sections on making."""
    # Imported here since they bring numpy, which other pages do without.
    from estimating.picture.sawing_order import KEEP_ORDER
    from estimating.shape.seats import fits_of
    from estimating.work.turning import turning_steps

    return {
        "several_parts": len(estimate.shapes) > 1,
        "rings": [
            RingRow(
                ring,
                shape.part.name,
                shape.bands[ring.band].name,
                2 * ring.outer_apothem,
                workings.ring(ring),
            )
            for shape in estimate.shapes
            for ring in shape.rings
        ],
        "laminated": estimate.needs.laminated,
        "plugs": [plug for shape in estimate.shapes for plug in shape.plugs],
        "thick_rings": list(_thick_rings(estimate, studio)),
        "groupings": list(_sharing(estimate)),
        "keep_order": KEEP_ORDER,
        "fits": fits_of(estimate.shapes),
        "turning": turning_steps(estimate.shapes),
    }


def _thick_rings(estimate: "Estimate", studio: Studio) -> Iterator[ThickRing]:
    from estimating.picture.sawing_order import sawing_order

    shop = estimate.sheet.shop
    for ring in estimate.rings:
        if ring.made == "sliced":
            cuts = sawing_order(ring, thickness=estimate.band_of(ring).thickness, shop=shop)
            yield ThickRing(ring, mark_safe(sawing_drawing(estimate, ring, studio=studio)), cuts)


def _sharing(estimate: "Estimate") -> Iterator[BandSharing]:
    for shape in estimate.shapes:
        for band, grouping in shape.groupings.items():
            gap = 1 - grouping.bound / grouping.volume
            yield BandSharing(shape.bands[band].name, grouping.proven, max(gap, 0.0))
