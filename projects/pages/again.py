"""Making a piece again: from a design, a template or a finished piece; looked at first, saved when pressed."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.views.decorators.http import require_http_methods

from projects.again import Asked, Start, start_of_design, starts_of_piece
from projects.models import Client, Design, PieceRecord, Studio, Wood
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.again_prices import prices
from projects.pages.beside import drawings, figures
from projects.pages.fields import LengthField, PercentField
from projects.pages.record_form import refuse
from projects.services.again import again_make, again_shown

WOOD = "wood-"
WALLS = (("scale", "grow with it"), ("keep", "stay as thick as they are"))
TURNS = (
    ("steps", "the same turn from layer to layer"),
    ("degrees", "the same degrees in all, however many layers"),
)
LAYERS = (
    ("count", "as many layers, each thicker or thinner"),
    ("thickness", "layers as thick as they are, more or fewer of them"),
)


MEASURES = (("height", "New height"), ("diameter", "New largest diameter"))
FIRST = ("title", "begin", "factor", "height", "diameter", "wall", "keep", "turn")


class AgainForm(forms.Form):
    """What is to be other. What stays empty is as it was."""

    title = forms.CharField(max_length=160)
    begin = forms.ChoiceField(label="Begin from", required=False)
    factor = PercentField(
        label="Size all over", required=False, help_text="100 is as it was, 125 a quarter larger all over."
    )
    wall = forms.ChoiceField(label="Wall and floor", choices=WALLS, required=False)
    keep = forms.ChoiceField(label="Layers", choices=LAYERS, required=False)
    turn = forms.ChoiceField(label="Spirals", choices=TURNS, required=False)
    quantity = forms.IntegerField(
        label="Pieces", required=False, min_value=1, max_value=1000, widget=forms.TextInput
    )
    client = forms.ModelChoiceField(
        Client.objects.none(),
        label="For a new commission of",
        required=False,
        empty_label="nobody: the design alone",
    )
    seen = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)

    def __init__(
        self, *args: Any, studio: Studio, starts: Mapping[str, Start], chosen: Start, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        fields["quantity"].widget.attrs |= {"inputmode": "numeric", "class": "short figure"}
        for name, label in MEASURES:
            fields[name] = LengthField(studio=studio, label=label, required=False)
        fields["client"].queryset = Client.objects.for_studio(studio)
        fields["begin"].choices = [(key, start.words) for key, start in starts.items()]
        for name, is_asked in {
            "begin": len(starts) > 1,
            "wall": chosen.is_hollow,
            "turn": chosen.has_spiral,
        }.items():
            if not is_asked:
                del fields[name]
        self._woods(studio, chosen)
        self.order_fields([*FIRST, *self._wood_names(), "quantity", "client"])

    def _woods(self, studio: Studio, chosen: Start) -> None:
        shelf = list(Wood.objects.for_studio(studio))
        known = {wood.key: wood.name for wood in shelf}
        for key in chosen.woods:
            gone = key not in known
            name = known.get(key, key.replace("_", " "))
            others = [(w.key, w.name) for w in shelf if w.active and w.key != key]
            self.fields[f"{WOOD}{key}"] = forms.ChoiceField(
                label=f"In the place of {name}",
                required=gone,
                choices=[("", "choose …" if gone else f"{name}, as it is"), *others],
                help_text="This wood is no longer on the shelf: choose another." if gone else "",
            )

    def _wood_names(self) -> list[str]:
        return [name for name in self.fields if name.startswith(WOOD)]

    @property
    def asked(self) -> Asked:
        """What was typed, as the arithmetic takes it."""
        given = self.cleaned_data
        sizes = {
            name: None if given[name] is None else float(given[name])
            for name in ("factor", "height", "diameter")
        }
        return Asked(
            **sizes,
            wall="keep" if given.get("wall") == "keep" else "scale",
            keep="thickness" if given["keep"] == "thickness" else "count",
            turn="degrees" if given.get("turn") == "degrees" else "steps",
            woods={name.removeprefix(WOOD): given[name] for name in self._wood_names() if given[name]},
            quantity=given["quantity"],
        )


@in_studio
@require_http_methods(["GET", "POST"])
def design_again(request: StudioRequest, pk: int) -> HttpResponse:
    """Make a design or a template again."""
    design = own(Design, request, pk, "studio", "adhesive", "finish")
    return _page(request, {"design": start_of_design(design)}, title=design.title, design=design)


@in_studio
@require_http_methods(["GET", "POST"])
def piece_made_again(request: StudioRequest, pk: int) -> HttpResponse:
    """Make a finished piece again, by its design or as its client agreed to it."""
    piece = own(
        PieceRecord, request, pk, "commission__client", "commission__studio", "design__studio", "studio"
    )
    starts = starts_of_piece(piece)
    if not starts:
        messages.error(
            request, "Neither a design nor an accepted quote of this piece is left to make it from."
        )
        return redirect("piece", piece.pk)
    return _page(request, starts, title=piece.title, piece=piece)


def _page(request: StudioRequest, starts: Mapping[str, Start], *, title: str, **context: Any) -> HttpResponse:
    data = request.POST if request.method == "POST" else None
    begun = data.get("begin", "") if data is not None else ""
    chosen = starts.get(str(begun)) or next(iter(starts.values()))
    first = {"title": title, "quantity": chosen.design.quantity}
    form = AgainForm(data, studio=request.studio, starts=starts, chosen=chosen, initial=first)
    if data is not None and data.get("do") == "make" and (answer := _made(request, form, chosen)):
        return answer
    context |= {
        "form": form,
        "start": chosen,
        "title": title,
        "section": "log" if "piece" in context else "designs",
    }
    context |= _looked_at(form, chosen, request.studio)
    return render(request, "again/page.html", context, status=400 if form.is_bound and form.errors else 200)


def _made(request: StudioRequest, form: AgainForm, start: Start) -> HttpResponse | None:
    if not form.is_valid():
        return None
    given = form.cleaned_data
    named = {name: given[name] for name in ("title", "client", "seen")}
    try:
        made = again_make(start=start, asked=form.asked, **named)
    except ValidationError as refusal:
        refuse(form, refusal)
        return None
    messages.success(request, "Made. Everything can be changed on the drawing board.")
    if made.commission is not None:
        return redirect("job_drawing", made.commission.pk)
    return redirect("design", made.design.pk)


def _looked_at(form: AgainForm, start: Start, studio: Studio) -> dict[str, Any]:
    """What is shown: once something was asked, the new piece beside the one it begins from."""
    asked, client = Asked(), None
    if form.is_bound:
        # What is stale is shown as it is now; what is otherwise wrong is mended first.
        if not form.is_valid() and set(form.errors) != {"__all__"}:
            return {}
        asked, client = form.asked, form.cleaned_data["client"]
    try:
        shown = again_shown(start=start, asked=asked, client=client)
    except ValidationError as refusal:
        if not form.errors and form.is_bound:
            refuse(form, refusal)
        return {} if form.is_bound else {"cannot": refusal.messages}
    return {
        "shown": shown if form.is_bound else None,
        "prices": prices(shown),
        "drawings": drawings([shown.before, *([shown.after] if form.is_bound else [])], studio=studio),
        "rows": figures(shown.before, shown.after, studio=studio),
    }


urlpatterns = [
    path("designs/<int:pk>/again/", design_again, name="design_again"),
    path("log/<int:pk>/make-again/", piece_made_again, name="piece_made_again"),
]
