"""The client's page: a quote seen, asked about, accepted or declined through a private address."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, HttpResponseNotFound
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.text import slugify
from django.views.decorators.http import require_POST, require_safe

from estimating.errors import InvalidSheet
from projects.models import Quote
from projects.pages import client_parts
from projects.pages.client_door import ClientRequest, through_link
from projects.pages.client_forms import AcceptForm, AskForm, DeclineForm
from projects.pages.client_rows import options_of_quote, quote_rows
from projects.pages.record_form import refuse
from projects.pages.redraw import shaped
from projects.pages.solid import model_answer
from projects.quote_state import current_quote
from projects.services.quote_accept import quote_accept
from projects.services.quote_life import copies_for, quote_ask, quote_decline, quote_seen
from projects.services.quote_link import link_seen

NOT_YOURS = "You are logged in to the studio. Take down what the client says on the commission's page."


@through_link
@require_safe
def client_page(request: ClientRequest) -> HttpResponse:
    """All that there is to see, and to answer."""
    quote = current_quote(request.commission)
    if not request.is_member and request.method == "GET":
        link_seen(link=request.link)
        if quote is not None:
            quote_seen(quote=quote, link=request.link)
    return page_shown(request, quote)


def page_shown(
    request: ClientRequest, quote: Quote | None, *, status: int = 200, **typed: Any
) -> HttpResponse:
    """The page, with forms as they were typed where one was refused."""
    job, link = request.commission, request.link
    context: dict[str, Any] = {"job": job, "link": link, "token": request.token, "studio": job.studio}
    context |= {"is_member": request.is_member, "quote": quote}
    if quote is not None:
        context |= quote_rows(quote, token=request.token)
        context |= {"accept": AcceptForm(options=options_of_quote(quote)), "decline": DeclineForm()}
    context |= {"ask": AskForm()}
    for part in (client_parts.sign_offs, client_parts.changes, client_parts.papers):
        context |= part(job, link=link)
    return render(request, "client/page.html", context | typed, status=status)


def _acted(
    request: ClientRequest, form: forms.Form, act: Callable[..., object], *, typed: str, done: str
) -> HttpResponse:
    """Do what the client asks with what was typed; the page again where that is refused, with all of it kept."""
    quote = current_quote(request.commission)
    if quote is None:
        return HttpResponseNotFound()
    if request.is_member:
        form.add_error(None, NOT_YOURS)
    if form.is_valid():
        try:
            act(quote=quote, link=request.link)
        except ValidationError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, done)
            return redirect("client_page", request.token)
    return page_shown(request, quote, status=400, **{typed: form})


@through_link
@require_POST
def client_accept(request: ClientRequest) -> HttpResponse:
    """Accept the quote, as drawn or one of its options, by a typed name."""
    quote = current_quote(request.commission)
    form = AcceptForm(request.POST, options=options_of_quote(quote) if quote else ())

    def act(**values: Any) -> object:
        return quote_accept(**values, name=form.cleaned_data["name"], option=form.chosen)

    return _acted(request, form, act, typed="accept", done="Accepted. Thank you: we have been told.")


@through_link
@require_POST
def client_decline(request: ClientRequest) -> HttpResponse:
    """Decline the quote, and say why."""
    form = DeclineForm(request.POST)

    def act(**values: Any) -> object:
        return quote_decline(**values, **form.cleaned_data)

    return _acted(request, form, act, typed="decline", done="Declined. Thank you for telling us.")


@through_link
@require_POST
def client_ask(request: ClientRequest) -> HttpResponse:
    """Ask the studio something."""
    form = AskForm(request.POST)

    def act(**values: Any) -> object:
        return quote_ask(**values, **form.cleaned_data)

    return _acted(
        request, form, act, typed="ask", done="Your question is on its way. The answer will stand here."
    )


@through_link
@require_safe
def client_model(request: ClientRequest) -> HttpResponse:
    """The piece of the frozen quote, or of one of its options, as binary glTF."""
    quote = current_quote(request.commission)
    if quote is None:
        return HttpResponseNotFound()
    asked = request.GET.get("option", "")
    chosen = next((one for one in options_of_quote(quote) if str(one.pk) == asked), None)
    if asked and chosen is None:
        return HttpResponseNotFound()
    try:
        found: Any = shaped((chosen or quote).sheet, studio=request.link.studio)
    except InvalidSheet:
        # A wood was taken off the shelf since: the drawing stands for the model.
        return HttpResponseNotFound()
    return model_answer(found, studio=request.link.studio)


@through_link
@require_safe
def client_quote_pdf(request: ClientRequest, copy: str) -> HttpResponse:
    """A paper of the quote as it was printed: the client copy, and for a gallery the trade copy."""
    current = current_quote(request.commission)
    if current is None or copy not in copies_for(current):
        return HttpResponseNotFound()
    quote = Quote.objects.for_studio(request.link.studio).get(pk=current.pk)
    name = slugify(f"quote {quote.reference} {quote.title} {copy}")
    return HttpResponse(
        bytes(quote.client_pdf if copy == "client" else quote.trade_pdf),
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'inline; filename="{name}.pdf"',
            "X-Content-Type-Options": "nosniff",
        },
    )


urlpatterns = [
    path("c/<str:token>/", client_page, name="client_page"),
    path("c/<str:token>/accept/", client_accept, name="client_accept"),
    path("c/<str:token>/decline/", client_decline, name="client_decline"),
    path("c/<str:token>/ask/", client_ask, name="client_ask"),
    path("c/<str:token>/round.glb", client_model, name="client_model"),
    path("c/<str:token>/quote-<slug:copy>.pdf", client_quote_pdf, name="client_quote_pdf"),
]
