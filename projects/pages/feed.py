"""The calendar's private address: made and shown once, revoked, and read by a calendar program without a log-in."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path, reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST, require_safe

from projects.models import FeedAddress
from projects.pages.access import StudioRequest, in_studio, own
from projects.services.feed import feed_address_make, feed_address_revoke, feed_read


@in_studio
@require_GET
def feed(request: StudioRequest) -> HttpResponse:
    """The member's own addresses."""
    return _page(request)


@in_studio
@never_cache
@require_POST
def feed_new(request: StudioRequest) -> HttpResponse:
    """Make an address. It stands in this answer only: nobody can show it again, since only its hash is kept."""
    try:
        made, token = feed_address_make(member=request.member)
    except ValidationError as refusal:
        return _page(request, refusal=refusal.messages, status=409)
    address = request.build_absolute_uri(reverse("feed_file", args=[token]))
    return _page(request, made=made, address=address)


def _page(request: StudioRequest, *, status: int = 200, **more: Any) -> HttpResponse:
    own_rows = FeedAddress.objects.for_studio(request.studio).filter(member=request.member)
    context = {"section": "calendar", "rows": own_rows, "zone": request.studio.bench.zone, **more}
    return render(request, "calendar/feed.html", context, status=status)


@in_studio
@require_POST
def feed_revoke(request: StudioRequest, pk: int) -> HttpResponse:
    """Let one of the member's addresses be read no more."""
    row = own(FeedAddress, request, pk)
    if row.member_id != request.member.pk:
        raise Http404
    feed_address_revoke(address=row)
    messages.success(request, "Revoked: nobody can read the calendar there any more.")
    return redirect("feed")


@require_safe
def feed_file(request: HttpRequest, token: str) -> HttpResponse:
    """The calendar as a file, for whoever has the address; an unknown or revoked one is not there."""
    found = feed_read(token=token)
    if found is None:
        raise Http404
    return HttpResponse(
        found,
        content_type="text/calendar; charset=utf-8",
        headers={
            "Cache-Control": "private, no-cache",
            "Content-Disposition": 'inline; filename="bench.ics"',
            "X-Robots-Tag": "noindex, nofollow",
            "Referrer-Policy": "no-referrer",
        },
    )


urlpatterns: list[URLPattern] = [
    path("calendar/feed/", feed, name="feed"),
    path("calendar/feed/new/", feed_new, name="feed_new"),
    path("calendar/feed/<int:pk>/revoke/", feed_revoke, name="feed_revoke"),
    path("calendar/<str:token>.ics", feed_file, name="feed_file"),
]
