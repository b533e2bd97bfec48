"""Fields for lengths, money and shares: exact decimals with a range that forms and the database both hold."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q

LARGEST_MM = 10_000
"""The longest length a piece sheet may hold."""


def plain_text(number: Decimal) -> str:
    """A decimal without the noughts that the database pads it with: 38.500 as 38.5, 40.000 as 40."""
    return format(number.normalize(), "f")


class TidyDecimalFormField(forms.DecimalField):
    """A decimal shown without padding noughts."""

    def prepare_value(self, value: Any) -> Any:
        """A figure plainly; what was typed wrongly stays as it was typed."""
        return plain_text(value) if isinstance(value, Decimal) and value.is_finite() else value


class TidyDecimalField(models.DecimalField):
    """A decimal that takes a float as it is written and no NaN; its form field leaves padding noughts out."""

    def to_python(self, value: Any) -> Any:
        """0.1 as 0.1 and not as its nearest binary fraction, which has more places than any field."""
        number = super().to_python(repr(value) if isinstance(value, float) else value)
        if number is not None and not number.is_finite():
            raise ValidationError(self.error_messages["invalid"], code="invalid", params={"value": value})
        return number

    def formfield(self, **kwargs: Any) -> forms.Field | None:
        """The field of a model form."""
        return super().formfield(**{"form_class": TidyDecimalFormField, **kwargs})


def _between(low: Decimal | float | None, high: Decimal | float | None) -> list[Any]:
    limits: list[Any] = []
    if low is not None:
        limits.append(MinValueValidator(Decimal(str(low)), message="Must be at least %(limit_value)s."))
    if high is not None:
        limits.append(MaxValueValidator(Decimal(str(high)), message="Must be at most %(limit_value)s."))
    return limits


def decimal_field(
    name: str, *, digits: int, places: int, low: float | None = 0, high: float | None = None, **options: Any
) -> TidyDecimalField:
    """A decimal between `low` and `high`."""
    if isinstance(options.get("default"), float):
        options["default"] = Decimal(str(options["default"]))
    limits = _between(low, high)
    return TidyDecimalField(name, max_digits=digits, decimal_places=places, validators=limits, **options)


def length_field(
    name: str, *, low: float = 0.001, high: float = LARGEST_MM, **options: Any
) -> TidyDecimalField:
    """A length, mm."""
    return decimal_field(name, digits=9, places=3, low=low, high=high, **options)


def money_field(name: str, **options: Any) -> TidyDecimalField:
    """An amount in the studio's currency; four places, which some currencies and all millilitres need."""
    return decimal_field(name, digits=14, places=4, **options)


def share_field(name: str, *, high: float = 1, **options: Any) -> TidyDecimalField:
    """A fraction: 0.15 is 15 %."""
    return decimal_field(name, digits=6, places=5, high=high, **options)


def wood_key_rule() -> RegexValidator:
    """What the short name of a wood may look like in a piece sheet."""
    return RegexValidator(
        r"\A[a-z][a-z0-9_]*\Z",
        message="Use lower-case letters, digits and underscores, starting with a letter.",
    )


def within(
    table: str, field: str, *, low: float | None = None, high: float | None = None, null: bool = False
) -> models.CheckConstraint:
    """The database's own hold on a range: `low` <= field <= `high`, or no value where `null` allows that."""
    condition = Q()
    if low is not None:
        condition &= Q(**{f"{field}__gte": Decimal(str(low))})
    if high is not None:
        condition &= Q(**{f"{field}__lte": Decimal(str(high))})
    if null:
        condition |= Q(**{f"{field}__isnull": True})
    label = field.replace("_", " ")
    reach = f"from {low} to {high}" if high is not None else f"at least {low}"
    return models.CheckConstraint(
        name=f"{table}_{field}_in_range",
        condition=condition,
        violation_error_message=f"The {label} must be {reach}.",
    )


def named(table: str, field: str = "name") -> models.CheckConstraint:
    """The database's own hold on a name: it may not be empty."""
    return models.CheckConstraint(
        name=f"{table}_{field}_given",
        condition=~Q(**{field: ""}),
        violation_error_message=f"The {field} must not be empty.",
    )


def one_of(table: str, field: str, choices: type[models.TextChoices]) -> models.CheckConstraint:
    """The database's own hold on a choice."""
    label = field.replace("_", " ")
    named = ", ".join(value for value in choices.values if value)
    return models.CheckConstraint(
        name=f"{table}_{field}_known",
        condition=Q(**{f"{field}__in": choices.values}),
        violation_error_message=f"The {label} must be {'blank or ' if '' in choices.values else ''}one of: {named}.",
    )


def needs(name: str, condition: Q, needed: Q, message: str) -> models.CheckConstraint:
    """The database's own hold on what one choice asks of other fields."""
    return models.CheckConstraint(name=name, condition=~condition | needed, violation_error_message=message)
