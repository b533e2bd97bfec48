"""One field's value as JSON holds it, and read back: decimals as text, days and moments by ISO 8601."""

import datetime
import re
import uuid
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from django.db.models import Field

_DECIMAL = re.compile(r"-?\d{1,30}(\.\d{1,30})?")


def _same(value: Any) -> Any:
    return value


def _moment(value: datetime.datetime) -> str:
    return value.astimezone(datetime.UTC).isoformat()


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError("must be text")
    return value


def _whole(value: Any) -> int:
    if type(value) is not int:
        raise ValueError("must be a whole number")
    return value


def _truth(value: Any) -> bool:
    if not isinstance(value, bool):
        raise ValueError("must be true or false")
    return value


def _decimal(value: Any) -> Decimal:
    if not _DECIMAL.fullmatch(_text(value)):
        raise ValueError("must be a number as text")
    return Decimal(value)


def _read_day(value: Any) -> datetime.date:
    return _iso(datetime.date, value, "a day as YYYY-MM-DD")


def _read_time(value: Any) -> datetime.time:
    return _iso(datetime.time, value, "a time of day by ISO 8601")


def _read_moment(value: Any) -> datetime.datetime:
    found = _iso(datetime.datetime, value, "a moment by ISO 8601 with its offset")
    if found.tzinfo is None:
        raise ValueError("must be a moment by ISO 8601 with its offset")
    return found


def _iso(kind: Any, value: Any, words: str) -> Any:
    try:
        return kind.fromisoformat(_text(value))
    except ValueError:
        raise ValueError(f"must be {words}") from None


def _read_uuid(value: Any) -> uuid.UUID:
    try:
        return uuid.UUID(_text(value))
    except ValueError:
        raise ValueError("must be a UUID") from None


_KINDS: Mapping[str, tuple[Callable[[Any], Any], Callable[[Any], Any]]] = {
    "BooleanField": (_same, _truth),
    "CharField": (_same, _text),
    "DateField": (datetime.date.isoformat, _read_day),
    "DateTimeField": (_moment, _read_moment),
    "DecimalField": (str, _decimal),
    "JSONField": (_same, _same),
    "TextField": (_same, _text),
    "TimeField": (datetime.time.isoformat, _read_time),
    "UUIDField": (str, _read_uuid),
    **dict.fromkeys(
        (
            *("IntegerField", "BigIntegerField", "SmallIntegerField"),
            *("PositiveIntegerField", "PositiveBigIntegerField", "PositiveSmallIntegerField"),
        ),
        (_same, _whole),
    ),
}
IN_FILES = frozenset({"BinaryField", "FileField"})
"""Fields whose content is a member of its own."""


def is_plain(field: "Field[Any, Any]") -> bool:
    """Whether its value stands in the row: neither a reference nor in a file. TypeError for a kind not known here."""
    kind = field.get_internal_type()
    if field.is_relation or kind in IN_FILES:
        return False
    if kind not in _KINDS:
        raise TypeError(
            f"{field}: no archive knows how to carry a {kind} yet; teach projects/archive/values.py."
        )
    return True


def as_json(field: "Field[Any, Any]", value: Any) -> Any:
    """A value as JSON holds it."""
    return None if value is None else _KINDS[field.get_internal_type()][0](value)


def from_json(field: "Field[Any, Any]", value: Any) -> Any:
    """The value of its JSON. Errors: ValueError in words for what the field cannot hold."""
    if value is None and field.get_internal_type() != "JSONField":
        if not field.null:
            raise ValueError("must not be empty")
        return None
    return _KINDS[field.get_internal_type()][1](value)
