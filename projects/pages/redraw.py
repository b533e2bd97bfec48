"""The drawing of a draft by itself, ahead of its figures: shapes are worked out in a fraction of an estimate's time."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from django.http import HttpResponse
from django.urls import path
from django.views.decorators.http import require_POST

from estimating.errors import InvalidSheet
from projects.estimates import sheet_data, workshop_of
from projects.models import Design, Studio
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.draft import typed
from projects.pages.pictures import piece_drawing
from projects.pages.reading import read

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.piece import Sheet
    from estimating.shape.build import Shape
    from estimating.workshop import Workshop

NOTHING = 204


@dataclass(frozen=True, slots=True)
class Shaped:
    """As much of an estimate as a drawing asks for."""

    sheet: "Sheet"
    workshop: "Workshop"
    shapes: "tuple[Shape, ...]"


def shaped(data: object, *, studio: Studio) -> Shaped:
    """The shapes of a piece sheet. Errors: InvalidSheet with every error and its place."""
    # Imported here since they bring numpy, which most pages do without.
    from estimating.shape.build import build_shapes
    from estimating.sheet import read_sheet

    workshop = workshop_of(studio)
    sheet = read_sheet(data, workshop=workshop)
    return Shaped(sheet, workshop, build_shapes(sheet.parts, shop=sheet.shop, laminates=sheet.laminates))


@in_studio
@require_POST
def design_redraw(request: StudioRequest, pk: int) -> HttpResponse:
    """The working drawing of what a drawing board holds; nothing where it does not work out, which its answer says."""
    design = own(Design, request, pk, "studio")
    draft = typed(request.POST)
    piece = read(draft, studio=request.studio)
    if piece is None:
        return HttpResponse(status=NOTHING)
    copy, parts = piece.unsaved(design)
    # Drawings ask for no boards.
    data: dict[str, Any] = sheet_data(copy, parts=parts, boards=())
    try:
        found = shaped(data, studio=request.studio)
    except InvalidSheet:
        return HttpResponse(status=NOTHING)
    drawing = piece_drawing(
        cast("Estimate", found),
        studio=request.studio,
        part=draft.shown,
        narrow=request.POST.get("narrow") == "yes",
    )
    return HttpResponse(drawing, content_type="image/svg+xml", headers={"Cache-Control": "private, no-store"})


urlpatterns = [path("designs/<int:pk>/redraw/", design_redraw, name="design_redraw")]
