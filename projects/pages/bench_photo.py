"""Photos from the bench, handed out to those who work in the studio."""

from django.http import Http404, HttpResponse
from django.urls import path
from django.views.decorators.http import require_GET

from projects.models import StepNote
from projects.pages.access import StudioRequest, in_studio, own


@in_studio
@require_GET
def bench_photo(request: StudioRequest, pk: int) -> HttpResponse:
    """One photo; the same 404 for someone else's, for a note without one and for a file that is gone."""
    note = own(StepNote, request, pk)
    if not note.photo:
        raise Http404
    try:
        with note.photo.open("rb") as file:
            picture = file.read()
    except FileNotFoundError:
        raise Http404 from None
    # What is sent was drawn anew as JPEG when it was taken in; the browser is to take it for nothing else.
    return HttpResponse(
        picture,
        content_type="image/jpeg",
        headers={
            "Content-Disposition": f'inline; filename="bench-{note.pk}.jpg"',
            "X-Content-Type-Options": "nosniff",
            "Cache-Control": "private, max-age=86400",
            "Content-Security-Policy": "default-src 'none'; sandbox",
        },
    )


urlpatterns = [path("bench/photos/<int:pk>/", bench_photo, name="bench_photo")]
