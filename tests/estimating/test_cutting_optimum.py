"""The plan and its bound against every plan there is, on cases small enough to list them all."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from math import cos, inf, tan

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.wood.cutting import StripNeed, plan_cutting
from tests.bench.shop_cases import shop_case

SMALL_SHOP = ShopSettings(
    rip_kerf=3.0,
    crosscut_kerf=2.0,
    board_end_trim=10.0,
    board_edge_trim=2.0,
    keep_length=90.0,
    keep_width=30.0,
    strip_hold=25.0,
    strip_lies="flat",
    min_rip_length=0.0,
    min_rip_width=0.0,
    min_planer_length=0.0,
)
USUAL = UsualBoard(length=420.0, width=90.0, thicknesses=(25.0,))

Strips = tuple[tuple[int, int], ...]
"""(shape, segments) of each strip."""


def partitions(total: int, most: int) -> Iterator[tuple[int, ...]]:
    """Every way to write a number as a sum of parts up to `most`, largest first."""
    if total == 0:
        yield ()
    for part in range(min(total, most), 0, -1):
        for rest in partitions(total - part, part):
            yield (part, *rest)


def groupings(things: Sequence[object]) -> Iterator[list[list[object]]]:
    """Every way to put things into groups."""
    if not things:
        yield []
        return
    first, *rest = things
    for groups in groupings(rest):
        yield [[first], *groups]
        for at in range(len(groups)):
            yield [*groups[:at], [first, *groups[at]], *groups[at + 1 :]]


def strip_length(need: StripNeed, segments: int, shop: ShopSettings) -> float:
    """N m + (N + 1) k / cos(phi) + w tan(phi) + hold."""
    mean = (need.outer_edge + need.inner_edge) / 2
    kerfs = (segments + 1) * shop.crosscut_kerf / cos(need.miter)
    return segments * mean + kerfs + need.width * tan(need.miter) + shop.strip_hold


def board_cost(
    lanes: Sequence[tuple[float, float]], length: float, width: float, price: float, shop: ShopSettings
) -> float:
    """Price less the share kept; infinite where the lanes do not fit. Lanes are (width, used length)."""
    end, edge, rip, kerf = shop.board_end_trim, shop.board_edge_trim, shop.rip_kerf, shop.crosscut_kerf
    near = edge + rip if edge > 0 else 0.0
    across = sum(x for x, _ in lanes) + (len(lanes) - 1) * rip + 2 * near
    if across > width + 1e-9 or any(used > length - 2 * end + 1e-9 for _, used in lanes):
        return inf
    beside = width - near - sum(x + rip for x, _ in lanes)
    longest = max(used for _, used in lanes)

    def kept(pieces: list[tuple[float, float]]) -> float:
        just = 1e-9  # what is kept at all to the last bit is kept
        return sum(a * b for a, b in pieces if a >= shop.keep_length - just and b >= shop.keep_width - just)

    ripped = [(length - end, beside)] + [(length - end - used - kerf, x) for x, used in lanes]
    best = kept(ripped)
    for at in [longest, shop.keep_length, *(used + kerf + shop.keep_length for _, used in lanes)]:
        if longest <= at <= length - end - kerf:
            crosscut = [(length - end - at - kerf, width), (at, beside)]
            best = max(best, kept(crosscut + [(at - used - kerf, x) for x, used in lanes]))
    return price * (1 - best / (length * width))


def least_cost(
    needs: Sequence[StripNeed], boards: Sequence[tuple[float, float, float, int]], shop: ShopSettings
) -> float:
    """The cheapest of all plans: every split into strips, of strips into lanes, of lanes onto boards.

    Boards are (length, width, price, count).
    """
    every_split: list[Strips] = [()]
    for shape, need in enumerate(needs):
        total = sum(count for _, count in need.rings)
        every_split = [
            (*strips, *((shape, part) for part in parts))
            for strips in every_split
            for parts in partitions(total, total)
        ]
    best = inf
    seen_lanes: set[tuple[Strips, ...]] = set()
    for strips in every_split:
        for lanes in groupings(strips):
            key = tuple(sorted(tuple(sorted(lane)) for lane in lanes))
            if key not in seen_lanes:
                seen_lanes.add(key)
                best = min(best, _cheapest_boards(key, needs, boards, shop))
    return best


def _cheapest_boards(
    lanes: tuple[Strips, ...],
    needs: Sequence[StripNeed],
    boards: Sequence[tuple[float, float, float, int]],
    shop: ShopSettings,
) -> float:
    sizes = [
        (max(needs[shape].width for shape, _ in lane), sum(strip_length(needs[s], n, shop) for s, n in lane))
        for lane in lanes
    ]
    longest = max(length for length, *_ in boards)
    if any(used > longest - 2 * shop.board_end_trim + 1e-9 for _, used in sizes):
        return inf
    best = inf
    for groups in groupings(sizes):
        costs = [[board_cost(group, a, b, price, shop) for a, b, price, _ in boards] for group in groups]
        best = min(best, _assign(costs, [count for *_, count in boards]))
    return best


def _assign(costs: list[list[float]], counts: list[int]) -> float:
    """The cheapest way to give each group of lanes a board."""
    if not costs:
        return 0.0
    best = inf
    for kind, cost in enumerate(costs[0]):
        if counts[kind] and cost < inf:
            left = [count - (at == kind) for at, count in enumerate(counts)]
            best = min(best, cost + _assign(costs[1:], left))
    return best


@st.composite
def small_needs(draw: st.DrawFn) -> list[StripNeed]:
    """One to three shapes, no two alike, up to five segments in all."""
    counts = draw(st.sampled_from([(5,), (4, 1), (3, 2), (2, 2, 1), (3, 1, 1), (2,), (1, 1)]))
    needs = []
    for ring, count in enumerate(counts, start=1):
        inner = draw(st.floats(20, 60))
        needs.append(
            StripNeed(
                wood="ash",
                width=draw(st.floats(8, 38)) + ring / 1000,
                height=20.0,
                miter=draw(st.sampled_from([0.1, 0.2618])),
                outer_edge=inner + draw(st.floats(1, 20)),
                inner_edge=inner,
                rings=((ring, count),),
            )
        )
    return needs


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(needs=small_needs(), edge=st.sampled_from([0.0, 2.0]), keep=st.sampled_from([60.0, 90.0, 500.0]))
def test_no_plan_to_buy_costs_less_than_the_bound(needs: list[StripNeed], edge: float, keep: float) -> None:
    shop = ShopSettings(**{**_settings(SMALL_SHOP), "board_edge_trim": edge, "keep_length": keep})
    price = Decimal("0.00001")
    plan = plan_cutting(needs=needs, boards=[], usual=USUAL, price_per_mm3={"ash": price}, shop=shop)
    board_price = float((Decimal(420 * 90 * 25) * price).quantize(Decimal("0.01")))
    best = least_cost(needs, [(420.0, 90.0, board_price, 99)], shop)
    assert plan.bound <= best * (1 + 1e-9)
    assert plan.cost >= best * (1 - 1e-9)
    if plan.proven:
        assert plan.cost == pytest.approx(best, rel=1e-8)


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(needs=small_needs(), price=st.integers(2, 9))
def test_no_plan_from_the_rack_costs_less_than_the_bound(needs: list[StripNeed], price: int) -> None:
    rack = [
        Board("ash", 420.0, 90.0, 25.0, 3, Decimal(9)),
        Board("ash", 300.0, 70.0, 30.0, 2, Decimal(price)),
    ]
    plan = plan_cutting(needs=needs, boards=rack, usual=USUAL, price_per_mm3={}, shop=SMALL_SHOP)
    best = least_cost(needs, [(420.0, 90.0, 9.0, 3), (300.0, 70.0, float(price), 2)], SMALL_SHOP)
    if plan.short:  # the search could not place all on the rack: then listing all plans must not either
        assert best == inf
        return
    assert plan.bound <= best * (1 + 1e-9)
    assert plan.cost >= best * (1 - 1e-9)
    if plan.proven:
        assert plan.cost == pytest.approx(best, rel=1e-8)


def _settings(shop: ShopSettings) -> dict[str, object]:
    return {name: getattr(shop, name) for name in shop.__slots__}


def test_more_effort_never_makes_a_plan_dearer() -> None:
    # An order on which one annealing twice as long ends dearer than the short one.
    case = shop_case(12)
    plans = [
        plan_cutting(
            needs=case.needs,
            boards=case.boards,
            usual=case.usual,
            price_per_mm3=case.price_per_mm3,
            shop=case.shop,
            effort=effort,
        )
        for effort in (1, 2, 3)
    ]
    costs = [plan.cost for plan in plans]
    assert costs == sorted(costs, reverse=True)
    assert all(plan.bound <= plan.cost for plan in plans)
