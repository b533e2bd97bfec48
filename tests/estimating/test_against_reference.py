"""Random sheets, the whole answer of the contract against a second reckoning of the arithmetic in plain loops."""

import math
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given

from estimating.work.labour import standing_rates
from tests.estimating import reference, reference_money
from tests.estimating.sheets import answer, modest, sheets

Json = dict[str, Any]

# Straight and smooth curves are polynomials on both sides: 1e-9 is a hundred times their rounding.  A wall is a
# search on the reference's side (good to 1e-10 mm) and its volume a quadrature asked for 1e-8.
EXACT, SEARCHED = 1e-9, 2e-8


def near(value: float, sheet: Json, *, absolute: float = 1e-7) -> Any:
    wall = sheet["form"]["inside"]["kind"] == "wall"
    return pytest.approx(value, rel=SEARCHED if wall else EXACT, abs=absolute)


@modest
@given(sheets())
def test_layers_stand_where_a_second_reckoning_puts_them(sheet: Json) -> None:
    found, expected = answer(sheet)["layers"], reference.layers(sheet)
    assert len(found) == len(expected)
    for layer, other in zip(found, expected, strict=True):
        assert layer["number"] == other["number"]
        assert layer["band"] == sheet["bands"][other["band"]]["name"]
        assert layer["bottom"] == pytest.approx(other["bottom"], abs=1e-9)
        assert layer["thickness"] == pytest.approx(other["thickness"], abs=1e-9)
        assert layer["outer_radius"] == near(other["outer"], sheet)
        assert layer["inner_radius"] == near(other["inner"], sheet)
        assert layer["offset_deg"] == pytest.approx(other["offset_deg"], abs=1e-9)
        assert set(layer["woods"]) == set(other["woods"])
        for wood, volume in other["woods"].items():
            assert layer["woods"][wood] == near(volume, sheet, absolute=0.01)


@modest
@given(sheets())
def test_rings_are_those_of_a_second_reckoning(sheet: Json) -> None:
    found, expected = answer(sheet)["rings"], reference.rings(sheet, reference.layers(sheet))
    assert [ring["layers"] for ring in found] == [ring["layers"] for ring in expected]
    for ring, other in zip(found, expected, strict=True):
        assert ring["number"] == other["number"]
        assert ring["band"] == sheet["bands"][other["band"]]["name"]
        assert ring["segments"] == other["segments"]
        assert ring["pattern"] == other["pattern"]
        assert ring["miter_deg"] == pytest.approx(other["miter_deg"], rel=1e-12)
        for name in ("outer_edge", "inner_edge", "strip_width", "height"):
            assert ring[name] == near(other[name], sheet)


@modest
@given(sheets())
def test_form_figures_are_those_of_quadrature(sheet: Json) -> None:
    found, form = answer(sheet)["form"], reference.Form(sheet)
    assert found["height"] == pytest.approx(form.top - form.bottom, rel=1e-12)
    assert found["largest_diameter"] == pytest.approx(2 * max(form.outer.radii), rel=1e-12)
    assert found["volume"] == near(reference.turned(form, form.bottom, form.top), sheet)


@modest
@given(sheets())
def test_adhesive_is_that_of_polygons_laid_on_one_another(sheet: Json) -> None:
    found = answer(sheet)
    stack = reference.layers(sheet)
    ends, faces = reference.glued_areas(sheet, stack, reference.rings(sheet, stack))
    adhesive = found["adhesive"]
    assert adhesive["end_area"] == near(ends, sheet)
    # shapely's union leaves cracks and overlaps of rounding size along the joints of touching segments
    assert adhesive["face_area"] == pytest.approx(faces, rel=1e-7, abs=1e-6)
    expected = reference.millilitres(sheet, ends=ends, faces=faces, mixes=len(adhesive["mixes"]))
    assert adhesive["volume_ml"] == pytest.approx(expected, rel=1e-7, abs=1e-9)


@modest
@given(sheets())
def test_mixes_keep_the_ratio_the_marks_and_the_cup(sheet: Json) -> None:
    found, shop = answer(sheet), sheet["shop"]
    a, b = {(1, 1): (1, 1), (2, 1): (2, 1), (1, 0.5): (2, 1), (3, 1): (3, 1), (5, 2): (5, 2)}[
        tuple(shop["mix_ratio"])
    ]
    for mix in found["adhesive"]["mixes"]:
        assert mix["part_a_ml"] * b == mix["part_b_ml"] * a
        marks = mix["part_a_ml"] / a / shop["cup_mark_ml"]
        assert marks == round(marks) >= 1
        whole = mix["part_a_ml"] + mix["part_b_ml"]
        assert whole <= shop["cup_ml"] + 1e-9
        assert whole >= mix["needed_ml"] - 1e-6
        assert whole - shop["cup_mark_ml"] * (a + b) < mix["needed_ml"]


@modest
@given(sheets())
def test_every_joint_is_glued_once_and_no_glue_up_holds_too_much(sheet: Json) -> None:
    found = answer(sheet)
    open_rings = {ring["number"] for ring, other in _with_reference(found, sheet) if other["gap"] > 0}
    closed = [ring for glue_up in found["glue_ups"] if glue_up["kind"] == "ring" for ring in glue_up["rings"]]
    assert sorted(closed) == [r["number"] for r in found["rings"] if r["number"] not in open_rings]
    halves = [
        ring for glue_up in found["glue_ups"] if glue_up["kind"] == "half_ring" for ring in glue_up["rings"]
    ]
    even = {ring["number"] for ring in found["rings"] if ring["segments"] in (6, 8, 12, 16, 18, 24)}
    assert sorted(halves) == sorted(even - open_rings)
    joints = [
        pair
        for glue_up in found["glue_ups"]
        if glue_up["kind"] != "ring"
        for pair in pairwise(glue_up["layers"])
    ]
    assert sorted(joints) == list(pairwise(range(1, len(found["layers"]) + 1)))
    most = max(2, reference.most_layers_a_glue_up(reference.shop_in_mm(sheet)))
    assert all(len(g["layers"]) <= most for g in found["glue_ups"] if g["kind"] == "stack")
    for glue_up in found["glue_ups"]:
        assert all(earlier < glue_up["number"] for earlier in glue_up["after"])


def _with_reference(found: Json, sheet: Json) -> list[tuple[Json, Json]]:
    return list(zip(found["rings"], reference.rings(sheet, reference.layers(sheet)), strict=True))


@modest
@given(sheets())
def test_labour_is_the_log_normal_of_its_operations(sheet: Json) -> None:
    labour = answer(sheet)["labour"]
    rates = standing_rates()
    medians = [operation["median"] for operation in labour["operations"]]
    spreads = [rates[operation["name"]].spread for operation in labour["operations"]]
    for operation, spread in zip(labour["operations"], spreads, strict=True):
        rate = rates[operation["name"]]
        expected = rate.setup_minutes * operation["setups"] + rate.minutes_per_unit * operation["quantity"]
        assert operation["median"] == pytest.approx(expected, rel=1e-12)
        assert operation["high"] == pytest.approx(
            expected * math.exp(reference_money.Z90 * spread), rel=1e-12
        )
        assert operation["low"] == pytest.approx(
            expected * math.exp(-reference_money.Z90 * spread), rel=1e-12
        )
    mean, median, low, high = reference_money.labour_sum(medians, spreads)
    assert (labour["mean"], labour["median"]) == pytest.approx((mean, median), rel=1e-12)
    assert (labour["low"], labour["high"]) == pytest.approx((low, high), rel=1e-12)


DIGITS = {"USD": 2, "EUR": 2, "JPY": 0, "KWD": 3}  # ISO 4217 list one


@modest
@given(sheets())
def test_cost_and_price_follow_from_wood_glue_and_hours(sheet: Json) -> None:
    found = answer(sheet)
    digits = DIGITS[sheet["pricing"]["currency"]]
    minutes = found["labour"]["mean"]
    expected = reference_money.cost_lines(
        sheet,
        wood=Decimal(found["cutting"]["cost"]),
        millilitres_=found["adhesive"]["volume_ml"],
        minutes=minutes,
        digits=digits,
    )
    cost = {name: Decimal(amount) for name, amount in found["cost"].items()}
    # Hours and millilitres become decimals by one road here and by another there: a half may fall either way.
    step = Decimal(1).scaleb(-digits)
    for name in ("wood", "adhesive", "consumables", "labour", "overhead"):
        assert abs(cost[name] - expected[name]) in (0, step)
    assert cost["total"] == sum(amount for name, amount in cost.items() if name != "total")
    assert all(amount.as_tuple().exponent == -digits for amount in cost.values())
    price = reference_money.price_lines(sheet, cost=cost, minutes=minutes, digits=digits)
    for name, amount in price.items():
        assert Decimal(found["price"][name]) == amount
        assert Decimal(found["price"][name]).as_tuple().exponent == -digits
