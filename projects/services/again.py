"""Making a piece again: a design of its own from another, or from a finished piece, and a commission for it."""

from dataclasses import dataclass
from typing import Any

from django.core.exceptions import FieldDoesNotExist, ValidationError
from django.db import transaction

from estimating.errors import InvalidInput, InvalidSheet
from projects.again import Again, Asked, Start, worked_out
from projects.models import Band, Client, Commission, Design, Form, MadeFrom, Part, Wood
from projects.places import form_place
from projects.services.commissions import commission_create
from projects.services.designs import design_copy
from projects.services.saving import checked
from projects.wording import in_shop_units

OTHER_NOW = (
    "What is asked, or what it begins from, has been changed since it was shown. Look at it once more."
)


@dataclass(frozen=True, slots=True)
class Made:
    """What was saved: the new design, and its commission where one was asked for."""

    design: Design
    commission: Commission | None


def again_shown(*, start: Start, asked: Asked, client: Client | None = None) -> Again:
    """What the new piece would be, at the terms of a client where one is chosen. Nothing is saved.

    Errors: ValidationError by what is asked (`factor`, `height`, `diameter`, `keep`, `client`, `wood-KEY`) where that
    is at fault; else in words for the whole, where it cannot be made so.
    """
    studio = start.design.studio
    if client is not None and client.studio_id != studio.pk:
        raise ValidationError({"client": "Choose a client of this studio."})
    _check_woods(start, asked)
    job = Commission(studio=studio, client=client, title=start.design.title) if client else None
    try:
        return worked_out(start, asked, commission=job)
    except InvalidInput as refusal:
        name = _asked_at(refusal.place, asked)
        words = in_shop_units(f"It cannot be made so: {_said(name)} {refusal.reason}.", studio)
        raise ValidationError({name: words} if name else words) from refusal
    except InvalidSheet as refusal:
        raise ValidationError([_sentence(one, start) for one in refusal.errors]) from refusal


def _check_woods(start: Start, asked: Asked) -> None:
    shelf = set(Wood.objects.for_studio(start.design.studio).values_list("key", flat=True))
    wrong: dict[str, str] = {}
    for key in start.woods:
        by, name = asked.woods.get(key), key.replace("_", " ")
        if by and by not in shelf:
            wrong[f"wood-{key}"] = f"No wood on the shelf is called {by.replace('_', ' ')}."
        elif not by and key not in shelf:
            wrong[f"wood-{key}"] = f"{name.capitalize()} is no longer on the shelf: choose another wood."
    for key in asked.woods:
        if key not in start.woods:
            wrong[f"wood-{key}"] = f"The piece has no {key.replace('_', ' ')}."
    if wrong:
        raise ValidationError(wrong)


def _asked_at(place: str, asked: Asked) -> str:
    """The one of what is asked that a refusal of the arithmetic is about; empty where none is."""
    match place:
        case "layers":
            return "keep"
        case "factor":
            return "factor"
        case "height_factor":
            own = "height"
        case "radius_factor":
            own = "diameter"
        case _:
            return ""
    given = [name for name in ("factor", "height", "diameter") if getattr(asked, name) is not None]
    return own if own in given else next(iter(given), "")


def _said(name: str) -> str:
    return {"keep": "its layers", "": "the size"}.get(name, "the size in this field")


def _sentence(refusal: InvalidInput, start: Start) -> str:
    """A refusal of the sheet with its place in words: `Band 2 (body) of the lid, layer thickness`."""
    at = form_place(refusal)
    records = start.parts[at.part] if at.part < len(start.parts) else None
    where = []
    if records and at.section == "band" and at.index is not None and at.index < len(records.bands):
        own = records.bands[at.index].name
        where.append(f"band {at.index + 1}{f' ({own})' if own else ''}")
    elif at.section == "design":
        where.append(refusal.place)
    if records and len(start.parts) > 1 and at.section in ("band", "form", "part"):
        where[-1:] = [f"{where[0]} of the {records.part.name}" if where else f"the {records.part.name}"]
    if records and at.field and at.section in ("band", "form", "part"):
        where.append(_called(at.section, at.field))
    words = ", ".join(where) or "the piece"
    return in_shop_units(
        f"It cannot be made so. {words[:1].upper()}{words[1:]}: {refusal.reason}.", start.design.studio
    )


def _called(section: str, name: str) -> str:
    """A field of a record as the pages call it."""
    model: Any = {"band": Band, "form": Form, "part": Part}[section]
    try:
        return str(model._meta.get_field(name).verbose_name)
    except FieldDoesNotExist:
        return name.replace("_", " ")


def again_make(*, start: Start, asked: Asked, title: str, client: Client | None = None, seen: str) -> Made:
    """Save what `again_shown` shows: a design, and for a client a commission that goes by it, as an enquiry.

    `seen` is the mark of what was shown. Errors: ValidationError by field, with code `stale` where that is another
    piece now; nothing is saved then.
    """
    shown = again_shown(start=start, asked=asked, client=client)
    if shown.mark != seen:
        raise ValidationError(OTHER_NOW, code="stale")
    with transaction.atomic():
        design = design_copy(design=shown.design, title=title, parts=shown.parts, grown_from=start.origin)
        if start.record is not None:
            checked(MadeFrom(design=design, record=start.record))
        if client is None:
            return Made(design, None)
        return Made(
            design, commission_create(studio=design.studio, client=client, title=title, design=design)
        )
