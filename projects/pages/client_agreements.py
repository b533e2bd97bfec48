"""The client's side of sign-offs and changes: signed, agreed to or refused by the private address; and photos."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path, reverse
from django.views.decorators.http import require_POST, require_safe

from projects.models import ChangeOrder, SignOff
from projects.models.agreements import Answer
from projects.pages.agreements import photo_of
from projects.pages.client import NOT_YOURS, page_shown
from projects.pages.client_agreements_rows import (
    NoForm,
    OtherwiseForm,
    SignForm,
    change_rows,
    form_name,
    sign_off_rows,
)
from projects.pages.client_door import ClientRequest, through_link
from projects.pages.record_form import refuse
from projects.quote_state import current_quote
from projects.services.change_orders import change_answer
from projects.services.sign_offs import sign_off_answer


@through_link
@require_POST
def client_sign_off(request: ClientRequest, pk: int) -> HttpResponse:
    """Sign a drawing or a sample, or say what should be other."""
    row = _own(SignOff, request, pk)

    def act(**said: Any) -> object:
        return sign_off_answer(sign_off=row, link=request.link, **said)

    def again(typed: dict[str, forms.Form]) -> dict[str, Any]:
        return {"sign_offs": sign_off_rows(request.commission, typed=typed)}

    return _answered(request, row, act, no=OtherwiseForm, again=again)


@through_link
@require_POST
def client_change(request: ClientRequest, pk: int) -> HttpResponse:
    """Agree to a change, or refuse it."""
    row = _own(ChangeOrder, request, pk)

    def act(**said: Any) -> object:
        return change_answer(change=row, link=request.link, **said)

    def again(typed: dict[str, forms.Form]) -> dict[str, Any]:
        return {"changes": change_rows(request.commission, typed=typed)}

    return _answered(request, row, act, no=NoForm, again=again)


def _own(model: Any, request: ClientRequest, pk: int) -> Any:
    """One of this commission's that was not taken back; what is anybody else's is not there."""
    rows = model.objects.filter(commission=request.commission).exclude(answer=Answer.WITHDRAWN)
    return get_object_or_404(rows, pk=pk)


def _answered(
    request: ClientRequest,
    row: SignOff | ChangeOrder,
    act: Callable[..., object],
    *,
    no: type[forms.Form],
    again: Callable[[dict[str, forms.Form]], dict[str, Any]],
) -> HttpResponse:
    """Do what was pressed with what was typed; the page again where it is refused, with all of it kept."""
    way = "yes" if request.POST.get("answer") == "yes" else "no"
    name = f"{form_name(row)}-{way}"
    form = (SignForm if way == "yes" else no)(request.POST, prefix=name)
    if request.is_member:
        form.add_error(None, NOT_YOURS)
    if form.is_valid():
        try:
            act(agreed=way == "yes", **form.cleaned_data)
        except ValidationError as refusal:
            refuse(form, refusal)
        else:
            messages.success(
                request, "Thank you: we have been told." if way == "yes" else "Thank you for telling us."
            )
            return redirect(f"{reverse('client_page', args=[request.token])}#{form_name(row)}")
    # One that was answered meanwhile has no form any more to say so at.
    said = [str(words) for words in form.non_field_errors()]
    trouble = "" if row.is_waiting and form.errors.keys() - {"__all__"} else " ".join(said)
    if trouble:
        messages.error(request, trouble)
    return page_shown(request, current_quote(request.commission), status=400, **again({name: form}))


@through_link
@require_safe
def client_sample(request: ClientRequest, pk: int) -> HttpResponse:
    """The photo of a sample."""
    row = _own(SignOff, request, pk)
    if not row.photo:
        raise Http404
    return photo_of(row)


urlpatterns = [
    path("c/<str:token>/sign-offs/<int:pk>/", client_sign_off, name="client_sign_off"),
    path("c/<str:token>/sign-offs/<int:pk>/photo.jpg", client_sample, name="client_sample"),
    path("c/<str:token>/changes/<int:pk>/", client_change, name="client_change"),
]
