"""What a client can say of a quote: accept it, decline it, ask about it."""

from collections.abc import Sequence
from typing import Any

from django import forms

from projects.models import QuoteOption

LONGEST = 4000
AS_DRAWN = "drawn"


def _name(help_text: str, *, required: bool) -> forms.CharField:
    field = forms.CharField(
        label="Your name",
        max_length=120,
        required=required,
        help_text=help_text,
        error_messages={"required": "Type your name: it stands for your signature."},
    )
    field.widget.attrs |= {"autocomplete": "name"}
    return field


def _words(label: str, *, missing: str = "", rows: int = 3) -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=LONGEST,
        required=bool(missing),
        widget=forms.Textarea(attrs={"rows": rows}),
        error_messages={"required": missing},
    )


class AcceptForm(forms.Form):
    """A typed name, and which of the ways to have the piece."""

    option = forms.ChoiceField(label="Which", widget=forms.RadioSelect)
    name = _name("It stands for your signature.", required=True)

    def __init__(self, *args: Any, options: Sequence[QuoteOption], **kwargs: Any) -> None:
        super().__init__(*args, **{"auto_id": "accept_%s", **kwargs})
        self.by_key = {str(option.pk): option for option in options}
        field: Any = self.fields["option"]
        field.choices = [(AS_DRAWN, "As drawn"), *((key, one.title) for key, one in self.by_key.items())]
        field.initial = AS_DRAWN
        if not options:
            # One way to have it: nothing to choose, so nothing need be sent.
            field.required = False

    @property
    def chosen(self) -> QuoteOption | None:
        """The option chosen; None for the piece as drawn."""
        return self.by_key.get(self.cleaned_data["option"])


class DeclineForm(forms.Form):
    """Why not, where the client wants to say."""

    words = _words("What would have to be different?")
    name = _name("", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"auto_id": "decline_%s", **kwargs})


class AskForm(forms.Form):
    """A question."""

    words = _words("Your question", missing="Write your question.")
    name = _name("", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"auto_id": "ask_%s", **kwargs})
