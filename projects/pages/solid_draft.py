"""The piece in the round while it is edited: its figure and its model, of what the drawing board holds unsaved."""

from typing import TYPE_CHECKING, cast

from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_POST

from estimating.errors import InvalidSheet
from projects.estimates import sheet_data
from projects.models import Design
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.draft import typed
from projects.pages.reading import read
from projects.pages.redraw import shaped
from projects.pages.solid import figure, model_answer

if TYPE_CHECKING:
    from estimating.estimate import Estimate

UNREADABLE = "It cannot be shown in the round as it stands; what is wrong stands beside the fields."


class Unready(Exception):
    """A draft that comes to no piece."""


def _shaped(request: StudioRequest, pk: int) -> "Estimate":
    """The shapes of the draft, which are as much of an estimate as a model asks for. Errors: Unready."""
    design = own(Design, request, pk, "studio")
    piece = read(typed(request.POST), studio=request.studio)
    if piece is None:
        raise Unready
    copy, parts = piece.unsaved(design)
    try:
        return cast("Estimate", shaped(sheet_data(copy, parts=parts, boards=()), studio=request.studio))
    except InvalidSheet as refusal:
        raise Unready from refusal


@in_studio
@require_POST
def draft_figure(request: StudioRequest, pk: int) -> HttpResponse:
    """The figure, with the still drawing and the measures of the draft; the model comes by its own address."""
    try:
        shapes = _shaped(request, pk)
    except Unready:
        # An answer to be shown in the figure's place.
        return HttpResponse(f"<p>{UNREADABLE}</p>")
    url = reverse("draft_model", args=[pk])
    return render(
        request, "designs/solid.html", {"solid": figure(shapes, studio=request.studio, model_url=url)}
    )


@in_studio
@require_POST
def draft_model(request: StudioRequest, pk: int) -> HttpResponse:
    """The model of the draft as binary glTF; the stack as glued where `?glued=1` asks for it."""
    try:
        shapes = _shaped(request, pk)
    except Unready:
        return JsonResponse({"error": UNREADABLE}, status=422)
    return model_answer(shapes, studio=request.studio, glued=request.GET.get("glued") == "1")


urlpatterns = [
    path("designs/<int:pk>/round/", draft_figure, name="draft_figure"),
    path("designs/<int:pk>/round.glb", draft_model, name="draft_model"),
]
