"""Cautions: what the maker should know before the saw, each with its place and what would mend it."""

from collections.abc import Mapping, Sequence

from estimating.cautions import (
    assembly,
    covering,
    gluing,
    joints,
    lathe,
    making,
    pieces,
    sawing,
    walls,
    weather,
)
from estimating.cautions import woods as woods_used
from estimating.cautions.seen import Caution, Rule, Seen, Severity
from estimating.glue.card import Card
from estimating.piece import Sheet
from estimating.shape.build import Shape
from estimating.wood.species import Species
from estimating.wood.strips import CuttingPlan
from estimating.wood.weather import Movement

__all__ = ["RULES", "Caution", "Severity", "find_cautions"]

RULES: tuple[Rule, ...] = (
    making.stack,
    *covering.RULES,
    *walls.RULES,
    *sawing.RULES,
    *joints.RULES,
    *pieces.RULES,
    *weather.RULES,
    *woods_used.RULES,
    *gluing.RULES,
    *assembly.RULES,
    making.buying,
    *lathe.RULES,
    *gluing.ALWAYS,
)
"""Every rule, in the order of the work."""


def find_cautions(
    *,
    sheet: Sheet,
    shapes: Sequence[Shape],
    plan: CuttingPlan,
    woods: Mapping[str, Species],
    movement: Movement | None = None,
    cards: Sequence[Card] = (),
) -> tuple[Caution, ...]:
    """Every caution of a piece, in the order of the work. `woods` are the shop's, `cards` those of its glue-ups."""
    seen = Seen(sheet, shapes, plan, woods, movement, cards)
    return tuple(caution for rule in RULES for caution in rule(seen))
