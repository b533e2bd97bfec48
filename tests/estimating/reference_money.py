"""Hours, cost and price a second time, in plain loops, written from their written rules alone."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

Z90 = 1.2815515655446004  # the 90 % point of the normal distribution, any printed table
Json = dict[str, Any]


def labour_sum(medians: list[float], spreads: list[float], correlation: float = 0.3) -> tuple[float, ...]:
    """Mean, median, low and high of a sum of log-normals with one common correlation."""
    means = [m * math.exp(s * s / 2) for m, s in zip(medians, spreads, strict=True)]
    deviations = [mean * math.sqrt(math.exp(s * s) - 1) for mean, s in zip(means, spreads, strict=True)]
    total, variance = sum(means), 0.0
    for i, one in enumerate(deviations):
        for j, other in enumerate(deviations):
            variance += one * other * (1.0 if i == j else correlation)
    if total == 0:
        return 0.0, 0.0, 0.0, 0.0
    spread = math.sqrt(math.log(1 + variance / total**2))
    median = total * math.exp(-(spread**2) / 2)
    return total, median, median * math.exp(-Z90 * spread), median * math.exp(Z90 * spread)


def money(amount: Decimal, digits: int) -> Decimal:
    return amount.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_UP)


def cost_lines(
    sheet: Json, *, wood: Decimal, millilitres_: float, minutes: float, digits: int
) -> dict[str, Decimal]:
    """The rounded lines of cost and their total."""
    pricing = sheet["pricing"]
    hours = Decimal(minutes) / 60
    share = Decimal(str(pricing["failure_share"]))
    lines = {
        "wood": money(wood, digits),
        "adhesive": money(Decimal(millilitres_) * Decimal(pricing["adhesive_per_ml"]), digits),
        "consumables": money(Decimal(pricing["consumables"]), digits),
        "labour": money(hours * Decimal(pricing["labour_rate"]), digits),
        "overhead": money(hours * Decimal(pricing["overhead_rate"]), digits),
    }
    lines["failures"] = money(share / (1 - share) * sum(lines.values()), digits)
    lines["total"] = sum(lines.values(), Decimal(0))
    return lines


def price_lines(sheet: Json, *, cost: dict[str, Decimal], minutes: float, digits: int) -> dict[str, Decimal]:
    """Net, gallery's share, tax, retail, deposit and what is left an hour."""
    pricing = sheet["pricing"]
    net = money(cost["total"] / (1 - Decimal(str(pricing["margin"]))), digits)
    before = money(net / (1 - Decimal(str(pricing["gallery_share"]))), digits)
    tax = money(before * Decimal(str(pricing["tax"])), digits)
    retail = before + tax if pricing["tax_inclusive"] else before
    hours = Decimal(minutes) / 60
    return {
        "net": net,
        "gallery_share": before - net,
        "tax": tax,
        "retail": retail,
        "deposit": money(retail * Decimal(str(pricing["deposit_share"])), digits),
        "per_hour": money((net - (cost["total"] - cost["labour"])) / hours, digits),
    }
