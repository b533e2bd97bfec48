"""Cautions of gluing up, each with the sheet that earns it and the nearest that does not."""

from typing import Any

import pytest

from tests.estimating.kinds import built, cut, disc
from tests.estimating.sheets import Json, answer, bowl, changed
from tests.estimating.test_assembly import tube


def told(sheet: Json, code: str) -> list[Json]:
    return [caution for caution in answer(sheet)["cautions"] if caution["code"] == code]


@pytest.mark.parametrize(("clamps", "sessions"), [(4, "6 sessions"), (9, "4 sessions"), (10, ""), (20, "")])
def test_too_few_ring_clamps_are_told_with_what_the_adhesive_would_allow(clamps: int, sessions: str) -> None:
    """21 minutes at 0.3 a joint are 70 joints: seven halves of ten joints at once. Ten rings are two sessions of halves
    and one of rings; nine clamps make that two and two, four three and three."""
    found = told(tube(shop={"ring_clamps": clamps}), "few_ring_clamps")
    assert bool(found) == bool(sessions)
    for caution in found:
        assert sessions in caution["message"]
        assert caution["where"] == "shop.ring_clamps"


def test_a_ring_with_more_joints_than_time_is_told() -> None:
    """Halves of 24 segments have 22 joints: at 0.3 minutes 6.6, at 1 minute 22 of the 21 there are."""
    sheet = built(cut(thickness=14, segments=24))
    assert not told(sheet, "slow_ring")
    assert not told(changed(sheet, ["shop", "coat_joint_min"], 21 / 22), "slow_ring")
    (caution,) = told(changed(sheet, ["shop", "coat_joint_min"], 1.0), "slow_ring")
    assert "Ring 1: 22 joints take 22 minutes" in caution["message"]
    assert caution["severity"] == "warning"


@pytest.mark.parametrize(("bore", "earns"), [(12.8, True), (12.9, False), (30, False)])
def test_a_bore_that_the_mandrel_does_not_go_through_is_told(bore: float, earns: bool) -> None:
    form = {"outer": [[0, 40], [24, 40]]}
    sheet = built(disc(layers=2, bore=bore), form=form)
    found = told(sheet, "mandrel_too_thick")
    assert bool(found) == earns
    assert all(caution["where"] == "bands[0].bore" for caution in found)
    assert not told(changed(sheet, ["shop", "mandrel_diameter"], 0), "mandrel_too_thick")


def thin(thickness: float, **changes: Any) -> Json:
    """Twelve thin layers in two runs of six."""
    form = {"outer": [[0, 60], [12 * thickness, 60]]}
    sheet = built(cut(layers=12, thickness=thickness), form=form, **changes)
    return changed(sheet, ["shop", "layers_per_glue_up"], 6)


@pytest.mark.parametrize(
    ("thickness", "severity"), [(0.4, "warning"), (0.41, "note"), (1.9, "note"), (2.0, None), (2.1, None)]
)
def test_an_outer_layer_that_a_trued_face_eats_up_is_told(thickness: float, severity: str | None) -> None:
    """0.2 mm is a tenth of 2 mm, and half of 0.4."""
    found = told(thin(thickness), "trued_thin")
    assert [caution["severity"] for caution in found] == ([severity] if severity else [])
    for caution in found:
        assert caution["message"].startswith("Layers 6 to 7 are outermost")


def test_nothing_is_trued_thin_in_one_glue_up() -> None:
    sheet = thin(1.5)
    sheet["bands"][0]["layers"], sheet["form"]["outer"][1][0] = 6, 9.0
    assert not told(sheet, "trued_thin")


def test_a_heavy_pile_of_clamps_is_told_with_its_force() -> None:
    """White glue at 0.69 MPa on a twelve-sided face of 93 mm apothem: 12 tan 15 x 93 x 93 x 0.69 = 19.2 kN."""
    form = {"outer": [[0, 90], [28, 90]]}
    sheet = built(cut(layers=2, thickness=14), form=form)
    assert not told(sheet, "clamps_under_load")
    (caution,) = told(sheet | {"adhesive": {"kind": "pva"}}, "clamps_under_load")
    assert "19.2 kN on 10 clamps" in caution["message"]


def test_joints_that_no_force_suits_are_told() -> None:
    form = {"outer": [[0, 90], [28, 90], [29, 30], [48, 30]]}
    sheet = built(cut(layers=2, thickness=14), cut(layers=2), form=form)
    assert not told(sheet, "starved_joint")
    (caution,) = told(sheet | {"adhesive": {"kind": "pva"}}, "starved_joint")
    assert "In glue-up 3 no one force" in caution["message"]


@pytest.mark.parametrize(("top", "earns"), [(0.37, True), (0.38, False)])
def test_a_rim_that_the_drift_of_four_layers_reaches_is_told(top: float, earns: bool) -> None:
    """0.3 mm and 0.02 for each of four layers."""
    sheet = changed(bowl(), ["allowance", "top"], top)
    sheet["bands"][-1]["thickness"] = 10 + top / 3
    found = told(sheet, "rim_in_reach")
    assert bool(found) == earns
    assert all(caution["where"] == "allowance.top" for caution in found)


def test_a_single_layer_does_not_drift_out_of_reach() -> None:
    assert not told(built(cut(thickness=14)), "rim_in_reach")
