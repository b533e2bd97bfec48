"""Timings of the sawing plan, with how far each is from its bound: medians over made-up pieces, apart from the rest."""

import random
import statistics
import time
from collections import Counter
from decimal import Decimal
from math import pi, tan

from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.bins import fewest_bars
from estimating.wood.cutting import StripNeed, plan_cutting

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


def triplets(*, bars: int, cases: int) -> None:
    """Print how many instances of known best answer are proven, by the recipe of Falkenauer (1996)."""
    times, proven = [], 0
    for seed in range(cases):
        draw = random.Random(seed)
        lengths: Counter[int] = Counter()
        for _ in range(bars):
            first = draw.randint(380, 490)
            second = draw.randint(250, (1000 - first) // 2)
            lengths.update((first, second, 1000 - first - second))
        begin = time.process_time()
        plan = fewest_bars(sizes=list(lengths), counts=list(lengths.values()), bar=1000)
        times.append(time.process_time() - begin)
        proven += plan.proven and len(plan.bars) == bars
    print(f"{bars * 3:3d} lengths in triplets: {statistics.median(times):.2f} s; {proven} of {cases} proven")


def main() -> None:
    """Print all."""
    for rings in (6, 20, 60):
        shop_like(rings=rings, rack=[], cases=10)
        shop_like(rings=rings, rack=RACK, cases=10)
    triplets(bars=20, cases=10)
    triplets(bars=40, cases=5)


if __name__ == "__main__":
    main()
