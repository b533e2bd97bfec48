"""What laminated segments look like, drawn while they are typed."""

from collections.abc import Mapping
from math import radians
from typing import Any

from django.http import HttpResponse, JsonResponse
from django.urls import path
from django.utils.html import format_html
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_POST

from projects.models import Studio, Wood
from projects.models.designs import LaminateKind
from projects.pages.access import StudioRequest, in_studio
from projects.pages.draft import LaminateText, typed
from projects.pages.fields import read_length

# A usual segment: edges of about 40 mm are easy to cut, layers are half as tall (common practice, no source).
LONG, TALL = 40.0, 20.0
LEAST = 6.0


def swatch(laminate: LaminateText, *, colours: Mapping[str, str], studio: Studio) -> str:
    """One segment's outer face as SVG, or in words why it cannot be drawn.

    It is of a usual size, or smaller where the strips together are too narrow for that, which the words say.
    """
    from estimating.errors import InvalidInput
    from estimating.shape.laminates import panel_needed, segment_faces

    try:
        one = _laminate(laminate, studio)
        share = min(1.0, one.panel_width / panel_needed(one, length=LONG, height=TALL))
        length, height = LONG * share * 0.999, TALL * share * 0.999
        if length < LEAST:
            raise ValueError("The strips together are too narrow to show a segment.")
        faces = segment_faces(one, length=length, height=height)
        other = segment_faces(one, length=length, height=height, mirrored=one.kind == "zigzag")
    except InvalidInput as refusal:
        return format_html('<p class="quiet">Its strips {}.</p>', refusal.reason)
    except ValueError as refusal:
        return format_html('<p class="quiet">{}</p>', refusal)
    drawn = "".join(
        _face(pieces, at=at * length, height=height, colours=colours)
        for at, pieces in enumerate((faces, other, faces))
    )
    words = f"Three segments side by side, each {length:.0f} by {height:.0f} mm"
    return format_html(
        '<svg viewBox="{} -1 {} {}" role="img" aria-label="{}">{}</svg><p class="quiet">{}.</p>',
        round(-length / 2 - 1, 2), round(3 * length + 2, 2), round(height + 2, 2), words, mark_safe(drawn), words,
    )  # fmt: skip


def _laminate(laminate: LaminateText, studio: Studio) -> Any:
    from estimating.piece import Laminate

    try:
        angle = float(laminate.angle.replace("°", "").strip())
    except ValueError:
        raise ValueError("Write the angle in degrees to see it.") from None
    strips = [
        (strip.wood, read_length(strip.width, studio))
        for strip in laminate.strips
        if strip.wood and strip.width
    ]
    if not strips or not 0 <= angle <= 90 or laminate.kind not in LaminateKind.values:
        raise ValueError("Give it strips of wood and their widths to see it.")
    return Laminate(kind=laminate.kind, angle=radians(angle), strips=tuple(strips))  # type: ignore[arg-type]


def _face(pieces: Any, *, at: float, height: float, colours: Mapping[str, str]) -> str:
    from estimating.picture.svg import element, outline, wood_colour

    patches = [
        element(
            "path",
            d=outline([at + x for x, _ in corners], [height - y for _, y in corners]),
            fill=wood_colour(colours.get(wood)),
            stroke="currentColor",
            stroke_width=0.15,
        )
        for wood, corners in pieces
    ]
    return "".join(patches)


@in_studio
@require_POST
def laminate_swatches(request: StudioRequest) -> HttpResponse:
    """The swatches of all laminated segments of a draft, in the order they stand."""
    colours = dict(Wood.objects.for_studio(request.studio).values_list("key", "colour"))
    laminates = typed(request.POST).laminates
    return JsonResponse(
        {"swatches": [swatch(one, colours=colours, studio=request.studio) for one in laminates]}
    )


urlpatterns = [path("designs/laminate-swatches/", laminate_swatches, name="laminate_swatches")]
