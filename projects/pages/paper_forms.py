"""The forms of papers: handing one out, taking one back, and what stands on them besides the piece."""

from decimal import Decimal
from typing import Any

from django import forms

from projects.models import Commission, IssuedPaper, PaperDefaults, Studio
from projects.models.issued import ASKS_FOR_MONEY
from projects.pages.fields import MoneyField
from projects.pages.record_form import RecordForm


def _date() -> forms.DateInput:
    return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


class IssueForm(forms.Form):
    """When a request is due, and whether it goes by mail; a paper without money asks for nothing."""

    due_on = forms.DateField(label="Due by", required=False, widget=_date())
    by_mail = forms.BooleanField(label="Mail it to the client", required=False)

    def __init__(self, *args: Any, kind: str, email: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if kind not in ASKS_FOR_MONEY:
            del self.fields["due_on"]
        else:
            self.fields["due_on"].help_text = "Empty: by the days this client has, else the studio’s."
        if kind not in ASKS_FOR_MONEY or not email:
            del self.fields["by_mail"]


class CreditForm(forms.Form):
    """How much of a request is taken back, and why."""

    reason = forms.CharField(
        max_length=1000, widget=forms.Textarea(attrs={"rows": 3}), help_text="It stands on the note."
    )

    def __init__(self, *args: Any, paper: IssuedPaper, left: Decimal, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        currency = paper.content["currency"]
        self.fields["amount"] = MoneyField(
            currency=currency,
            label="How much of it",
            required=False,
            max_digits=14,
            decimal_places=4,
            help_text="Empty: all that is left of it. Taken back as a whole, it can be asked for anew.",
        )
        self.fields["amount"].unit = currency  # type: ignore[attr-defined]
        self.order_fields(["amount", "reason"])


class StudioPapersForm(RecordForm):
    """The studio as a party to its papers."""

    class Meta:
        model = Studio
        fields = (
            *("legal_name", "company_number", "tax_status", "tax_note", "sends_invoices"),
            *("bank_details", "payment_days"),
        )
        widgets = {"bank_details": forms.Textarea(attrs={"rows": 3})}


class PaperDefaultsForm(RecordForm):
    """What is usually agreed of delivery, damage, joints and rights."""

    class Meta:
        model = PaperDefaults
        exclude = ("studio",)
        widgets = {
            name: forms.Textarea(attrs={"rows": 2}) for name in ("repairs", "signature", "copyright_words")
        }


class DeliveryForm(RecordForm):
    """What is agreed of one commission's delivery and rights."""

    money = ("insured_value",)

    class Meta:
        model = Commission
        fields = (
            *("ready_from", "ready_to", "ships", "insured_value"),
            *("edition", "edition_number", "edition_size", "deposit_via"),
        )
        widgets = {"ready_from": _date(), "ready_to": _date()}
