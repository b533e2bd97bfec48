"""The year's figures: what was earned in how many hours, what is unpaid, woods, accuracy, and stock on a day."""

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import URLPattern, path
from django.utils import timezone
from django.views.decorators.http import require_GET

from projects.models.records import FIRST_YEAR
from projects.pages.access import StudioRequest, in_studio
from projects.pages.year_figures import YearForm, asked_of, figures
from projects.pages.year_files import year_csv


@in_studio
@require_GET
def year(request: StudioRequest) -> HttpResponse:
    """One year's figures, this year's where none is asked for."""
    today = timezone.localdate()
    form = YearForm(request.GET, today=today)
    context: dict[str, object] = {"section": "jobs", "form": form}
    if not form.is_valid():
        return render(request, "year/page.html", context, status=400)
    asked = asked_of(form)
    found = figures(request.studio, asked)
    context |= {
        "found": found,
        "whole": found.whole,
        "before": asked.year - 1 if asked.year > FIRST_YEAR else None,
        "after": asked.year + 1 if asked.year < today.year else None,
        "is_now": asked.year == today.year,
    }
    return render(request, "year/page.html", context)


urlpatterns: list[URLPattern] = [
    path("year/", year, name="year"),
    path("year/<slug:table>.csv", year_csv, name="year_csv"),
]
