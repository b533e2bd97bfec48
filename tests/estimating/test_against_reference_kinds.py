"""Random sheets of every kind of layer against a second reckoning in plain loops."""

import math
from typing import Any

import pytest
from hypothesis import given

from tests.estimating import reference_kinds as second
from tests.estimating.kinds import kinds
from tests.estimating.sheets import answer, modest

Json = dict[str, Any]


@modest
@given(kinds())
def test_what_is_turned_of_every_layer_is_that_of_quadrature(sheet: Json) -> None:
    found, layers = answer(sheet), second.stack(sheet)
    for layer, other in zip(found["layers"], layers, strict=True):
        assert sum(layer["woods"].values()) == pytest.approx(other["beside"] + other["core"] * bool(
            sheet["bands"][other["band"]].get("plug")), rel=1e-6, abs=0.5)  # fmt: skip
        if not any(wood in sheet["laminates"] for wood in other["woods"]):
            plug = sheet["bands"][other["band"]].get("plug")
            for wood in set(other["woods"]):
                share = other["beside"] * other["woods"].count(wood) / len(other["woods"])
                core = other["core"] if wood == plug else 0.0
                assert layer["woods"][wood] == pytest.approx(share + core, rel=1e-6, abs=0.5)


@modest
@given(kinds())
def test_rings_discs_and_plugs_have_the_sizes_of_the_second_reckoning(sheet: Json) -> None:
    found, layers = answer(sheet), second.stack(sheet)
    flatten = sheet["shop"]["flatten"]
    for ring in found["rings"]:
        first = layers[ring["layers"][0] - 1]
        assert ring.get("bore", 0.0) == max(layers[n - 1]["bore"] for n in ring["layers"])
        if ring["made"] in second.DISCS:
            assert ring["outer_edge"] == ring["strip_width"] == pytest.approx(2 * first["outer"], rel=1e-9)
            thick = first["high"] - first["low"]
            assert ring["height"] == pytest.approx(thick + 2 * flatten * (ring["made"] == "solid"))
    expected = second.plugs(sheet, layers)
    assert [(p["wood"], p["diameter"]) for p in found.get("plugs", [])] == [
        (p["wood"], p["diameter"]) for p in expected
    ]
    for plug, other in zip(found.get("plugs", []), expected, strict=True):
        assert plug["length"] == pytest.approx(other["length"])
        side, length = other["diameter"] + 2 * flatten, other["length"] + 2 * flatten
        sticks = [strip for board in found["cutting"]["boards"] if board["wood"] == other["wood"]
                  for strip in board["strips"]
                  if math.isclose(strip["width"], side) and math.isclose(strip["height"], side)]  # fmt: skip
        assert sum(strip["segments"] for strip in sticks) >= sheet["quantity"]
        kerf, hold = sheet["shop"]["crosscut_kerf"], sheet["shop"]["strip_hold"]
        for strip in sticks:
            assert strip["length"] == pytest.approx(strip["segments"] * (length + kerf) + kerf + hold)
