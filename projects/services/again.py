"""Making a piece again: a design of its own from another, or from a finished piece, and a commission for it."""

from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import transaction

from estimating.errors import InvalidInput, InvalidSheet
from projects.again import Again, Asked, Start, worked_out
from projects.models import Client, Commission, Design
from projects.services.commissions import commission_create
from projects.services.designs import design_copy
from projects.wording import in_shop_units

OTHER_NOW = (
    "What is asked, or what it begins from, has been changed since it was shown. Look at it once more."
)
SIZE_PLACES = ("size", "target")


@dataclass(frozen=True, slots=True)
class Made:
    """What was saved: the new design, and its commission where one was asked for."""

    design: Design
    commission: Commission | None


def again_shown(*, start: Start, asked: Asked, client: Client | None = None) -> Again:
    """What the new piece would be, at the terms of a client where one is chosen. Nothing is saved.

    Errors: ValidationError in words where it cannot be made so.
    """
    studio = start.design.studio
    if client is not None and client.studio_id != studio.pk:
        raise ValidationError({"client": "Choose a client of this studio."})
    job = Commission(studio=studio, client=client, title=start.design.title) if client else None
    try:
        return worked_out(start, asked, commission=job)
    except InvalidInput as refusal:
        raise ValidationError(_sentence(refusal, start)) from refusal
    except InvalidSheet as refusal:
        raise ValidationError([_sentence(one, start) for one in refusal.errors]) from refusal


def _sentence(refusal: InvalidInput, start: Start) -> str:
    where = "The size" if refusal.place in SIZE_PLACES else f"{refusal.place}:"
    return in_shop_units(f"It cannot be made so. {where} {refusal.reason}.", start.design.studio)


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
        if client is None:
            return Made(design, None)
        return Made(
            design, commission_create(studio=design.studio, client=client, title=title, design=design)
        )
