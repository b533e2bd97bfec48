"""What the arithmetic or a service refuses, put at the fields of the drawing board it means."""

import re

from django.core.exceptions import ValidationError

from estimating.errors import InvalidInput, InvalidSheet
from projects.models import Studio
from projects.pages.draft import Draft, Piece
from projects.places import form_place
from projects.wording import in_shop_units

POINT = re.compile(
    r"\A(?:parts\[(?P<index>\d+)\]\.)?form\.(?P<curve>outer|inside\.inner)\[(?P<row>\d+)\](?:\[(?P<part>[012])\])?\Z"
)
COORDINATES = {None: "height", "0": "height", "1": "diameter", "2": "corner"}


def refused_sheet(draft: Draft, piece: Piece, refusal: InvalidSheet, *, studio: Studio) -> None:
    """Put the errors of an estimate at the fields they mean, in the studio's unit."""
    for error in refusal.errors:
        reason = in_shop_units(_as_sentence(error.reason), studio)
        draft.errors.setdefault(_field_of(error, piece), []).append(reason)


def _field_of(error: InvalidInput, piece: Piece) -> str:
    if point := POINT.match(error.place):
        index = int(point["index"] or 0)
        curve = "outer" if point["curve"] == "outer" else "inner"
        rows, row = piece.rows[index][curve] if index < len(piece.rows) else [], int(point["row"])
        name = f"parts-{index}-{curve}"
        return f"{name}-{rows[row]}-{COORDINATES[point['part']]}" if row < len(rows) else name
    place = form_place(error)
    part = f"parts-{place.part}"
    match place.section:
        case "band" if place.index is not None:
            return f"{part}-bands-{place.index}-{place.field or 'layers'}"
        case "band":
            return f"{part}-bands"
        case "form" | "part":
            return f"{part}-{place.field}" if place.field else part
        case "design":
            return place.field
        case "settings":
            return f"settings {place.field}"
    return ""


def refused_save(draft: Draft, refusal: ValidationError) -> None:
    """Put a service's refusal at the fields it means."""
    if not hasattr(refusal, "error_dict"):
        draft.errors.setdefault("", []).extend(refusal.messages)
        return
    for place, messages in refusal.message_dict.items():
        draft.errors.setdefault(_named(place), []).extend(messages)


def _named(place: str) -> str:
    """`parts[0].bands[1].woods` as `parts-0-bands-1-woods`, `parts[0].form.outer` as `parts-0-outer`."""
    if place == "__all__":
        return ""
    return re.sub(r"[\[.]", "-", place.replace(".form.", ".").removesuffix(".form").replace("]", ""))


def _as_sentence(reason: str) -> str:
    text = f"{reason[:1].upper()}{reason[1:]}"
    return text if text.endswith((".", "?")) else f"{text}."
