"""How deep a hollow is behind its opening, and where to close it."""

import pytest

from estimating.estimate import estimate
from estimating.shape.reach import Hollow, hollows
from estimating.sheet import read_sheet
from tests.estimating.sheets import Json, bowl


def vessel(outer: list[list[float]], *, layers: int, floor: float = 10, **more: object) -> Json:
    """A vessel of like layers, 10 mm each, with a wall of 5 mm level (its sides stand in steps of 45 degrees or so)."""
    inner = [[h, r - 5] for h, r in outer if h >= floor]
    sheet = bowl(form={"outer": outer, "inside": {"kind": "curve", "inner": inner}}, **more)
    sheet["bands"] = [{"layers": layers, "thickness": 10, "segments": 12, "woods": ["maple"]}]
    return sheet


def found(sheet: Json) -> list[Hollow]:
    return hollows(estimate(read_sheet(sheet)).shapes[0])


def test_an_open_bowl_is_worked_through_its_rim() -> None:
    (hollow,) = found(vessel([[0, 30], [10, 35], [40, 60]], layers=4))
    assert (hollow.depth, hollow.opening, hollow.entry) == (pytest.approx(30), pytest.approx(110), 4)


def test_a_neck_is_the_opening_even_below_a_wide_lip() -> None:
    (hollow,) = found(vessel([[0, 30], [10, 35], [50, 60], [80, 20], [100, 40]], layers=10))
    assert (hollow.depth, hollow.opening) == (pytest.approx(90), pytest.approx(30))
    assert (hollow.close_at, hollow.close_above) == (pytest.approx(50), 5)


def test_a_form_closed_at_its_belly_is_worked_as_two_bowls_each_through_its_wide_end() -> None:
    lower, upper = found(vessel([[0, 30], [10, 35], [50, 60], [100, 20]], layers=10, close_at=[50]))
    assert (lower.depth, lower.opening, lower.entry) == (pytest.approx(40), pytest.approx(110), 5)
    assert (upper.depth, upper.opening, upper.entry) == (pytest.approx(50), pytest.approx(110), 6)


def test_a_tube_without_a_floor_is_worked_from_its_wider_end() -> None:
    (hollow,) = found(vessel([[0, 60], [100, 20]], layers=10, floor=0))
    assert (hollow.depth, hollow.opening, hollow.entry) == (pytest.approx(100), pytest.approx(110), 1)


def test_a_solid_piece_has_no_hollow() -> None:
    assert found(bowl()) == []


def test_a_hollow_with_no_opening_is_out_of_reach_and_said_so() -> None:
    from tests.estimating.sheets import answer, bowl

    form = {"kind": "sphere", "diameter": 80, "inside": {"kind": "wall", "wall": 6, "floor": 6}}
    band = {"layers": 8, "thickness": 10, "segments": 12, "woods": ["maple"]}
    found = [c for c in answer(bowl(form=form, bands=[band]))["cautions"] if c["code"] == "out_of_reach"]
    assert len(found) == 1
    assert "has no opening that a tool could go in by" in found[0]["message"]
    assert "close it at" in found[0]["message"]
