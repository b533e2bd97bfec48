"""Commissions: the job list by promised date, and the page of each."""

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from projects.models import Client, Commission, Design
from projects.models.commissions import OPEN_STAGES, Stage
from projects.models.quotes import QuoteState
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.forms import TERMS_GROUPS, CommissionForm, DesignChoiceForm, TermsForm
from projects.pages.hours_forms import HoursForm
from projects.pages.life_rows import life_shown, list_waits, once_more
from projects.pages.money_rows import mark_money, money_section
from projects.pages.papers import papers_section
from projects.pages.record_form import RecordForm
from projects.services.commissions import (
    MOVES,
    commission_create,
    commission_delete,
    commission_move,
    commission_update,
)
from projects.services.hours import hours_log
from projects.services.record_places import late_back

# What a stage is called on the button that moves a commission there.
MOVE_WORDS = {
    Stage.ENQUIRY: "Take it up again",
    Stage.DESIGNING: "Start designing",
    Stage.QUOTED: "Mark as quoted",
    Stage.AGREED: "Client has agreed",
    Stage.MAKING: "Start making",
    Stage.FINISHED: "It is finished",
    Stage.DELIVERED: "It is delivered",
    Stage.CLOSED: "Paid: close it",
    Stage.DECLINED: "Declined",
}
WAY = list(MOVE_WORDS)
DONE_BUT_UNPAID = (Stage.DELIVERED,)


@in_studio
@require_GET
def job_list(request: StudioRequest) -> HttpResponse:
    """What is promised, to whom and by when; what is overdue is said so in words."""
    today = timezone.localdate()
    jobs = list(Commission.objects.for_studio(request.studio).job_list())
    waits = list_waits(jobs, today=today)
    for job in jobs:
        job.stands, job.waits = waits[job.pk]
        job.is_overdue = job.stage in OPEN_STAGES and job.promised_on is not None and job.promised_on < today
    still_open = [job for job in jobs if job.stage in OPEN_STAGES]
    context = {
        "section": "jobs",
        "jobs": still_open,
        "dated": [job for job in still_open if job.promised_on],
        "overdue": [job for job in still_open if job.is_overdue],
        "unpaid": [job for job in jobs if job.stage in DONE_BUT_UNPAID],
        "past": [job for job in jobs if job.stage in (Stage.CLOSED, Stage.DECLINED)],
        "has_clients": bool(jobs) or Client.objects.for_studio(request.studio).exists(),
        "late_back": late_back(request.studio, today=today),
        **mark_money(jobs, studio=request.studio, today=today),
    }
    return render(request, "jobs/list.html", context)


@in_studio
@require_http_methods(["GET", "POST"])
def job_new(request: StudioRequest) -> HttpResponse:
    """Take a commission on."""
    data = request.POST if request.method == "POST" else None
    form = CommissionForm(data, studio=request.studio, initial={"client": request.GET.get("client")})
    if data is not None and (job := form.written(commission_create, studio=request.studio)):
        messages.success(request, "Taken on as an enquiry.")
        return redirect("job", job.pk)
    has_clients = Client.objects.for_studio(request.studio).exists()
    context = {"section": "jobs", "form": form, "title": "New commission", "has_clients": has_clients}
    return render(request, "jobs/form.html", context, status=400 if form.errors else 200)


@in_studio
@require_GET
def job(request: StudioRequest, pk: int) -> HttpResponse:
    """One commission with everything that belongs to it."""
    return job_page(request, own(Commission, request, pk, "client", "design"))


def job_page(
    request: StudioRequest,
    job: Commission,
    *,
    hours_form: RecordForm | None = None,
    status: int = 200,
    **typed: Any,
) -> HttpResponse:
    """A commission's page; `typed` are other forms on it as they were sent."""
    today = timezone.localdate()
    entries = list(job.hours.select_related("member__user"))
    context: dict[str, Any] = {
        "section": "jobs",
        "job": job,
        "is_overdue": job.stage in OPEN_STAGES and job.promised_on is not None and job.promised_on < today,
        "moves": [(stage, _move_words(job.stage, stage)) for stage in MOVES[job.stage]],
        "entries": entries,
        "logged_minutes": sum(entry.minutes or 0 for entry in entries),
        "hours_form": hours_form or HoursForm(studio=request.studio),
        "design_form": DesignChoiceForm(instance=job, studio=request.studio),
        "has_designs": Design.objects.for_studio(request.studio).exists(),
        "reserved": job.reservations.select_related("board__wood"),
        "quotes": job.quotes.filter(state=QuoteState.ISSUED).defer("trade_pdf", "client_pdf", "estimate"),
    }
    return render(
        request,
        "jobs/job.html",
        context | life_shown(job) | papers_section(job) | money_section(job, studio=request.studio) | typed,
        status=status,
    )


def _move_words(now: str, to: str) -> str:
    """What the button says; a step back says so."""
    is_back = now != Stage.DECLINED and WAY.index(Stage(to)) < WAY.index(Stage(now))
    return f"Back to {Stage(to).label}" if is_back else MOVE_WORDS[Stage(to)]


@in_studio
@require_http_methods(["GET", "POST"])
def job_edit(request: StudioRequest, pk: int) -> HttpResponse:
    """Change what was asked and when it is promised."""
    return _edited(request, pk, CommissionForm, title="Change the commission")


@in_studio
@require_http_methods(["GET", "POST"])
def job_terms(request: StudioRequest, pk: int) -> HttpResponse:
    """Change what is agreed for this commission alone."""
    return _edited(request, pk, TermsForm, title="The terms", groups=TERMS_GROUPS)


def _edited(
    request: StudioRequest,
    pk: int,
    kind: type[RecordForm],
    *,
    title: str,
    groups: Mapping[str, tuple[str, ...]] | None = None,
) -> HttpResponse:
    row = own(Commission, request, pk, "client")
    data = request.POST if request.method == "POST" else None
    form = kind(data, instance=row, studio=request.studio)
    if data is not None and form.written(commission_update, commission=row):
        messages.success(request, "Saved.")
        return redirect("job", row.pk)
    context = {"section": "jobs", "form": form, "job": row, "title": title, "has_clients": True}
    if groups:
        context["groups"] = [(head, [form[name] for name in names]) for head, names in groups.items()]
    return render(request, "jobs/form.html", context, status=400 if form.errors else 200)


@in_studio
@require_POST
def job_move(request: StudioRequest, pk: int) -> HttpResponse:
    """Move a commission to another stage. With something unsigned, making it takes a second press."""
    row = own(Commission, request, pk, "client", "design", "studio")
    if request.POST.get("to") == Stage.MAKING and "anyway" not in request.POST and (words := once_more(row)):
        return job_page(request, row, status=409, once_more=words)
    try:
        moved = commission_move(commission=row, to=request.POST.get("to", ""))
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        messages.success(request, f"Now: {moved.get_stage_display()}.")
    return redirect("job", row.pk)


@in_studio
@require_POST
def job_design(request: StudioRequest, pk: int) -> HttpResponse:
    """Choose the design that a commission goes by."""
    row = own(Commission, request, pk)
    form = DesignChoiceForm(request.POST, instance=row, studio=request.studio)
    if form.written(commission_update, commission=row):
        messages.success(request, "Saved.")
    else:
        messages.error(request, "Choose one of the studio's designs.")
    return redirect("job", row.pk)


@in_studio
@require_POST
def job_delete(request: StudioRequest, pk: int) -> HttpResponse:
    """Throw a commission away that came to nothing."""
    row = own(Commission, request, pk)
    try:
        commission_delete(commission=row)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
        return redirect("job", pk)
    messages.success(request, f"Taken away: {row.title}.")
    return redirect("job_list")


@in_studio
@require_POST
def hours_add(request: StudioRequest, pk: int) -> HttpResponse:
    """Log time worked on a commission."""
    row = own(Commission, request, pk, "client", "design")
    form = HoursForm(request.POST, studio=request.studio)
    if form.written(hours_log, commission=row, member=request.member):
        messages.success(request, "Logged.")
        return redirect("job", row.pk)
    return job_page(request, row, hours_form=form, status=400)
