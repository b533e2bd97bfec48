"""The estimate of a saved design: what to buy, cut and mix, the hours, the cost and the price, with their workings."""

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from estimating.errors import InvalidSheet
from projects.estimates import estimate_design
from projects.models import Commission, Design, Studio
from projects.pages.access import StudioRequest
from projects.pages.counts import counts
from projects.pages.forms import OfferForm
from projects.pages.making import making
from projects.pages.money_flow import money_flow
from projects.pages.of_design import about, of_design, of_job
from projects.pages.wood_flow import wood_flow
from projects.pages.workings import Workings
from projects.services.commissions import commission_update

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.wood.strips import CuttingPlan, SawnBoard


@of_design
@require_GET
def design_estimate(request: StudioRequest, design: Design, *, job: None) -> HttpResponse:
    """The estimate of a design by itself, at the studio's usual terms."""
    return _page(request, design, job=job)


@of_job
@require_http_methods(["GET", "POST"])
def job_estimate(request: StudioRequest, design: Design, *, job: Commission) -> HttpResponse:
    """The estimate of a commission, and what the gallery's price would leave."""
    data = request.POST if request.method == "POST" else None
    form = OfferForm(data, instance=job, studio=request.studio)
    if data is not None and form.written(commission_update, commission=job):
        return redirect(f"{reverse('job_estimate', args=[job.pk])}#price")
    return _page(request, design, job=job, offer_form=form)


def _page(request: StudioRequest, design: Design, *, job: Commission | None, **more: Any) -> HttpResponse:
    context = about(design, job) | more
    try:
        _, estimate = estimate_design(design, commission=job)
    except InvalidSheet as refusal:
        context["refusals"] = refusal.errors
        return render(request, "estimates/page.html", context, status=200)
    context |= _shown(estimate, studio=request.studio, job=job)
    wrong = bool(more.get("offer_form") and more["offer_form"].errors)
    return render(request, "estimates/page.html", context, status=400 if wrong else 200)


def _to_buy(plan: "CuttingPlan") -> Counter["SawnBoard"]:
    """Boards of one size and price once, with how many of them."""
    return Counter(replace(board, strips=(), offcuts=()) for board in plan.boards if board.buy)


def _shown(estimate: "Estimate", *, studio: Studio, job: Commission | None) -> dict[str, Any]:
    from estimating.answer import finished_mass_of  # brings numpy, which other pages do without

    workings = Workings(estimate, studio)
    species = estimate.workshop.woods
    plan = estimate.cutting
    return {
        "estimate": estimate,
        "count": counts(estimate),
        "currency": estimate.sheet.pricing.currency,
        "why": workings.all(),
        "mass_g": finished_mass_of(estimate),
        "to_buy": [(count, species[board.wood], board) for board, count in _to_buy(plan).items()],
        "boards": [(species[board.wood], board) for board in plan.boards],
        **wood_flow(estimate, studio=studio),
        **money_flow(estimate, studio=studio, job=job),
        **making(estimate, workings=workings, studio=studio),
        "operations": [
            (operation, workings.operation(operation)) for operation in estimate.labour.operations
        ],
        "by_log": sum(
            estimate.workshop.rates[operation.name].source.startswith("hours log")
            for operation in estimate.labour.operations
        ),
        "glue_ups": {glue_up.number: glue_up for glue_up in estimate.glue_ups},
    }
