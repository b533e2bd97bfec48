"""Pieces taken out of the log: why and by whom, and how they come back."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import URLPattern, path
from django.views.decorators.http import require_GET, require_POST

from projects.models import PieceRecord
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.piece import piece_page
from projects.pages.piece_forms import OutForm
from projects.pages.record_form import refuse
from projects.services.record_out import record_put_back, record_take_out


@in_studio
@require_POST
def piece_take_out(request: StudioRequest, pk: int) -> HttpResponse:
    """Take a piece out of the log."""
    record = own(PieceRecord, request, pk, "commission", "design")
    form = OutForm(request.POST)
    if form.is_valid():
        try:
            record_take_out(record=record, member=request.member, **form.cleaned_data)
        except ValidationError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, f"Taken out of the log: {record}. It can be put back here.")
            return redirect("pieces_out")
    return piece_page(request, record, out_form=form, status=400)


@in_studio
@require_GET
def pieces_out(request: StudioRequest) -> HttpResponse:
    """The pieces that were taken out, the last first."""
    out = PieceRecord.everything.for_studio(request.studio).filter(taken_out_at__isnull=False)
    pieces = out.select_related("taken_out_by__user").order_by("-taken_out_at", "-pk")
    return render(request, "log/out.html", {"section": "log", "pieces": pieces})


@in_studio
@require_POST
def piece_put_back(request: StudioRequest, pk: int) -> HttpResponse:
    """Put a piece back into the log."""
    record = get_object_or_404(PieceRecord.everything.for_studio(request.studio), pk=pk)
    try:
        record_put_back(record=record, member=request.member)
    except ValidationError as refusal:
        messages.error(request, f"{record.serial} was not put back. {' '.join(refusal.messages)}")
        return redirect("pieces_out")
    messages.success(request, "In the log again, as it was.")
    return redirect("piece", record.pk)


urlpatterns: list[URLPattern] = [
    path("log/out/", pieces_out, name="pieces_out"),
    path("log/<int:pk>/take-out/", piece_take_out, name="piece_take_out"),
    path("log/<int:pk>/put-back/", piece_put_back, name="piece_put_back"),
]
