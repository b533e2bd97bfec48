"""What to mix and how to glue a design or a commission up: what to buy, and a card for each glue-up."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_GET

from estimating.errors import InvalidSheet
from projects.estimates import estimate_design
from projects.models import Commission, Design
from projects.pages.access import StudioRequest
from projects.pages.of_design import about, of_design, of_job

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from projects.papers.glue_cards import CardShown


@dataclass(frozen=True, slots=True)
class CardOnPage:
    """A card and its drawing, in which every word is escaped."""

    card: "CardShown"
    drawing: SafeString


@require_GET
def _page(request: StudioRequest, design: Design, *, job: Commission | None) -> HttpResponse:
    context = about(design, job)
    try:
        _, estimate = estimate_design(design, commission=job)
    except InvalidSheet as refusal:
        return render(request, "glue/page.html", {**context, "refusals": refusal.errors})
    return render(request, "glue/page.html", {**context, **_shown(estimate, request)})


def _shown(estimate: "Estimate", request: StudioRequest) -> dict[str, Any]:
    # Imported here since they bring the drawings and numpy, which other pages do without.
    from estimating.glue.label import times_at
    from projects.papers.glue_cards import cards_shown

    cards = cards_shown(estimate, studio=request.studio)
    label, shop = estimate.sheet.label, estimate.sheet.shop
    return {
        "estimate": estimate,
        "cards": [CardOnPage(card, mark_safe(card.drawing)) for card in cards],
        "label": label,
        "shop": shop,
        "times": times_at(shop, label),
        "to_buy": estimate.adhesive.to_buy,
        "why": _workings(estimate),
        "gluing": [
            caution for caution in estimate.cautions if caution.where.startswith(("adhesive", "shop"))
        ],
    }


def _workings(estimate: "Estimate") -> dict[str, str]:
    """How the figures came about."""
    shop, adhesive = estimate.sheet.shop, estimate.adhesive
    return {
        "volume": (
            f"Face to face {adhesive.coated_area / 100:,.0f} cm² coated, ends {adhesive.end_area / 100:,.0f} cm² × "
            f"{shop.end_grain_factor:g} as end grain drinks; × film × 2 faces × (1 + {shop.squeeze_out:g} squeezed "
            f"out); and {shop.mix_loss_ml:g} ml left in each of {len(adhesive.mixes)} cups."
        ),
        "buy": "The sum of all cups as they are measured out, each part rounded up to the cup’s marks.",
        "pot": (
            f"The label’s {shop.pot_life_min:g} min at {shop.pot_life_at_c:g} °C, reckoned for "
            f"{shop.temperature_c:g} °C on the bench by the adhesive’s own rule for colder and warmer."
        ),
    }


urlpatterns = [
    path("designs/<int:pk>/glue/", of_design(_page), name="design_glue"),
    path("jobs/<int:pk>/glue/", of_job(_page), name="job_glue"),
]
