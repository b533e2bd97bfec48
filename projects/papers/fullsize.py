"""Full-size drawings for the bench as a PDF: each page a sheet at 1 : 1, with lines to check the printer's scale by."""

import base64
import datetime
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from estimating.errors import InvalidInput
from estimating.quantities import InchStyle, Unit
from projects.models import Studio
from projects.papers.sizes import paper_of

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.picture.full_size import DrawnPart, FullSize, Sheet
    from estimating.picture.sheets import PaperName

_UNDATED = datetime.datetime(2000, 1, 1, tzinfo=datetime.UTC)


def studio_paper(studio: Studio) -> "PaperName":
    """The paper of a studio."""
    return paper_of(unit=studio.length_unit, currency=studio.currency)


def drawn_parts(estimate: "Estimate", *, colours: Mapping[str, str]) -> "list[DrawnPart]":
    """The parts of an estimate as the full-size drawings take them."""
    # Imported here since the drawings bring numpy, which other pages do without.
    from estimating.picture.full_size import DrawnPart
    from estimating.picture.subject import subject_of

    sheet, named = estimate.sheet, len(estimate.shapes) > 1
    cuts = {(one.ring, one.key): one.cuts for one in estimate.needs.laminated}
    return [
        DrawnPart(
            subject_of(shape, colours=colours, laminates=sheet.laminates, shop=sheet.shop),
            name=shape.part.name if named else "",
            cuts=cuts,
        )
        for shape in estimate.shapes
    ]


def full_size_pages(
    estimate: "Estimate",
    *,
    colours: Mapping[str, str],
    unit: Unit,
    paper: "PaperName",
    options: "FullSize",
    inches: InchStyle = "fraction",
) -> "tuple[Sheet, ...]":
    """The sheets of an estimate before they are printed.

    Errors: InvalidInput as full_size_sheets, at the name of the option it means.
    """
    from estimating.picture.full_size import full_size_sheets

    parts = drawn_parts(estimate, colours=colours)
    return full_size_sheets(parts, wanted=options, paper=paper, unit=unit, inches=inches)


def jig_sizes(estimate: "Estimate") -> tuple[float, ...]:
    """Diameters of the discs that have no bore to be held by, mm, the largest first."""
    from estimating.picture.full_size import boreless_discs

    return boreless_discs(drawn_parts(estimate, colours={}))


def jig_fits(sizes: Sequence[float], *, pin_diameter: float, clamp_width: float) -> bool:
    """Whether discs of these sizes can share one template with such pins and clamps."""
    from estimating.picture.full_size import Clamping
    from estimating.shape.pin_jig import pin_template

    try:
        clamping = Clamping(pin_diameter=pin_diameter, clamp_width=clamp_width)
        return bool(pin_template(disc_diameters=sizes, clamping=clamping).circles)
    except InvalidInput:
        return False


def write_full_size(
    estimate: "Estimate",
    *,
    colours: Mapping[str, str],
    unit: Unit,
    paper: "PaperName",
    options: "FullSize",
    inches: InchStyle = "fraction",
    studio: str = "",
) -> bytes:
    """The full-size drawings of an estimate as a tagged PDF, the same bytes each time.

    Shape: `colours` is #rrggbb by wood key; `options` what to draw; `studio` a name for the foot of each page.
    Errors: InvalidInput as full_size_pages.
    """
    sheets = full_size_pages(
        estimate, colours=colours, unit=unit, paper=paper, options=options, inches=inches
    )
    context = {
        "title": estimate.sheet.title,
        "studio": studio,
        "paper": paper,
        "sheets": [_printed(sheet) for sheet in sheets],
    }
    from projects.papers.printing import (
        print_paper,  # brings the PDF library, which listing commands does without
    )

    return print_paper("papers/fullsize.html", context, style="fullsize.css", made_at=_UNDATED)


def _printed(sheet: "Sheet") -> dict[str, Any]:
    return {
        "heading": sheet.heading,
        "notes": sheet.notes,
        "tile": sheet.tile,
        "description": sheet.description,
        "drawing": base64.b64encode(sheet.svg.encode()).decode(),
    }
