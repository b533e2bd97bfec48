"""The checked write that every service ends in."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import IntegrityError, models, transaction

M = TypeVar("M", bound=models.Model)

# What ties an object to its studio is set when it is made and never by an edit.
FIXED = frozenset({"id", "pk", "studio", "studio_id"})


def checked(instance: M, *, exclude: Iterable[str] = ()) -> M:
    """Check an object as its model says, save it, and return it; ValidationError keyed by field otherwise."""
    try:
        with transaction.atomic():
            instance.full_clean(exclude=set(exclude))
            instance.save()
    except IntegrityError:
        # Someone else's write came between the check and the save: checking again finds it and says so.
        instance.full_clean(exclude=set(exclude))
        raise ValidationError("The database refused this. Nothing was saved; try again.") from None
    return instance


def changed(instance: M, values: Mapping[str, Any]) -> M:
    """Set fields of an object without saving; TypeError for a name that is no field a form may set."""
    open_fields = {field.name for field in instance._meta.concrete_fields if field.editable} - FIXED
    for name, value in values.items():
        if name not in open_fields:
            raise TypeError(f"{type(instance).__name__} has no field {name!r} that may be changed.")
        setattr(instance, name, value)
    return instance


def gather(checks: Iterable[tuple[str, Callable[[], object]]]) -> None:
    """Run every check and raise what they refuse all at once, each place under its check's prefix."""
    refused: dict[str, list[str]] = {}
    for prefix, check in checks:
        try:
            check()
        except ValidationError as refusal:
            for place, messages in placed(refusal, prefix=prefix).items():
                refused.setdefault(place, []).extend(messages)
    if refused:
        raise ValidationError(refused)


def placed(refusal: ValidationError, *, prefix: str) -> dict[str, list[str]]:
    """The messages of a refusal by place, `prefix` before every field."""
    if not hasattr(refusal, "error_dict"):
        return {prefix: list(refusal.messages)}
    return {
        prefix if field == "__all__" else f"{prefix}.{field}" if prefix else field: list(messages)
        for field, messages in refusal.message_dict.items()
    }
