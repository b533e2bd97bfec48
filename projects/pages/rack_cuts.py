"""Logging by hand that boards were cut, with the offcuts that go back on the rack."""

import re
from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from projects.models import Board
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.rack_forms import CutForm, OffcutForm
from projects.services import rack
from projects.wording import in_shop_units

ROWS, MOST_ROWS = 3, 30
OFFCUT_PLACE = re.compile(r"\Aoffcuts\[(\d+)\]\.?(\w*)\Z")


@in_studio
@require_http_methods(["GET", "POST"])
def board_cut(request: StudioRequest, pk: int) -> HttpResponse:
    """Log a cut, or ask for more rows of offcuts."""
    row = own(Board, request, pk, "wood__studio")
    if request.method == "GET":
        first = row.reservations.first()
        form = CutForm(board=row, initial={"commission": first and first.commission_id})
        lines = [_offcut_form(row, number) for number in range(ROWS)]
        return _cut_page(request, row, form, lines, seen=str(rack.last_entry(row)))
    seen = request.POST.get("seen", "")
    wanted = request.POST.get("rows", "")
    count = min(int(wanted), MOST_ROWS) if wanted.isascii() and wanted.isdigit() and len(wanted) < 4 else ROWS
    more = ROWS if "more" in request.POST else 0
    form = CutForm(request.POST, board=row)
    lines = [_offcut_form(row, number, data=request.POST) for number in range(min(count + more, MOST_ROWS))]
    if more:
        return _cut_page(request, row, form, lines, seen=seen)
    if all([form.is_valid(), *(line.is_valid() for line in lines)]):
        number = int(seen) if seen.isascii() and seen.isdigit() and len(seen) < 19 else None
        if _logged(request, row, form, lines, seen=number):
            return redirect("board", row.pk)
    return _cut_page(request, row, form, lines, seen=seen, status=400)


def _offcut_form(row: Board, number: int, data: Any = None) -> OffcutForm:
    return OffcutForm(data, board=row, prefix=f"offcuts-{number}")


def _logged(
    request: StudioRequest, row: Board, form: CutForm, lines: Sequence[OffcutForm], *, seen: int | None
) -> bool:
    """Whether the cut is logged, now or when it was sent before; where it is refused, the words are on the forms."""
    filled = [line for line in lines if not line.is_blank]
    try:
        back = rack.cut_logged(
            board=row,
            offcuts=[line.offcut() for line in filled],
            member=request.member,
            seen=seen,
            **form.cleaned_data,
        )
    except ValidationError as refusal:
        if getattr(refusal, "code", None) == rack.LOGGED:
            messages.info(request, " ".join(refusal.messages))
            return True
        for place, words in refusal.update_error_dict({}).items():
            said = [in_shop_units(word, request.studio) for word in ValidationError(words).messages]
            match = OFFCUT_PLACE.match(place)
            target: Any = filled[int(match[1])] if match else form
            field = match[2] if match else place
            target.add_error(field if field in target.fields else None, said)
        return False
    pieces = sum(board.count for board in back)
    gone = f"{form.cleaned_data['count']} cut"
    offcuts = f"{pieces} offcut{'' if pieces == 1 else 's'} back on the rack" if pieces else "nothing kept"
    messages.success(request, f"Logged: {gone}, {offcuts}.")
    return True


def _cut_page(
    request: StudioRequest,
    row: Board,
    form: CutForm,
    lines: Sequence[OffcutForm],
    *,
    seen: str,
    status: int = 200,
) -> HttpResponse:
    context = {
        "section": "rack",
        "row": row,
        "title": in_shop_units(row.what, request.studio),
        "form": form,
        "lines": lines,
        "seen": seen,
        "wrong": status != 200,
    }
    return render(request, "rack/cut.html", context, status=status)
