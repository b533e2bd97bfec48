"""The log as it is shown to CSV and JSON, and old pieces from CSV: looked at first, saved by a second press."""

from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from projects.models import PieceRecord
from projects.models.fields import plain_text
from projects.pages.access import StudioRequest, in_studio
from projects.pages.csv_files import CsvError, handed_out, sent_text
from projects.pages.log_csv import COLUMNS, ReadLog, read_log, written_log
from projects.pages.log_filter import asked
from projects.services import record_import

HELP = (
    "Needed is title. Lengths may be written as 3 1/2 in or 90 mm; a number alone is in {unit}, or in what the head "
    "says: height (mm). Woods are parted by semicolons, with their shares where known: black walnut 60 %; hard maple. "
    "Days are written as 2026-03-05. Without a serial number a piece gets the next of its year."
)
SCHEMA = "turnery.log/1"


@in_studio
@require_GET
def log_csv(request: StudioRequest) -> HttpResponse:
    """What is shown of the log, all pages of it, as CSV."""
    pieces = asked(request.GET, request.studio).records.prefetch_related("woods", "coats")
    return handed_out(written_log(pieces, request.studio), name=f"log-{timezone.localdate().isoformat()}.csv")


@in_studio
@require_GET
def log_json(request: StudioRequest) -> HttpResponse:
    """What is shown of the log, all pages of it, as JSON: lengths mm, masses g, amounts as text."""
    pieces = asked(request.GET, request.studio).records.prefetch_related("woods", "coats")
    answer = JsonResponse({"schema": SCHEMA, "pieces": [_as_json(piece) for piece in pieces]})
    name = f"log-{timezone.localdate().isoformat()}.json"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


def _as_json(piece: PieceRecord) -> dict[str, Any]:
    return {
        **{name: getattr(piece, name) for name in ("serial", "title", "made_on", "year", "form")},
        "height": _plain(piece.height),
        "diameter": _plain(piece.diameter),
        "mass_g": _plain(piece.mass_g),
        "designed": {
            "height": _plain(piece.designed_height),
            "diameter": _plain(piece.designed_diameter),
            "mass_g": _plain(piece.designed_mass_g),
        },
        "segments": piece.segments,
        "woods": [
            {"key": wood.key, "name": wood.name, "botanical": wood.botanical, "share": _plain(wood.share)}
            for wood in piece.woods.all()
        ],
        "coats": [{"name": coat.name, "put_on": coat.put_on} for coat in piece.coats.all()],
        "price": _plain(piece.price),
        "currency": piece.currency,
        "place": {
            "kind": piece.place,
            "since": piece.place_since,
            "with": piece.place_words,
            "due_back": piece.due_back,
        },
        **{name: getattr(piece, name) for name in ("failures", "repairs", "lessons")},
    }


def _plain(value: Decimal | None) -> str | None:
    return None if value is None else plain_text(value)


@in_studio
@require_http_methods(["GET", "POST"])
def log_import(request: StudioRequest) -> HttpResponse:
    """Old pieces from CSV: shown with all that is wrong; saved where all is right and the second button was pressed."""
    if request.method == "GET":
        return _import_page(request, "", None)
    try:
        text = sent_text(request)
    except ValueError as refusal:
        return _import_page(request, "", ReadLog(errors=[CsvError(0, "", str(refusal))]), status=400)
    read = read_log(text, request.studio)
    by: dict[str, Any] = {"studio": request.studio, "member": request.member, "rows": read.rows}
    made: list[PieceRecord] = []
    # A row that could not be read is not held to the rules as well: it would be refused for what is not there.
    if not read.errors:
        write = record_import.records_create if "save" in request.POST else record_import.records_tried
        try:
            made = write(**by)
        except ValidationError as refusal:
            read.refuse(refusal, request.studio)
    if read.errors or "save" not in request.POST:
        return _import_page(request, text, read, made, status=400 if read.errors else 200)
    messages.success(request, f"Written into the log: {len(made)} piece{'' if len(made) == 1 else 's'}.")
    return redirect("log_table")


def _import_page(
    request: StudioRequest,
    text: str,
    read: ReadLog | None,
    made: list[PieceRecord] | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    context: dict[str, Any] = {
        "section": "log",
        "text": text,
        "read": read,
        "columns": COLUMNS,
        "ready": read is not None and not read.errors,
        "help": HELP.format(unit=request.studio.length_unit),
        "pieces": zip(made or [], read.rows if read else [], strict=False),
        "total": len(made or []),
    }
    return render(request, "log/import.html", context, status=status)
