"""Who may see a page: someone logged in who works in a studio; everyone else is shown the way there."""

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar

from django.contrib.auth.models import User
from django.contrib.auth.views import redirect_to_login
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect

from projects.models import Member, Studio

M = TypeVar("M", bound=Model)


class StudioRequest(HttpRequest):
    """A request from someone who works in a studio."""

    member: Member
    studio: Studio


def in_studio(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Let members in, with `request.member` and `request.studio`; others log in, or set a studio up first."""

    @wraps(view)
    def guarded(request: Any, *args: Any, **kwargs: Any) -> HttpResponse:
        if not request.user.is_authenticated:
            if getattr(request, "htmx", False):
                # A page is open: it says so itself, and keeps what was typed.
                return HttpResponse("Log in again.", status=401)
            if not User.objects.exists():
                return redirect("first_account")
            return redirect_to_login(request.get_full_path())
        members = Member.objects.for_member(request.user).select_related("studio__shop", "studio__pricing")
        member = members.filter(user=request.user.pk).first()
        if member is None:
            return redirect("set_up")
        request.member, request.studio = member, member.studio
        return view(request, *args, **kwargs)

    return guarded


def own(model: type[M], request: StudioRequest, pk: int, *related: str) -> M:
    """A row of the studio's, or the same 404 whether it is someone else's or nobody's."""
    rows = model.objects.for_studio(request.studio)  # type: ignore[attr-defined]  # StudioOwned's manager
    row: M = get_object_or_404(rows.select_related(*related) if related else rows, pk=pk)
    return row
