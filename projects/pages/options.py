"""Options of a commission side by side: what another size, wood, finish or number would cost, and leave an hour."""

from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_GET

from estimating.errors import InvalidInput, InvalidSheet
from projects.models import Commission, Design, Finish, Studio, Wood
from projects.options import Choice, options_of
from projects.pages.access import StudioRequest
from projects.pages.fields import PercentField
from projects.pages.of_design import of_job
from projects.wording import in_shop_units

if TYPE_CHECKING:
    from estimating.options import Tried

MOST = 3


class OptionForm(forms.Form):
    """One option. What stays empty is as in the piece."""

    wood = forms.ChoiceField(required=False)
    by = forms.ChoiceField(label="by", required=False)
    size = PercentField(required=False, help_text="Of the piece as it is: 120 is a fifth larger all over.")
    finish = forms.ModelChoiceField(Finish.objects.none(), required=False, empty_label="as it is")
    quantity = forms.IntegerField(
        label="Pieces", required=False, min_value=1, max_value=1000, widget=forms.TextInput
    )

    def __init__(self, *args: Any, studio: Studio, used: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["quantity"].widget.attrs |= {"inputmode": "numeric", "class": "short figure"}
        size: Any = self.fields["size"]
        size.limits = (Decimal("0.25"), Decimal(4))
        woods: Any = self.fields["wood"]
        woods.choices = [("", "as it is"), *used]
        others: Any = self.fields["by"]
        others.choices = [("", "choose …"), *((w.key, w.name) for w in Wood.objects.for_studio(studio))]
        finish: Any = self.fields["finish"]
        finish.queryset = Finish.objects.for_studio(studio)

    def clean(self) -> dict[str, Any]:
        """A wood is changed by another one, or not at all."""
        given = super().clean() or {}
        if given.get("wood") and not given.get("by"):
            self.add_error("by", "Choose the wood that stands in its place.")
        if given.get("by") and not given.get("wood"):
            self.add_error("wood", "Choose the wood it stands for.")
        return given

    @property
    def choice(self) -> Choice:
        """What was chosen."""
        given = self.cleaned_data
        return Choice(
            wood=given["wood"],
            by=given["by"],
            size=float(given["size"] or 1),
            finish=given["finish"],
            quantity=given["quantity"],
        )


@of_job
@require_GET
def job_options(request: StudioRequest, design: Design, *, job: Commission) -> HttpResponse:
    """A commission's piece beside up to three others that it could be."""
    asked = any(name.startswith("1-") for name in request.GET)
    used = woods_in(design)
    sheets = [
        OptionForm(request.GET if asked else None, prefix=str(n), studio=request.studio, used=used)
        for n in range(1, MOST + 1)
    ]
    context: dict[str, Any] = {"section": "jobs", "job": job, "forms": sheets}
    wrong = asked and bool(sum(not form.is_valid() for form in sheets))  # all are checked
    if not wrong:
        choices = [form.choice for form in sheets] if asked else []
        named = [(f"option {n}", one) for n, one in enumerate(choices, start=1) if not one.is_none]
        context |= side_by_side(job, named)
    return render(request, "options/page.html", context, status=400 if wrong else 200)


def woods_in(design: Design) -> list[tuple[str, str]]:
    """The woods of a design's bands, as choices."""
    parts = design.parts.prefetch_related("bands")
    keys = {key for part in parts for band in part.bands.all() for key in (*band.all_woods, band.plug)}
    return [(wood.key, wood.name) for wood in Wood.objects.for_studio(design.studio).filter(key__in=keys)]


def side_by_side(job: Commission, asked: Sequence[tuple[str, Choice]]) -> dict[str, Any]:
    """The piece as it is and each choice by its name, for `options/columns.html`; or why there is nothing to show."""
    assert job.design is not None
    try:
        present, *others = options_of(job.design, commission=job, choices=[one for _, one in asked])
    except InvalidSheet as refusal:
        return {"refusals": refusal.errors}
    except InvalidInput as refusal:
        return {"refusals": [refusal]}
    if present.estimate is None:
        return {"refusals": present.refusals}
    names = ["as it is", *(name for name, _ in asked)]
    columns = [
        _column(name, tried, job.studio) for name, tried in zip(names, (present, *others), strict=True)
    ]
    return {"columns": columns, "currency": present.estimate.sheet.pricing.currency}


def _column(name: str, tried: "Tried", studio: Studio) -> dict[str, Any]:
    from estimating.answer import finished_mass_of
    from estimating.price.pricing import left_at

    found = tried.estimate
    if found is None:
        return {"name": name, "refusals": [in_shop_units(words, studio) for words in tried.refusals]}
    slow = left_at(
        found.labour.high / 60,
        price=found.price,
        cost=found.cost,
        mean_hours=found.labour.mean_hours,
        pricing=found.sheet.pricing,
    )
    return {"name": name, "estimate": found, "mass": finished_mass_of(found), "slow": slow}


urlpatterns = [path("jobs/<int:pk>/options/", job_options, name="job_options")]
