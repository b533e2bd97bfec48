"""What a field of the drawing board is called, in a list of what is wrong."""

from dataclasses import dataclass

from projects.pages.draft import Draft

NAMES = {
    "title": "Title",
    "quantity": "Pieces",
    "allowance_outside": "Allowance outside",
    "allowance_inside": "Allowance inside",
    "allowance_top": "Allowance on top",
    "allowance_bottom": "Allowance below",
    "adhesive": "Adhesive",
    "finish": "Finish",
    "note": "Note",
    "curve": "Joined by",
    "inside": "Inside",
    "wall": "Wall",
    "floor": "Floor",
    "outer": "Outer curve",
    "inner": "Inner curve",
    "bands": "Bands",
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
}


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
    """The name of a field as a person would say it."""
    if name in NAMES:
        return NAMES[name]
    kind, _, rest = name.partition("-")
    row, _, part = rest.partition("-")
    if not row.isdecimal():
        return "The design"
    if kind == "bands":
        index = int(row)
        band = draft.bands[index].name.strip() if index < len(draft.bands) else ""
        return f"Band {band or index + 1}, {BAND_NAMES.get(part, part)}"
    return f"{NAMES.get(kind, kind)}, point {int(row) + 1}, {part}"
