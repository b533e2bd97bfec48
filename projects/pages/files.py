"""A saved design as a file for other programs: models, sections, the full-size papers."""

from django.http import Http404, HttpResponse
from django.urls import path
from django.utils.text import slugify
from django.views.decorators.http import require_GET

from estimating.errors import InvalidInput, InvalidSheet
from projects.estimates import estimate_design
from projects.exports import FILE_KINDS, export
from projects.models import Design
from projects.pages.access import StudioRequest, in_studio, own


@in_studio
@require_GET
def design_file(request: StudioRequest, pk: int, kind: str) -> HttpResponse:
    """The design as a file; what cannot be made is said in plain text."""
    design = own(Design, request, pk, "studio")
    if kind not in FILE_KINDS:
        raise Http404
    try:
        _, estimate = estimate_design(design)
        content = export(estimate, kind, glued=request.GET.get("glued") == "1")
    except (InvalidSheet, InvalidInput) as refusal:
        return HttpResponse(
            f"{design.title} cannot be written: {refusal}", "text/plain; charset=utf-8", status=409
        )
    name = slugify(design.title) or f"design-{design.pk}"
    answer = HttpResponse(content, FILE_KINDS[kind].media_type)
    answer["Content-Disposition"] = f'attachment; filename="{name}.{kind}"'
    return answer


urlpatterns = [path("designs/<int:pk>/file.<slug:kind>", design_file, name="design_file")]
