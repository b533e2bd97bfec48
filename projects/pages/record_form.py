"""What all forms of the studio's records share: a maker's units, own rows only, and services that check and save."""

from collections.abc import Callable, Iterable
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import ForeignKey

from projects.models import Studio
from projects.pages.fields import CurrencyField, LengthField, MoneyField, PercentField, limits_of
from projects.wording import in_percent, length_help

LIMITS = {"min_value": "Must be at least %(limit_value)s.", "max_value": "Must be at most %(limit_value)s."}


class RecordForm(forms.ModelForm):
    """A record of the studio's. Lengths are in its unit, shares in per cent, choices are its own rows."""

    lengths: ClassVar[Iterable[str]] = ()
    shares: ClassVar[Iterable[str]] = ()
    money: ClassVar[Iterable[str]] = ()

    def __init__(self, *args: Any, studio: Studio, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.studio = studio
        for name in self.fields:
            self._fit(name)

    def _fit(self, name: str) -> None:
        """Turn a model's field into what a maker writes, with the model's limits."""
        usual, record = self.fields[name], self._meta.model._meta.get_field(name)
        usual.help_text = str(usual.help_text).replace("currency/h", f"{self.studio.currency} an hour")
        words = {"label": usual.label, "help_text": usual.help_text, "required": usual.required}
        if name in self.lengths:
            help_text = length_help(str(usual.help_text), self.studio)
            field: Any = LengthField(studio=self.studio, **{**words, "help_text": help_text})
            field.limits = limits_of(record)
        elif name in self.shares:
            field = PercentField(**{**words, "help_text": in_percent(str(usual.help_text))})
            field.limits, field.places = limits_of(record), record.decimal_places
        else:
            field = self._plain(name, usual, words)
            # The form field brings some of the record's own: said once is enough.
            field.validators = [
                *field.validators,
                *(rule for rule in record.validators if rule not in field.validators),
            ]
            field.unit = self.studio.currency if name in self.money else ""
            if isinstance(record, ForeignKey):
                rows: Any = record.remote_field.model
                field.queryset = rows.objects.for_studio(self.studio)
        if isinstance(field.widget, forms.NumberInput):
            # A text field that asks for digits: a number field drops what it cannot read without a word.
            field.widget = forms.TextInput(attrs={"inputmode": "decimal", "class": "short figure"})
        for validator in field.validators:
            if "Ensure" in str(getattr(validator, "message", "")):  # the framework's own words
                validator.message = LIMITS.get(validator.code, validator.message)
        self.fields[name] = field

    def _plain(self, name: str, usual: forms.Field, words: dict[str, Any]) -> Any:
        """A field that is neither a length nor a share."""
        if name in self.money:
            usual_decimal: Any = usual
            digits = {part: getattr(usual_decimal, part) for part in ("max_digits", "decimal_places")}
            return MoneyField(currency=self.studio.currency, **words, **digits)
        if name == "currency":
            return CurrencyField(max_length=3, **words)
        return usual

    def _post_clean(self) -> None:
        """Leave the record alone: the service checks it whole, and nothing half-changed is ever shown."""

    def written(self, service: Callable[..., Any], **fixed: Any) -> Any:
        """What the service made of the form; None where the form or the service refused, with the messages on it."""
        if not self.is_valid():
            return None
        try:
            return service(**fixed, **self.cleaned_data)
        except ValidationError as refusal:
            refuse(self, refusal)
            return None


def refuse(form: forms.BaseForm, refusal: ValidationError) -> None:
    """Put a service's refusal on a form, each message at its field, or at the top where the form has none."""
    if not hasattr(refusal, "error_dict"):
        form.add_error(None, refusal)
        return
    for field, errors in refusal.error_dict.items():
        form.add_error(field if field in form.fields else None, errors)
