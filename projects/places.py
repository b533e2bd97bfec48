"""Where an error of a piece sheet belongs on a form."""

import re
from dataclasses import dataclass
from typing import Literal

from estimating.errors import InvalidInput, InvalidSheet

Section = Literal["design", "part", "form", "band", "board", "settings"]

# Sheet key -> the model's field, where the two differ.
_PART = {f"allowance.{side}": f"allowance_{side}" for side in ("outside", "inside", "top", "bottom")}
_PART |= {"holding.by": "held", "holding.depth": "held_depth", "holding.parting": "held_parting"}
_PART |= {"holding": "held", "sits.on": "sits_at", "sits.in": "sits_at"}
_PART |= {"sits.flange": "flange", "sits.clearance": "clearance", "allowance": ""}
_FORM = {"inside.kind": "inside", "inside.wall": "wall", "inside.floor": "floor", "inside.inner": "inner"}
_BAND = {"offset": "offsets"}
_PLACE = re.compile(r"\A(?P<head>[a-z_]+)(?:\[(?P<index>\d+)\])?(?:\.(?P<rest>.*))?\Z", re.DOTALL)
_PREFIX = re.compile(r"\Aparts\[(\d+)\](?:\.|\Z)")
_INDEX = re.compile(r"\[(\d+)\]")


@dataclass(frozen=True, slots=True)
class FormPlace:
    """One error on a form: the section, the band or board (from 0), the model's field, and what to say there.

    `field` is empty where the whole section is meant; `row` is the point or list item, `part` the part, from 0.
    """

    section: Section
    field: str
    message: str
    index: int | None = None
    row: int | None = None
    part: int = 0


def form_places(refusal: InvalidSheet) -> list[FormPlace]:
    """Every error of a sheet, at the form field it means; with no such field, at the design as a whole."""
    return [form_place(error) for error in refusal.errors]


def form_place(error: InvalidInput) -> FormPlace:
    """The form field that one error of a sheet means."""
    prefix = _PREFIX.match(error.place)
    part = int(prefix[1]) if prefix else 0
    match = _PLACE.match(error.place[prefix.end() :] if prefix else error.place)
    if match is None:
        return FormPlace("part" if prefix else "design", "", error.reason, part=part)
    head, rest = match["head"], match["rest"] or ""
    index = int(match["index"]) if match["index"] else None
    rows = _INDEX.findall(rest)
    key = _INDEX.sub("", rest)
    row = int(rows[0]) if rows else None
    match head:
        case "form":
            return FormPlace("form", _FORM.get(key, key), error.reason, row=row, part=part)
        case "bands":
            field = "chart" if key.startswith("chart") else _BAND.get(key, key)
            return FormPlace("band", field, error.reason, index=index, row=row, part=part)
        case "allowance" | "holding" | "sits":
            field = _PART.get(f"{head}.{key}" if key else head, head)
            return FormPlace("part", field, error.reason, part=part)
        case "close_at":
            return FormPlace("part", head, error.reason, row=index, part=part)
        case "build_from":
            return FormPlace("part", head, error.reason, part=part)
        case "name" if prefix:
            return FormPlace("part", head, error.reason, part=part)
    return _whole_place(head, key, error.reason, index=index)


def _whole_place(head: str, key: str, reason: str, *, index: int | None) -> FormPlace:
    """What no part has: boards, settings, and the design's own fields."""
    match head:
        case "boards":
            return FormPlace("board", key, reason, index=index)
        case "shop" | "adhesive" | "usual_board" | "finish" | "pricing":
            return FormPlace("settings", key or head, reason)
        case "title" | "quantity" | "laminates":
            return FormPlace("design", head, reason)
    return FormPlace("design", "", reason)
