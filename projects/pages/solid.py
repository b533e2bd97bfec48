"""The piece in the round: its page, the model that the page shows, and the measures of each segment."""

from typing import TYPE_CHECKING, Any

from django.http import HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET

from estimating.errors import InvalidSheet
from projects.drawings import front_svg, solid_glb
from projects.estimates import estimate_design
from projects.models import Commission, Design, Studio
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.of_design import about, of_design, of_job
from projects.templatetags.turnery import as_degrees, size

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.shape.build import Shape
    from estimating.shape.rings import Ring

GLB = "model/gltf-binary"


def solid_of(estimate: "Estimate", *, studio: Studio, glued: bool = False) -> bytes:
    """The model that the figure shows, as binary glTF: the turned piece, or the stack as glued."""
    return solid_glb(estimate, glued=glued)


def model_answer(estimate: "Estimate", *, studio: Studio, glued: bool = False) -> HttpResponse:
    """The model as an answer; it is the studio's own, so nothing on the way keeps a copy."""
    body = solid_of(estimate, studio=studio, glued=glued)
    return HttpResponse(body, content_type=GLB, headers={"Cache-Control": "private, no-cache"})


def figure(estimate: "Estimate", *, studio: Studio, model_url: str) -> dict[str, Any]:
    """What templates/designs/solid.html shows, under the name `solid`.

    `model_url` answers GET with the saved piece's model, and with the stack's as glued where `?glued=1` is added;
    where it takes the draft by POST, the page's script can ask for that (see static/js/solid.js).
    """
    told = measures(estimate, studio=studio)
    return {
        "model_url": model_url,
        "glued_url": f"{model_url}?glued=1",
        "still": mark_safe(front_svg(estimate, studio=studio)),  # made of escaped text by picture.svg
        "measures": told,
        "layers": len(told["layers"]),
    }


def measures(estimate: "Estimate", *, studio: Studio) -> dict[str, Any]:
    """What is told of a chosen segment, as the studio writes figures: by layer and by ring."""
    layers: dict[int, Any] = {}
    rings: dict[int, Any] = {}
    for shape in estimate.shapes:
        for index in range(len(shape.stack)):
            layers[shape.number(index)] = _layer_measures(shape, index, studio)
        for ring in shape.rings:
            woods = [_wood_named(key, estimate) for key in ring.pattern]
            rings[ring.number] = {"woods": woods, "rows": _ring_measures(ring, studio)}
    for plug in (plug for shape in estimate.shapes for plug in shape.plugs):
        for layer in plug.layers:
            layers[layer]["plug"] = [
                ["plug", _wood_named(plug.wood, estimate)],
                [f"across, {studio.length_unit}", size(plug.diameter, studio)],
                [f"long, {studio.length_unit}", size(plug.length, studio)],
            ]
    return {"layers": layers, "rings": rings}


def _layer_measures(shape: "Shape", index: int, studio: Studio) -> dict[str, Any]:
    unit, ring = studio.length_unit, shape.rings[shape.ring_of[index]]
    low, high = (shape.base + float(edge[index]) for edge in (shape.stack.bottom, shape.stack.top))
    band = shape.bands[ring.band].name
    rows = [["part", shape.part.name]] if shape.part.name else []
    rows += [["ring", f"{ring.number} in {band}" if band else str(ring.number)]]
    rows += [[f"from the bottom, {unit}", f"{size(low, studio)} to {size(high, studio)}"]]
    if bore := float(shape.bore[index]):
        rows += [[f"bore, {unit}", size(bore, studio)]]
    return {"ring": ring.number, "rows": rows}


def _wood_named(key: str, estimate: "Estimate") -> str:
    """The wood's name; a laminate has its key alone."""
    wood = estimate.workshop.woods.get(key)
    return wood.name if wood else key


def _ring_measures(ring: "Ring", studio: Studio) -> list[list[str]]:
    unit = studio.length_unit
    if ring.is_disc:
        return [
            [f"across, {unit}", size(2 * ring.outer_radius, studio)],
            [f"thick, {unit}", size(ring.height, studio)],
        ]
    rows = [
        [f"long edge, {unit}", size(ring.outer_edge, studio)],
        [f"short edge, {unit}", size(ring.inner_edge, studio)],
    ]
    if lean := ring.lean:
        rows += [
            [f"board, {unit}", f"{size(lean.rip_width, studio)} × {size(lean.board_thickness, studio)}"],
            [f"stave, {unit}", size(lean.slant_length, studio)],
            ["blade tilted to", as_degrees(ring.tilt)],
        ]
    else:
        rows += [[f"strip, {unit}", f"{size(ring.strip_width, studio)} × {size(ring.height, studio)}"]]
    return [*rows, ["saw to", as_degrees(ring.miter)]]


@in_studio
@require_GET
def design_model(request: StudioRequest, pk: int) -> HttpResponse:
    """The model of a design as it is saved."""
    return _model(request, own(Design, request, pk, "studio"))


@require_GET
def _page(request: StudioRequest, design: Design, *, job: Commission | None) -> HttpResponse:
    context = about(design, job)
    try:
        _, estimate = estimate_design(design, commission=job)
    except InvalidSheet as refusal:
        context["refusals"] = refusal.errors
    else:
        url = reverse("design_model", args=[design.pk])
        context |= {
            "estimate": estimate,
            "solid": figure(estimate, studio=request.studio, model_url=url),
        }
    return render(request, "designs/solid_page.html", context)


def _model(request: StudioRequest, design: Design) -> HttpResponse:
    try:
        _, estimate = estimate_design(design)
    except InvalidSheet as refusal:
        errors = [{"place": error.place, "reason": error.reason} for error in refusal.errors]
        return JsonResponse({"errors": errors}, status=422)
    return model_answer(estimate, studio=request.studio, glued=request.GET.get("glued") == "1")


urlpatterns = [
    path("designs/<int:pk>/solid/", of_design(_page), name="design_solid"),
    path("designs/<int:pk>/solid.glb", design_model, name="design_model"),
    path("jobs/<int:pk>/solid/", of_job(_page), name="job_solid"),
]
