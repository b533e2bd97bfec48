"""A sawing plan frozen as JSON, and read back just as it was.

Schema, version 1. mm, radians and mm3 as numbers, money as text, lists for what is in order, null for nothing:

    version      1
    commissions  [key of each job's commission, in the order of the jobs]
    shop         the shop's settings, by the names of `estimating.piece.ShopSettings`
    plan         by the names of `estimating.sawing.SawingPlan`:
      jobs         [{label, needs: {strips, laminated}}]
      needs        strips of all jobs, rings numbered through them
      first_ring   [how many rings come before each job's]
      cutting      {boards: [{..., strips: [...], offcuts: [...]}], cost, bound, proven, short}

Every dataclass in it is an object of its fields' names. A field that a later program adds is read as its default; a
plan that cannot be read any more is refused in words, and made again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import MISSING, dataclass, fields, is_dataclass
from decimal import Decimal, InvalidOperation
from functools import cache
from math import isfinite
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Any, Literal, Union, get_args, get_origin, get_type_hints

if TYPE_CHECKING:
    from estimating.piece import ShopSettings
    from estimating.sawing import SawingPlan

VERSION = 1


class UnreadablePlan(ValueError):
    """A frozen plan that this program cannot read."""


@dataclass(frozen=True)
class FrozenPlan:
    """What is kept of a plan: the plan, whose each job is, and how the shop cut."""

    plan: "SawingPlan"
    commissions: tuple[int, ...]
    shop: "ShopSettings"


def freeze(frozen: FrozenPlan) -> dict[str, Any]:
    """A plan as JSON holds it."""
    return {
        "version": VERSION,
        "commissions": list(frozen.commissions),
        "shop": _written(frozen.shop),
        "plan": _written(frozen.plan),
    }


def thaw(data: Any) -> FrozenPlan:
    """The plan of its JSON. Errors: UnreadablePlan."""
    from estimating.piece import ShopSettings
    from estimating.sawing import SawingPlan

    if not isinstance(data, dict) or data.get("version") != VERSION:
        raise UnreadablePlan("This plan was kept in a way that is not read any more. Plan again.")
    try:
        return FrozenPlan(
            plan=_read(SawingPlan, data["plan"]),
            commissions=_read(tuple[int, ...], data["commissions"]),
            shop=_read(ShopSettings, data["shop"]),
        )
    except (KeyError, TypeError, ValueError, InvalidOperation) as trouble:
        raise UnreadablePlan(f"This plan cannot be read ({trouble}). Plan again.") from trouble


def _written(value: Any) -> Any:
    if is_dataclass(value):
        return {field.name: _written(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, Mapping):
        return {str(key): _written(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [_written(one) for one in value]
    if isinstance(value, float) and not isfinite(value):
        raise ValueError(f"{value} is no number that JSON holds")
    return value


def _read(kind: Any, data: Any) -> Any:
    """A value of this kind; TypeError or ValueError for what is none."""
    origin = get_origin(kind)
    if is_dataclass(kind) and isinstance(kind, type):
        return _read_object(kind, data)
    if isinstance(origin, type) and issubclass(origin, Sequence):
        return _read_row(get_args(kind), data)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return _read_by_name(get_args(kind), data)
    if origin in (Union, UnionType):
        return _read_one_of(get_args(kind), data)
    if origin is Literal:
        if data not in get_args(kind):
            raise ValueError(f"{data!r} is not one of {get_args(kind)}")
        return data
    if kind is Decimal:
        return Decimal(data)
    if kind is float and isinstance(data, int | float) and not isinstance(data, bool):
        return float(data)
    if kind in (int, str, bool, NoneType) and type(data) is kind:
        return data
    raise TypeError(f"{data!r} is no {getattr(kind, '__name__', kind)}")


def _read_object(kind: Any, data: Any) -> Any:
    if not isinstance(data, Mapping):
        raise TypeError(f"{kind.__name__} is no object")
    hints = _hints(kind)
    given: dict[str, Any] = {}
    for field in fields(kind):
        if field.name in data:
            given[field.name] = _read(hints[field.name], data[field.name])
        elif field.default is MISSING and field.default_factory is MISSING:
            raise KeyError(f"{kind.__name__}.{field.name}")
    return kind(**given)


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)


def _read_row(kinds: tuple[Any, ...], data: Any) -> tuple[Any, ...]:
    if not isinstance(data, list):
        raise TypeError(f"{data!r} is no list")
    if (len(kinds) == 2 and kinds[1] is Ellipsis) or len(kinds) == 1:
        return tuple(_read(kinds[0], one) for one in data)
    return tuple(_read(kind, one) for kind, one in zip(kinds, data, strict=True))


def _read_by_name(kinds: tuple[Any, ...], data: Any) -> dict[str, Any]:
    if not isinstance(data, dict) or kinds[0] is not str:
        raise TypeError(f"{data!r} is no object")
    return {key: _read(kinds[1], one) for key, one in data.items()}


def _read_one_of(kinds: tuple[Any, ...], data: Any) -> Any:
    for kind in kinds:
        try:
            return _read(kind, data)
        except (TypeError, ValueError):
            continue
    raise TypeError(f"{data!r} is none of {kinds}")
