"""A quote's life from the maker's side: the private address, letters, answers, what a client said, withdrawals."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

from projects.models import Commission, Quote
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.client_rows import options_of_quote
from projects.pages.jobs import job_page
from projects.pages.life_forms import AnswerForm, LinkForm, QuoteTakenDownForm, SendForm, WhyForm
from projects.pages.record_form import refuse
from projects.quote_state import current_quote
from projects.services.quote_accept import quote_accept
from projects.services.quote_life import quote_answer, quote_decline, quote_send, quote_withdraw
from projects.services.quote_link import link_keep, link_make, link_of, link_revoke


def _job(request: StudioRequest, pk: int) -> Commission:
    return own(Commission, request, pk, "client", "design__studio", "studio")


def _quote(job: Commission) -> Quote:
    quote = current_quote(job)
    if quote is None:
        raise Http404
    return quote


def _acted(
    request: StudioRequest,
    job: Commission,
    form: forms.Form,
    act: Callable[..., object],
    *,
    typed: str,
    done: str,
    to: str = "client",
) -> HttpResponse:
    """Do it with what was typed; where it is refused, the commission's page with all of it kept."""
    if form.is_valid():
        try:
            act(**form.cleaned_data)
        except ValidationError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, done)
            return redirect(f"{reverse('job', args=[job.pk])}#{to}")
    shown: dict[str, Any] = {typed: form}
    return job_page(request, job, status=400, **shown)


@in_studio
@require_POST
def job_link(request: StudioRequest, pk: int) -> HttpResponse:
    """Make the client's private address, in the place of the one before."""
    job = _job(request, pk)
    link_make(commission=job, member=request.member)
    messages.success(request, "Made. Whoever has the address can see the quote and answer it.")
    return redirect(f"{reverse('job', args=[job.pk])}#client")


@in_studio
@require_POST
def job_link_keep(request: StudioRequest, pk: int) -> HttpResponse:
    """Let the address open until another day."""
    job = _job(request, pk)
    link = link_of(job)
    if link is None:
        raise Http404
    form = LinkForm(request.POST)
    return _acted(
        request, job, form, lambda **typed: link_keep(link=link, **typed), typed="link_form", done="Saved."
    )


@in_studio
@require_POST
def job_link_revoke(request: StudioRequest, pk: int) -> HttpResponse:
    """Let the address open no more."""
    job = _job(request, pk)
    if link := link_of(job):
        link_revoke(link=link)
        messages.success(request, "Revoked: the address opens nothing any more.")
    return redirect(f"{reverse('job', args=[job.pk])}#client")


@in_studio
@require_POST
def job_send(request: StudioRequest, pk: int) -> HttpResponse:
    """Mail the quote with its private address."""
    job = _job(request, pk)
    quote = _quote(job)

    def send(**typed: Any) -> object:
        return quote_send(quote=quote, member=request.member, **typed)

    return _acted(
        request, job, SendForm(request.POST), send, typed="send_form", done="The letter is written."
    )


@in_studio
@require_POST
def job_answer(request: StudioRequest, pk: int) -> HttpResponse:
    """Answer what the client asked."""
    job = _job(request, pk)
    quote = _quote(job)

    def answer(**typed: Any) -> object:
        return quote_answer(quote=quote, member=request.member, **typed)

    return _acted(
        request,
        job,
        AnswerForm(request.POST),
        answer,
        typed="answer_form",
        done="Answered: it stands on the client's page.",
        to="questions",
    )


@in_studio
@require_http_methods(["GET", "POST"])
def job_client_said(request: StudioRequest, pk: int) -> HttpResponse:
    """Take down that the client accepts or declines: said by telephone, signed on paper."""
    job = _job(request, pk)
    quote = _quote(job)
    data = request.POST if request.method == "POST" else None
    form = QuoteTakenDownForm(data, options=options_of_quote(quote))
    if data is not None and form.is_valid():
        try:
            _taken_down(request, quote, form)
        except ValidationError as refusal:
            refuse(form, refusal)
        else:
            return redirect(f"{reverse('job', args=[job.pk])}#client")
    context = {"section": "jobs", "job": job, "quote": quote, "form": form}
    return render(request, "agreements/client_said.html", context, status=400 if form.errors else 200)


def _taken_down(request: StudioRequest, quote: Quote, form: QuoteTakenDownForm) -> None:
    said = {name: form.cleaned_data[name] for name in ("name", "words")}
    if request.POST.get("agreed") == "yes":
        quote_accept(quote=quote, option=form.chosen, member=request.member, **said)
        messages.success(request, "Taken down: accepted.")
    elif request.POST.get("agreed") == "no":
        quote_decline(quote=quote, member=request.member, **said)
        messages.success(request, "Taken down: declined.")
    else:
        raise ValidationError("Say whether it is accepted or declined.")


@in_studio
@require_http_methods(["GET", "POST"])
def job_withdraw(request: StudioRequest, pk: int) -> HttpResponse:
    """Withdraw the quote, accepted or not, and say why."""
    job = _job(request, pk)
    quote = _quote(job)
    data = request.POST if request.method == "POST" else None
    form = WhyForm(data)
    if data is not None and form.is_valid():
        try:
            quote_withdraw(quote=quote, member=request.member, **form.cleaned_data)
        except ValidationError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, f"Withdrawn: quote {quote.reference}.")
            return redirect("job", job.pk)
    context = {"section": "jobs", "job": job, "quote": quote, "form": form}
    return render(request, "agreements/withdraw.html", context, status=400 if form.errors else 200)


urlpatterns = [
    path("jobs/<int:pk>/link/", job_link, name="job_link"),
    path("jobs/<int:pk>/link/keep/", job_link_keep, name="job_link_keep"),
    path("jobs/<int:pk>/link/revoke/", job_link_revoke, name="job_link_revoke"),
    path("jobs/<int:pk>/send/", job_send, name="job_send"),
    path("jobs/<int:pk>/answer/", job_answer, name="job_answer"),
    path("jobs/<int:pk>/client-said/", job_client_said, name="job_client_said"),
    path("jobs/<int:pk>/withdraw-quote/", job_withdraw, name="job_withdraw"),
]
