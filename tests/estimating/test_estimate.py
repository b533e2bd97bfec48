"""The whole pipeline: the contract's keys, what is of one piece and what of all, and the report."""

import json
import re
from dataclasses import replace
from decimal import Decimal

import pytest

from estimating.answer import as_json
from estimating.errors import InvalidSheet
from estimating.estimate import estimate
from estimating.report import as_text
from estimating.sheet import read_sheet
from estimating.workshop import standing_workshop
from tests.estimating.sheets import answer, bowl, changed

# The keys of the contract, as it prints them; others may stand beside them.
CONTRACT: dict[str, str] = {
    "form": "height largest_diameter volume outer_surface inner_surface mass_g",
    "layers": "number band bottom thickness outer_radius inner_radius ring offset_deg woods",
    "rings": "number band segments miter_deg outer_edge inner_edge strip_width height layers pattern",
    "cutting": "boards cost bound proven short",
    "adhesive": "end_area face_area volume_ml mixes",
    "glue_ups": "number kind rings layers joins after",
    "labour": "operations mean median low high",
    "cost": "wood adhesive consumables labour overhead failures total",
    "price": "net gallery_share tax retail deposit per_hour",
    "cautions": "code severity where message",
}


@pytest.mark.parametrize("key", CONTRACT)
def test_the_answer_has_the_keys_of_the_contract(key: str) -> None:
    found = answer(bowl())[key]
    items = found if isinstance(found, list) else [found]
    assert items
    assert all(set(CONTRACT[key].split()) <= set(item) for item in items)


def test_inner_parts_of_the_answer_have_the_keys_of_the_contract() -> None:
    found = answer(bowl())
    wood = "segments strip_length turned turning_waste slicing_waste crosscut_waste rip_waste kept boards board_feet"
    assert set(found["wood"]) == {"walnut", "maple", "cherry"}
    assert all(set(wood.split()) <= set(account) for account in found["wood"].values())
    board = found["cutting"]["boards"][0]
    assert {"wood", "length", "width", "thickness", "buy", "used", "kept", "strips"} <= set(board)
    assert {"lane", "from", "width", "height", "length", "segments", "rings"} <= set(board["strips"][0])
    assert {"glue_up", "part_a_ml", "part_b_ml"} <= set(found["adhesive"]["mixes"][0])
    assert {"name", "quantity", "median", "low", "high"} <= set(found["labour"]["operations"][0])


def test_form_layers_rings_and_areas_are_of_one_piece_and_the_rest_of_all() -> None:
    one, four = answer(bowl()), answer(bowl(quantity=4))
    for key in ("form", "layers", "rings", "glue_ups"):
        assert one[key] == four[key]
    assert four["quantity"] == 4
    for wood, account in one["wood"].items():
        assert four["wood"][wood]["segments"] == 4 * account["segments"]
        assert four["wood"][wood]["turned"] == pytest.approx(4 * account["turned"], rel=1e-12)
    assert one["labour"]["mean"] < four["labour"]["mean"] < 4 * one["labour"]["mean"]  # set up once
    assert Decimal(four["cost"]["total"]) > Decimal(one["cost"]["total"])


def test_used_is_the_share_of_the_board_that_is_strips() -> None:
    for board in answer(bowl())["cutting"]["boards"]:
        strips = sum(s["width"] * s["height"] * s["length"] for s in board["strips"])
        volume = board["length"] * board["width"] * board["thickness"]
        assert board["used"] == pytest.approx(strips / volume, rel=1e-12)
        assert 0 < board["used"] <= 1


def test_rings_and_layers_name_one_another() -> None:
    sheet = bowl()
    sheet["bands"][1] |= {"made": "sliced", "ring_height": 40}
    found = answer(sheet)
    for layer in found["layers"]:
        assert layer["number"] in found["rings"][layer["ring"] - 1]["layers"]
    assert sorted(n for ring in found["rings"] for n in ring["layers"]) == [1, 2, 3, 4]


def test_a_rack_that_suffices_is_used_before_anything_is_bought() -> None:
    rack = [
        {"wood": wood, "length": 2000, "width": 160, "thickness": 80, "count": 2, "price": "40.00"}
        for wood in ("walnut", "maple", "cherry")
    ]
    found = answer(bowl(boards=rack))["cutting"]
    assert not any(board["buy"] for board in found["boards"])
    assert found["short"] == []
    assert all(board["buy"] for board in answer(bowl())["cutting"]["boards"])


def test_the_workshop_stands_where_the_sheet_is_silent() -> None:
    shop = standing_workshop()
    dear = replace(shop, pricing=replace(shop.pricing, labour_rate=Decimal("100.00"), currency="EUR"))
    sheet = bowl()
    del sheet["pricing"]
    found = as_json(estimate(read_sheet(sheet, workshop=dear), dear))
    assert found["price"]["currency"] == "EUR"
    hours = found["labour"]["mean"] / 60
    assert Decimal(found["cost"]["labour"]) == pytest.approx(Decimal(hours * 100), abs=Decimal("0.006"))


def test_operations_without_a_rate_are_no_part_of_the_work() -> None:
    shop = standing_workshop()
    rates = {name: rate for name, rate in shop.rates.items() if name != "turn outside"}
    found = as_json(estimate(read_sheet(bowl()), replace(shop, rates=rates)))
    assert "turn outside" not in {o["name"] for o in found["labour"]["operations"]}


def test_segments_that_no_board_can_give_are_refused() -> None:
    sheet = bowl(usual_board={"length": 90, "width": 150, "thicknesses": [25]})
    with pytest.raises(InvalidSheet, match="the usual board"):
        estimate(read_sheet(sheet))


def test_the_report_gives_the_answer_first_and_every_figure_as_the_answer_has_it() -> None:
    sheet = changed(bowl(title="Plain bowl"), ["form", "inside"], {"kind": "wall", "wall": 6, "floor": 9})
    made = estimate(read_sheet(sheet))
    found, report = as_json(made), as_text(made)
    lines = report.splitlines()
    assert lines[0] == "Plain bowl"
    hours = [round(found["labour"][name] / 15) / 4 for name in ("median", "low", "high")]
    assert [float(n) for n in re.findall(r"([\d.]+) h", lines[1])] == hours
    for amount in found["cost"].values():
        assert amount in report
    for ring in found["rings"]:
        assert f"{ring['outer_edge']:.1f}" in report
        assert f"{ring['strip_width']:.1f}" in report
    for caution in found["cautions"]:
        assert caution["message"] in report
    assert report.endswith("\n")
    assert not report.endswith("\n\n")
    assert max(len(line) for line in lines if ", " not in line) < 110  # tables stay on a page


def test_a_report_of_several_pieces_says_so() -> None:
    assert as_text(estimate(read_sheet(bowl(quantity=3)))).startswith("3 pieces of Small bowl\n")


def test_the_same_sheet_has_the_same_answer_to_the_last_digit() -> None:
    assert json.dumps(answer(bowl())) == json.dumps(answer(bowl()))


def test_thin_layers_near_a_tenth_of_an_inch_in_eighteen_segments_make_a_piece() -> None:
    """0.1 in. layers, 18 segments, half a segment on, ten at a glue-up: common practice, no source."""
    sheet = bowl(unit="in", allowance={}, form={"outer": [[0, 2], [2, 3]], "curve": "straight"}, shop={})
    band = {"layers": 20, "thickness": 0.1, "segments": 18, "woods": ["maple", "walnut"], "offset": 0.5}
    sheet["bands"] = [{**band, "made": "sliced", "ring_height": 1.5}]
    found = answer(sheet)
    assert {round(ring["miter_deg"], 9) for ring in found["rings"]} == {10.0}
    assert [round(layer["offset_deg"], 9) for layer in found["layers"][:3]] == [0, 10, 20]
    stacks = [len(g["layers"]) for g in found["glue_ups"] if g["kind"] == "stack"]
    assert stacks == [10, 10]
    assert all(layer["thickness"] == pytest.approx(2.54) for layer in found["layers"])


@pytest.mark.parametrize(("currency", "printed"), [("JPY", "39"), ("USD", "38.50"), ("KWD", "38.500")])
def test_a_boards_price_is_said_in_the_currencys_own_decimals(currency: str, printed: str) -> None:
    sizes = {"length": 2400, "width": 200, "thickness": 40, "count": 20, "price": "38.5"}
    sheet = bowl(boards=[{"wood": wood, **sizes} for wood in ("maple", "walnut", "cherry")])
    sheet["pricing"] = {"currency": currency}
    boards = answer(sheet)["cutting"]["boards"]
    assert {board["price"] for board in boards} == {printed}
