"""The forms of the pages, one for each kind of record."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.contrib.auth.forms import BaseUserCreationForm
from django.utils import timezone

from projects.models import (
    CarriageRate,
    Client,
    Commission,
    Design,
    Finish,
    PricingDefaults,
    Quote,
    ShopSettings,
    StandingRate,
    Studio,
    Wood,
)
from projects.models.money_terms import COMMISSION_TERMS, OWN_TAXES
from projects.models.paper_terms import ClientTax
from projects.models.settings import SHOP_RANGES
from projects.pages.fields import (
    CurrencyField,
    LengthField,
    LengthsField,
    WoodPriceField,
)
from projects.pages.record_form import RecordForm


def _date() -> forms.DateInput:
    return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


class ClientForm(RecordForm):
    """A gallery, or someone who wants the piece at home."""

    shares = ("gallery_share",)

    class Meta:
        model = Client
        fields = (
            *("kind", "name", "contact", "address", "email", "phone", "gallery_share"),
            *("legal_name", "tax_number", "tax_status", "payment_days"),
            *("room_temperature_c", "room_humidity", "note"),
        )
        widgets = {"address": forms.Textarea(attrs={"rows": 3}), "note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["tax_status"].required = False

    def clean_tax_status(self) -> str:
        """Nothing said is as usual."""
        return self.cleaned_data["tax_status"] or ClientTax.USUAL


class WoodForm(RecordForm):
    """A wood: what it weighs, how it looks, what it costs."""

    class Meta:
        model = Wood
        fields = (
            *("name", "key", "botanical", "origin", "price_per_m3", "colour", "density", "active"),
            *("shrink_radial_pct", "shrink_tangential_pct", "source", "from_memory"),
            *(
                "health_note",
                "health_detail",
                "oily",
                "dust_stains",
                "fades",
                "protected_note",
                "traits_source",
            ),
        )
        widgets = {
            "colour": forms.TextInput(attrs={"type": "color"}),
            "source": forms.Textarea(attrs={"rows": 2}),
            "protected_note": forms.Textarea(attrs={"rows": 2}),
            "traits_source": forms.Textarea(attrs={"rows": 2}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["price_per_m3"] = WoodPriceField(
            studio=self.studio,
            required=False,
            label="Price",
            help_text="Of boards as bought, waste and all. Empty: that of the usual board in the shop's settings.",
        )
        self.fields[
            "health_note"
        ].help_text = "What its dust or sap does: none, irritant, sensitizer, or in your own words."
        for name, unit in {
            "density": "kg/m³",
            "shrink_radial_pct": "%",
            "shrink_tangential_pct": "%",
        }.items():
            self.fields[name].unit = unit  # type: ignore[attr-defined]


class FinishForm(RecordForm):
    """A finish, as its label says."""

    money = ("price_per_ml",)

    class Meta:
        model = Finish
        fields = (
            *("name", "usual", "coats", "ml_per_dm2", "hours_between_coats", "days_to_hard"),
            *("price_per_ml", "caution", "note"),
        )
        widgets = {"caution": forms.Textarea(attrs={"rows": 4}), "note": forms.Textarea(attrs={"rows": 2})}


class RateForm(RecordForm):
    """What an operation takes in this shop."""

    class Meta:
        model = StandingRate
        fields = ("setup_minutes", "setup_per", "minutes_per_unit", "unit", "spread", "note")


class NewRateForm(RateForm):
    """An operation of the shop's own."""

    class Meta(RateForm.Meta):
        fields = ("operation", "stage", *RateForm.Meta.fields)  # type: ignore[assignment]  # two more


class ShopForm(RecordForm):
    """How the shop cuts and glues, and what its machines take."""

    lengths = (*SHOP_RANGES, *(f"allowance_{side}" for side in ("outside", "inside", "top", "bottom")))
    shares = ("spare_segments", "squeeze_out", "working_share")

    class Meta:
        model = ShopSettings
        exclude = ("studio",)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        usual = self.fields["usual_board_thicknesses"]
        thicknesses = LengthsField(
            studio=self.studio, label=usual.label, help_text="What boards are sold in, thinnest first."
        )
        self.fields["usual_board_thicknesses"] = thicknesses
        price = self.fields["usual_board_price_per_m3"]
        self.fields["usual_board_price_per_m3"] = WoodPriceField(
            studio=self.studio,
            places=2,
            label="Usual board, price",
            help_text=price.help_text,
        )


class PricingForm(RecordForm):
    """What an hour costs and how a price is made of it."""

    lengths = ("box_padding",)
    shares = (
        *("failure_share", "margin", "gallery_share", "tax", "deposit_share", "payment_fee", *OWN_TAXES),
        *("segment_loss", "ring_loss", "glue_up_loss", "lathe_loss"),
    )
    money = (
        *("labour_rate", "wanted_hourly", "overhead_rate", "consumables_rate", "consumables", "price_step"),
        *("crate_per_m2", "crate_fixed"),
    )

    class Meta:
        model = PricingDefaults
        exclude = ("studio",)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, unit in {"box_kg_m2": "kg/m²", "volume_divisor": "cm³/kg"}.items():
            self.fields[name].unit = unit  # type: ignore[attr-defined]


class CarriageForm(RecordForm):
    """A step of the table of carriage."""

    money = ("price",)

    class Meta:
        model = CarriageRate
        fields = ("up_to_kg", "price")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["up_to_kg"].unit = "kg"  # type: ignore[attr-defined]


class StudioForm(RecordForm):
    """The letterhead, the words on every quote, and the units."""

    class Meta:
        model = Studio
        fields = (
            *("name", "tagline", "address", "email", "phone", "web", "tax_number", "letterhead_note"),
            *("currency", "length_unit", "inch_style", "gallery_share_as"),
            *("quote_valid_days", "lead_time", "terms", "care"),
        )
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "terms": forms.Textarea(attrs={"rows": 6}),
            "care": forms.Textarea(attrs={"rows": 4}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["gallery_share_as"].required = False

    def clean_gallery_share_as(self) -> str:
        """Nothing said is as it was."""
        return self.cleaned_data["gallery_share_as"] or self.instance.gallery_share_as


class SetUpForm(forms.ModelForm):
    """The least a new studio has to say; the rest has usual values that can be changed at any time."""

    class Meta:
        model = Studio
        fields = ("name", "currency", "length_unit", "inch_style")
        field_classes = {"currency": CurrencyField}  # Django's own way to say it


class CommissionForm(RecordForm):
    """What was asked, by whom, and by when."""

    class Meta:
        model = Commission
        fields = ("title", "client", "asked_on", "promised_on", "quantity", "notes")
        widgets = {
            "asked_on": _date(),
            "promised_on": _date(),
            "notes": forms.Textarea(attrs={"rows": 4}),
        }


TERMS_GROUPS = {
    "The price": ("offered_retail", "price_from", "labour_rate", "margin", "wanted_hourly", "rush", "sold"),
    "The gallery": ("gallery_share", "gallery_mode"),
    "Discount": ("discount", "discount_borne_by"),
    "Freight, crate and stand": ("freight_from", "freight", "crate_from", "crate", "stand"),
    "Tax": ("tax", "tax_inclusive", *OWN_TAXES),
    "When it is paid": ("deposit_share", "stages"),
}


class TermsForm(RecordForm):
    """What is agreed for this commission alone; what is left empty is as the studio usually does it."""

    shares = ("margin", "gallery_share", "tax", "deposit_share", "rush", "discount", *OWN_TAXES)
    money = ("offered_retail", "labour_rate", "wanted_hourly", "freight", "crate", "stand")

    class Meta:
        model = Commission
        fields = tuple(name for names in TERMS_GROUPS.values() for name in names)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        inclusive: Any = self.fields["tax_inclusive"].widget
        inclusive.choices = [("unknown", "as usual"), ("true", "yes"), ("false", "no")]
        for name in COMMISSION_TERMS:
            self.fields[name].required = False

    def clean(self) -> dict[str, Any]:
        """What is left empty of what has no usual is nothing, or the first of its choices."""
        given = super().clean() or {}
        for name in COMMISSION_TERMS:
            if name in given and given[name] in (None, ""):
                field: Any = Commission._meta.get_field(name)
                given[name] = field.get_default()
        return given


class OfferForm(RecordForm):
    """The gallery's price, to see what it leaves."""

    money = ("offered_retail",)

    class Meta:
        model = Commission
        fields = ("offered_retail",)
        labels = {"offered_retail": "The price they name"}


class DesignChoiceForm(RecordForm):
    """Which design a commission goes by."""

    class Meta:
        model = Commission
        fields = ("design",)


class QuoteForm(RecordForm):
    """The words of a draft quote."""

    class Meta:
        model = Quote
        fields = ("message", "valid_until", "lead_time", "terms", "care")
        widgets = {
            "valid_until": _date(),
            "message": forms.Textarea(attrs={"rows": 3}),
            "terms": forms.Textarea(attrs={"rows": 6}),
            "care": forms.Textarea(attrs={"rows": 4}),
        }

    def clean_valid_until(self) -> Any:
        """A quote cannot stand open until a day that is over."""
        day = self.cleaned_data["valid_until"]
        if day is not None and day < timezone.localdate():
            raise forms.ValidationError("This day has passed. Give a later one, or leave it empty.")
        return day


# What a first shape is asked for: its words, and from how much to how much, mm.
MEASURES = {
    "height": ("Height", 10, 2000),
    "diameter": ("Largest diameter", 20, 2000),
    "wall": ("Wall", 1, 200),
}

COPY = "copy"


class NewDesignForm(forms.Form):
    """A first shape to draw on: what it is called and how big; everything can be changed afterwards."""

    title = forms.CharField(max_length=160)
    start = forms.ChoiceField(label="Start from")
    original = forms.ModelChoiceField(label="Design", queryset=Design.objects.none(), required=False)

    def __init__(self, *args: Any, studio: Studio, shapes: Iterable[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio = studio
        own = Design.objects.for_studio(studio).order_by("-is_template", "-updated_at", "pk")
        self.fields["original"].queryset = own  # type: ignore[attr-defined]  # a ModelChoiceField
        copy = [(COPY, "a copy of a design of yours")] if own.exists() else []
        self.fields["start"].choices = [*shapes, *copy]  # type: ignore[attr-defined]  # a ChoiceField
        for name, (label, low, high) in MEASURES.items():
            field = LengthField(studio=studio, label=label, required=False)
            field.limits = (Decimal(low), Decimal(high))
            field.needed = True  # type: ignore[attr-defined]  # by a new shape; the template says no "may stay empty"
            self.fields[name] = field

    def clean(self) -> dict[str, Any]:
        """A new shape needs its measures; a copy has its own, and needs to be told of what."""
        given = super().clean() or {}
        start = given.get("start", COPY)
        if start == COPY and "start" in given and not given.get("original") and "original" not in self.errors:
            self.add_error("original", "Which of your designs?")
        if start != COPY:
            for name, (label, _, _) in MEASURES.items():
                if name not in self.errors and given.get(name) is None:
                    self.add_error(name, f"{label} of the new shape, please.")
        return given


class AccountForm(BaseUserCreationForm):
    """A new log-in: the first of a fresh installation, or someone who joins the studio."""
