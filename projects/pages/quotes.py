"""Quotes: the words of the draft, what it will say, issuing it, and the papers of those issued."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET, require_http_methods

from estimating.errors import InvalidSheet
from projects.drawings import quote_drawing
from projects.estimates import estimate_design
from projects.models import Commission, Design, Quote, QuoteOption, Studio, Wood
from projects.models.quotes import QuoteState
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.counts import counts
from projects.pages.forms import QuoteForm
from projects.pages.of_design import of_job
from projects.pages.paper_files import pdf_file
from projects.services.quotes import quote_draft, quote_issue

COPIES = {"client": "client_pdf", "trade": "trade_pdf"}


@of_job
@require_http_methods(["GET", "POST"])
def job_quote(request: StudioRequest, design: Design, *, job: Commission) -> HttpResponse:
    """The draft quote: its words to be changed, and what it will say."""
    draft = _draft(job)
    data = request.POST if request.method == "POST" else None
    form = QuoteForm(data, instance=draft, studio=request.studio)
    if data is not None and _written(form, job):
        if "issue" in data:
            return _issue(request, job)
        messages.success(request, "The draft is saved.")
        return redirect("job_quote", job.pk)
    return _page(request, job, design, form, status=400 if form.errors else 200)


def _draft(job: Commission) -> Quote:
    """The draft there is, or one as it would begin; looking at the page makes none."""
    studio = job.studio
    found = Quote.objects.for_studio(studio).filter(commission=job, state=QuoteState.DRAFT).first()
    if found is not None:
        return found
    return Quote(
        studio=studio, commission=job, terms=studio.terms, care=studio.care, lead_time=studio.lead_time
    )


def _written(form: QuoteForm, job: Commission) -> bool:
    def service(**values: Any) -> Quote:
        return quote_draft(commission=job, **values)

    return form.written(service) is not None


def _issue(request: StudioRequest, job: Commission) -> HttpResponse:
    try:
        quote = quote_issue(quote=quote_draft(commission=job))
    except ValidationError as refusal:
        messages.error(request, f"Not issued; the draft is saved. {' '.join(refusal.messages)}")
    else:
        messages.success(request, f"Issued: quote {quote.reference}. Both papers are below.")
    return redirect("job_quote", job.pk)


def _page(
    request: StudioRequest, job: Commission, design: Design, form: QuoteForm, *, status: int
) -> HttpResponse:
    issued = job.quotes.filter(state=QuoteState.ISSUED).defer("trade_pdf", "client_pdf", "estimate", "sheet")
    offered = QuoteOption.objects.filter(quote__commission=job, quote__state=QuoteState.DRAFT)
    context = {"section": "jobs", "job": job, "form": form, "quotes": issued, "options": offered}
    return render(request, "quotes/page.html", context | _preview(job, design, request.studio), status=status)


def _preview(job: Commission, design: Design, studio: Studio) -> dict[str, Any]:
    """What the quote will say at the design as it is saved now."""
    try:
        _, estimate = estimate_design(design, commission=job)
    except InvalidSheet as refusal:
        return {"refusals": refusal.errors}
    return {
        "estimate": estimate,
        "count": counts(estimate),
        "drawing": mark_safe(quote_drawing(estimate, studio=studio)),  # made of escaped text
        "species": Wood.objects.for_studio(studio).filter(key__in=list(estimate.wood)),
        "currency": studio.currency,
    }


@in_studio
@require_GET
def quote_pdf(request: StudioRequest, pk: int, copy: str) -> HttpResponse:
    """One of the two papers of an issued quote, as it was printed then."""
    quote = own(Quote, request, pk)
    if copy not in COPIES or not quote.is_issued:
        raise Http404
    name, saved = f"quote {quote.reference} {quote.title} {copy}", "download" in request.GET
    return pdf_file(bytes(getattr(quote, COPIES[copy])), name=name, saved=saved)
