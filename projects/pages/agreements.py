"""Sign-offs and change orders from the maker's side: put to the client, looked at, taken down, taken back."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from projects.agreed import drawing_state
from projects.models import ChangeOrder, Commission, SignOff
from projects.models.agreements import Answer, SignOffKind
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.agreements_forms import ChangeForm, SignOffForm
from projects.pages.client_agreements_rows import currency_of, differs_of
from projects.pages.life_forms import TakenDownForm
from projects.pages.record_form import refuse
from projects.quote_state import accepted_quote
from projects.services.change_orders import (
    change_answer,
    change_ask,
    change_proposed,
    change_terms,
    change_withdraw,
    days_words,
)
from projects.services.sign_offs import drawing_frozen, sign_off_answer, sign_off_ask, sign_off_withdraw

PHOTO_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Cache-Control": "private, max-age=86400",
    "Content-Security-Policy": "default-src 'none'; sandbox",
}


def _job(request: StudioRequest, pk: int) -> Commission:
    return own(Commission, request, pk, "client", "design__studio", "studio")


@in_studio
@require_http_methods(["GET", "POST"])
def sign_off_new(request: StudioRequest, pk: int) -> HttpResponse:
    """Put a drawing or a sample to the client."""
    job = _job(request, pk)
    data = (request.POST, request.FILES) if request.method == "POST" else ()
    asked = request.GET.get("kind", "")
    usual = {"kind": asked if asked in SignOffKind.values else SignOffKind.DRAWING}
    form = SignOffForm(*data, studio=request.studio, initial=usual)
    if data and (row := form.written(sign_off_ask, commission=job, member=request.member)):
        messages.success(request, "Put to the client: it stands on the client's page.")
        return redirect("sign_off", row.pk)
    context = {"section": "jobs", "job": job, "form": form, "state": drawing_state(job)}
    try:
        context["drawing"] = mark_safe(drawing_frozen(job).drawing)  # made of escaped text
    except ValidationError as refusal:
        context["trouble"] = refusal.messages
    return render(request, "agreements/sign_off_new.html", context, status=400 if form.errors else 200)


@in_studio
@require_GET
def sign_off(request: StudioRequest, pk: int) -> HttpResponse:
    """One sign-off: what was shown, what was signed."""
    return _sign_off_page(request, own(SignOff, request, pk, "commission__client", "answered_by__user"))


def _sign_off_page(
    request: StudioRequest, row: SignOff, form: forms.Form | None = None, *, status: int = 200
) -> HttpResponse:
    context = {
        "section": "jobs",
        "job": row.commission,
        "row": row,
        "drawing": mark_safe(row.drawing),  # made of escaped text when it was frozen
        "form": form or TakenDownForm(),
        "zone": request.studio.bench.zone,
    }
    return render(request, "agreements/sign_off.html", context, status=status)


@in_studio
@require_POST
def sign_off_act(request: StudioRequest, pk: int) -> HttpResponse:
    """Take down what the client said of it, or take it back."""
    row = own(SignOff, request, pk, "commission__client")
    form = TakenDownForm(request.POST)

    def answered(**said: Any) -> object:
        return sign_off_answer(sign_off=row, member=request.member, **said)

    def back(words: str) -> object:
        return sign_off_withdraw(sign_off=row, member=request.member, words=words)

    if _acted(request, form, answered, back):
        return redirect("sign_off", row.pk)
    return _sign_off_page(request, row, form, status=400)


def _acted(
    request: StudioRequest, form: forms.Form, answered: Callable[..., object], back: Callable[..., object]
) -> bool:
    """What was pressed, with what was typed; whether it was done."""
    if not form.is_valid():
        return False
    said, pressed = form.cleaned_data, request.POST.get("act", "")
    try:
        if pressed == "withdraw":
            back(said["words"])
        elif pressed in ("agreed", "refused"):
            answered(agreed=pressed == "agreed", **said)
        else:
            raise ValidationError("Say whether it is agreed to or refused.")
    except ValidationError as refusal:
        refuse(form, refusal)
        return False
    messages.success(request, "Taken back." if pressed == "withdraw" else f"Taken down: {pressed}.")
    return True


@in_studio
@require_GET
def sign_off_photo(request: StudioRequest, pk: int) -> HttpResponse:
    """The photo of a sample, for those who work in the studio."""
    return photo_of(own(SignOff, request, pk))


def photo_of(row: SignOff) -> HttpResponse:
    """A sample's photo; the same 404 for a sample without one and for a file that is gone."""
    if not row.photo:
        raise Http404
    try:
        with row.photo.open("rb") as file:
            picture = file.read()
    except FileNotFoundError:
        raise Http404 from None
    # What is sent was drawn anew as JPEG when it was taken in; the browser is to take it for nothing else.
    named = {"Content-Disposition": f'inline; filename="sample-{row.pk}.jpg"'}
    return HttpResponse(picture, content_type="image/jpeg", headers=PHOTO_HEADERS | named)


@in_studio
@require_http_methods(["GET", "POST"])
def change_new(request: StudioRequest, pk: int) -> HttpResponse:
    """Price a change, and put it to the client."""
    job = _job(request, pk)
    accepted = accepted_quote(job)
    waits = job.change_orders.filter(answer=Answer.WAITING).defer("sheet", "estimate", "drawing").first()
    context: dict[str, Any] = {"section": "jobs", "job": job, "waits": waits}
    if accepted is None:
        return render(request, "agreements/change_new.html", context)
    terms, proposal = change_terms(accepted[1]), None
    try:
        proposal = change_proposed(job)
    except ValidationError as refusal:
        context["trouble"] = refusal.messages
    data = request.POST if request.method == "POST" else None
    form = ChangeForm(data, studio=request.studio, terms=terms, proposal=proposal)
    if data is not None and (row := form.written(change_ask, commission=job, member=request.member)):
        messages.success(request, f"Put to the client: change {row.number}.")
        return redirect("change", row.pk)
    context |= {"form": form, "terms": terms, "proposal": proposal, "quote": accepted[0]}
    if proposal is not None:
        context["drawing"] = mark_safe(proposal.drawing)  # made of escaped text
    return render(request, "agreements/change_new.html", context, status=400 if form.errors else 200)


@in_studio
@require_GET
def change(request: StudioRequest, pk: int) -> HttpResponse:
    """One change: what was offered, what was said to it."""
    return _change_page(request, own(ChangeOrder, request, pk, "commission__client", "answered_by__user"))


def _change_page(
    request: StudioRequest, row: ChangeOrder, form: forms.Form | None = None, *, status: int = 200
) -> HttpResponse:
    context = {
        "section": "jobs",
        "job": row.commission,
        "row": row,
        "currency": currency_of(row),
        "differs": differs_of(row),
        "days": days_words(row.days),
        "drawing": mark_safe(row.drawing),  # made of escaped text when it was frozen
        "form": form or TakenDownForm(),
        "zone": request.studio.bench.zone,
    }
    return render(request, "agreements/change.html", context, status=status)


@in_studio
@require_POST
def change_act(request: StudioRequest, pk: int) -> HttpResponse:
    """Take down what the client said to it, or take it back."""
    row = own(ChangeOrder, request, pk, "commission__client")
    form = TakenDownForm(request.POST)

    def answered(**said: Any) -> object:
        return change_answer(change=row, member=request.member, **said)

    def back(words: str) -> object:
        return change_withdraw(change=row, member=request.member, words=words)

    if _acted(request, form, answered, back):
        return redirect("change", row.pk)
    return _change_page(request, row, form, status=400)


urlpatterns = [
    path("jobs/<int:pk>/sign-offs/new/", sign_off_new, name="sign_off_new"),
    path("sign-offs/<int:pk>/", sign_off, name="sign_off"),
    path("sign-offs/<int:pk>/act/", sign_off_act, name="sign_off_act"),
    path("sign-offs/<int:pk>/photo/", sign_off_photo, name="sign_off_photo"),
    path("jobs/<int:pk>/changes/new/", change_new, name="change_new"),
    path("changes/<int:pk>/", change, name="change"),
    path("changes/<int:pk>/act/", change_act, name="change_act"),
]
