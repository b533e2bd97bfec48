"""Form fields that read what a maker writes: lengths with their units, percentages, prices of wood by volume."""

import re
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any
from unicodedata import normalize

from django import forms

from estimating.quantities import BOARD_FOOT, format_length, parse_length, unit_in_mm
from projects.models import Studio
from projects.models.fields import TidyDecimalFormField, plain_text

LARGEST = 1_000_000
Limits = tuple[Decimal | None, Decimal | None]


def typed_length(mm: float | Decimal, studio: Studio) -> str:
    """A length as it stands in a field: as the shop writes it if that is exact, with more decimals if not.

    Reading it back gives the same thousandth of a millimetre, so a form that is saved unchanged changes nothing.
    """
    exact = round(float(mm), 3)
    if studio.length_unit == "mm":
        return plain_text(Decimal(str(exact)))
    short = format_length(exact, unit="in", inches=studio.inch_style)  # type: ignore[arg-type]
    if round(parse_length(short, unit="in"), 3) == exact:
        return short
    return f"{exact / unit_in_mm('in'):.5f}".rstrip("0").rstrip(".")


def read_length(text: str, studio: Studio) -> float:
    """Millimetres, to the thousandth, from what was typed; a plain number is in the studio's unit.

    Errors: ValueError with a sentence that says what would be right.
    """
    try:
        mm = parse_length(_spelled_out(text), unit=studio.length_unit)  # type: ignore[arg-type]
    except ValueError as refusal:
        if text.strip().startswith(("-", "−")):
            raise ValueError("A length cannot be negative.") from None
        raise ValueError(f"This {refusal}.") from None
    if mm > LARGEST:
        raise ValueError("This is longer than any piece or board.")
    return round(mm, 3)


def _spelled_out(text: str) -> str:
    """Fractions written as one sign, as a phone offers them and these pages print hours: `3½` as `3 1/2`."""
    return re.sub("[¼-¾⅐-⅞]", lambda sign: f" {normalize('NFKC', sign[0]).replace('⁄', '/')}", text).strip()


class LengthField(forms.CharField):
    """A length in mm, shown and typed in the studio's unit."""

    limits: Limits = (None, None)

    def __init__(self, *, studio: Studio, **options: Any) -> None:
        super().__init__(max_length=40, **options)
        self.studio = studio
        self.unit = studio.length_unit
        self.widget.attrs |= {"inputmode": "text", "class": "short figure"}

    def prepare_value(self, value: Any) -> Any:
        """A length from the record; what was typed stays as it was typed."""
        return typed_length(value, self.studio) if isinstance(value, int | float | Decimal) else value

    def clean(self, value: Any) -> Any:
        """Millimetres."""
        text = super().clean(value)
        if text in self.empty_values:
            return None
        try:
            mm = Decimal(str(read_length(text, self.studio)))
        except ValueError as refusal:
            raise forms.ValidationError(str(refusal)) from None
        self._check_limits(mm)
        return mm

    def _check_limits(self, mm: Decimal) -> None:
        # The model's limits are in mm; the sentence says them as the reader writes lengths.
        low, high = self.limits
        if low is not None and mm < low:
            raise forms.ValidationError(f"Must be at least {typed_length(low, self.studio)} {self.unit}.")
        if high is not None and mm > high:
            raise forms.ValidationError(f"Must be at most {typed_length(high, self.studio)} {self.unit}.")


class LengthsField(LengthField):
    """A list of lengths, parted by commas or lines."""

    def prepare_value(self, value: Any) -> Any:
        """The list from the record; what was typed stays."""
        if isinstance(value, list):
            return ", ".join(typed_length(item, self.studio) for item in value)
        return value

    def __init__(self, *, studio: Studio, **options: Any) -> None:
        super().__init__(studio=studio, **options)
        self.max_length = None
        self.validators = [v for v in self.validators if getattr(v, "code", "") != "max_length"]
        self.widget.attrs = {"class": "wide", "maxlength": 400}

    def clean(self, value: Any) -> Any:
        """Millimetres, a list."""
        text = forms.CharField.clean(self, value)
        parts = [part for part in text.replace("\n", ",").split(",") if part.strip()]
        try:
            return [read_length(part, self.studio) for part in parts]
        except ValueError as refusal:
            raise forms.ValidationError(str(refusal)) from None


class PercentField(forms.CharField):
    """A share, shown and typed in per cent; kept with as many decimals as its record has."""

    places = 5
    limits: Limits = (None, None)
    unit = "%"

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=20, **options)
        self.widget.attrs |= {"inputmode": "decimal", "class": "short figure"}

    def prepare_value(self, value: Any) -> Any:
        """A share from the record; what was typed stays."""
        if isinstance(value, int | float | Decimal):
            written = plain_text(Decimal(str(value)) * 100)
            # With its sign, since without it so little is asked about: see `clean`.
            return f"{written} %" if 0 < value < Decimal("0.01") else written
        return value

    def clean(self, value: Any) -> Any:
        """The share."""
        text = super().clean(value)
        if text in self.empty_values:
            return None
        try:
            share = Decimal(text.replace("%", "").replace(",", ".").strip()) / 100
        except InvalidOperation:
            share = Decimal("NaN")
        if not share.is_finite():
            raise forms.ValidationError("Write a percentage such as 45 or 7.5.")
        if 0 < share < Decimal("0.01") and "%" not in text:
            # 0.45 is as likely a share as a percentage, and the one is a hundred times the other.
            raise forms.ValidationError(
                f"Is that {plain_text(share * 10000)} %, or less than one per cent? "
                f"Write {plain_text(share * 10000)} for the one, {plain_text(share * 100)} % for the other."
            )
        low, high = self.limits
        if low is not None and share < low:
            raise forms.ValidationError(f"Must be at least {plain_text(Decimal(low) * 100)} %.")
        if high is not None and share > high:
            raise forms.ValidationError(f"Must be at most {plain_text(Decimal(high) * 100)} %.")
        return share.quantize(Decimal(1).scaleb(-self.places), rounding=ROUND_HALF_UP)


class WoodPriceField(forms.DecimalField):
    """A price a cubic metre, kept to `places`; typed a board foot where the shop works in inches."""

    def __init__(self, *, studio: Studio, places: int = 4, **options: Any) -> None:
        super().__init__(min_value=0, max_digits=14, **options)
        self.widget = forms.TextInput(attrs={"inputmode": "decimal", "class": "short figure"})
        in_inches = studio.length_unit == "in"
        self.per_m3 = Decimal(str(BOARD_FOOT / 1e9)) if in_inches else Decimal(1)
        self.unit = f"{studio.currency} a {'board foot' if in_inches else 'cubic metre'}"
        self.step = Decimal(1).scaleb(-places)

    def prepare_value(self, value: Any) -> Any:
        """The price from the record in the shop's unit; what was typed stays.

        With as few decimals as read back to the same price, so that a form saved unchanged changes nothing.
        """
        if not isinstance(value, Decimal):
            return value
        for places in range(2, 12):
            shown = round(value * self.per_m3, places)
            if self._a_cubic_metre(shown) == value:
                break
        return plain_text(shown)

    def _a_cubic_metre(self, price: Decimal) -> Decimal:
        return (price / self.per_m3).quantize(self.step, rounding=ROUND_HALF_UP)

    def clean(self, value: Any) -> Any:
        """The price a cubic metre."""
        price = super().clean(value)
        return Decimal(0) if price is None else self._a_cubic_metre(price)


class MoneyField(TidyDecimalFormField):
    """An amount, read with the currency's sign and its thousands marked, as these pages print it."""

    def __init__(self, *, currency: str, **options: Any) -> None:
        super().__init__(**options)
        self.unit = currency

    def to_python(self, value: Any) -> Any:
        """`$2,400.00` as 2400.00."""
        if isinstance(value, str):
            value = re.sub(rf"[$€£\s]|{re.escape(self.unit)}", "", value, flags=re.IGNORECASE)
            if re.fullmatch(r"\d{1,3}(,\d{3})+(\.\d*)?", value):
                value = value.replace(",", "")
        return super().to_python(value)


class CurrencyField(forms.CharField):
    """A currency's three letters, large or small."""

    def to_python(self, value: Any) -> str:
        """In capitals."""
        return str(super().to_python(value)).upper()


def limits_of(field: Any) -> Limits:
    """The least and the greatest value a model's field takes."""
    found: dict[str, Decimal] = {
        validator.code: Decimal(str(validator.limit_value))
        for validator in field.validators
        if getattr(validator, "code", "") in ("min_value", "max_value")
    }
    return found.get("min_value"), found.get("max_value")
