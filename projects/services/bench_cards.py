"""The glue card of each glue-up at the bench: of the design as it is until the work begins, and kept from then on."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError

from projects.calendar import estimated, marks_now
from projects.models import BenchStep, Studio
from projects.models.bench import StepState

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.glue.card import Card
    from projects.papers.glue_cards import CardShown

MIX = "mix adhesive"
"""The operation that tells a glue-up from what is done to it later."""


def is_glue_up(step: BenchStep) -> bool:
    """Whether adhesive is mixed and spread in a step."""
    return step.glue_up is not None and not step.is_passive and MIX in step.shares


def cards_kept(*, studio: Studio, steps: Iterable[BenchStep]) -> None:
    """Put its card on each of these steps that is a glue-up: in `card`, as plain values, and in its row.

    A step that has begun keeps the card that it began with. One whose glue-up the design no longer has gets none.
    Working a design out takes a second or two, so it is done only where that has changed since.
    """
    try:
        marks = marks_now(studio)
    except ValidationError:
        return  # the calendar says so, and why
    unit = f"{studio.length_unit} {studio.inch_style}"
    missing: defaultdict[int, list[BenchStep]] = defaultdict(list)
    for step in steps:
        mark = f"{marks.get(f'job {step.commission_id}', '')} {unit}"
        begun = step.state != StepState.WAITING and step.card
        if is_glue_up(step) and not begun and step.card.get("mark") != mark:
            step.card = {"mark": mark}
            missing[step.commission_id].append(step)
    for rows in missing.values():
        try:
            estimate = estimated(rows[0].commission)
        except ValidationError:
            estimate = None  # the calendar says so, and why
        for step in rows:
            card = _card(estimate, step, studio) if estimate is not None else None
            step.card |= {} if card is None else _plain(card)
            # Begun meanwhile, it has the card that it began with.
            same = BenchStep.objects.for_studio(studio).filter(pk=step.pk, state=step.state)
            same.update(card=step.card)


def _plain(card: "CardShown") -> dict[str, Any]:
    """As JSON gives it back."""
    return {name: list(value) if isinstance(value, tuple) else value for name, value in asdict(card).items()}


def _card(estimate: "Estimate", step: BenchStep, studio: Studio) -> "CardShown | None":
    # Imported here since it brings numpy, which a page whose cards are kept does without.
    from projects.papers.glue_cards import card_shown

    number = step.glue_up or 0
    if not 0 < number <= len(estimate.cards):
        return None
    card = estimate.cards[number - 1]
    glue_up = card.glue_up
    if tuple(step.layers) != glue_up.layers or not set(step.rings) <= set(glue_up.rings):
        return None
    if set(step.rings) < set(glue_up.rings):
        card = of_rings(estimate, card, step.rings)
    return replace(card_shown(estimate, card, studio=studio), number=number)


def of_rings(estimate: "Estimate", card: "Card", rings: Collection[int]) -> "Card":
    """The card of a glue-up of fewer of its rings, as when some are made again: its mix is for these alone."""
    from estimating.glue.cards import Bench, glue_cards
    from estimating.glue.joints import joint_areas
    from estimating.glue.mixing import mix_for

    whole, sheet = card.glue_up, estimate.sheet
    kept = [place for place, ring in enumerate(whole.rings) if ring in rings]
    glue_up = replace(
        whole,
        number=1,
        rings=tuple(whole.rings[place] for place in kept),
        end_shares=tuple(whole.end_shares[place] for place in kept) if whole.end_shares else (),
    )
    areas = joint_areas(estimate.shapes, margin=sheet.shop.coat_margin)
    adhesive = mix_for([glue_up], areas, quantity=1, shop=sheet.shop, label=sheet.label)
    oily = {key for key, wood in estimate.workshop.woods.items() if wood.oily}
    return glue_cards(Bench(estimate.shapes, [glue_up], areas, adhesive, sheet.shop, sheet.label, oily))[0]
