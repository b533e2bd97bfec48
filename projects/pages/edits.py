"""Edits of a typed design that add, remove, move, split or join its rows: parts, bands, points, laminated segments."""

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from projects.models import Studio
from projects.pages import bands, starting
from projects.pages.draft import (
    MOST_PARTS,
    MOST_ROWS,
    BandText,
    Draft,
    LaminateText,
    PartText,
    PointText,
    part_text,
)
from projects.pages.reader import Reader

# `parts-0-bands-add-2`, `parts-0-outer-remove-1`, `parts-copy-1`, `laminates-add-0`
EDIT = re.compile(
    r"\A(?:parts-(?P<part>[0-9]{1,3})-)?(?P<kind>[a-z]+)-(?P<action>[a-z]+)-(?P<row>[0-9]{1,3})\Z"
)
LARGEST_NEW = 2000
DISCS_TOO = ("cut", "sliced", "solid")


def edit(draft: Draft, what: str) -> dict[str, list[str]]:
    """Do what a button says; anything else changes nothing. What could not be done comes back by field, in words."""
    match = EDIT.match(what)
    if match is None:
        return {}
    kind, action, row = match["kind"], match["action"], int(match["row"])
    if match["part"] is None:
        if kind == "parts":
            _edit_parts(draft, action, row)
        if kind == "laminates":
            _edit_rows(draft.laminates, action, row, new=lambda _: LaminateText(key=_free_key(draft)))
        return {}
    index = int(match["part"])
    if index >= len(draft.parts):
        return {}
    draft.shown = index
    part = draft.parts[index]
    try:
        _edit_part(part, kind, action, row)
    except bands.Refused as refusal:
        return {f"parts-{index}-bands": [str(refusal)]}
    return {}


def _edit_part(part: PartText, kind: str, action: str, row: int) -> None:
    if kind == "bands":
        if row < len(part.bands) and action in bands.TOOLS and len(part.bands) < MOST_ROWS:
            bands.TOOLS[action](part.bands, row)
        else:
            _edit_rows(part.bands, action, row, new=lambda at: _new_band(part.bands, at))
    if kind in ("outer", "inner"):
        _edit_rows(part.outer if kind == "outer" else part.inner, action, row, new=lambda _: PointText())


def _edit_rows(rows: list[Any], action: str, index: int, *, new: Callable[[int], Any]) -> None:
    match action:
        case "add" if index <= len(rows) < MOST_ROWS:
            rows.insert(index, new(index))
        case "remove" if index < len(rows):
            del rows[index]
        case "up" if index + 1 < len(rows):
            rows[index], rows[index + 1] = rows[index + 1], rows[index]
        case "down" if 0 < index < len(rows):
            rows[index], rows[index - 1] = rows[index - 1], rows[index]


def _new_band(rows: list[BandText], index: int) -> BandText:
    """Like its neighbour, of one layer: most bands differ from the next in little.

    It is bored as its tips need, since wedges that meet in the middle can be neither cut nor glued well.
    """
    neighbours = rows[index - 1 : index] if index else rows[:1]
    if not neighbours:
        return BandText()
    like = neighbours[0]
    if like.made not in DISCS_TOO:
        return replace(like, name="", layers="1", chart="")
    woods = like.woods or tuple(bands.woods_of(like)[:1])
    return replace(
        like, name="", layers="1", chart="", woods=woods, bored="needed", plug=woods[0] if woods else ""
    )


# ---- parts


def _edit_parts(draft: Draft, action: str, row: int) -> None:
    count = len(draft.parts)
    order = list(range(count))
    match action:
        case "copy" if row < count < MOST_PARTS:
            order.insert(row + 1, row)
            draft.shown = row + 1
        case "remove" if row < count and count > 1:
            del order[row]
            draft.shown = min(row, count - 2)
        case "up" if row + 1 < count:
            order[row], order[row + 1] = order[row + 1], order[row]
            draft.shown = row + 1
        case "down" if 0 < row < count:
            order[row], order[row - 1] = order[row - 1], order[row]
            draft.shown = row - 1
        case _:
            return
    _reorder(draft, order, copied=row + 1 if action == "copy" else None)


def _reorder(draft: Draft, order: list[int], *, copied: int | None) -> None:
    """Put the parts in an order of their old places, each still standing on the one it stood on."""
    # The first place of each, so that what stood on a part that was copied stands on the original.
    places = {old: new for new, old in reversed(list(enumerate(order)))}
    parts = [_copy(draft.parts[old]) for old in order]
    for part in parts:
        at = part.texts["sits_at"]
        old = int(at) - 1 if at.isdecimal() and len(at) < 4 else -1
        if old in places:
            part.texts["sits_at"] = str(places[old] + 1)
        elif at:
            part.texts |= {"sits": "", "sits_at": ""}
    draft.parts = parts
    if copied is not None:
        parts[copied].texts["name"] = free_name(draft, parts[copied].name)


def _copy(part: PartText) -> PartText:
    return PartText(dict(part.texts), list(part.outer), list(part.inner), list(part.bands), dict(part.tools))


def free_name(draft: Draft, name: str) -> str:
    """A name that no part has: the name itself, or with a number after it."""
    taken = {part.name for part in draft.parts}
    names = (f"{name} {number}" if number > 1 else name for number in range(1, MOST_PARTS + 2))
    return next(free for free in names if free not in taken)


def add_part(draft: Draft, *, studio: Studio) -> dict[str, list[str]]:
    """Put a part on top, of a ready form or empty, glued on the one below until told otherwise."""
    if len(draft.parts) >= MOST_PARTS:
        return {"new-shape": [f"A design has at most {MOST_PARTS} parts."]}
    shape = draft.new.get("shape", "")
    values: dict[str, Any] = {"form": {"outer": []}, "bands": []}
    if shape in starting.SHAPES:
        errors: dict[str, list[str]] = {}
        reader = Reader(studio, errors)
        size = {key: reader.thickness(f"new-{key}", draft.new[key]) for key in ("height", "diameter", "wall")}
        for key, mm in size.items():
            if mm is not None and mm > LARGEST_NEW:
                reader.refuse(f"new-{key}", "This is longer than any part.")
        if errors:
            return errors
        measures = {key: mm or 0.0 for key, mm in size.items()}
        values = starting.part_of(studio, shape=shape, size=starting.Size(**measures))
    elif shape:
        return {"new-shape": ["Choose one of those offered."]}
    part = part_text(values, studio=studio)
    below = len(draft.parts)
    part.texts["name"] = free_name(draft, "body" if not below else "part")
    if below:
        part.texts |= {"sits": "on", "sits_at": str(below)}
    if not part.outer:
        part.outer = [PointText(), PointText()]
    draft.parts.append(part)
    draft.shown = below
    return {}


def _free_key(draft: Draft) -> str:
    taken = {laminate.key for laminate in draft.laminates}
    return next(key for key in (f"strips_{number}" for number in range(1, 1000)) if key not in taken)
