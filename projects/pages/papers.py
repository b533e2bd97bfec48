"""Papers beside the quote: looked at, handed out, taken back, and shown as they were printed."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Prefetch
from django.db.models.fields.json import KT
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path, reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from projects.models import Commission, IssuedPaper
from projects.models.issued import ASKS_FOR_MONEY, PaperKind
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.paper_files import pdf_file
from projects.pages.paper_forms import CreditForm, IssueForm
from projects.pages.record_form import refuse
from projects.papers.paper_rows import Copy, paper_context
from projects.services.paper_order import open_of, order_of
from projects.services.papers import client_copy, paper_draft, paper_issue, paper_row

PREVIEW = "preview"
OFFERED = (*ASKS_FOR_MONEY, PaperKind.CONFIRMATION, PaperKind.DELIVERY)


@dataclass(frozen=True)
class Offer:
    """A paper that can be handed out now: what it is called, and the address of its preview."""

    words: str
    address: str


def papers_section(job: Commission) -> dict[str, Any]:
    """For `jobs/papers.html`: the papers handed out, newest first, and those that can be."""
    rows = job.papers.defer("pdf", "content").annotate(currency=KT("content__currency"))
    corrections = IssuedPaper.objects.defer("pdf", "content")
    handed_out = rows.prefetch_related(Prefetch("corrections", corrections))
    return {"papers": [_listed(paper) for paper in handed_out], "paper_offers": list(_offers(job))}


def _listed(paper: IssuedPaper) -> IssuedPaper:
    paper.may_be_credited = paper.kind in ASKS_FOR_MONEY and open_of(paper) > 0  # type: ignore[attr-defined]
    return paper


def _offers(job: Commission) -> Iterator[Offer]:
    try:
        order = order_of(job)
    except ValidationError:
        return
    wanted: list[tuple[PaperKind, int | None]] = [(PaperKind.CONFIRMATION, None), *order.to_ask()]
    for kind, stage in [*wanted, (PaperKind.DELIVERY, None)]:
        address = reverse("job_paper", args=[job.pk, kind])
        several = kind == PaperKind.STAGE and len(order.payments) > 3
        words = f"{PaperKind(kind).label} {stage}" if several else str(PaperKind(kind).label)
        yield Offer(words.capitalize(), f"{address}?payment={stage}" if stage else address)


@in_studio
@require_http_methods(["GET", "POST"])
def job_paper(request: StudioRequest, pk: int, kind: str) -> HttpResponse:
    """What a paper will say; a press hands it out."""
    job = own(Commission, request, pk, "client", "studio")
    if kind not in OFFERED:
        raise Http404
    payment = request.GET.get("payment", "")
    asked = {"kind": kind, "stage": int(payment) if payment.isdecimal() else None}
    data = request.POST if request.method == "POST" else None
    form = IssueForm(data, kind=kind, email=job.client.email)
    if data is not None and form.is_valid():
        given = dict(form.cleaned_data)
        to = job.client.email if given.pop("by_mail", False) else ""
        if paper := _handed_out(form, commission=job, member=request.member, send_to=to, **asked, **given):
            messages.success(request, f"Handed out: {paper}.{f' It goes to {to}.' if to else ''}")
            return redirect(f"{reverse('job', args=[job.pk])}#papers")
    return _preview(request, job, form, **asked)


@in_studio
@require_http_methods(["GET", "POST"])
def paper_credit(request: StudioRequest, pk: int) -> HttpResponse:
    """Take a request back, whole or in part, with the reason."""
    paper = own(IssuedPaper, request, pk, "commission__client", "commission__studio")
    left = open_of(paper) if paper.kind in ASKS_FOR_MONEY else Decimal(0)
    if left <= 0:
        raise Http404
    form = CreditForm(request.POST if request.method == "POST" else None, paper=paper, left=left)
    if form.is_bound and form.is_valid():
        asked = {"kind": PaperKind.CREDIT, "corrects": paper, **form.cleaned_data}
        if note := _handed_out(form, commission=paper.commission, member=request.member, **asked):
            messages.success(request, f"Handed out: {note}.")
            return redirect(f"{reverse('job', args=[paper.commission_id])}#papers")
    context = {
        "section": "jobs",
        "job": paper.commission,
        "row": paper,
        "left": left,
        "currency": paper.content["currency"],
        "form": form,
    }
    return render(request, "jobs/credit.html", context, status=400 if form.errors else 200)


def _handed_out(form: Any, **asked: Any) -> IssuedPaper | None:
    try:
        return paper_issue(**asked)
    except ValidationError as refusal:
        refuse(form, refusal)
        return None


def _preview(request: StudioRequest, job: Commission, form: Any, **asked: Any) -> HttpResponse:
    """What the paper will say, in figures; with `print` in the address as it will be printed."""
    context: dict[str, Any] = {"section": "jobs", "job": job, "form": form}
    try:
        draft = paper_draft(commission=job, **asked)
    except ValidationError as refusal:
        context["refusals"] = refusal.messages
        return render(request, "jobs/paper.html", context, status=400 if form.errors else 200)
    paper = paper_row(draft, commission=job, number=PREVIEW, today=timezone.localdate())
    two = bool(paper.content.get("two_copies"))
    if "print" in request.GET:
        # Imported here since the printer takes half a second to load.
        from projects.papers.handed_out import paper_pdf

        wanted: Copy = "client" if request.GET["print"] == "client" or not two else "trade"
        return pdf_file(paper_pdf(paper, copy=wanted), name=f"preview {paper.content['head']}")
    context |= {
        "paper": paper_context(paper, copy="trade" if two else "client"),
        "two": two,
        "payment": asked["stage"],
    }
    return render(request, "jobs/paper.html", context, status=400 if form.errors else 200)


@in_studio
@require_GET
def paper_pdf_page(request: StudioRequest, pk: int) -> HttpResponse:
    """A paper as it was printed; with `copy=client` the buyer's."""
    paper = own(IssuedPaper, request, pk)
    if not paper.sha256:
        raise Http404
    is_client = request.GET.get("copy") == "client"
    printed = client_copy(paper) if is_client else bytes(paper.pdf)
    whose = " client" if is_client else ""
    return pdf_file(printed, name=f"{paper.number} {paper.content.get('title', '')}{whose}")


urlpatterns: list[URLPattern] = [
    path("jobs/<int:pk>/papers/<slug:kind>/", job_paper, name="job_paper"),
    path("papers/<int:pk>/", paper_pdf_page, name="paper_pdf"),
    path("papers/<int:pk>/credit/", paper_credit, name="paper_credit"),
]
