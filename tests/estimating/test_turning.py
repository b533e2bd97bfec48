"""The order of turning: held, hollowed, closed, turned, fitted, parted."""

import pytest

from estimating.estimate import estimate
from estimating.sheet import read_sheet
from estimating.work.turning import turning_steps
from tests.estimating.sheets import Json, answer, bowl, without
from tests.estimating.test_parts import BODY, jar


def steps(sheet: Json) -> list[tuple[str, str, tuple[int, int]]]:
    return [(s.part, s.step, s.layers) for s in turning_steps(estimate(read_sheet(sheet)).shapes)]


def test_an_open_form_is_held_turned_outside_then_inside_and_finished_at_the_foot() -> None:
    assert steps(BODY) == [
        ("", "hold", (1, 1)),
        ("", "outside", (1, 5)),
        ("", "inside", (1, 5)),
        ("", "foot", (1, 1)),
    ]


def test_a_solid_form_has_no_inside_to_turn() -> None:
    assert [step for _, step, _ in steps(bowl())] == ["hold", "outside", "foot"]


def test_a_closed_form_is_turned_inside_bowl_by_bowl_before_it_is_closed() -> None:
    assert steps(BODY | {"close_at": [22, 42]})[1:-1] == [
        ("", "inside", (1, 2)),
        ("", "inside", (3, 4)),
        ("", "inside", (5, 5)),
        ("", "close", (2, 3)),
        ("", "close", (4, 5)),
        ("", "outside", (1, 5)),
    ]


def test_a_lid_is_fitted_to_its_rim_and_a_knob_glued_on() -> None:
    found = steps(jar())
    assert ("lid", "fit", (6, 6)) in found
    assert found[-1] == ("knob", "join", (9, 9))


@pytest.mark.parametrize(
    ("holding", "held", "foot"),
    [
        (
            {"by": "tenon", "depth": 6, "parting": 2},
            "a tenon 6 mm deep",
            "Part off the tenon, 2 mm for the tool",
        ),
        ({"by": "waste_block", "depth": 25}, "a waste block 25 mm thick", "Turn the waste block away"),
        ({"by": "recess", "depth": 4}, "a recess 4 mm deep", "Turn it round and finish the foot"),
    ],
)
def test_the_holding_is_said_at_the_start_and_taken_off_at_the_end(
    holding: Json, held: str, foot: str
) -> None:
    sheet = without(BODY, ["allowance", "bottom"])
    bottom = {"tenon": 8, "waste_block": 0, "recess": 0}[holding["by"]]
    sheet["bands"][0]["thickness"] += bottom
    found = answer(sheet | {"holding": holding})["turning"]
    assert held in found[0]["words"]
    assert found[-1]["words"].startswith(foot)
