"""When somebody is at the bench: hours of the week, days off, public holidays, and what the bench has."""

import datetime
from typing import Any
from zoneinfo import available_timezones

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from projects.models import DayOff, Studio
from projects.models.calendar import Weekday
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.bench_hours_forms import BenchForm, DayOffForm, WeekForm, said_stretches, week_of
from projects.pages.calendar_days import holidays_between
from projects.services.bench_hours import bench_update, day_off_add, day_off_delete

AHEAD = datetime.timedelta(days=365)
PLAN_AGAIN = "The calendar keeps to it once you plan again."


@in_studio
@require_http_methods(["GET", "POST"])
def bench_hours(request: StudioRequest) -> HttpResponse:
    """The week's hours, and all that goes with them."""
    form = WeekForm(request.POST if request.method == "POST" else None, studio=request.studio)
    if form.is_bound and form.saved():
        messages.success(request, f"Saved. {PLAN_AGAIN}")
        return redirect("bench_hours")
    return _page(request, week_form=form)


@in_studio
@require_POST
def bench_has(request: StudioRequest) -> HttpResponse:
    """People, mandrels, jigs and presses, the time zone and whose holidays are kept."""
    form = BenchForm(request.POST, instance=request.studio.bench, studio=request.studio)
    if form.written(bench_update, studio=request.studio):
        messages.success(request, f"Saved. {PLAN_AGAIN}")
        return redirect("bench_hours")
    # The service has put the refused values into the record before it looked at them.
    request.studio.bench.refresh_from_db()
    return _page(request, bench_form=form)


@in_studio
@require_POST
def day_off_new(request: StudioRequest) -> HttpResponse:
    """Close the bench for a day or more."""
    form = DayOffForm(request.POST, studio=request.studio)
    if form.written(day_off_add, studio=request.studio):
        messages.success(request, f"Written down. {PLAN_AGAIN}")
        return redirect("bench_hours")
    return _page(request, day_form=form)


@in_studio
@require_POST
def day_off_take_out(request: StudioRequest, pk: int) -> HttpResponse:
    """Work on these days after all."""
    row = own(DayOff, request, pk)
    day_off_delete(day_off=row)
    messages.success(request, f"Taken out: {row}. {PLAN_AGAIN}")
    return redirect("bench_hours")


def _page(request: StudioRequest, **forms: Any) -> HttpResponse:
    studio, bench = request.studio, request.studio.bench
    today = timezone.localdate(timezone=bench.zone)
    off = list(DayOff.objects.for_studio(studio))
    usual = {
        "week_form": lambda: WeekForm(studio=studio),
        "bench_form": lambda: BenchForm(instance=bench, studio=studio),
        "day_form": lambda: DayOffForm(studio=studio),
    }
    wrong = any(form.errors for form in forms.values())
    context = {
        "section": "shop",
        "week": week_words(studio),
        "hours": week_minutes(studio) / 60,
        "bench": bench,
        "off": [row for row in off if row.last >= today],
        "past": [row for row in off if row.last < today],
        "holidays": holidays_between(bench, today, today + AHEAD),
        "zones": sorted(available_timezones()),
        **{name: make() for name, make in usual.items() if name not in forms},
        **forms,
    }
    return render(request, "calendar/bench_hours.html", context, status=400 if wrong else 200)


def week_minutes(studio: Studio) -> int:
    """Minutes at the bench in a week without days off."""
    return sum(
        60 * (closes.hour - opens.hour) + closes.minute - opens.minute
        for stretches in week_of(studio).values()
        for opens, closes in stretches
    )


def week_words(studio: Studio) -> list[tuple[str, str]]:
    """The week in words, days of like hours together: `Monday to Friday`, `8:00–12:00, 13:00–17:00`."""
    runs: list[tuple[list[Weekday], str]] = []
    for day, stretches in week_of(studio).items():
        said = said_stretches(stretches)
        if runs and runs[-1][1] == said and runs[-1][0][-1] == day - 1:
            runs[-1][0].append(Weekday(day))
        else:
            runs.append(([Weekday(day)], said))
    return [(_days(days), said) for days, said in runs if said]


def _days(days: list[Weekday]) -> str:
    first, last = days[0].label, days[-1].label
    if len(days) == 1:
        return first
    return f"{first} {'and' if len(days) == 2 else 'to'} {last}"


urlpatterns: list[URLPattern] = [
    path("shop/bench-hours/", bench_hours, name="bench_hours"),
    path("shop/bench-hours/bench/", bench_has, name="bench_has"),
    path("shop/bench-hours/days-off/", day_off_new, name="day_off_new"),
    path("shop/bench-hours/days-off/<int:pk>/take-out/", day_off_take_out, name="day_off_take_out"),
]
