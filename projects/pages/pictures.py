"""Drawings for the pages, in the studio's unit and its woods' colours."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from django.utils.safestring import SafeString, mark_safe

from projects.drawings import colours_of, drawn
from projects.models import Studio

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.quantities import InchStyle, Unit
    from estimating.shape.rings import Ring

# Heights of a drawing's figures, in hundredths of the piece, that can be read at the size it is shown.
WIDE_TEXT, NARROW_TEXT, RING_TEXT = 2.9, 4.6, 6.5


def piece_drawing(estimate: "Estimate", *, studio: Studio, part: int = 0, narrow: bool = False) -> SafeString:
    """The working drawing of a part: half as turned, half in section.

    On a narrow screen its figures are larger and its bands have no names.
    """
    from estimating.picture.drawing import draw_piece  # brings numpy, which other pages do without

    drawing = draw_piece(
        **drawn(estimate, studio=studio, part=min(part, len(estimate.shapes) - 1)),
        title=estimate.sheet.title,
        with_bands=not narrow,
        text=NARROW_TEXT if narrow else WIDE_TEXT,
    )
    return mark_safe(drawing)  # made of escaped text by estimating.picture.svg


def whole_drawing(estimate: "Estimate", *, studio: Studio) -> SafeString | None:
    """A smaller drawing of the assembled piece, its ids its own; None for a piece of one part."""
    from estimating.picture.drawing import draw_piece  # brings numpy, which other pages do without

    if len(estimate.shapes) == 1:
        return None
    drawing = draw_piece(
        **drawn(estimate, studio=studio),
        title=f"{estimate.sheet.title}, assembled",
        with_bands=False,
        with_blanks=False,
        text=NARROW_TEXT,
        prefix="dw-whole",
    )
    return mark_safe(drawing)  # made of escaped text by estimating.picture.svg


@dataclass(frozen=True)
class ChosenRing:
    """One ring to look at: its plan, and the ring itself."""

    ring: "Ring"
    band: str
    drawing: SafeString


def chosen_ring(estimate: "Estimate", *, studio: Studio, number: str) -> ChosenRing:
    """The ring of a number as typed; without a usable one, the middle ring."""
    from estimating.picture.drawing import draw_ring, turned_radii

    found = [(part, ring) for part, shape in enumerate(estimate.shapes) for ring in shape.rings]
    wanted = int(number) if number.isdecimal() and len(number) < 6 else 0
    part, ring = found[wanted - 1] if 1 <= wanted <= len(found) else found[len(found) // 2]
    shape = estimate.shapes[part]
    drawing = draw_ring(
        ring,
        colours=colours_of(estimate),
        laminates=estimate.sheet.laminates,
        turned=turned_radii(shape.form, shape.stack, [shape.index(layer) for layer in ring.layers]),
        unit=cast("Unit", studio.length_unit),
        inches=cast("InchStyle", studio.inch_style),
        text=RING_TEXT,
    )
    return ChosenRing(ring=ring, band=shape.bands[ring.band].name, drawing=mark_safe(drawing))
