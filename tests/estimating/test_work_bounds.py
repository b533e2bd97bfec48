"""The largest sheets there may be: they are estimated or refused within a bound of work and memory."""

import time
import tracemalloc
from math import sin
from typing import Any

import numpy as np
import pytest

from estimating.answer import as_json
from estimating.errors import InvalidInput, InvalidSheet
from estimating.estimate import estimate
from estimating.piece import Board, ShopSettings, UsualBoard
from estimating.shape.curves import smooth_curve
from estimating.shape.walls import wall_curve
from estimating.sheet import read_sheet
from estimating.wood.cutting import MOST_PAIRS, StripNeed, plan_cutting


def wavy(points: int, *, height: float) -> list[list[float]]:
    """A curve on which hardly two layers are alike; its waves follow no period of the layers."""
    return [[height * n / (points - 1), 100 + 30 * sin(n * 0.7) + 29 * sin(n * 2.3)] for n in range(points)]


def test_five_thousand_unlike_layers_of_many_woods_are_planned_within_a_minute_of_work() -> None:
    """They took more than five: the minute is several times what they take now on a slow machine."""
    woods = ["maple", "walnut", "cherry", "ash", "oak", "beech", "padauk", "alder", "apple", "holly"]
    sheet: dict[str, Any] = {
        "title": "As much as there may be",
        "unit": "mm",
        "form": {
            "outer": wavy(500, height=10_000),
            "inside": {"kind": "curve", "inner": [[0, 30], [10_000, 30]]},
        },
        "bands": [
            {"layers": 10, "thickness": 2, "segments": 24 + n % 13, "woods": [woods[n % 10]], "offset": 0.37}
            for n in range(500)
        ],
    }
    start = time.process_time()
    answer = as_json(estimate(read_sheet(sheet)))
    assert time.process_time() - start < 60
    sawn = sum(strip["segments"] for board in answer["cutting"]["boards"] for strip in board["strips"])
    assert sawn == sum(ring["segments"] for ring in answer["rings"])
    assert float(answer["cutting"]["bound"]) <= float(answer["cutting"]["cost"])


def test_more_kinds_of_board_for_more_strips_than_can_be_tried_are_refused_at_the_boards() -> None:
    strips, kinds = 1001, MOST_PAIRS // 1000
    needs = [StripNeed("ash", 20 + n / 100, 10.0, 0.1, 30.0, 25.0, ((n, 8),)) for n in range(strips)]
    boards = [Board("ash", 2000.0 + n, 150.0, 25.0, 1, UsualBoard().price_per_m3) for n in range(kinds)]
    with pytest.raises(InvalidInput, match="leave the smaller boards out") as refused:
        plan_cutting(needs=needs, boards=boards, usual=UsualBoard(), price_per_mm3={}, shop=ShopSettings())
    assert refused.value.place == "boards"


def test_a_segment_that_fits_no_board_is_refused_before_other_woods_are_planned() -> None:
    """Planning the wavy hundred layers of ash alone takes longer than the second allowed here."""
    hole = {"kind": "curve", "inner": [[0, 30], [650, 30]]}
    sheet = {
        "title": "Too large at its top",
        "unit": "mm",
        "form": {"outer": [*wavy(200, height=600), [601, 2000], [650, 2000]], "inside": hole},
        "bands": [
            {"layers": 150, "thickness": 4, "segments": 12, "woods": ["ash"]},
            {"layers": 5, "thickness": 10, "segments": 12, "woods": ["oak"]},
        ],
    }
    start = time.process_time()
    with pytest.raises(InvalidSheet, match="oak strip for one segment"):
        estimate(read_sheet(sheet))
    assert time.process_time() - start < 1


def test_the_wall_of_the_waviest_curve_is_found_in_little_memory() -> None:
    """It took more than a gigabyte; 400 MB leaves a small server standing."""
    heights, radii = np.array(wavy(500, height=10_000)).T
    curve = smooth_curve(heights, radii)
    tracemalloc.start()
    wall_curve(curve, wall=20.0, opening=20.0)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 400_000_000


def test_hundreds_of_hair_thin_strips_side_by_side_are_planned_within_a_minute_of_work() -> None:
    """They took more than two minutes: a board 500 wide holds eighty of them, of forty shapes."""

    def layer(number: int) -> dict[str, Any]:
        made = {"segments": 360, "offset": 0.37} if number % 2 else {"made": "solid"}
        return {"layers": 1, "thickness": 2, "woods": ["ash"], **made}

    parts = [
        {
            "name": f"part {n}",
            "form": {"outer": wavy(100, height=500)},
            "bands": [layer(k) for k in range(250)],
        }
        for n in range(20)
    ]
    start = time.process_time()
    found = estimate(
        read_sheet({"title": "Thin", "unit": "mm", "usual_board": {"width": 500}, "parts": parts})
    )
    assert time.process_time() - start < 60
    assert found.cutting.bound <= found.cutting.cost


@pytest.mark.parametrize("width", [0.01, 0.02])
def test_strips_too_narrow_for_the_grid_of_widths_are_planned_like_others(width: float) -> None:
    shop = ShopSettings(rip_kerf=0.0, board_edge_trim=0.0)
    needs = [StripNeed("ash", 17.0 + n * 1.37, 9.0, 0.1, 30.0, 25.0, ((n, 30),)) for n in range(1, 9)]
    needs.append(StripNeed("ash", width, 9.0, 0.1, 30.0, 25.0, ((9, 40),)))
    boards = [Board("ash", 900.0, 120.0, 12.0, 9, UsualBoard().price_per_m3)]
    plan = plan_cutting(needs=needs, boards=boards, usual=UsualBoard(), price_per_mm3={}, shop=shop)
    sawn = sum(strip.segments for board in plan.boards for strip in board.strips)
    assert sawn == 8 * 30 + 40
    assert 0 < plan.bound <= plan.cost
