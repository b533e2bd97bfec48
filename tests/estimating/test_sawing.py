"""Several jobs sawn together: each ring stays its job's own, and boards are shared."""

from decimal import Decimal

import pytest

from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.sawing import SawingJob, plan_sawing
from estimating.wood.needs import Needs
from estimating.wood.strips import StripNeed

SHOP = ShopSettings(
    board_end_trim=0.0, board_edge_trim=0.0, rip_kerf=0.0, crosscut_kerf=0.0, strip_hold=0.0, min_rip_length=0.0,
    min_planer_length=0.0,
)  # fmt: skip


def job(label: str, *counts: int) -> SawingJob:
    needs = [
        StripNeed("ash", 50.0, 20.0, 0.0, 50.0, 50.0, ((ring, count),))
        for ring, count in enumerate(counts, start=1)
    ]
    return SawingJob(label, Needs(tuple(needs), ()))


def planned(*jobs: SawingJob, boards: int):
    return plan_sawing(
        jobs,
        boards=[Board("ash", 500.0, 50.0, 20.0, boards, Decimal(8))],
        usual=UsualBoard(),
        price_per_mm3={"ash": Decimal("0.000003")},
        shop=SHOP,
    )


def test_two_jobs_share_a_board_that_each_would_half_fill() -> None:
    plan = planned(job("vase", 5), job("bowl", 5), boards=1)
    assert [board.buy for board in plan.cutting.boards] == [False]
    assert plan.cutting.cost == pytest.approx(8)


def test_each_ring_of_the_plan_is_known_by_its_job() -> None:
    plan = planned(job("vase", 3, 2), job("bowl", 4), boards=1)
    served = {ring for board in plan.cutting.boards for strip in board.strips for ring in strip.rings}
    assert sorted(plan.ring(number) for number in served) == [(0, 1), (0, 2), (1, 1)]
    with pytest.raises(KeyError):
        plan.ring(0)
