"""The way in for a client: a private address instead of a log-in, and answers that nobody on the way keeps."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from projects.models import ClientLink, Commission, Member
from projects.services.quote_link import link_opened

# Nothing is told to other sites. `no-referrer` would go further and break every form here: a browser then sends none
# of the two headers by which Django knows that a form comes from this site.
PRIVATE = {
    "Cache-Control": "private, no-store",
    "X-Robots-Tag": "noindex, nofollow",
    "Referrer-Policy": "same-origin",
}


class ClientRequest(HttpRequest):
    """A request through a private address. `is_member` where somebody of the studio looks at it, logged in."""

    token: str
    link: ClientLink
    commission: Commission
    is_member: bool


def through_link(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Let in whoever has a private address, with `request.token`, `request.link` and `request.commission`.

    An address that nobody has, that is revoked or whose days are over is answered alike, with a page and 404.
    """

    @wraps(view)
    def guarded(request: Any, token: str, *args: Any, **kwargs: Any) -> HttpResponse:
        link = link_opened(token)
        if link is None:
            answer = render(request, "client/gone.html", status=404)
        else:
            request.token, request.link, request.commission = token, link, link.commission
            request.is_member = _works_there(request, link)
            answer = view(request, *args, **kwargs)
        for name, value in PRIVATE.items():
            answer.headers[name] = value
        return answer

    return guarded


def _works_there(request: HttpRequest, link: ClientLink) -> bool:
    members = Member.objects.for_studio(link.studio_id)
    return request.user.is_authenticated and members.filter(user=request.user.pk).exists()
