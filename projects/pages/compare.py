"""Two designs side by side: their drawings, what differs in words, and their figures with what is between them."""

from typing import Any

from django import forms
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_GET

from estimating.errors import InvalidInput, InvalidSheet
from projects.agreed import difference_words
from projects.design_differs import differences
from projects.estimates import estimate_design, piece_data
from projects.models import Design, Studio, Wood
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.beside import drawings, figures
from projects.wording import in_shop_units


class CompareForm(forms.Form):
    """Which two."""

    a = forms.ModelChoiceField(Design.objects.none(), label="This design", empty_label="choose …")
    b = forms.ModelChoiceField(Design.objects.none(), label="beside this one", empty_label="choose …")

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("a", "b"):
            field: Any = self.fields[name]
            field.queryset = Design.objects.for_studio(studio)


def _named(request: StudioRequest, name: str) -> Design | None:
    """The design an address names; None where it names none. Another studio's is no more there than nobody's."""
    text = request.GET.get(name, "")
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 19):
        raise Http404
    return own(Design, request, int(text), "studio", "adhesive", "finish")


@in_studio
@require_GET
def design_compare(request: StudioRequest) -> HttpResponse:
    """Two designs of the studio's beside each other; one of them may be chosen here."""
    pair = [_named(request, name) for name in ("a", "b")]
    chosen = [design for design in pair if design is not None]
    context: dict[str, Any] = {
        "section": "designs",
        "form": CompareForm(initial=dict(zip("ab", pair, strict=True)), studio=request.studio),
        "pair": chosen,
        "same": len(chosen) == 2 and chosen[0] == chosen[1],
    }
    if len(chosen) == 2 and not context["same"]:
        context |= _beside(*chosen, studio=request.studio)
    return render(request, "compare/page.html", context)


def _beside(first: Design, second: Design, *, studio: Studio) -> dict[str, Any]:
    woods = dict(Wood.objects.for_studio(studio).values_list("key", "name"))
    found = differences(piece_data(first), piece_data(second))
    context: dict[str, Any] = {
        "compared": True,
        "differs": [difference_words(one, studio=studio, woods=woods) for one in found],
    }
    estimates = []
    for design in (first, second):
        try:
            estimates.append(estimate_design(design)[1])
        except (InvalidInput, InvalidSheet) as refusal:
            words = in_shop_units(str(refusal), studio)
            context.setdefault("cannot", []).append((design, words))
    if len(estimates) == 2:
        context |= {"drawings": drawings(estimates, studio=studio)}
        context |= {"rows": figures(*estimates, studio=studio)}
    return context


urlpatterns = [path("designs/compare/", design_compare, name="design_compare")]
