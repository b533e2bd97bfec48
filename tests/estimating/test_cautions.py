"""Cautions: each stands where its cause is, and not where it is not."""

from typing import Any

import pytest

from tests.estimating.sheets import Json, answer, bowl, changed

BOARD = {"wood": "walnut", "length": 400, "width": 120, "thickness": 20, "count": 1, "price": "5.00"}
OPEN = {"kind": "curve", "inner": [[0, 20], [40, 50]]}


def cautions(sheet: Json, code: str) -> list[Json]:
    return [caution for caution in answer(sheet)["cautions"] if caution["code"] == code]


def tall(layers: int, **shop: Any) -> Json:
    sheet = bowl(form={"outer": [[0, 40], [10 + 10 * layers, 60]]})
    sheet["bands"][1]["layers"] = layers
    sheet["shop"] |= shop
    return sheet


def test_a_stack_of_fifteen_layers_wants_a_bond_line() -> None:
    assert not cautions(tall(13), "no_bond_line")
    assert cautions(tall(14), "no_bond_line")[0]["where"] == "shop.bond_line"
    assert not cautions(tall(14, bond_line=0.001), "no_bond_line")


@pytest.mark.parametrize(("safe", "rings"), [(20, False), (23.04, False), (23.05, True), (24, True)])
def test_a_long_edge_under_the_safe_length_is_a_danger_at_its_band(safe: float, rings: bool) -> None:
    """Outer edges: 12 segments on radius 43 (and more above): 2 x 43 tan 15 = 23.043."""
    sheet = bowl(form={"outer": [[0, 40], [10, 40], [40, 60]]})
    found = cautions(changed(sheet, ["shop", "safe_segment_length"], safe), "short_segments")
    assert bool(found) == rings
    for caution in found:
        assert (caution["severity"], caution["where"]) == ("danger", "bands[0]")
        assert "manual" in caution["message"]


def test_wedges_that_meet_at_the_centre_are_a_caution_and_bored_ones_are_not() -> None:
    assert [c["where"] for c in cautions(bowl(), "sharp_tips")] == ["bands[0]", "bands[1]"]
    assert not cautions(changed(bowl(), ["form", "inside"], OPEN), "sharp_tips")


def test_boards_that_do_not_suffice_are_a_caution() -> None:
    sheet = bowl(boards=[BOARD])
    short = answer(sheet)["cutting"]["short"]
    assert {entry["wood"] for entry in short} == {"maple", "cherry"} | {e["wood"] for e in short}
    assert len(cautions(sheet, "boards_short")) == len(short)
    assert not cautions(bowl(), "boards_short")  # no rack given: everything is bought, nothing is short


def test_every_piece_comes_with_the_usual_caution_of_the_lathe_and_of_the_glue() -> None:
    found = answer(bowl())["cautions"]
    messages = {c["code"]: c["message"] for c in found}
    assert "Local rules" in messages["first_turning"]
    assert "face shield" in messages["first_turning"]
    assert "label" in messages["glue_and_dust"]
    assert {c["severity"] for c in found} <= {"note", "warning", "danger"}


def test_the_swing_in_the_caution_is_across_the_corners_of_the_largest_ring() -> None:
    """Radius to cover 63 at the top: 2 x 63 / cos 15 = 130.44."""
    (caution,) = cautions(bowl(), "first_turning")
    assert "130 mm across its corners" in caution["message"]
