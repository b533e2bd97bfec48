"""Drawings for the pages, in the studio's unit and its woods' colours."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.utils.safestring import SafeString, mark_safe

from projects.models import Studio

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.shape.rings import Ring


def piece_drawing(estimate: "Estimate", *, studio: Studio) -> SafeString:
    """The working drawing: half as turned, half in section."""
    from estimating.picture.drawing import draw_piece  # brings numpy, which other pages do without

    shape = estimate.shape
    drawn = draw_piece(
        form=shape.form,
        stack=shape.stack,
        rings=shape.rings,
        ring_of_layer=shape.ring_of,
        bands=estimate.sheet.bands,
        colours=_colours(estimate),
        title=estimate.sheet.title,
        unit=studio.length_unit,  # type: ignore[arg-type]  # one of the two units
        inches=studio.inch_style,  # type: ignore[arg-type]  # one of the two styles
    )
    return mark_safe(drawn)  # made of escaped text by estimating.picture.svg


@dataclass(frozen=True)
class ChosenRing:
    """One ring to look at: its plan, and the ring itself."""

    ring: "Ring"
    band: str
    drawing: SafeString


def chosen_ring(estimate: "Estimate", *, studio: Studio, number: str) -> ChosenRing:
    """The ring of a number as typed; without a usable one, the middle ring."""
    from estimating.picture.drawing import draw_ring, turned_radii

    rings = estimate.shape.rings
    wanted = int(number) if number.isdecimal() and len(number) < 6 else 0
    ring = rings[wanted - 1] if 1 <= wanted <= len(rings) else rings[len(rings) // 2]
    layers = [layer - 1 for layer in ring.layers]
    drawn = draw_ring(
        ring,
        colours=_colours(estimate),
        turned=turned_radii(estimate.shape.form, estimate.shape.stack, layers),
        unit=studio.length_unit,  # type: ignore[arg-type]
        inches=studio.inch_style,  # type: ignore[arg-type]
    )
    return ChosenRing(ring=ring, band=estimate.sheet.bands[ring.band].name, drawing=mark_safe(drawn))


def _colours(estimate: "Estimate") -> dict[str, str]:
    return {key: species.colour for key, species in estimate.workshop.woods.items()}
