"""Other ways to have the piece on one quote: put on its draft, frozen as it is issued, applied where one is taken."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from estimating.errors import InvalidInput, InvalidSheet
from projects.design_differs import fingerprint
from projects.drawings import quote_drawing
from projects.estimates import estimate_data, finish_of, sheet_data
from projects.models import Commission, Design, Finish, Quote, QuoteOption, Studio, Wood
from projects.models.quote_life import MOST_OPTIONS
from projects.options import Choice, Otherwise, otherwise
from projects.services.commissions import commission_update
from projects.services.designs import design_copy
from projects.services.freezing import frozen_species
from projects.services.saving import checked

CHANGED = "The options were changed while the quote was being issued. Look at them, then issue it."


def options_set(*, quote: Quote, options: Sequence[tuple[str, Choice]]) -> list[QuoteOption]:
    """Put options on a draft in the place of those it has, each with its title; one without is called by what is other.

    Errors: ValidationError at `options[i]` for one that changes nothing or too many; refused once the quote is issued.
    """
    if len(options) > MOST_OPTIONS:
        raise ValidationError(f"At most {MOST_OPTIONS} options on a quote.")
    for index, (_, choice) in enumerate(options):
        if choice.is_none:
            raise ValidationError({f"options[{index}]": "Say what is other than in the piece as drawn."})
    with transaction.atomic():
        held = Quote.objects.select_for_update().get(pk=quote.pk)
        for old in QuoteOption.objects.filter(quote=held):
            old.delete()
        return [
            checked(
                QuoteOption(
                    quote=held,
                    position=position,
                    title=title.strip() or _title(choice, studio=held.studio),
                    choice=choice_data(choice),
                )
            )
            for position, (title, choice) in enumerate(options, start=1)
        ]


def choice_data(choice: Choice) -> dict[str, Any]:
    """A choice as the option keeps it."""
    finish = choice.finish.pk if choice.finish else None
    return {
        "wood": choice.wood,
        "by": choice.by,
        "size": choice.size,
        "finish": finish,
        "quantity": choice.quantity,
    }


def choice_of(option: QuoteOption, *, studio: Studio) -> Choice:
    """The choice that an option keeps. Errors: ValidationError where its finish is not on the shelf any more."""
    kept = option.choice
    finish = None
    if kept.get("finish"):
        finish = Finish.objects.for_studio(studio).filter(pk=kept["finish"]).first()
        if finish is None:
            raise ValidationError(f"{option.title}: its finish is not on the shelf any more.")
    return Choice(
        wood=kept.get("wood", ""),
        by=kept.get("by", ""),
        size=float(kept.get("size") or 1),
        finish=finish,
        quantity=kept.get("quantity"),
    )


def differing(choice: Choice, *, studio: Studio) -> list[str]:
    """What is other, in the client's words."""
    names = dict(Wood.objects.for_studio(studio).values_list("key", "name"))
    said = []
    if choice.wood:
        said.append(f"{names.get(choice.by, choice.by)} in place of {names.get(choice.wood, choice.wood)}")
    if choice.size != 1.0:
        share = round(abs(choice.size - 1) * 100, 1)
        said.append(f"{share:g} % {'larger' if choice.size > 1 else 'smaller'} all over")
    if choice.finish is not None:
        said.append(f"finish: {choice.finish.name}")
    if choice.quantity is not None:
        said.append("one piece" if choice.quantity == 1 else f"{choice.quantity} pieces")
    return said


def _title(choice: Choice, *, studio: Studio) -> str:
    said = ", ".join(differing(choice, studio=studio))
    return f"{said[:1].upper()}{said[1:]}"[:120]


Frozen = dict[int, tuple[Mapping[str, Any], dict[str, Any]]]


def options_frozen(commission: Commission) -> Frozen:
    """What the options of a commission's draft freeze, by their keys, beside the choice it was made of.

    Errors: ValidationError that names each option which cannot be made.
    """
    draft = QuoteOption.objects.filter(quote__commission=commission, quote__state="draft")
    found: Frozen = {}
    wrong: list[str] = []
    for option in draft.order_by("position"):
        try:
            found[option.pk] = (option.choice, _frozen(option, commission))
        except (InvalidInput, InvalidSheet) as refusal:
            reasons = refusal.errors if isinstance(refusal, InvalidSheet) else [refusal]
            wrong.append(f"{option.title} cannot be made so: {'; '.join(map(str, reasons))}.")
    if wrong:
        raise ValidationError(wrong)
    return found


def _frozen(option: QuoteOption, commission: Commission) -> dict[str, Any]:
    from estimating.answer import as_json  # brings the arithmetic, which only issuing needs

    design, studio = commission.design, commission.studio
    assert design is not None, "a quote is issued of a design"
    choice = choice_of(option, studio=studio)
    other = otherwise(design, choice, commission=commission)
    data = other.sheet_data(commission=commission)
    _, estimate = estimate_data(data, studio=studio)
    finish = finish_of(other.design)
    return {
        "says": differing(choice, studio=studio),
        "sheet": data,
        "estimate": as_json(estimate),
        "drawing": quote_drawing(estimate, studio=studio),
        "species": frozen_species(studio, estimate.wood),
        "finish": {"name": finish.name, "coats": finish.coats} if finish else {},
    }


def options_freeze(*, quote: Quote, frozen: Frozen) -> list[QuoteOption]:
    """Write down what was frozen of a draft's options as it is issued; refused where they changed meanwhile."""
    options = list(QuoteOption.objects.filter(quote=quote).order_by("position"))
    if {option.pk: option.choice for option in options} != {
        key: choice for key, (choice, _) in frozen.items()
    }:
        raise ValidationError(CHANGED)
    for option in options:
        for name, value in frozen[option.pk][1].items():
            setattr(option, name, value)
        checked(option)
    return options


def option_apply(*, commission: Commission, option: QuoteOption) -> Design:
    """Let a commission go by a copy of its design made as the option says, so that it is what was agreed.

    Errors: ValidationError where the design has been changed since, or the option cannot be made of it any more.
    """
    design = commission.design
    if design is None:
        raise ValidationError("The commission has no design any more.")
    try:
        choice = choice_of(option, studio=commission.studio)
        other = otherwise(design, choice, commission=commission)
        data = other.sheet_data(commission=commission)
    except (InvalidInput, InvalidSheet) as refusal:
        raise ValidationError("The design cannot be made as the option says any more.") from refusal
    if fingerprint(data) != fingerprint(option.sheet):
        raise ValidationError("The design has been changed since the quote was issued.")
    with transaction.atomic():
        made = _made(other, title=f"{design.title}: {option.title}"[:160])
        more = {"quantity": choice.quantity} if choice.quantity else {}
        commission_update(commission=commission, design=made, **more)
        return made


def _made(other: Otherwise, *, title: str) -> Design:
    return design_copy(design=other.design, title=title, parts=other.parts)


def is_as_frozen(commission: Commission, sheet: Mapping[str, Any]) -> bool:
    """Whether a commission's design is still the piece of a frozen sheet."""
    if commission.design is None:
        return False
    return fingerprint(sheet_data(commission.design, commission=commission)) == fingerprint(sheet)
