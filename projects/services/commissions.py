"""Taking commissions on and moving them through their stages."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from projects.models import Client, Commission, Studio
from projects.models.commissions import Stage
from projects.services.rack_reserve import release
from projects.services.saving import changed, checked
from projects.services.terms import SHARED_OUT, check_terms

# Nothing is sawn for these any more: what was reserved for them is free again.
DONE_SAWING = (Stage.DECLINED, Stage.DELIVERED, Stage.CLOSED)

# What may follow what. A step back is allowed where the work may go back; what was delivered is delivered.
MOVES: dict[str, tuple[str, ...]] = {
    Stage.ENQUIRY: (Stage.DESIGNING, Stage.DECLINED),
    Stage.DESIGNING: (Stage.QUOTED, Stage.ENQUIRY, Stage.DECLINED),
    Stage.QUOTED: (Stage.AGREED, Stage.DESIGNING, Stage.DECLINED),
    Stage.AGREED: (Stage.MAKING, Stage.DESIGNING, Stage.DECLINED),
    Stage.MAKING: (Stage.FINISHED, Stage.AGREED, Stage.DECLINED),
    Stage.FINISHED: (Stage.DELIVERED, Stage.MAKING),
    Stage.DELIVERED: (Stage.CLOSED,),
    Stage.CLOSED: (),
    Stage.DECLINED: (Stage.ENQUIRY, Stage.DESIGNING),
}


TO_ANSWER_FOR = ("payments", "papers", "sign_offs", "change_orders")
"""What stays to be accounted for, and keeps its commission on the list."""


def commission_create(*, studio: Studio, client: Client, title: str, **values: Any) -> Commission:
    """Take a commission on, as an enquiry."""
    _without_stage(values)
    return checked(changed(Commission(studio=studio), {"client": client, "title": title, **values}))


def commission_update(*, commission: Commission, **values: Any) -> Commission:
    """Change a commission; its stage moves by `commission_move`. Terms that leave no price are refused."""
    _without_stage(values)
    with transaction.atomic():
        saved = checked(changed(commission, values))
        if SHARED_OUT & values.keys():
            check_terms(studio=saved.studio, commission=saved)
        return saved


def _without_stage(values: dict[str, Any]) -> None:
    if "stage" in values:
        raise TypeError("A stage is changed by commission_move.")


def commission_move(*, commission: Commission, to: str) -> Commission:
    """Move a commission to another stage, one that may follow the stage it is in now.

    Errors: ValidationError at `stage` that names the stages that may follow.
    """
    with transaction.atomic():
        current: Commission = Commission.objects.select_for_update().get(pk=commission.pk)
        allowed = MOVES[current.stage]
        if to not in allowed:
            ways = " or ".join(Stage(stage).label for stage in allowed) or "nothing: it is done"
            known = Stage(to).label if to in Stage.values else to
            raise ValidationError(
                {"stage": f"From {current.get_stage_display()} a commission goes to {ways}, not to {known}."}
            )
        current.stage = to
        if to in DONE_SAWING:
            release(commission=current)
        return checked(current)


def commission_delete(*, commission: Commission) -> None:
    """Throw a commission away; refused once it has a quote issued, hours logged or money taken down."""
    with transaction.atomic():
        if commission.quotes.exclude(number="").exists():
            raise ValidationError("A quote was issued for this commission. Decline it instead.")
        if commission.hours.exists():
            raise ValidationError("Hours are logged for this commission. Decline it instead.")
        if any(getattr(commission, rows).exists() for rows in TO_ANSWER_FOR):
            raise ValidationError("Its client was asked for something, or has paid. Decline it instead.")
        release(commission=commission)
        commission.quotes.all().delete()
        commission.delete()
