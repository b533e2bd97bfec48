"""A tap as a browser sends it, read: from the page's script, and from a plain form."""

from typing import Any
from uuid import UUID

from django import forms
from django.utils.dateparse import parse_datetime

from projects.models import Studio
from projects.models.bench import TapAct
from projects.models.lots import LotPart
from projects.pages.bench_lots import LOT, USE_BY, lots_sent
from projects.pages.fields import LengthField

MOST_NUMBERS = 2000
_WORDS = {"act": "This is nothing that can be tapped.", "uuid": "This tap has no number of its own."}


class NumbersField(forms.Field):
    """Whole numbers, each sent by itself."""

    widget = forms.MultipleHiddenInput

    def clean(self, value: Any) -> list[int]:
        """The numbers in order, each once."""
        given = [str(one) for one in value or ()][: MOST_NUMBERS + 1]
        if len(given) > MOST_NUMBERS or not all(
            one.isascii() and one.isdigit() and len(one) < 7 for one in given
        ):
            raise forms.ValidationError("Choose from those that are shown.")
        return sorted({int(one) for one in given})


class MomentField(forms.CharField):
    """A moment in ISO 8601 with its time zone."""

    def clean(self, value: Any) -> Any:
        """The moment; None where none was sent, which means now."""
        text = super().clean(value)
        if not text:
            return None
        try:
            moment = parse_datetime(text)
        except ValueError:
            moment = None
        if moment is None:
            raise forms.ValidationError("This time cannot be read.")
        return moment


class TapForm(forms.Form):
    """One tap; which of the other fields count follows from `act`."""

    uuid = forms.UUIDField(error_messages={"required": _WORDS["uuid"], "invalid": _WORDS["uuid"]})
    act = forms.ChoiceField(
        choices=TapAct.choices, error_messages={"required": _WORDS["act"], "invalid_choice": _WORDS["act"]}
    )
    at = MomentField(required=False)
    minutes = forms.CharField(required=False, max_length=12)
    text = forms.CharField(required=False, max_length=4000)
    kind = forms.CharField(required=False, max_length=20)
    note = forms.CharField(required=False, max_length=2000)
    layers = NumbersField(required=False)
    rings = NumbersField(required=False)
    tap = forms.UUIDField(required=False)
    photo = forms.FileField(required=False)

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["height"] = LengthField(studio=studio, required=False)
        self.fields["run_out"] = LengthField(studio=studio, required=False)
        for part in LotPart.values:
            # How long it may be is said by the service, in words that name it.
            self.fields[f"{LOT}{part}"] = forms.CharField(required=False, max_length=2000)
            self.fields[f"{USE_BY}{part}"] = forms.CharField(required=False, max_length=40)

    def payload(self) -> dict[str, Any]:
        """What belongs to the act, as the service takes it."""
        data = self.cleaned_data
        match data["act"]:
            case TapAct.END:
                return {"minutes": data["minutes"]} if data["minutes"] else {}
            case TapAct.NOTE | TapAct.PHOTO:
                return {"text": data["text"]}
            case TapAct.MEASURE:
                return {"height_mm": _text(data["height"]), "run_out_mm": _text(data["run_out"])}
            case TapAct.WRONG:
                return {name: data[name] for name in ("kind", "note", "layers", "rings")}
            case TapAct.LOT:
                return {"lots": lots_sent(data)}
            case TapAct.UNDO:
                return {"uuid": str(data["tap"])} if isinstance(data["tap"], UUID) else {}
        return {}


def _text(value: Any) -> str:
    return "" if value is None else str(value)


def reasons(errors: Any) -> str:
    """What was refused, in one line."""
    return " ".join(dict.fromkeys(message for messages in errors.values() for message in messages))
