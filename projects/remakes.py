"""Rings that are made again after a mishap: the saw's work for them, and which of them are still to be sawn."""

from collections import Counter
from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING

from django.core.exceptions import ValidationError

from projects import models
from projects.calendar import estimated
from projects.models.bench import StepState

if TYPE_CHECKING:
    from estimating.estimate import Estimate
    from estimating.steps.step import Step

_SAWING = ("rip", "cut.")
"""How the keys of the steps begin in which wood is sawn."""


def lost_rings(estimate: "Estimate", *, rings: Collection[int], layers: Collection[int]) -> frozenset[int]:
    """All rings that are lost with some rings and layers. Errors: ValidationError at `rings` or `layers`."""
    from estimating.remake import rings_of

    there = {ring.number for ring in estimate.rings}
    known = {layer for ring in estimate.rings for layer in ring.layers}
    wrong = {}
    if strange := sorted(set(rings) - there):
        wrong["rings"] = f"There is no ring {strange[0]}."
    if strange := sorted(set(layers) - known):
        wrong["layers"] = f"There is no layer {strange[0]}."
    if wrong:
        raise ValidationError(wrong)
    return frozenset(rings) | rings_of(estimate.shapes, layers)


def sawing_steps(estimate: "Estimate", rings: Iterable[int], *, session: float) -> "tuple[Step, ...]":
    """The steps at the saw for rings that are made again, once each; none where they cannot be sawn any more."""
    from estimating.errors import InvalidInput, InvalidSheet
    from estimating.remake import sawing_again

    lost = Counter(rings)
    if not lost:
        return ()
    try:
        return sawing_again(estimate, lost, session=session)
    except (InvalidInput, InvalidSheet):
        return ()


def still_to_saw(commission: models.Commission) -> Counter[int]:
    """The rings of a commission that are to be sawn again and are not yet, and how many of each."""
    rows = models.BenchStep.objects.filter(
        commission=commission, run__gt=0, state__in=(StepState.WAITING, StepState.RUNNING)
    )
    by_key: dict[str, Counter[int]] = {}
    for row in rows:
        # At the saw a step has rings where it is for those that were lost.
        if row.rings and row.key.startswith(_SAWING):
            by_key.setdefault(row.key, Counter()).update(row.rings)
    most: Counter[int] = Counter()
    for count in by_key.values():
        most |= count
    return most


def cut_again(commission: models.Commission) -> "Estimate | None":
    """The estimate of a commission with only what is to be sawn again in its needs and its cut list; None for nothing.

    It is cut from the boards of the rack and what is to be bought.
    Errors: ValidationError where the design cannot be worked out, or asks for no such ring any more.
    """
    from estimating.errors import InvalidInput, InvalidSheet
    from estimating.remake import sawn_again

    lost = still_to_saw(commission)
    if not lost:
        return None
    estimate = estimated(commission)
    try:
        return sawn_again(estimate, lost)
    except (InvalidInput, InvalidSheet) as refusal:
        raise ValidationError(f"What was lost cannot be sawn again: {refusal}.") from refusal
