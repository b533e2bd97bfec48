"""The small forms of a quote's life: an answer, a letter, an address's last day, what a client said, why not."""

from collections.abc import Sequence
from typing import Any

from django import forms

from projects.models import QuoteOption

LONGEST = 4000
AS_DRAWN = "drawn"


def _words(label: str, *, missing: str = "", help_text: str = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=LONGEST,
        required=bool(missing),
        help_text=help_text,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": missing},
    )


class AnswerForm(forms.Form):
    """The answer to what was asked."""

    words = _words("Your answer", missing="Write your answer.")
    prefix = "answer"


class SendForm(forms.Form):
    """Whom the quote goes to, and a few words."""

    to = forms.EmailField(
        label="To",
        error_messages={"required": "Say where to send it.", "invalid": "This is no e-mail address."},
    )
    words = _words("A few words")
    prefix = "send"


class LinkForm(forms.Form):
    """The last day on which a private address opens."""

    expires_on = forms.DateField(
        label="Opens until",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
        error_messages={"required": "Give the last day.", "invalid": "Write the day as 2027-03-03."},
    )
    prefix = "link"


class WhyForm(forms.Form):
    """Why something is taken back."""

    words = _words("Why", missing="Say why.", help_text="The client reads it.")


class TakenDownForm(forms.Form):
    """What a client said by telephone or on paper."""

    name = forms.CharField(
        label="Who said so", max_length=120, required=False, help_text="Needed for an agreement."
    )
    words = _words("What they said", help_text="And how: by telephone, on paper, in the shop.")


class QuoteTakenDownForm(TakenDownForm):
    """Likewise of a quote: which of the ways to have the piece."""

    option = forms.ChoiceField(label="Which", widget=forms.RadioSelect, required=False)
    field_order = ("option",)

    def __init__(self, *args: Any, options: Sequence[QuoteOption], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by_key = {str(option.pk): option for option in options}
        field: Any = self.fields["option"]
        field.choices = [(AS_DRAWN, "As drawn"), *((key, one.title) for key, one in self.by_key.items())]
        field.initial = AS_DRAWN
        if not options:
            del self.fields["option"]

    @property
    def chosen(self) -> QuoteOption | None:
        """The option chosen; None for the piece as drawn."""
        return self.by_key.get(self.cleaned_data.get("option", ""))
