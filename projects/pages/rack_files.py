"""The rack to a CSV file and from one: looked at first, and put on the rack by a second press."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from projects.models import Board, Wood
from projects.pages.access import StudioRequest, in_studio
from projects.pages.csv_files import CsvError, handed_out, sent_text
from projects.pages.rack_csv import COLUMNS, ReadRack, read_rack, written_rack
from projects.services import rack
from projects.wording import in_shop_units

HELP = (
    "Needed are wood, length, width, and thickness or sold as. Lengths may be written as 3 1/2 in or 90 mm; a number "
    "alone is in {unit}, or in what the head says: length (mm)."
)


@in_studio
@require_GET
def rack_export(request: StudioRequest) -> HttpResponse:
    """What lies on the rack, as CSV."""
    boards = Board.objects.for_studio(request.studio).on_rack().select_related("wood")
    name = f"rack-{timezone.localdate().isoformat()}.csv"
    return handed_out(written_rack(boards, request.studio), name=name)


@in_studio
@require_http_methods(["GET", "POST"])
def rack_import(request: StudioRequest) -> HttpResponse:
    """Boards from CSV: shown with all that is wrong; saved where all is right and the second button was pressed."""
    if request.method == "GET":
        return _import_page(request, "", None)
    try:
        text = sent_text(request)
    except ValueError as refusal:
        return _import_page(request, "", ReadRack(errors=[CsvError(0, "", str(refusal))]), status=400)
    read = read_rack(text, request.studio, list(Wood.objects.for_studio(request.studio)))
    if read.errors or "save" not in request.POST:
        return _import_page(request, text, read, status=400 if read.errors else 200)
    try:
        made = rack.boards_create(studio=request.studio, rows=read.rows, member=request.member)
    except ValidationError as refusal:
        read.errors = [CsvError(0, "", in_shop_units(words, request.studio)) for words in refusal.messages]
        return _import_page(request, text, read, status=400)
    messages.success(request, f"Put on the rack: {sum(board.count for board in made)} boards.")
    return redirect("board_list")


def _import_page(
    request: StudioRequest, text: str, read: ReadRack | None, *, status: int = 200
) -> HttpResponse:
    ready = read is not None and not read.errors
    context: dict[str, Any] = {
        "section": "rack",
        "text": text,
        "read": read,
        "columns": COLUMNS,
        "ready": ready,
    }
    context["help"] = HELP.format(unit=request.studio.length_unit)
    if read is not None and ready:
        there = _lying(request)
        context["rows"] = [(board, there.get(_likeness(board))) for board in read.boards]
        context["total"] = sum(board.count for board in read.boards)
    return render(request, "rack/import.html", context, status=status)


def _lying(request: StudioRequest) -> dict[Any, Board]:
    boards = Board.objects.for_studio(request.studio).on_rack().select_related("wood")
    return {_likeness(board): board for board in boards}


def _likeness(board: Board) -> tuple[Any, ...]:
    """What two rows have alike when one file was brought in twice."""
    return (board.wood_id, board.length, board.width, board.thickness, board.count, board.place)
