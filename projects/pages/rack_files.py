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
from projects.pages.rack_csv import COLUMNS, MOST_BYTES, CsvError, ReadRack, decoded, read_rack, written_rack
from projects.services import rack
from projects.wording import in_shop_units


@in_studio
@require_GET
def rack_export(request: StudioRequest) -> HttpResponse:
    """What lies on the rack, as CSV."""
    boards = Board.objects.for_studio(request.studio).on_rack().select_related("wood")
    # With the mark that tells spreadsheets of UTF-8.
    content = "\ufeff" + written_rack(boards, request.studio)
    name = f"rack-{timezone.localdate().isoformat()}.csv"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type="text/csv; charset=utf-8", headers=headers)


@in_studio
@require_http_methods(["GET", "POST"])
def rack_import(request: StudioRequest) -> HttpResponse:
    """Boards from CSV: shown with all that is wrong; saved where all is right and the second button was pressed."""
    if request.method == "GET":
        return _import_page(request, "", None)
    text = request.POST.get("text", "")
    try:
        if file := request.FILES.get("file"):
            text = decoded(file.read(MOST_BYTES + 1))
        else:
            decoded(text.encode(errors="replace"))
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
    context: dict[str, Any] = {"section": "rack", "text": text, "read": read, "columns": COLUMNS}
    if read is not None and not read.errors:
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
