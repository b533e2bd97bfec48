"""What a field of the drawing board is called, in a list of what is wrong."""

import re
from dataclasses import dataclass

from projects.pages.draft import Draft

NAMES = {
    "title": "Title",
    "quantity": "Pieces",
    "adhesive": "Adhesive",
    "finish": "Finish",
    "note": "Note",
    "parts": "Parts",
    "laminates": "Laminated segments",
}
PART_NAMES = {
    "name": "Name of the part",
    "allowance_outside": "Allowance outside",
    "allowance_inside": "Allowance inside",
    "allowance_top": "Allowance on top",
    "allowance_bottom": "Allowance below",
    "curve": "Joined by",
    "inside": "Inside",
    "wall": "Wall",
    "floor": "Floor",
    "outer": "Outer curve",
    "inner": "Inner curve",
    "bands": "Bands",
    "held": "Held by",
    "held_depth": "Depth of the hold",
    "held_parting": "Parting cut",
    "close_at": "Joined at",
    "build_from": "Glued up from",
    "sits": "Stands",
    "sits_at": "Stands on or in",
    "flange": "Flange",
    "clearance": "Clearance",
}
BAND_NAMES = {
    "name": "name",
    "layers": "layers",
    "thickness": "layer thickness",
    "segments": "segments",
    "woods": "woods",
    "offsets": "offset",
    "gap": "gap",
    "made": "made",
    "ring_height": "thick ring's height",
    "bored": "bored",
    "bore": "bore",
    "plug": "plug",
    "match": "boards",
    "chart": "chart",
}
PART = re.compile(r"parts-(\d+)(?:-(.*))?", re.DOTALL)


@dataclass(frozen=True)
class Problem:
    """One thing wrong: the field it stands at (empty for the design as a whole), its name, and what to do."""

    field: str
    label: str
    message: str
    in_settings: bool = False


def problems(draft: Draft) -> list[Problem]:
    """Everything wrong with a draft, in the order it was found."""
    return [_problem(draft, name, message) for name, messages in draft.errors.items() for message in messages]


def _problem(draft: Draft, name: str, message: str) -> Problem:
    if name.startswith("settings "):
        setting = name.removeprefix("settings ").replace("_", " ")
        return Problem("", f"Shop, {setting}", message, in_settings=True)
    return Problem(name, label(draft, name), message)


def label(draft: Draft, name: str) -> str:
    """The name of a field as a person would say it, with its part's where there are several."""
    if name in NAMES:
        return NAMES[name]
    if match := PART.fullmatch(name):
        index = int(match[1])
        words = _part_label(draft, index, match[2] or "")
        if len(draft.parts) < 2 or index >= len(draft.parts):
            return words
        part = draft.parts[index].name or f"part {index + 1}"
        return f"{part[:1].upper()}{part[1:]}: {words[:1].lower()}{words[1:]}"
    kind, _, rest = name.partition("-")
    row, _, field = rest.partition("-")
    if kind == "laminates" and row.isdecimal():
        key = draft.laminates[int(row)].key.strip() if int(row) < len(draft.laminates) else ""
        return f"Laminated segment {key or int(row) + 1}, {field.replace('-', ' ').replace('key', 'name')}"
    return "The design"


def _part_label(draft: Draft, index: int, name: str) -> str:
    if name in PART_NAMES:
        return PART_NAMES[name]
    kind, _, rest = name.partition("-")
    row, _, field = rest.partition("-")
    if not row.isdecimal():
        return "The part"
    if kind == "bands":
        bands = draft.parts[index].bands if index < len(draft.parts) else []
        band = bands[int(row)].name.strip() if int(row) < len(bands) else ""
        return f"Band {band or int(row) + 1}, {BAND_NAMES.get(field, field)}"
    return f"{PART_NAMES.get(kind, kind)}, point {int(row) + 1}, {field}"
