"""The profile of a saved part as a file: SVG, DXF or CSV."""

from collections.abc import Sequence
from typing import Any

from django.http import Http404, HttpResponse
from django.utils.text import slugify
from django.views.decorators.http import require_GET

from estimating.errors import InvalidInput
from projects.estimates import parts_of
from projects.models import Design
from projects.models.parts import Curve, InsideKind
from projects.pages.access import StudioRequest, in_studio, own

PROFILE_KINDS = {"svg": "image/svg+xml", "dxf": "image/vnd.dxf", "csv": "text/csv; charset=utf-8"}


@in_studio
@require_GET
def design_profile(request: StudioRequest, pk: int, part: int, kind: str) -> HttpResponse:
    """The outside of a part, counted from 1 at the bottom, and its inside where that is a curve of its own; mm."""
    design = own(Design, request, pk, "studio")
    parts = parts_of(design)
    if not 1 <= part <= len(parts) or kind not in PROFILE_KINDS:
        raise Http404
    form, name = parts[part - 1].form, parts[part - 1].part.name
    smooth = form.curve == Curve.SMOOTH
    inner = _points(form.inner, smooth=smooth) if form.inside == InsideKind.CURVE else []
    title = f"{design.title}, {name}"
    try:
        body = _written(kind, _points(form.outer, smooth=smooth), inner, title=title)
    except (InvalidInput, ValueError) as refusal:
        raise Http404("This curve cannot be written as it stands.") from refusal
    disposition = f'attachment; filename="{slugify(title) or "profile"}.{kind}"'
    headers = {"Content-Disposition": disposition, "X-Content-Type-Options": "nosniff"}
    return HttpResponse(body, content_type=PROFILE_KINDS[kind], headers=headers)


def _points(points: Sequence[Any], *, smooth: bool) -> list[tuple[float, float, bool]]:
    """Points with their corners; where straight lines join them, each is one."""
    return [(height, radius, not smooth or bool(corner)) for height, radius, *corner in points]


def _written(kind: str, outer: Any, inner: Any, *, title: str) -> bytes:
    # Imported here since it brings numpy and the drawing libraries, which other pages do without.
    from estimating.profile.writing import write_csv, write_dxf, write_svg

    match kind:
        case "svg":
            return write_svg(outer=outer, inner=inner, title=title)
        case "dxf":
            return write_dxf(outer=outer, inner=inner)
    return write_csv(outer=outer, inner=inner)
