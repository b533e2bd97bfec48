"""The hours log: a week's sheet, the clock, time typed, entries mended and taken out with their history."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path, reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from projects.models import Commission, HoursChange, HoursEntry, Member, StandingRate
from projects.pages import hours_files
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.hours_forms import ClockForm, EntryForm
from projects.pages.hours_week import (
    WAYS,
    WEEK,
    asked_monday,
    history,
    logged,
    running_step,
    taken_out,
    week_sheet,
)
from projects.services.hours import (
    hours_delete,
    hours_log,
    hours_put_back,
    hours_start,
    hours_stop,
    hours_update,
)

EVERYONE = "all"


@in_studio
@require_GET
def hours(request: StudioRequest) -> HttpResponse:
    """A week's sheet and its entries, the clock, and a form for time without one."""
    return _page(request)


def _page(request: StudioRequest, *, status: int = 200, **forms: Any) -> HttpResponse:
    studio, zone = request.studio, request.studio.bench.zone
    today = timezone.localdate(timezone=zone)
    people = list(Member.objects.for_studio(studio).select_related("user"))
    who, members = _whose(request, people)
    first = asked_monday(request.GET.get("week", ""), today)
    way = request.GET.get("rows", "") if request.GET.get("rows", "") in WAYS else "operation"
    entries = _of_week(request, members, first)
    usual = {
        "clock_form": lambda: ClockForm(studio=studio, initial=_last_worked(request)),
        "entry_form": lambda: EntryForm(studio=studio, initial=_last_worked(request)),
    }
    context = {
        "section": "jobs",
        "sheet": week_sheet(entries, first, way=way),
        "entries": [logged(entry, zone) for entry in entries],
        "gone": taken_out(studio, members, first),
        "first": first,
        "last": first + WEEK - WEEK / 7,
        "before": first - WEEK,
        "after": first + WEEK,
        "is_this_week": first <= today < first + WEEK,
        "people": people,
        "who": who,
        "way": way,
        "ways": WAYS,
        "zone": zone,
        "running": _running(request),
        "step": running_step(request.member),
        "has_jobs": Commission.objects.for_studio(studio).open().exists(),
        "has_rates": StandingRate.objects.for_studio(studio).exists(),
        **{name: make() for name, make in usual.items() if name not in forms},
        **forms,
    }
    return render(request, "hours/page.html", context, status=status)


def _whose(request: StudioRequest, people: list[Member]) -> tuple[str, list[Member]]:
    """Whose sheet is asked for: one's own unless the address names another, or everyone."""
    asked = request.GET.get("who", "")
    if asked == EVERYONE:
        return asked, people
    for member in people:
        if asked == str(member.pk):
            return asked, [member]
    return str(request.member.pk), [request.member]


def _of_week(request: StudioRequest, members: list[Member], first: Any) -> list[HoursEntry]:
    rows = HoursEntry.objects.for_studio(request.studio).filter(member__in=members)
    week = rows.filter(worked_on__gte=first, worked_on__lt=first + WEEK)
    related = week.select_related("commission", "member__user")
    return list(related.order_by("worked_on", "started_at", "pk"))


def _running(request: StudioRequest) -> HoursEntry | None:
    rows = HoursEntry.objects.for_studio(request.studio).select_related("commission")
    found: HoursEntry | None = rows.filter(member=request.member, minutes=None).first()
    return found


def _last_worked(request: StudioRequest) -> dict[str, Any]:
    """What the member logged last, to begin a form with."""
    rows = HoursEntry.objects.for_studio(request.studio).filter(member=request.member)
    last = rows.order_by("-pk").values("commission", "operation").first()
    return dict(last or {})


@in_studio
@require_POST
def hours_clock_start(request: StudioRequest) -> HttpResponse:
    """Start the member's clock."""
    form = ClockForm(request.POST, studio=request.studio)
    if entry := form.written(hours_start, member=request.member):
        messages.success(request, f"The clock runs: {entry.operation}.")
        return redirect("hours")
    return _page(request, clock_form=form, status=400)


@in_studio
@require_POST
def hours_clock_stop(request: StudioRequest, pk: int) -> HttpResponse:
    """Stop a clock; one that cannot have run for so long is mended on its own page."""
    entry = own(HoursEntry, request, pk)
    try:
        done = hours_stop(entry=entry)
    except ValidationError as refusal:
        messages.error(request, f"{' '.join(refusal.messages)} Say here when it ended.")
        return redirect("hours_entry", pk)
    messages.success(request, f"Stopped: {logged(done, request.studio.bench.zone).span} of {done.operation}.")
    if done.quantity is None:
        messages.info(request, "Say how many, if you can: the entry then tells how long one takes.")
    return redirect("hours_entry", pk)


@in_studio
@require_POST
def hours_new(request: StudioRequest) -> HttpResponse:
    """Log time that was worked without the clock."""
    form = EntryForm(request.POST, studio=request.studio)
    if entry := form.written(hours_log, member=request.member):
        messages.success(request, "Logged.")
        return redirect(f"{reverse('hours')}?week={entry.worked_on.isoformat()}")
    return _page(request, entry_form=form, status=400)


@in_studio
@require_http_methods(["GET", "POST"])
def hours_entry(request: StudioRequest, pk: int) -> HttpResponse:
    """Mend an entry; what it was before stands below. Of one that was taken out only that is left."""
    rows = HoursEntry.objects.for_studio(request.studio).select_related("commission", "member__user")
    entry = rows.filter(pk=pk).first()
    told = history(request.studio, pk, entry)
    if entry is None:
        if not told:
            raise Http404
        return render(request, "hours/entry.html", {"section": "jobs", "told": told, "number": pk})
    form = EntryForm(
        request.POST if request.method == "POST" else None, instance=entry, studio=request.studio
    )
    if form.is_bound and (mended := form.written(hours_update, entry=entry, by=request.member)):
        messages.success(request, "Saved.")
        return redirect(f"{reverse('hours')}?week={mended.worked_on.isoformat()}&who={mended.member_id}")
    context = {"section": "jobs", "entry": entry, "form": form, "told": told, "number": pk}
    return render(request, "hours/entry.html", context, status=400 if form.errors else 200)


@in_studio
@require_POST
def hours_take_out(request: StudioRequest, pk: int) -> HttpResponse:
    """Take an entry out of the log; its history stays."""
    entry = own(HoursEntry, request, pk, "commission")
    try:
        hours_delete(entry=entry, by=request.member)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        messages.success(request, f"Taken out: {entry}.")
    if request.POST.get("then") == "job":
        return redirect("job", entry.commission_id)
    return redirect(f"{reverse('hours')}?week={entry.worked_on.isoformat()}&who={entry.member_id}")


@in_studio
@require_POST
def hours_put_back_page(request: StudioRequest, pk: int) -> HttpResponse:
    """Put an entry that was taken out back into the log."""
    if not HoursChange.objects.for_studio(request.studio).filter(entry_number=pk).exists():
        raise Http404
    try:
        entry = hours_put_back(studio=request.studio, number=pk, by=request.member)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
        return redirect("hours_entry", pk)
    messages.success(request, f"Put back: {entry}.")
    return redirect(f"{reverse('hours')}?week={entry.worked_on.isoformat()}&who={entry.member_id}")


urlpatterns: list[URLPattern] = [
    path("hours/", hours, name="hours"),
    path("hours/start/", hours_clock_start, name="hours_clock_start"),
    path("hours/new/", hours_new, name="hours_new"),
    path("hours/<int:pk>/", hours_entry, name="hours_entry"),
    path("hours/<int:pk>/stop/", hours_clock_stop, name="hours_clock_stop"),
    path("hours/<int:pk>/take-out/", hours_take_out, name="hours_take_out"),
    path("hours/<int:pk>/put-back/", hours_put_back_page, name="hours_put_back"),
    *hours_files.urlpatterns,
]
