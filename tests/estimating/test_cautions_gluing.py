"""Cautions of the adhesive: each at its figure's edge, and the words of each kind."""

from typing import Any

import pytest

from estimating.glue.kinds import KINDS
from tests.estimating.sheets import Json, answer, bowl, changed


def cautions(sheet: Json, code: str) -> list[Json]:
    return [caution for caution in answer(sheet)["cautions"] if caution["code"] == code]


def glued(shop: Json | None = None, **label: Any) -> Json:
    sheet = bowl(adhesive=label)
    sheet["shop"] |= shop or {}
    return sheet


@pytest.mark.parametrize(("bench", "cold"), [(15, False), (14.9, True)])
def test_a_bench_below_the_labels_least_temperature_is_a_warning(bench: float, cold: bool) -> None:
    found = cautions(glued({"temperature_c": bench}), "too_cold")
    assert bool(found) == cold
    for caution in found:
        assert (caution["severity"], caution["where"]) == ("warning", "shop.temperature_c")
        assert "label" in caution["message"]


def test_the_least_temperature_is_the_labels_own() -> None:
    assert not cautions(glued({"temperature_c": 11}, kind="pva"), "too_cold")
    assert cautions(glued({"temperature_c": 9}, kind="pva"), "too_cold")


def test_a_mix_that_sets_in_the_cup_is_a_warning_with_its_minutes() -> None:
    """At 61 degrees C, 40 above the label's, 30 min are 30 / 16 = 1.9, 0.7 of that 1.3: too short for two layers."""
    (caution,) = cautions(changed(bowl(), ["shop", "temperature_c"], 61), "working_time")
    assert "works for 1.3 minutes" in caution["message"]
    assert "set in the cup" in caution["message"]


@pytest.mark.parametrize(("least", "late"), [(1.99, True), (2.0, False), (0, False)])
def test_faces_of_a_stack_that_lie_open_too_long_are_a_warning(least: float, late: bool) -> None:
    """A layer is coated and set in 2 minutes; half rings of 12 have 10 joints at 0.1, 1 minute. 0 is not known."""
    found = cautions(glued({"coat_joint_min": 0.1}, open_min=least), "open_time")
    assert bool(found) == late


@pytest.mark.parametrize(("joint", "late"), [(0.3, False), (0.31, True)])
def test_joints_of_a_ring_lie_open_until_its_last_one_is_coated(joint: float, late: bool) -> None:
    """Half rings of 12 segments have 10 joints: 3 minutes at 0.3 each."""
    found = cautions(glued({"coat_joint_min": joint}, open_min=3), "open_time")
    assert bool(found) == late


@pytest.mark.parametrize(("limit", "hot"), [(0, False), (1, True), (80, False)])
def test_a_cup_above_what_the_label_lets_stand_in_it_is_a_warning(limit: float, hot: bool) -> None:
    found = cautions(glued(exotherm_ml=limit), "mix_heats")
    assert bool(found) == hot
    for caution in found:
        assert caution["where"] == "shop.cup_ml"
        assert "label" in caution["message"]


def single(made: str = "cut") -> Json:
    sheet = bowl(form={"outer": [[0, 40], [10, 50]]})
    sheet["bands"] = [sheet["bands"][0] | {"layers": 1, "made": made}]
    return sheet


def test_a_ring_by_itself_has_joints_near_end_grain_and_a_stack_bridges_them() -> None:
    (caution,) = cautions(single(), "end_grain")
    assert caution["where"] == "bands"
    assert "from memory" in caution["message"]
    assert not cautions(bowl(), "end_grain")


def test_staves_meet_along_the_grain() -> None:
    sheet = bowl(form={"outer": [[0, 60], [80, 60]], "inside": {"kind": "wall", "wall": 10, "floor": 0}})
    sheet["bands"] = [{"layers": 1, "thickness": 80, "segments": 12, "woods": ["ash"], "made": "staves"}]
    assert not cautions(sheet, "end_grain")


@pytest.mark.parametrize(
    ("cleaner", "burns"),
    [
        ("denatured alcohol", True),
        ("Acetone, outdoors", True),
        ("water, while it is wet", False),
        ("", False),
    ],
)
def test_a_cleaner_that_burns_is_told(cleaner: str, burns: bool) -> None:
    found = cautions(glued(cleaner=cleaner), "cleaner_burns")
    assert bool(found) == burns
    for caution in found:
        assert "safety data sheet" in caution["message"]


SAID = {"epoxy": "sensitises", "polyurethane": "isocyanates", "ca": "bonds skin", "hide": "hot"}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_says_what_it_harms_and_defers_to_its_label(kind: str) -> None:
    (caution,) = cautions(glued(kind=kind), "glue_and_dust")
    assert SAID.get(kind, "") in caution["message"]
    assert "label" in caution["message"]
    assert "safety data sheet" in caution["message"]
    if kind == "epoxy":
        assert "Nitrile gloves" in caution["message"]
        assert "fresh air" in caution["message"]
