"""Strips nested into real boards: what to saw from which board, what to buy, and a bound no plan can beat."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.strips import (
    CuttingPlan,
    SawnBoard,
    Short,
    Strip,
    StripNeed,
    StripRule,
    WoodUse,
    pool_needs,
    strip_rule,
    wood_use,
)

__all__ = [
    "CuttingPlan",
    "SawnBoard",
    "Short",
    "Strip",
    "StripNeed",
    "StripRule",
    "WoodUse",
    "plan_cutting",
    "pool_needs",
    "strip_rule",
    "wood_use",
]


def plan_cutting(
    *,
    needs: Sequence[StripNeed],
    boards: Sequence[Board],
    usual: UsualBoard,
    price_per_mm3: Mapping[str, Decimal],
    shop: ShopSettings,
    effort: int = 1,
) -> CuttingPlan:
    """The plan of least cost that gives every segment. (Being built.)"""
    raise NotImplementedError
