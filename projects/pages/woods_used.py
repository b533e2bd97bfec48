"""The woods of a piece: what their dust does and how to keep out of it, and what others in their place would change."""

from typing import TYPE_CHECKING, Any

from django import forms
from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_GET

from estimating.errors import InvalidInput, InvalidSheet
from projects.estimates import compare_woods, estimate_design
from projects.models import Commission, Design, Studio, Wood
from projects.pages.access import StudioRequest
from projects.pages.of_design import about, of_design, of_job
from projects.wording import in_shop_units

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.substitutes import Comparison

ALTERNATIVES = 4


class OtherWoodsForm(forms.Form):
    """Which wood of the piece, and up to four of the studio's to set beside it."""

    wood = forms.ChoiceField(label="What if this")

    def __init__(self, data: QueryDict | None, *, studio: Studio, used: dict[str, str]) -> None:
        super().__init__(data)
        chosen: Any = self.fields["wood"]
        chosen.choices = list(used.items())
        woods = Wood.objects.for_studio(studio)
        offered = [(wood.key, wood.name) for wood in woods if wood.active]
        others = [(wood.key, wood.name) for wood in woods if not wood.active]
        groups: list[Any] = [("", "choose …"), ("Offered", offered), ("All others", others)]
        for number in range(1, ALTERNATIVES + 1):
            self.fields[f"other_{number}"] = forms.ChoiceField(
                label="were" if number == 1 else "or",
                required=number == 1,
                choices=[group for group in groups if group[1]],
            )

    def clean(self) -> dict[str, Any]:
        """Each wood once, and none that is there already."""
        given = super().clean() or {}
        before = {given.get("wood"): "This is the wood it has now."}
        for name in self.chosen:
            if given[name] in before:
                self.add_error(name, before[given[name]])
            else:
                before[given[name]] = "This wood stands above already."
        return given

    @property
    def chosen(self) -> list[str]:
        """The fields in which a wood is chosen."""
        names = (f"other_{number}" for number in range(1, ALTERNATIVES + 1))
        return [name for name in names if self.cleaned_data.get(name)]


@require_GET
def _page(request: StudioRequest, design: Design, *, job: Commission | None) -> HttpResponse:
    context = about(design, job)
    try:
        _, estimate = estimate_design(design, commission=job)
    except InvalidSheet as refusal:
        context["refusals"] = refusal.errors
        return render(request, "woods_used/page.html", context)
    context |= _dust(estimate)
    names = {hazard.wood: hazard.name for hazard in context["hazards"]}
    data = request.GET if "wood" in request.GET else None
    form = OtherWoodsForm(data, studio=request.studio, used=names)
    context |= {"form": form, "currency": estimate.sheet.pricing.currency}
    if form.is_bound and form.is_valid():
        context |= _shown(_compared(form, design, job=job))
        # Their boards to buy are reckoned at the price of the usual board.
        without = Wood.objects.for_studio(request.studio).filter(price_per_m3=0)
        context["unpriced"] = set(without.values_list("key", flat=True))
    return render(request, "woods_used/page.html", context, status=400 if form.errors else 200)


def _dust(estimate: "Estimate") -> dict[str, Any]:
    from estimating.wood.dust import ADVICE, hazards_of, woods_in

    woods = estimate.workshop.woods
    hazards = hazards_of(woods_in(estimate.shapes), woods=woods)
    limits = dict.fromkeys(limit for hazard in hazards for limit in hazard.limits)
    return {
        "hazards": hazards,
        "species": woods,
        "sensitisers": [hazard.name for hazard in hazards if hazard.kind == "sensitizer"],
        "irritants": [hazard.name for hazard in hazards if hazard.kind == "irritant"],
        "unknown": [hazard.name for hazard in hazards if hazard.kind == "unknown"],
        "limits": [
            (limit, [hazard.name for hazard in hazards if limit in hazard.limits]) for limit in limits
        ],
        "advice": ADVICE,
    }


def _shown(comparison: "Comparison | None") -> dict[str, Any]:
    """The present wood first; of each other, how much dearer it makes the piece."""
    if comparison is None:
        return {}
    present = comparison.present
    columns = [(other, other.price.retail - present.price.retail) for other in comparison.others]
    return {
        "comparison": comparison,
        "columns": [(present, None), *columns],
        "any_protected": any(one.protected_note for one in (present, *comparison.others)),
        "climate_words": _climate_words(comparison),
    }


def _climate_words(comparison: "Comparison") -> str:
    rooms = (comparison.climate.shop, comparison.climate.client)
    air, then = (f"{room.temperature_c:g} °C and {room.humidity:g} % humidity" for room in rooms)
    if comparison.assumed:
        return (
            f"Nobody has said where it will live: from a damp summer indoors, {air}, to a heated winter, {then} "
            "(common practice, no source)."
        )
    return f"From the shop, {air}, to where it will live, {then}; the Weather page has the working."


def _compared(form: OtherWoodsForm, design: Design, *, job: Commission | None) -> "Comparison | None":
    """The woods side by side; where they cannot be, the form says why."""
    wood = form.cleaned_data["wood"]
    alternatives = [form.cleaned_data[name] for name in form.chosen]
    try:
        return compare_woods(design, commission=job, wood=wood, alternatives=alternatives)
    except InvalidInput as refusal:
        form.add_error(None, f"{refusal.place}: {refusal.reason}.")
    except InvalidSheet as refusal:
        for error in refusal.errors:
            reason = in_shop_units(error.reason, design.studio)
            form.add_error(None, f"With one of these woods it cannot be made. {error.place}: {reason}.")
    return None


urlpatterns = [
    path("designs/<int:pk>/woods/", of_design(_page), name="design_woods"),
    path("jobs/<int:pk>/woods/", of_job(_page), name="job_woods"),
]
