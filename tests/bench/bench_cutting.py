"""Timings of the sawing plan, with how far each is from its bound: medians over made-up pieces, apart from the rest."""

import random
import statistics
import time
from decimal import Decimal
from math import pi, tan

from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.cutting import StripNeed, plan_cutting
from estimating.wood.search import least_cost
from tests.bench.shop_cases import shop_cases

CLOSE = 0.01
SECONDS = 10
"""What is aimed at: plans within so much of the bound, or proven, in so long."""

PRICE = {"ash": Decimal("0.0000022"), "walnut": Decimal("0.0000048")}
RACK = [
    Board("ash", 1800.0, 150.0, 27.0, 4, Decimal(18)),
    Board("ash", 1200.0, 120.0, 40.0, 2, Decimal("22.50")),
    Board("walnut", 2100.0, 140.0, 27.0, 3, Decimal(41)),
    Board("walnut", 900.0, 200.0, 25.0, 2, Decimal(30)),
]


def made_up_piece(*, rings: int, seed: int) -> list[StripNeed]:
    """Rings of two woods, half the segments each, radii and widths drawn."""
    draw = random.Random(seed)
    needs = []
    for ring in range(1, rings + 1):
        segments = draw.choice([12, 16, 24])
        outer, width, height = draw.uniform(40, 130), draw.uniform(14, 35), draw.choice([15.0, 20.0])
        phi = pi / segments
        needs += [
            StripNeed(
                wood=wood,
                width=width,
                height=height,
                miter=phi,
                outer_edge=2 * outer * tan(phi),
                inner_edge=2 * (outer - width) * tan(phi),
                rings=((ring, segments // 2 + 1),),
            )
            for wood in ("ash", "walnut")
        ]
    return needs


def shop_like(*, rings: int, rack: list[Board], cases: int) -> None:
    """Print the median time and the gaps to the bound."""
    times, gaps, proven = [], [], 0
    for seed in range(cases):
        needs = made_up_piece(rings=rings, seed=seed)
        begin = time.process_time()
        plan = plan_cutting(
            needs=needs, boards=rack, usual=UsualBoard(), price_per_mm3=PRICE, shop=ShopSettings()
        )
        times.append(time.process_time() - begin)
        gaps.append(plan.cost / plan.bound - 1)
        proven += plan.proven
    where = "from the rack" if rack else "all bought"
    print(
        f"{rings:3d} rings, two woods, {where:13s}: {statistics.median(times) * 1000:7.0f} ms (worst"
        f" {max(times) * 1000:.0f}); gap to the bound {statistics.median(gaps):.1%} (worst {max(gaps):.1%});"
        f" {proven} of {cases} proven"
    )


def fifty_orders(*, effort: int) -> None:
    """Print the gaps and times of the shop's fifty made-up orders."""
    times, gaps, proven = [], [], 0
    for case in shop_cases():
        least_cost.cache_clear()
        begin = time.process_time()
        plan = plan_cutting(
            needs=case.needs,
            boards=case.boards,
            usual=case.usual,
            price_per_mm3=case.price_per_mm3,
            shop=case.shop,
            effort=effort,
        )
        times.append(time.process_time() - begin)
        gaps.append(plan.cost / plan.bound - 1)
        proven += plan.proven
    within = sum(gap <= CLOSE for gap in gaps)
    in_time = sum(spent <= SECONDS for spent in times)
    print(
        f"fifty orders, effort {effort}: gap to the bound {statistics.median(gaps):.1%} (worst {max(gaps):.1%});"
        f" {within} within {CLOSE:.0%}, {proven} proven; {statistics.median(times):.1f} s (worst {max(times):.1f});"
        f" {in_time} within {SECONDS} s"
    )


def main() -> None:
    """Print all."""
    for rings in (6, 20, 60):
        shop_like(rings=rings, rack=[], cases=10)
        shop_like(rings=rings, rack=RACK, cases=10)
    for effort in (0, 1, 4):
        fifty_orders(effort=effort)


if __name__ == "__main__":
    main()
