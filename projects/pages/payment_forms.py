"""The forms about money: a payment taken down, one struck, a few words with a letter."""

from typing import Any

from django import forms

from projects.models import IssuedPaper, Payment
from projects.models.issued import PaperKind
from projects.pages.record_form import RecordForm
from projects.statement import Statement
from projects.templatetags.turnery import money


class PaperChoice(forms.ModelChoiceField):
    """A request or a credit note, with what is open of it."""

    found: Statement

    def label_from_instance(self, paper: IssuedPaper) -> str:
        """Its number and what is open."""
        row = next((row for row in self.found.requests if row.paper.pk == paper.pk), None)
        left = row.open if row else paper.amount
        return f"{paper}: {money(left, self.found.currency)}{' open' if row else ''}"


class PaymentForm(RecordForm):
    """Money that came in, or went back."""

    money = ("amount",)

    class Meta:
        model = Payment
        fields = ("way", "amount", "paid_on", "by", "paper", "reference", "note")
        widgets = {"paid_on": forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})}
        field_classes = {"paper": PaperChoice}

    def __init__(self, *args: Any, found: Statement, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        amount: Any = self.fields["amount"]
        amount.unit = found.currency
        papers: Any = self.fields["paper"]
        papers.found = found
        kept = [row.paper.pk for row in found.requests if not row.is_taken_back]
        kept += [paper.pk for paper in found.credits if paper.kind == PaperKind.CREDIT]
        papers.queryset = papers.queryset.filter(pk__in=kept).defer("pdf")
        papers.empty_label = "the oldest that is open"
        # Today, and not compared with a second, hidden field.
        self.fields["paid_on"].show_hidden_initial = False
        self.fields["again"] = forms.BooleanField(
            required=False, label="It is another one like the one that is there"
        )

    @property
    def asks_again(self) -> bool:
        """Whether one like it is there, so that it is asked whether this is another."""
        return self.has_error("amount", code="twice") or bool(self["again"].value())


class StrikeForm(forms.Form):
    """Why a payment is struck."""

    struck_why = forms.CharField(label="Why", max_length=200, widget=forms.TextInput(attrs={"class": "wide"}))


class WordsForm(forms.Form):
    """A few words of one's own in a letter."""

    words = forms.CharField(
        label="A few words", required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )
