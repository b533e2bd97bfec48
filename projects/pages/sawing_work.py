"""The order of work at the saw of a plan for several commissions, with boxes to tick: one list for all of them."""

from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import URLPattern, path, reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET

from projects.agreed import drawing_states
from projects.estimates import workshop_of
from projects.models import Commission, SawingPlan, Studio
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.cut import FOLD, TEXT, batches
from projects.papers.bench_sheets import Sawn, sheets_of
from projects.papers.job_rings import JobRings
from projects.sawing import joined_rings
from projects.sawing_json import FrozenPlan, UnreadablePlan
from projects.services.sawing import thawed


@in_studio
@require_GET
def sawing_work(request: StudioRequest, pk: int) -> HttpResponse:
    """Fence by fence and stop by stop, for all commissions of a plan."""
    plan = own(SawingPlan, request, pk, "studio__shop")
    here = reverse("sawing_work", args=[plan.pk])
    context: dict[str, Any] = {"section": "rack", "plan": plan, "here": here}
    try:
        frozen = thawed(plan)
        jobs = plan_commissions(plan, frozen)
        sawn, rings = plan_work(frozen, jobs, request.studio)
        sheets = sheets_of(sawn, studio=request.studio, fold=FOLD, text=TEXT)
    except UnreadablePlan as trouble:
        return render(request, "sawing/work.html", {**context, "unreadable": [str(trouble)]})
    except ValidationError as refusal:
        return render(request, "sawing/work.html", {**context, "unreadable": refusal.messages})
    context |= {
        "sheets": sheets,
        # Drawn here, every word in it escaped.
        "boards": [(board, mark_safe(board.svg)) for board in sheets.boards],
        "batches": batches(sheets, request.studio),
        "shop": frozen.shop,
        "rings": rings,
        "states": drawing_states(jobs),
        # Settings are recorded with a commission; the first stands for all.
        "here": reverse("job_cut", args=[jobs[0].pk]),
    }
    return render(request, "sawing/work.html", context)


def plan_commissions(plan: SawingPlan, frozen: FrozenPlan) -> list[Commission]:
    """Those it was made for, in its order. Errors: ValidationError where one is gone."""
    found = plan.commissions.select_related("client", "design__studio").in_bulk()
    if any(key not in found for key in frozen.commissions):
        raise ValidationError("A commission of this plan is gone. Plan again.")
    return [found[key] for key in frozen.commissions]


def plan_work(frozen: FrozenPlan, jobs: list[Commission], studio: Studio) -> tuple[Sawn, list[JobRings]]:
    """What is sawn by a plan, and whose rings are which. Errors: as `projects.sawing.joined_rings`."""
    joined = joined_rings(studio, jobs, frozen.plan)
    woods = workshop_of(studio).woods
    sawn = Sawn(frozen.plan.cutting, joined.needs, joined.rings, joined.pieces, frozen.shop, woods)
    ends = [*frozen.plan.first_ring[1:], max(ring.number for ring in joined.rings)]
    rings = [
        JobRings(job, first + 1, last)
        for job, first, last in zip(jobs, frozen.plan.first_ring, ends, strict=True)
    ]
    return sawn, rings


urlpatterns: list[URLPattern] = [path("sawing/<int:pk>/saw-list/", sawing_work, name="sawing_work")]
