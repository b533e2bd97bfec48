"""What is put to a client on the way: a drawing or sample to sign, a change with its price."""

from typing import Any

from django import forms

from projects.models import ChangeOrder, SignOff
from projects.pages.record_form import RecordForm
from projects.services.change_orders import ChangeTerms, Proposal, asked_amount


class SignOffForm(RecordForm):
    """What the client is to look at."""

    class Meta:
        model = SignOff
        fields = ("kind", "words", "photo")
        labels = {"kind": "What", "words": "What it shows", "photo": "A photo of it"}
        help_texts = {
            "words": "Such as: oil on walnut, two coats, by the window. The client signs these words as well.",
            "photo": "JPEG, PNG or WebP. What the camera wrote beside the picture, such as the place, is left out.",
        }
        widgets = {
            "words": forms.Textarea(attrs={"rows": 3}),
            "photo": forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
        }


class ChangeForm(RecordForm):
    """A change and its price. `proposal` is what the design as it is now comes to."""

    money = ("amount",)

    class Meta:
        model = ChangeOrder
        fields = ("title", "words", "amount", "days", "valid_until")
        help_texts = {
            "title": "As the client reads it, such as: a wider rim.",
            "days": "How much later it is ready; below 0 for earlier. What is promised moves with it.",
            "valid_until": "Empty: as long as your quotes usually are.",
        }
        widgets = {
            "words": forms.Textarea(attrs={"rows": 3}),
            "valid_until": forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        }

    def __init__(self, *args: Any, terms: ChangeTerms, proposal: Proposal | None, **kwargs: Any) -> None:
        initial: dict[str, Any] = {"days": 0}
        if proposal is not None:
            initial |= {"amount": asked_amount(proposal, terms), "seen": proposal.mark, "with_drawing": True}
        super().__init__(*args, initial=initial | (kwargs.pop("initial", None) or {}), **kwargs)
        for name in ("amount", "days", "valid_until"):
            self.fields[name].required = False
        self.fields["amount"].label = f"Goes up by, {'tax in it' if terms.is_inclusive else 'before tax'}"
        self.fields["amount"].help_text = "With a minus before it for less."
        self.fields["amount"].unit = terms.currency  # type: ignore[attr-defined]  # a MoneyField has one
        if proposal is not None:
            self.fields["with_drawing"] = forms.BooleanField(
                label="The design as it is now goes with it",
                required=False,
                help_text="It becomes the signed drawing once the client agrees.",
            )
            self.fields["seen"] = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        """Without a proposal there is no drawing to go with it."""
        given = super().clean() or {}
        return {"with_drawing": False, **given}
