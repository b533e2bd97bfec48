"""What stands on papers besides the piece: the studio as a party, its usual terms, a commission's delivery."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import URLPattern, path
from django.views.decorators.http import require_http_methods

from projects.models import Commission, PaperDefaults
from projects.models.studio import MemberRole
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.paper_forms import DeliveryForm, PaperDefaultsForm, StudioPapersForm
from projects.services.commissions import commission_update
from projects.services.paper_settings import paper_defaults_update, said_by_terms, studio_papers_update

PARTY_GROUPS = {
    "Who you are": ("legal_name", "company_number"),
    "Tax": ("tax_status", "tax_note", "sends_invoices"),
    "Being paid": ("bank_details", "payment_days"),
}
USUAL_GROUPS = {
    "Title and risk": ("title_passes", "risk_passes"),
    "When it arrives": ("report_days", "return_days"),
    "Joints": ("warranty_months", "warranty_humidity_low", "warranty_humidity_high", "repairs"),
    "Rights": ("signature", "copyright_words"),
}
DELIVERY_GROUPS = {
    "When it is ready": ("ready_from", "ready_to"),
    "On its way": ("ships", "insured_value"),
    "One of how many": ("edition", "edition_number", "edition_size"),
    "The deposit": ("deposit_via",),
}


@in_studio
@require_http_methods(["GET", "POST"])
def studio_papers(request: StudioRequest) -> HttpResponse:
    """The studio as a party to its papers; only an owner changes it."""
    return _page(
        request, StudioPapersForm(*_sent(request), instance=request.studio, studio=request.studio), "party"
    )


@in_studio
@require_http_methods(["GET", "POST"])
def studio_usual(request: StudioRequest) -> HttpResponse:
    """What the studio usually agrees of delivery, damage, joints and rights; only an owner changes it."""
    row = PaperDefaults.objects.for_studio(request.studio).get()
    return _page(request, PaperDefaultsForm(*_sent(request), instance=row, studio=request.studio), "usual")


def _sent(request: StudioRequest) -> list[Any]:
    return [request.POST] if request.method == "POST" else []


def _page(request: StudioRequest, form: Any, which: str) -> HttpResponse:
    may_change = request.member.role == MemberRole.OWNER
    if request.method == "POST" and not may_change:
        messages.error(request, "Only the studio's owner changes these. Nothing was saved.")
        return redirect(request.path)
    service = studio_papers_update if which == "party" else paper_defaults_update
    if form.is_bound and form.written(service, studio=request.studio):
        messages.success(
            request, "Saved. Papers handed out from now on say so; those that are out stay as they are."
        )
        return redirect(request.path)
    groups = PARTY_GROUPS if which == "party" else USUAL_GROUPS
    context = {
        "section": "studio",
        "which": which,
        "form": form,
        "groups": [(title, [form[name] for name in names]) for title, names in groups.items()],
        "may_change": may_change,
        "said_by_terms": said_by_terms(request.studio) if which == "usual" else [],
    }
    return render(request, "studio/papers.html", context, status=400 if form.errors else 200)


@in_studio
@require_http_methods(["GET", "POST"])
def job_delivery(request: StudioRequest, pk: int) -> HttpResponse:
    """What is agreed of a commission's delivery and rights: it stands on its next quote, and on its papers."""
    row = own(Commission, request, pk, "client")
    form = DeliveryForm(*_sent(request), instance=row, studio=request.studio)
    if form.is_bound and form.written(commission_update, commission=row):
        messages.success(request, "Saved.")
        return redirect("job", row.pk)
    context = {
        "section": "jobs",
        "form": form,
        "job": row,
        "title": "Delivery and rights",
        "has_clients": True,
        "groups": [(title, [form[name] for name in names]) for title, names in DELIVERY_GROUPS.items()],
    }
    return render(request, "jobs/form.html", context, status=400 if form.errors else 200)


urlpatterns: list[URLPattern] = [
    path("studio/papers/", studio_papers, name="studio_papers"),
    path("studio/papers/usual/", studio_usual, name="studio_usual"),
    path("jobs/<int:pk>/delivery/", job_delivery, name="job_delivery"),
]
