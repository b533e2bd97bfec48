"""Reading JSON with care: every value is checked where it stands, and every error is kept with its place."""

import json
from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from math import isfinite
from typing import Any, NoReturn, TypedDict, TypeVar, Unpack

from estimating.errors import InvalidInput, InvalidSheet, shown
from estimating.quantities import Unit, parse_length, unit_in_mm

LONGEST = 10_000.0
"""No length of a piece is more than this, mm."""

LONGEST_TEXT = 200
MOST_HINTS = 100
"""After so many errors no more guesses at what was meant: they take time, and a megabyte holds 100,000 names."""

_MOST_MONEY = Decimal(10) ** 12

Choice = TypeVar("Choice", bound=str)


class Limits(TypedDict, total=False):
    """What a number must keep to: `low` and `high` are allowed, `above` and `below` are not."""

    low: float
    high: float
    above: float
    below: float


def read_json(text: str | bytes) -> object:
    """What the JSON says.

    Errors: InvalidSheet at `sheet` for what is no JSON: empty, cut off, nested without end, not UTF-8.
    """
    try:
        written = text.decode("utf-8-sig") if isinstance(text, bytes) else text
    except UnicodeDecodeError:
        _refuse("is not text in UTF-8")
    if not written.strip():
        _refuse("is empty")
    try:
        return json.loads(written, object_pairs_hook=_object)
    except RecursionError:
        _refuse("is nested too deeply to be a piece sheet")
    except json.JSONDecodeError as error:
        _refuse(f"is not JSON: {error.msg} at line {error.lineno}, column {error.colno}")
    except ValueError:
        _refuse("has a number with too many digits")


def _refuse(reason: str) -> NoReturn:
    raise InvalidSheet([InvalidInput("sheet", reason)])


class _Repetitive(dict[str, object]):
    """An object some of whose keys were given more than once; they are noted beside it, not among its keys."""

    repeated: tuple[str, ...] = ()


def _object(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """The object, keeping note of keys given twice, which would otherwise be lost without a word."""
    found = dict(pairs)
    if len(found) == len(pairs):
        return found
    times = Counter(name for name, _ in pairs)
    noted = _Repetitive(found)
    noted.repeated = tuple(sorted(name for name, count in times.items() if count > 1))
    return noted


class Section:
    """One object of the sheet while it is read. Errors are added to `errors`; what is wrong reads as a stand-in."""

    def __init__(self, data: object, place: str, errors: list[InvalidInput], unit: Unit = "mm") -> None:
        self.place = place
        self.errors = errors
        self.unit: Unit = unit
        self._known: set[str] = set()
        self._data: dict[str, object] = {}
        self._is_object = isinstance(data, dict)
        if isinstance(data, dict):
            self._data = data
        else:
            self.refuse("", f"must be an object {{...}}, not {_kind(data)}")

    def at(self, key: str) -> str:
        """The place of a key of this object."""
        if not key:
            return self.place or "sheet"
        return f"{self.place}.{key}" if self.place else key

    def refuse(self, key: str, reason: str) -> None:
        self.errors.append(InvalidInput(self.at(key), reason))

    def has(self, key: str) -> bool:
        """Whether the key is given, which makes it a known one."""
        self._known.add(key)
        return key in self._data

    def close(self) -> None:
        """Refuse what nobody asked for, and what was given twice."""
        for key in self._data:
            if key not in self._known:
                self.refuse(shown(key), f"is not a key here{self._instead(key)}")
        if isinstance(self._data, _Repetitive):
            for name in self._data.repeated:
                self.refuse(shown(name), "is given more than once")

    def _instead(self, key: str) -> str:
        """What would be right in place of an unknown key."""
        hint = did_you_mean(key, self._known, self.errors, most=1)
        if hint or len(self.errors) >= MOST_HINTS:
            return hint
        return f"; there may be {', '.join(sorted(self._known))}"

    def given(self) -> list[str]:
        """The keys given, in their order; they are known from now on."""
        self._known.update(self._data)
        return list(self._data)

    def section(self, key: str, *, required: bool = False) -> "Section | None":
        """The object at a key, to be closed by who reads it; None where it is not given."""
        if not self.has(key):
            if required:
                self.refuse_missing(key)
            return None
        return Section(self._data[key], self.at(key), self.errors, self.unit)

    def choice_of_keys(self, *keys: str) -> str:
        """The one of these keys that is given; none or several are refused, and read as none."""
        given = [key for key in keys if self.has(key)]
        if len(given) == 1:
            return given[0]
        if self._is_object:
            self.refuse(
                "", f"must have {_or(keys)}" if not given else f"must have only one of {', '.join(given)}"
            )
        return ""

    def raw(self, key: str, *, required: bool = True) -> object:
        """The value as it stands; None, with an error if `required`, where it is missing."""
        if self.has(key):
            return self._data[key]
        if required:
            self.refuse_missing(key)
        return None

    def refuse_missing(self, key: str) -> None:
        """Refuse a key that is not given; what is no object at all misses no keys of its own."""
        if self._is_object:
            self.refuse(key, "is missing")

    def _given(self, key: str, default: object) -> bool:
        """Whether there is a value to check; a missing one without a default is refused."""
        if self.has(key):
            return True
        if default is None:
            self.refuse_missing(key)
        return False

    def text(self, key: str, default: str | None = None, *, may_be_empty: bool = False) -> str:
        if not self._given(key, default):
            return default or ""
        return check_text(self._data[key], self.at(key), self.errors, may_be_empty=may_be_empty)

    def choice(self, key: str, choices: Sequence[Choice], default: Choice | None = None) -> Choice:
        if not self._given(key, default):
            return default or choices[0]
        value = self._data[key]
        for choice in choices:
            if value == choice:
                return choice
        self.refuse(key, f"must be {_or(choices)}, not {_kind(value)}")
        return choices[0]

    def number(self, key: str, default: float | None = None, **limits: Unpack[Limits]) -> float:
        """A plain number within `low`, `high`, `above`, `below`."""
        if not self._given(key, default):
            return 0.0 if default is None else default
        return check_number(self._data[key], self.at(key), self.errors, **limits)

    def integer(self, key: str, default: int | None = None, *, low: int, high: int) -> int:
        if not self._given(key, default):
            return low if default is None else default
        value = check_number(
            self._data[key], self.at(key), self.errors, low=low, high=high, what="a whole number"
        )
        if value != int(value):
            self.refuse(key, f"must be a whole number, not {value:g}")
        return int(value)

    def length(self, key: str, default: float | None = None, **limits: Unpack[Limits]) -> float:
        """A length in mm, from a number in the sheet's unit or text with its own; `default` and limits in mm."""
        if not self._given(key, default):
            return 0.0 if default is None else default
        return check_length(self._data[key], self.at(key), self.errors, self.unit, **limits)

    def boolean(self, key: str, default: bool) -> bool:
        value = self._data[key] if self.has(key) else default
        if not isinstance(value, bool):
            self.refuse(key, f"must be true or false, not {_kind(value)}")
            return default
        return value

    def money(self, key: str, default: Decimal) -> Decimal:
        """An amount that is not negative, from text such as "38.00" or a number."""
        return self._decimal(key, default, high=_MOST_MONEY, from_text=True)

    def optional_money(self, key: str, default: Decimal | None) -> Decimal | None:
        """An amount, or null for none."""
        if self.has(key) and self._data[key] is None:
            return None
        return self.money(key, Decimal(0)) if self.has(key) else default

    def share(
        self, key: str, default: Decimal, *, high: Decimal = Decimal(1), below: bool = False
    ) -> Decimal:
        """A fraction from 0 to `high`, short of it if `below`."""
        return self._decimal(key, default, high=high, from_text=False, below=below)

    def _decimal(
        self, key: str, default: Decimal, *, high: Decimal, from_text: bool, below: bool = False
    ) -> Decimal:
        if not self.has(key):
            return default
        value = self._data[key]
        if isinstance(value, str) and from_text:
            try:
                amount = Decimal(value.strip())
            except InvalidOperation:
                amount = Decimal("NaN")
            if not amount.is_finite():
                self.refuse(key, f'must be an amount such as "38.00", not {_kind(value)}')
                return default
            value = amount
        if isinstance(value, Decimal):
            if not 0 <= value <= high:
                self.refuse(key, "must not be negative" if value < 0 else f"must be at most {high}")
                return default
            return abs(value)  # "-0" is no amount that anybody would want printed
        before = len(self.errors)
        limits: Limits = {"low": 0, "below": float(high)} if below else {"low": 0, "high": float(high)}
        number = check_number(value, self.at(key), self.errors, **limits)
        return Decimal(repr(number)) if len(self.errors) == before else default

    def items(self, key: str, *, required: bool = True, most: int, least: int = 0) -> list[tuple[str, Any]]:
        """The list's items with their places."""
        value = self.raw(key, required=required)
        if value is None and not (required or self.has(key)):
            return []
        return check_list(value, self.at(key), self.errors, least=least, most=most) if self.has(key) else []


def check_list(
    value: object, place: str, errors: list[InvalidInput], *, most: int, least: int = 0
) -> list[tuple[str, Any]]:
    if not isinstance(value, list):
        errors.append(InvalidInput(place, f"must be a list [...], not {_kind(value)}"))
        return []
    if not least <= len(value) <= most:
        limit = f"at least {least}" if len(value) < least else f"at most {most}"
        errors.append(InvalidInput(place, f"must have {limit} items, not {len(value)}"))
        return []
    return [(f"{place}[{index}]", item) for index, item in enumerate(value)]


def check_text(
    value: object,
    place: str,
    errors: list[InvalidInput],
    *,
    may_be_empty: bool = False,
    longest: int = LONGEST_TEXT,
) -> str:
    if not isinstance(value, str):
        errors.append(InvalidInput(place, f"must be text, not {_kind(value)}"))
        return ""
    if not (value.strip() or may_be_empty):
        errors.append(InvalidInput(place, "must not be empty"))
    elif len(value) > longest:
        errors.append(InvalidInput(place, f"must be at most {longest} characters, not {len(value)}"))
    elif any(character == "\0" or "\ud800" <= character <= "\udfff" for character in value):
        errors.append(InvalidInput(place, "has a character that cannot be written"))
    return value


def check_number(
    value: object, place: str, errors: list[InvalidInput], *, what: str = "a number", **limits: Unpack[Limits]
) -> float:
    """The number if it is finite and within limits; else an error, and 1 to go on with."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        errors.append(InvalidInput(place, f"must be {what}, not {_kind(value)}"))
        return 1.0
    return _within(_float(value), place, errors, limits, unit="")


def check_length(
    value: object, place: str, errors: list[InvalidInput], unit: Unit, **limits: Unpack[Limits]
) -> float:
    """The length in mm if it is within limits (mm); else an error, and 1 to go on with."""
    if isinstance(value, str):
        try:
            number = parse_length(value)
        except ValueError as error:
            errors.append(InvalidInput(place, str(error)))
            return 1.0
    elif isinstance(value, bool) or not isinstance(value, int | float):
        errors.append(InvalidInput(place, f"must be a length, not {_kind(value)}"))
        return 1.0
    else:
        number = _float(value) * unit_in_mm(unit)
    return _within(number, place, errors, {"low": 0.0, "high": LONGEST, **limits}, unit=" mm")


def _float(value: float) -> float:
    try:
        return float(value)
    except OverflowError:
        return float("inf")


def _within(number: float, place: str, errors: list[InvalidInput], limits: Limits, *, unit: str) -> float:
    reason = _outside(number, limits, unit)
    if reason:
        errors.append(InvalidInput(place, reason))
        return 1.0
    return number


def _outside(number: float, limits: Limits, unit: str) -> str:
    """What is wrong with the number, or nothing."""
    if not isfinite(number):
        return "must be a finite number"
    if "above" in limits and number <= limits["above"]:
        return f"must be more than {limits['above']:g}{unit if limits['above'] else ''}, not {number:g}{unit}"
    if "low" in limits and number < limits["low"]:
        least = limits["low"]
        return (
            "must not be negative"
            if least == 0
            else f"must be at least {least:g}{unit}, not {number:g}{unit}"
        )
    if "below" in limits and number >= limits["below"]:
        return f"must be less than {limits['below']:g}{unit}, not {number:g}{unit}"
    if "high" in limits and number > limits["high"]:
        return f"must be at most {limits['high']:g}{unit}, not {number:g}{unit}"
    return ""


def did_you_mean(word: str, known: Iterable[str], errors: Sequence[InvalidInput], *, most: int) -> str:
    """The nearest of the known words as the end of an error, or nothing."""
    if len(errors) >= MOST_HINTS:
        return ""
    near = get_close_matches(word[:LONGEST_TEXT], sorted(known), n=most)
    return f"; did you mean {' or '.join(near)}?" if near else ""


def _kind(value: object) -> str:
    """How to call what was found, without repeating a page of it."""
    match value:
        case None:
            return "null"
        case bool():
            return str(value).lower()
        case int() | float():
            return "a number"
        case str():
            return f'the text "{shown(value)}"'
        case list():
            return "a list"
        case dict():
            return "an object"
    return "that"


def _or(choices: Sequence[str]) -> str:
    quoted = [f'"{choice}"' for choice in choices]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"
