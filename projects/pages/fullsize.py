"""Full-size drawings of a design: what to draw and on what paper, how many sheets that takes, and the PDF."""

import re
from collections import Counter
from typing import TYPE_CHECKING, Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from estimating.errors import InvalidInput, InvalidSheet
from projects.estimates import estimate_design
from projects.models import Design, Studio
from projects.pages.access import StudioRequest, in_studio, own
from projects.pages.fields import LengthField, LengthsField
from projects.pages.paper_files import pdf_file
from projects.papers.fullsize import full_size_pages, jig_fits, jig_sizes, studio_paper, write_full_size
from projects.wording import in_shop_units

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.picture.full_size import FullSize, Sheet

PAPERS = [("a4", "A4"), ("letter", "Letter")]
SIDES = [("both", "both sides"), ("right", "the right half")]
_RANGE = re.compile(r"(\d{1,4})(?:\s*[-–]\s*(\d{1,4}))?")  # the dash a caption prints

FIELD_OF = {"disc_diameter": "jig_discs", "disc_diameters": "jig_discs", "web": "pins", "wanted": None}
"""Where a refusal's place is not the name of its field; None stands for the head of the form."""

GROUPS = (
    ("On paper", ("paper",)),
    ("What to draw", ("section", "sides", "rings", "segments", "ring_numbers")),
    ("Alignment disc", ("disc", "mandrel")),
    ("Pin jig", ("jig", "jig_discs", "pins", "pin_diameter", "clamps", "clamp_width", "clearance")),
)


class FullSizeForm(forms.Form):
    """What to draw. Its names are those of estimating.picture.full_size.FullSize and of a jig's Clamping."""

    paper = forms.ChoiceField(choices=PAPERS)
    section = forms.BooleanField(required=False, label="Section over the layers")
    sides = forms.ChoiceField(choices=SIDES, label="Of the section")
    rings = forms.BooleanField(required=False, label="Ring plans")
    segments = forms.BooleanField(required=False, label="Segment patterns and saw settings")
    ring_numbers = forms.CharField(
        required=False, max_length=200, label="Only rings", help_text="Such as 1-4, 7. Empty: all of them."
    )
    disc = forms.BooleanField(required=False, label="Alignment disc")
    jig = forms.BooleanField(required=False, label="Drilling template of a pin jig")
    pins = forms.IntegerField(min_value=3, max_value=60)
    clamps = forms.IntegerField(min_value=1, max_value=20)

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio = studio

        def length(label: str, help_text: str = "", *, required: bool = True) -> LengthField:
            return LengthField(studio=studio, label=label, help_text=help_text, required=required)

        self.fields |= {
            "mandrel": length("Hole for the mandrel", "Empty: a cross at the centre.", required=False),
            "jig_discs": LengthsField(
                studio=studio,
                required=False,
                label="Diameters of the discs",
                help_text=f"Parted by commas, in {studio.length_unit}. At first: this design's discs without a bore.",
            ),
            "pin_diameter": length("Pin diameter"),
            "clamp_width": length("Clamp width", "The room a clamp takes between two pins."),
            "clearance": length("Clearance", "Between the disc and each pin."),
        }
        for name in ("pins", "clamps"):
            self.fields[name].widget = forms.TextInput(
                attrs={"inputmode": "numeric", "class": "short figure"}
            )

    def clean_ring_numbers(self) -> tuple[int, ...]:
        """The rings, from numbers and runs of them."""
        numbers: set[int] = set()
        for part in filter(None, (part.strip() for part in self.cleaned_data["ring_numbers"].split(","))):
            match = _RANGE.fullmatch(part)
            if match is None:
                raise forms.ValidationError("Write rings such as 1-4, 7.")
            numbers |= set(range(int(match[1]), int(match[2] or match[1]) + 1))
        return tuple(sorted(numbers))

    def clean(self) -> None:
        """A jig is for discs of some size."""
        asked = self.cleaned_data
        if asked.get("jig") and not asked.get("jig_discs") and "jig_discs" not in self.errors:
            self.add_error("jig_discs", "Write at least one diameter, or leave the pin jig out.")

    def options(self) -> "FullSize":
        """What was asked for."""
        from estimating.picture.full_size import (
            Clamping,
            FullSize,
        )  # bring numpy, which other pages do without

        asked = self.cleaned_data
        measures = {name: float(asked[name]) for name in ("pin_diameter", "clamp_width", "clearance")}
        return FullSize(
            **{
                name: asked[name]
                for name in ("section", "sides", "rings", "segments", "disc", "ring_numbers")
            },
            mandrel=float(asked["mandrel"] or 0),
            jig_discs=tuple(asked["jig_discs"]) if asked["jig"] else (),
            clamping=Clamping(pins=asked["pins"], clamps=asked["clamps"], **measures),
        )

    def refuse(self, refusal: InvalidInput) -> None:
        """Put a refusal of the drawings at its field, in the shop's units."""
        words = in_shop_units(refusal.reason, self.studio)
        self.add_error(FIELD_OF.get(refusal.place, refusal.place), f"{words[:1].upper()}{words[1:]}.")


def usual(studio: Studio, estimate: "Estimate") -> dict[str, Any]:
    """What the form begins with."""
    inches = studio.length_unit == "in"
    pin, clamp = (6.35, 25.4) if inches else (6.0, 25.0)
    sizes = jig_sizes(estimate)
    return {
        "paper": studio_paper(studio),
        "section": True,
        "sides": "both",
        "rings": True,
        "segments": True,
        "disc": True,
        "jig": jig_fits(sizes, pin_diameter=pin, clamp_width=clamp),
        "jig_discs": list(sizes),
        "pins": 6,
        "clamps": 2,
        "pin_diameter": pin,
        "clamp_width": clamp,
        "clearance": 0,
    }


@in_studio
@require_GET
def design_full_size(request: StudioRequest, pk: int) -> HttpResponse:
    """The form with how many sheets it asks for; with `make=pdf`, the drawings themselves. Nothing is written."""
    design = own(Design, request, pk, "studio")
    try:
        _, estimate = estimate_design(design)
    except InvalidSheet as refusal:
        context = {"section": "designs", "design": design, "refusals": refusal.errors}
        return render(request, "designs/fullsize.html", context)
    begin = _as_typed(FullSizeForm(studio=request.studio, initial=usual(request.studio, estimate)))
    form = FullSizeForm(request.GET if "paper" in request.GET else begin, studio=request.studio)
    sheets: tuple[Sheet, ...] = ()
    if form.is_valid():
        try:
            if request.GET.get("make") == "pdf":
                drawn = write_full_size(estimate, **_asked(form, estimate), studio=request.studio.name)
                return pdf_file(drawn, name=f"{design.title} full size")
            sheets = full_size_pages(estimate, **_asked(form, estimate))
        except InvalidInput as refusal:
            form.refuse(refusal)
    return _page(request, design, form, sheets)


def _page(
    request: StudioRequest, design: Design, form: FullSizeForm, sheets: "tuple[Sheet, ...]"
) -> HttpResponse:
    context = {
        "section": "designs",
        "design": design,
        "form": form,
        "groups": [(title, [form[name] for name in names]) for title, names in GROUPS],
        "counts": dict(Counter(sheet.chapter for sheet in sheets)),
        "sheets": len(sheets),
        "paper": form["paper"].value(),
    }
    wrong = bool(form.errors) and "paper" in request.GET
    return render(request, "designs/fullsize.html", context, status=400 if wrong else 200)


def _as_typed(form: FullSizeForm) -> dict[str, Any]:
    """What the form begins with as if it had been typed, so that its sheets are counted too."""
    values = {bound.name: bound.value() for bound in form}
    return {name: value for name, value in values.items() if value not in (None, False)}


def _asked(form: FullSizeForm, estimate: "Estimate") -> dict[str, Any]:
    return {
        "colours": {key: wood.colour for key, wood in estimate.workshop.woods.items()},
        "unit": form.studio.length_unit,
        "inches": form.studio.inch_style,
        "paper": form.cleaned_data["paper"],
        "options": form.options(),
    }
