"""What to buy for a design or a commission, checked against the rack; with `make=pdf`, the list for the timber yard."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_GET

from estimating.errors import InvalidSheet
from projects.estimates import estimate_design
from projects.models import Commission, Design, Studio
from projects.pages.access import StudioRequest
from projects.pages.of_design import about, of_design, of_job
from projects.pages.paper_files import pdf_file
from projects.papers.sizes import PaperName, paper_of
from projects.papers.to_buy import Printer, Units, write_timber_list
from projects.services.sawing import plans_kept

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.quantities import InchStyle, Unit
    from estimating.wood.to_buy import ToBuy

PAPERS = [("a4", "A4"), ("letter", "Letter")]
UNITS = [("mm", "millimetres"), ("in", "inches")]


class ListForm(forms.Form):
    """How the list is printed. Sizes in inches are written as the shop's settings say."""

    paper = forms.ChoiceField(choices=PAPERS)
    unit = forms.ChoiceField(choices=UNITS, label="Sizes in")

    def __init__(self, data: Any = None, *, studio: Studio) -> None:
        usual = {
            "paper": paper_of(unit=studio.length_unit, currency=studio.currency),
            "unit": studio.length_unit,
        }
        super().__init__(data, initial=usual)
        self.studio = studio

    def units(self) -> Units:
        """The units asked for, or the shop's."""
        unit = self.cleaned_data["unit"] if self.is_valid() else self.studio.length_unit
        return Units(unit=cast("Unit", unit), inches=cast("InchStyle", self.studio.inch_style))


@require_GET
def _page(request: StudioRequest, design: Design, *, job: Commission | None) -> HttpResponse:
    context = about(design, job)
    context["kept"] = plans_kept(job) if job else []
    try:
        _, estimate = estimate_design(design, commission=job)
    except InvalidSheet as refusal:
        return render(request, "to_buy/page.html", {**context, "refusals": refusal.errors})
    from estimating.answer_flow import shopping_list  # brings numpy, which other pages do without

    listed = shopping_list(estimate)
    form = ListForm(request.GET if "paper" in request.GET else None, studio=request.studio)
    printer = _printer(estimate, form.units())
    if form.is_valid() and request.GET.get("make") == "pdf":
        held = [f"sawing plan {plan.pk}, {plan.title}" for plan in context["kept"]]
        paper = form.cleaned_data["paper"]
        return _pdf(listed, estimate.sheet.title, printer, paper, request.studio, held)
    context |= _shown(estimate, listed, printer)
    wrong = form.is_bound and not form.is_valid()
    return render(request, "to_buy/page.html", {**context, "form": form}, status=400 if wrong else 200)


def _printer(estimate: "Estimate", units: Units) -> Printer:
    woods = estimate.workshop.woods
    return Printer(
        units=units,
        currency=estimate.sheet.pricing.currency,
        names={key: wood.name for key, wood in woods.items()},
        colours={key: wood.colour for key, wood in woods.items()},
    )


def _shown(estimate: "Estimate", listed: "ToBuy", printer: Printer) -> dict[str, Any]:
    return {
        "listed": listed,
        "parts": printer.parts(listed),
        "rack": printer.rack(listed),
        "outlay": printer.money(listed.outlay),
        "charged": printer.money(estimate.cost.wood),
        "volumes": printer.volumes(listed),
        "unit": printer.units.unit,
        "why": _workings(estimate, printer),
    }


def _workings(estimate: "Estimate", printer: Printer) -> dict[str, str]:
    """How the figures came about."""
    shop = estimate.sheet.shop
    trims = [printer.units.size(mm) for mm in (shop.board_end_trim, shop.board_edge_trim)]
    unit, shortest = printer.units.unit, printer.units.size(shop.min_rip_length)
    return {
        "outlay": "The price of every board on the list, whole, as the plan has it. Nothing is rounded again.",
        "volumes": (
            "Board feet as the trade tallies them: length × width × nominal thickness ÷ 144 cubic inches, under 1 in "
            "counted as 1 in. Cubic metres are what the boards measure."
        ),
        "least": (
            f"What is sawn from the board where it is planned: its lanes side by side with their saw cuts, its longest "
            f"lane, and the strips as thick as they are ripped from it; {trims[0]} {unit} trimmed off each end and "
            f"{trims[1]} {unit} and a saw cut off each edge. Rounded up, and "
            f"never shorter than the {shortest} {unit} that the shop rips."
        ),
        "spares": "Segments beyond those of the piece, by the share of spares in the shop’s settings.",
    }


def _pdf(
    listed: "ToBuy", title: str, printer: Printer, paper: PaperName, studio: Studio, held: Sequence[str]
) -> HttpResponse:
    printed = write_timber_list(
        listed, title=title, printer=printer, paper=paper, studio=studio.name, held=held
    )
    return pdf_file(printed, name=f"{title} timber list")


urlpatterns = [
    path("designs/<int:pk>/to-buy/", of_design(_page), name="design_to_buy"),
    path("jobs/<int:pk>/to-buy/", of_job(_page), name="job_to_buy"),
]
