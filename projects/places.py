"""Where an error of a piece sheet belongs on a form."""

import re
from dataclasses import dataclass
from typing import Literal

from estimating.errors import InvalidInput, InvalidSheet

Section = Literal["design", "form", "band", "board", "settings"]

# Sheet key -> the model's field, where the two differ.
_DESIGN = {f"allowance.{side}": f"allowance_{side}" for side in ("outside", "inside", "top", "bottom")}
_FORM = {"inside.kind": "inside", "inside.wall": "wall", "inside.floor": "floor", "inside.inner": "inner"}
_BAND = {"offset": "offsets"}
_PLACE = re.compile(r"\A(?P<head>[a-z_]+)(?:\[(?P<index>\d+)\])?(?:\.(?P<rest>.*))?\Z")
_INDEX = re.compile(r"\[(\d+)\]")


@dataclass(frozen=True, slots=True)
class FormPlace:
    """One error on a form: the section, the band or board (from 0), the model's field, and what to say there.

    `field` is empty where the whole section is meant; `row` is the point or list item, from 0.
    """

    section: Section
    field: str
    message: str
    index: int | None = None
    row: int | None = None


def form_places(refusal: InvalidSheet) -> list[FormPlace]:
    """Every error of a sheet, at the form field it means; with no such field, at the design as a whole."""
    return [form_place(error) for error in refusal.errors]


def form_place(error: InvalidInput) -> FormPlace:
    """The form field that one error of a sheet means."""
    match = _PLACE.match(error.place)
    if match is None:
        return FormPlace("design", "", error.reason)
    head, rest = match["head"], match["rest"] or ""
    index = int(match["index"]) if match["index"] else None
    rows = _INDEX.findall(rest)
    key = _INDEX.sub("", rest)
    row = int(rows[0]) if rows else None
    match head:
        case "form":
            return FormPlace("form", _FORM.get(key, key), error.reason, row=row)
        case "bands":
            return FormPlace("band", _BAND.get(key, key), error.reason, index=index, row=row)
        case "boards":
            return FormPlace("board", key, error.reason, index=index)
        case "shop" | "usual_board" | "finish" | "pricing":
            return FormPlace("settings", key or head, error.reason)
        case "allowance":
            return FormPlace("design", _DESIGN.get(f"allowance.{key}", ""), error.reason)
        case "title" | "quantity":
            return FormPlace("design", head, error.reason)
    return FormPlace("design", "", error.reason)
