"""Money: payments of a commission, its statement to print or mail, letters sent again, and all that is owed."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse, HttpResponseNotFound
from django.shortcuts import redirect, render
from django.urls import URLPattern, path, reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from projects.consigned import dues_of
from projects.mailing import copy_of
from projects.models import Commission, IssuedPaper, Letter, Payment
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.client_door import ClientRequest, through_link
from projects.pages.money_rows import overview
from projects.pages.payment_forms import PaymentForm, StrikeForm, WordsForm
from projects.pages.record_form import refuse
from projects.papers.consignment import summary
from projects.services.letters import send_again
from projects.services.money_letters import request_send, statement_send
from projects.services.payments import payment_strike, payment_take
from projects.statement import statement


@in_studio
@require_GET
def money(request: StudioRequest) -> HttpResponse:
    """What is owed, by client, what is late first."""
    today = timezone.localdate()
    of_none = [stay for stay in dues_of(request.studio, today=today).stays if stay.job is None]
    context = {
        "section": "jobs",
        "found": overview(request.studio, today=today),
        "consigned": summary(of_none, on=today).due,
    }
    return render(request, "payments/money.html", context)


@in_studio
@require_http_methods(["GET", "POST"])
def payment_new(request: StudioRequest, pk: int) -> HttpResponse:
    """Take a payment down for a commission."""
    job = own(Commission, request, pk, "client", "studio")
    found = statement(job, today=timezone.localdate())
    data = request.POST if request.method == "POST" else None
    form = PaymentForm(data, studio=request.studio, found=found)
    if data is not None and form.written(payment_take, commission=job, member=request.member):
        messages.success(request, "Taken down.")
        return redirect(f"{_address(job)}#money")
    context = {"section": "jobs", "job": job, "found": found, "payment_form": form}
    return render(request, "payments/payment.html", context, status=400 if form.errors else 200)


@in_studio
@require_http_methods(["GET", "POST"])
def payment_strike_page(request: StudioRequest, pk: int) -> HttpResponse:
    """Strike a payment, and say why."""
    payment = own(Payment, request, pk, "commission__client", "commission__studio", "paper")
    job = payment.commission
    form = StrikeForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        try:
            payment_strike(payment=payment, why=form.cleaned_data["struck_why"], member=request.member)
        except ValidationError as refusal:
            refuse(form, refusal)
        else:
            messages.success(request, "Struck. It stays in the list and counts for nothing.")
            return redirect(f"{_address(job)}#money")
    currency = statement(job, today=timezone.localdate()).currency
    context = {"section": "jobs", "job": job, "payment": payment, "form": form, "currency": currency}
    return render(request, "payments/strike.html", context, status=400 if form.errors else 200)


@in_studio
@require_GET
def job_statement(request: StudioRequest, pk: int) -> HttpResponse:
    """How a commission's money stands, to look at or to print."""
    job = own(Commission, request, pk, "client", "studio")
    today = timezone.localdate()
    context = {"section": "jobs", "job": job, "found": statement(job, today=today), "today": today}
    return render(request, "payments/statement.html", context)


@in_studio
@require_POST
def job_statement_send(request: StudioRequest, pk: int) -> HttpResponse:
    """Mail the client how the payments stand."""
    job = own(Commission, request, pk, "client", "studio")
    return _sent(request, job, statement_send, commission=job)


@in_studio
@require_POST
def job_request_send(request: StudioRequest, pk: int) -> HttpResponse:
    """Mail the client a request, or a reminder of it."""
    paper = own(IssuedPaper, request, pk, "commission__client", "commission__studio")
    return _sent(request, paper.commission, request_send, paper=paper)


def _sent(request: StudioRequest, job: Commission, send: Any, **about: Any) -> HttpResponse:
    form = WordsForm(request.POST)
    try:
        if not form.is_valid():
            raise ValidationError([str(said) for said in form.errors["words"]])
        letter = send(**about, member=request.member, words=form.cleaned_data["words"])
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        _say_how(request, letter)
    return redirect(f"{_address(job)}#letters")


@in_studio
@require_POST
def letter_again(request: StudioRequest, pk: int) -> HttpResponse:
    """Send a letter that failed once more."""
    letter = own(Letter, request, pk, "commission")
    try:
        send_again(letter=letter)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        _say_how(request, letter)
    return redirect(f"{_address(letter.commission)}#letters")


def _say_how(request: StudioRequest, letter: Letter) -> None:
    letter.refresh_from_db()
    if letter.trouble:
        messages.error(request, f"The letter to {letter.to} was not sent: {letter.trouble}")
    else:
        messages.success(request, f"Sent to {letter.to}.")


def _address(job: Commission) -> str:
    return reverse("job", args=[job.pk])


@through_link
@require_GET
def client_paper(request: ClientRequest, pk: int) -> HttpResponse:
    """A paper that was handed out for the commission, as it was printed."""
    paper = (
        IssuedPaper.objects.for_studio(request.link.studio)
        .filter(commission=request.commission, pk=pk)
        .first()
    )
    if paper is None or not paper.pdf:
        return HttpResponseNotFound()
    return HttpResponse(
        copy_of(paper, client=request.commission.client),
        content_type="application/pdf",
        headers={
            "Content-Disposition": f'inline; filename="{paper.number}.pdf"',
            "X-Content-Type-Options": "nosniff",
        },
    )


urlpatterns: list[URLPattern] = [
    path("money/", money, name="money"),
    path("jobs/<int:pk>/payments/new/", payment_new, name="payment_new"),
    path("payments/<int:pk>/strike/", payment_strike_page, name="payment_strike"),
    path("jobs/<int:pk>/statement/", job_statement, name="job_statement"),
    path("jobs/<int:pk>/statement/send/", job_statement_send, name="job_statement_send"),
    path("requests/<int:pk>/send/", job_request_send, name="request_send"),
    path("letters/<int:pk>/again/", letter_again, name="letter_again"),
    path("c/<str:token>/papers/<int:pk>.pdf", client_paper, name="client_paper"),
]
