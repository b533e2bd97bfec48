"""The rack: what lies there and for whom, each board with its history, and what was cut."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import F, Max
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from projects.models import Board, Commission, Reservation
from projects.pages import rack_files
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.rack_cuts import board_cut
from projects.pages.rack_forms import BoardForm, ReserveForm
from projects.pages.rack_picture import picture_of
from projects.pages.record_form import refuse
from projects.services import rack
from projects.wording import in_shop_units

# A board's history is read from its newest line; a long one goes on, but not on this page.
LINES_SHOWN = 100
GONE_SHOWN = 200


@in_studio
@require_GET
def board_list(request: StudioRequest) -> HttpResponse:
    """What lies on the rack, how much of it is free, and where."""
    boards = Board.objects.for_studio(request.studio).on_rack().select_related("wood")
    rows = list(boards.prefetch_related("reservations__commission"))
    longest = max((float(row.length) for row in rows), default=1.0)
    shown = [(row, picture_of(row, studio=request.studio, longest=longest)) for row in rows]
    context = {
        "section": "rack",
        "tab": "boards",
        "rows": shown,
        "lying": sum(row.count for row in rows),
        "reserved": sum(row.reserved for row in rows),
    }
    return render(request, "rack/list.html", context)


@in_studio
@require_GET
def board_gone(request: StudioRequest) -> HttpResponse:
    """Boards that are used up or taken off, the latest first; each still has its page and its history."""
    boards = Board.objects.for_studio(request.studio).filter(count=0).select_related("wood")
    rows = boards.annotate(last=Max("events__at")).order_by(F("last").desc(nulls_last=True), "-pk")
    context = {"section": "rack", "rows": rows[:GONE_SHOWN]}
    return render(request, "rack/gone.html", context)


@in_studio
@require_http_methods(["GET", "POST"])
def board_new(request: StudioRequest) -> HttpResponse:
    """Put boards on the rack."""
    data = request.POST if request.method == "POST" else None
    form = BoardForm(data, studio=request.studio, initial=request.GET.dict())
    by = {"studio": request.studio, "member": request.member}
    if data is not None and (made := form.written(rack.board_create, **by)):
        messages.success(request, f"Added: {_named(made, request)}.")
        return redirect("board_list")
    context = {"section": "rack", "form": form, "title": "Add boards"}
    return render(request, "rack/form.html", context, status=400 if form.errors else 200)


@in_studio
@require_http_methods(["GET", "POST"])
def board_edit(request: StudioRequest, pk: int) -> HttpResponse:
    """Change boards on the rack."""
    row = own(Board, request, pk, "wood")
    data = request.POST if request.method == "POST" else None
    form = BoardForm(data, instance=row, studio=request.studio)
    if data is not None and (saved := form.written(rack.board_update, board=row, member=request.member)):
        messages.success(request, f"Saved: {_named(saved, request)}.")
        return redirect("board", row.pk)
    context = {"section": "rack", "form": form, "row": row, "title": _named(row, request)}
    return render(request, "rack/form.html", context, status=400 if form.errors else 200)


@in_studio
@require_POST
def board_delete(request: StudioRequest, pk: int) -> HttpResponse:
    """Take boards off the rack."""
    row = own(Board, request, pk, "wood")
    name = _named(row, request)
    try:
        rack.board_delete(board=row, member=request.member)
    except ValidationError as refusal:
        messages.error(request, in_shop_units(" ".join(refusal.messages), request.studio))
        return redirect("board", row.pk)
    messages.success(request, f"Taken off: {name}.")
    return redirect("board_list")


@in_studio
@require_GET
def board(request: StudioRequest, pk: int) -> HttpResponse:
    """One board: its drawing, for whom it is reserved, and what happened to it."""
    return _board_page(request, own(Board, request, pk, "wood__studio", "from_board__wood"))


def _board_page(
    request: StudioRequest, row: Board, *, reserve_form: ReserveForm | None = None, status: int = 200
) -> HttpResponse:
    events = list(row.events.select_related("member__user", "commission")[: LINES_SHOWN + 1])
    context: dict[str, Any] = {
        "section": "rack",
        "row": row,
        "title": in_shop_units(row.what, request.studio),
        "picture": picture_of(row, studio=request.studio),
        "reservations": row.reservations.select_related("commission"),
        "offcuts": row.offcuts.on_rack().select_related("wood"),
        "events": events[:LINES_SHOWN],
        "older": len(events) > LINES_SHOWN,
        "reserve_form": reserve_form or ReserveForm(board=row),
    }
    return render(request, "rack/board.html", context, status=status)


@in_studio
@require_POST
def board_reserve(request: StudioRequest, pk: int) -> HttpResponse:
    """Set boards aside for a commission."""
    row = own(Board, request, pk, "wood__studio", "from_board__wood")
    form = ReserveForm(request.POST, board=row)
    if form.is_valid():
        commission, count = form.cleaned_data["commission"], form.cleaned_data["count"]
        try:
            rack.reserve(boards={row: count}, commission=commission, member=request.member)
        except ValidationError as refusal:
            refuse(form, _in_units(refusal, request))
        else:
            messages.success(request, f"Reserved: {count} for {commission}.")
            return redirect("board", row.pk)
    row.refresh_from_db()
    return _board_page(request, row, reserve_form=form, status=400)


@in_studio
@require_POST
def board_release(request: StudioRequest, pk: int) -> HttpResponse:
    """Let go of what a commission has reserved of these boards."""
    row = own(Board, request, pk, "wood")
    commission = own(Commission, request, _number(request.POST.get("commission", "")))
    kept = Reservation.objects.filter(board=row, commission=commission).first()
    if kept is None:
        messages.error(request, f"Nothing is reserved for {commission} any more.")
        return redirect("board", row.pk)
    try:
        rack.release(commission=commission, boards={row: kept.count}, member=request.member)
    except ValidationError as refusal:
        messages.error(request, in_shop_units(" ".join(refusal.messages), request.studio))
    else:
        messages.success(request, f"Free again: {kept.count}.")
    return redirect("board", row.pk)


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else 0


def _named(row: Board, request: StudioRequest) -> str:
    return in_shop_units(str(row), request.studio)


def _in_units(refusal: ValidationError, request: StudioRequest) -> ValidationError:
    return ValidationError([in_shop_units(message, request.studio) for message in refusal.messages])


urlpatterns: list[URLPattern] = [
    path("rack/", board_list, name="board_list"),
    path("rack/used-up/", board_gone, name="board_gone"),
    path("rack/new/", board_new, name="board_new"),
    path("rack/boards.csv", rack_files.rack_export, name="rack_export"),
    path("rack/import/", rack_files.rack_import, name="rack_import"),
    path("rack/<int:pk>/", board, name="board"),
    path("rack/<int:pk>/change/", board_edit, name="board_edit"),
    path("rack/<int:pk>/take-away/", board_delete, name="board_delete"),
    path("rack/<int:pk>/reserve/", board_reserve, name="board_reserve"),
    path("rack/<int:pk>/release/", board_release, name="board_release"),
    path("rack/<int:pk>/cut/", board_cut, name="board_cut"),
]
