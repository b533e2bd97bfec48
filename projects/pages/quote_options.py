"""Options offered on a draft quote: other woods, sizes, finishes and numbers, for the client to choose from."""

from decimal import Decimal
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.views.decorators.http import require_http_methods

from projects.models import Commission, Design, Quote, QuoteOption
from projects.models.quote_life import MOST_OPTIONS
from projects.models.quotes import QuoteState
from projects.options import Choice
from projects.pages.access import StudioRequest
from projects.pages.of_design import of_job
from projects.pages.options import OptionForm, side_by_side, woods_in
from projects.services.quote_options import choice_of, options_set
from projects.services.quotes import quote_draft

TITLE_HELP = "As the client reads it, such as: in cherry. Empty: what is other, in words."


class QuoteOptionForm(OptionForm):
    """One option on a quote, and what it is called there."""

    title = forms.CharField(label="Called", max_length=120, required=False, help_text=TITLE_HELP)
    field_order = ("title",)

    def clean(self) -> dict[str, Any]:
        """A title alone offers nothing."""
        given = super().clean()
        asked = any(given.get(name) for name in ("wood", "by", "size", "finish", "quantity"))
        if given.get("title") and not asked and not self.errors:
            self.add_error(
                "title", "Say what is other than in the piece as drawn, or leave this empty as well."
            )
        return given

    @property
    def titled(self) -> tuple[str, Choice]:
        """Its title and the choice."""
        return self.cleaned_data["title"], self.choice


@of_job
@require_http_methods(["GET", "POST"])
def quote_options(request: StudioRequest, design: Design, *, job: Commission) -> HttpResponse:
    """The options of a commission's draft, chosen and set side by side."""
    data = request.POST if request.method == "POST" else None
    sheets, trouble = _forms(request, job, data), []
    if data is not None and not sum(not form.is_valid() for form in sheets):  # all are checked
        chosen = [form.titled for form in sheets if not form.choice.is_none]
        try:
            options_set(quote=quote_draft(commission=job), options=chosen)
        except ValidationError as refusal:
            trouble = list(refusal.messages)
        else:
            messages.success(
                request, "The options are on the draft." if chosen else "No options on the draft."
            )
            return redirect("quote_options", job.pk)
    context: dict[str, Any] = {"section": "jobs", "job": job, "forms": sheets, "trouble": trouble}
    if data is None:
        context |= side_by_side(job, [(one.title, choice) for one, choice in _on_draft(job)])
    return render(request, "quotes/options.html", context, status=200 if data is None else 400)


def _on_draft(job: Commission) -> list[tuple[QuoteOption, Choice]]:
    """The options there are, those left out whose finish is gone."""
    draft = Quote.objects.for_studio(job.studio).filter(commission=job, state=QuoteState.DRAFT).first()
    found = []
    for option in draft.options.order_by("position") if draft else ():
        try:
            found.append((option, choice_of(option, studio=job.studio)))
        except ValidationError:
            continue
    return found


def _forms(request: StudioRequest, job: Commission, data: Any) -> list[QuoteOptionForm]:
    assert job.design is not None
    used, there = woods_in(job.design), _on_draft(job)
    initials: list[dict[str, Any]] = [_initial(option, choice) for option, choice in there]
    initials += [{}] * (MOST_OPTIONS - len(initials))
    return [
        QuoteOptionForm(data, prefix=str(n), studio=request.studio, used=used, initial=initial)
        for n, initial in enumerate(initials, start=1)
    ]


def _initial(option: QuoteOption, choice: Choice) -> dict[str, Any]:
    return {
        "title": option.title,
        "wood": choice.wood,
        "by": choice.by,
        "size": None if choice.size == 1.0 else Decimal(str(choice.size)),
        "finish": choice.finish,
        "quantity": choice.quantity,
    }


urlpatterns = [path("jobs/<int:pk>/quote/options/", quote_options, name="quote_options")]
