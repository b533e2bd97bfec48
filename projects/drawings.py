"""An estimate drawn to scale, in the studio's units and its woods' colours."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from projects.models import Studio

if TYPE_CHECKING:
    from estimating.estimate import Estimate


def drawn(estimate: "Estimate", *, studio: Studio) -> Mapping[str, Any]:
    """What every drawing of estimating.picture.drawing asks for: shape, colours and units."""
    return {
        "form": estimate.shape.form,
        "stack": estimate.shape.stack,
        "rings": estimate.shape.rings,
        "ring_of_layer": estimate.shape.ring_of,
        "bands": estimate.sheet.bands,
        "colours": {key: wood.colour for key, wood in estimate.workshop.woods.items()},
        "unit": studio.length_unit,
        "inches": studio.inch_style,
    }


def quote_drawing(estimate: "Estimate", *, studio: Studio) -> str:
    """The drawing of a quote, as SVG: left half as turned, right half in section, without the maker's blanks."""
    # Imported here since drawing brings the arithmetic in.
    from estimating.picture.drawing import draw_piece

    title = estimate.sheet.title
    # Figures a little larger than on a page: the drawing takes half the width of the paper.
    return draw_piece(
        **drawn(estimate, studio=studio), title=title, with_blanks=False, with_bands=False, text=3.2
    )
