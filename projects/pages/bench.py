"""The bench: today's steps one to a screen, and every tap there, sent at once or when the connection is back."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_POST

from projects.models import BenchStep
from projects.pages import bench_photo
from projects.pages.access import StudioRequest, in_studio
from projects.pages.bench_form import TapForm, reasons
from projects.pages.bench_rows import rows_shown
from projects.pages.bench_step import Refused, bench_shown
from projects.services.bench import bench_tap
from projects.services.bench_clock import settle

FILES = (
    *(f"css/{name}.css" for name in ("turnery", "bench")),
    "js/turnery.js",
    *(f"js/bench{name}.js" for name in ("", "_clock", "_lots", "_photos", "_queue", "_steps", "_timers")),
    "mark.svg",
    *(
        f"node_modules/@fontsource/source-{face}/files/source-{face}-latin-{weight}-normal.woff2"
        for face in ("sans-3", "serif-4")
        for weight in (400, 600)
    ),
)
"""What the page is made of, which the service worker keeps beside it."""


@in_studio
@ensure_csrf_cookie
@require_GET
def bench(request: StudioRequest) -> HttpResponse:
    """The page with all its steps."""
    return _page(request)


def _page(request: StudioRequest, refused: Refused | None = None, *, status: int = 200) -> HttpResponse:
    now = timezone.now()
    settle(studio=request.studio, now=now)
    context = {
        "section": "bench",
        "who": _who(request),
        **bench_shown(request.member, now=now, refused=refused),
    }
    return render(request, "bench/page.html", context, status=status)


@in_studio
@require_POST
def bench_taps(request: StudioRequest) -> HttpResponse:
    """Do what was tapped, once; a script is answered in JSON, a plain form with the page."""
    if request.POST.get("who", _who(request)) != _who(request):
        # It was tapped by somebody who has logged out since: only they can send it.
        return JsonResponse({"reason": "Somebody else is logged in."}, status=401)
    form = TapForm(request.POST, request.FILES, studio=request.studio)
    step = _step(request)
    if step is None:
        return _refused(request, None, "This step is no longer on the plan.", status=404)
    if not form.is_valid():
        return _refused(request, step, reasons(form.errors), status=422)
    data = form.cleaned_data
    try:
        tap = bench_tap(
            member=request.member,
            step=step,
            payload=form.payload(),
            **{name: data[name] for name in ("uuid", "act", "at", "photo")},
        )
    except ValidationError as refusal:
        return _refused(request, step, " ".join(refusal.messages), status=422)
    if not tap.accepted:
        return _refused(request, step, tap.outcome, status=409)
    if _by_script(request):
        return JsonResponse({"words": tap.outcome, "now": timezone.now().isoformat()})
    messages.success(request, tap.outcome)
    return redirect(f"{reverse('bench')}#step-{step.pk}")


def _who(request: StudioRequest) -> str:
    return f"{request.studio.pk}-{request.member.pk}"


def _step(request: StudioRequest) -> BenchStep | None:
    asked = request.POST.get("step", "")
    rows = BenchStep.objects.for_studio(request.studio)
    return (
        rows.filter(pk=int(asked)).first()
        if asked.isascii() and asked.isdigit() and len(asked) < 19
        else None
    )


def _by_script(request: StudioRequest) -> bool:
    return "application/json" in request.headers.get("Accept", "")


def _refused(request: StudioRequest, step: BenchStep | None, reason: str, *, status: int) -> HttpResponse:
    """Why it was not done; on the page, with everything that was typed."""
    if _by_script(request):
        return JsonResponse({"reason": reason, "now": timezone.now().isoformat()}, status=status)
    if step is None:
        raise Http404(reason)
    return _page(request, Refused(step.pk, reason, request.POST), status=status)


@in_studio
@ensure_csrf_cookie
@require_GET
def bench_state(request: StudioRequest) -> HttpResponse:
    """The server's time and the mark of its plan, for a page that asks whether its own is still the same."""
    now = timezone.now()
    settle(studio=request.studio, now=now)
    rows = rows_shown(request.studio, now=now, zone=request.studio.bench.zone)
    return JsonResponse({"now": timezone.now().isoformat(), "mark": rows.mark})


@require_GET
def bench_worker(request: HttpRequest) -> HttpResponse:
    """The service worker; it is the same for everybody, and no browser may keep an old one."""
    answer = render(request, "bench/sw.js", {"files": FILES}, content_type="text/javascript; charset=utf-8")
    answer["Cache-Control"] = "no-cache"
    return answer


urlpatterns = [
    path("bench/", bench, name="bench"),
    path("bench/taps/", bench_taps, name="bench_taps"),
    path("bench/state/", bench_state, name="bench_state"),
    path("bench/sw.js", bench_worker, name="bench_worker"),
    *bench_photo.urlpatterns,
]
