"""The hours log to a CSV file and from one: looked at first, and logged by a second press."""

from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from projects.models import HoursEntry
from projects.pages.access import StudioRequest, in_studio
from projects.pages.csv_files import CsvError, handed_out, sent_text
from projects.pages.hours_csv import COLUMNS, ReadHours, names_of, read_hours, written_hours
from projects.pages.hours_typed import said_span
from projects.pages.hours_week import logged

ZERO = Decimal(0)
HELP = (
    "Needed are day, commission, operation, and minutes or both from and to. Days are written as 2027-03-01, times as "
    "9:15 by the bench's clock, minutes as 95 or 1:35. A commission goes by its title, or as no. 12 by its number; who "
    "is a log-in of the studio, yours if it is empty."
)


@in_studio
@require_GET
def hours_export(request: StudioRequest) -> HttpResponse:
    """The whole log, as CSV."""
    entries = HoursEntry.objects.for_studio(request.studio).select_related("commission", "member__user")
    ordered = entries.order_by("worked_on", "started_at", "pk")
    day = timezone.localdate(timezone=request.studio.bench.zone)
    return handed_out(written_hours(ordered, request.studio), name=f"hours-{day.isoformat()}.csv")


@in_studio
@require_http_methods(["GET", "POST"])
def hours_import(request: StudioRequest) -> HttpResponse:
    """Hours from CSV: shown with all that is wrong; logged where all is right and the second button was pressed."""
    if request.method == "GET":
        return _import_page(request, "", None)
    try:
        text = sent_text(request)
    except ValueError as refusal:
        return _import_page(request, "", ReadHours(errors=[CsvError(0, "", str(refusal))]))
    save = "save" in request.POST
    read = read_hours(text, names_of(request.studio, request.member), save=save)
    if read.errors or not save:
        return _import_page(request, text, read)
    messages.success(request, f"Logged: {len(read.entries)} entries.")
    return redirect("hours")


def _import_page(request: StudioRequest, text: str, read: ReadHours | None) -> HttpResponse:
    ready = read is not None and not read.errors
    context: dict[str, Any] = {"section": "jobs", "text": text, "read": read, "ready": ready}
    context |= {"columns": COLUMNS, "help": HELP}
    if read is not None and ready:
        context["rows"] = [logged(entry, request.studio.bench.zone) for entry in read.entries]
        context["total"] = said_span(sum((entry.minutes or ZERO for entry in read.entries), ZERO))
    return render(request, "hours/import.html", context, status=400 if read and read.errors else 200)


urlpatterns: list[URLPattern] = [
    path("hours/entries.csv", hours_export, name="hours_export"),
    path("hours/import/", hours_import, name="hours_import"),
]
