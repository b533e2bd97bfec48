"""The piece sheet: what it asks for is read, and everything wrong with it is named at once, each in its place."""

import json
from decimal import Decimal
from typing import Any

import pytest

from estimating.errors import InvalidSheet
from estimating.reading import read_json
from estimating.sheet import read_sheet
from tests.estimating.sheets import answer, bowl, changed, errors_of, places_of, without

Json = dict[str, Any]
NAN, INF = float("nan"), float("inf")


def test_a_sheet_with_only_what_is_required_stands_on_the_defaults() -> None:
    sheet = read_sheet(
        {
            "title": "Disc",
            "unit": "mm",
            "form": {"outer": [[0, 30], [20, 30]]},
            "bands": [{"layers": 2, "thickness": 10, "segments": 6, "woods": ["ash"]}],
        }
    )
    assert (sheet.quantity, sheet.parts[0].form.curve, sheet.parts[0].form.inside.kind) == (
        1,
        "straight",
        "solid",
    )
    assert (sheet.parts[0].allowance.outside, sheet.parts[0].allowance.bottom) == (0.0, 0.0)
    (band,) = sheet.parts[0].bands
    assert (band.offsets, band.gap, band.made, band.name) == ((0.0,), 0.0, "cut", "")
    assert sheet.shop.bond_line == 0


# The usual settings of a shop, mm, ml, minutes, degrees C: common practice, no source.
USUAL = {
    "rip_kerf": 3.0, "crosscut_kerf": 2.8, "board_end_trim": 25, "board_edge_trim": 4, "strip_hold": 75,
    "safe_segment_length": 20, "flatten": 0.5, "slice_kerf": 1.2, "slice_hold": 8, "slice_sanding": 0.5,
    "film": 0.1, "end_grain_factor": 1.5, "squeeze_out": 0.25, "mix_loss_ml": 5, "cup_ml": 80, "cup_mark_ml": 2.5,
    "pot_life_min": 30, "working_share": 0.7, "coat_stack_min": 2, "layers_per_glue_up": 10, "temperature_c": 21,
}  # fmt: skip


@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
def test_the_usual_settings_stay_in_mm_whatever_the_unit_of_the_sheet(unit: str) -> None:
    factor = {"mm": 1, "cm": 10, "in": 25.4}[unit]
    sheet = bowl(unit=unit, form={"outer": [[0, 40 / factor], [40 / factor, 60 / factor]]}, allowance={})
    for band in sheet["bands"]:
        band["thickness"] /= factor
    del sheet["shop"]
    shop = read_sheet(sheet).shop
    assert {name: getattr(shop, name) for name in USUAL} == USUAL


def test_numbers_are_in_the_unit_and_texts_in_their_own() -> None:
    sheet = bowl(unit="in", form={"outer": [[0, 2], ["50.8 mm", "5 1/2 in"]]}, allowance={"outside": '1/8"'})
    sheet["bands"] = [{"layers": 2, "thickness": "25.4mm", "segments": 6, "woods": ["ash"]}]
    sheet["shop"] = {"rip_kerf": 0.125, "film": "0.1 mm"}
    read = read_sheet(sheet)
    assert read.parts[0].form.outer == ((0.0, 50.8), (50.8, pytest.approx(139.7)))
    assert read.parts[0].allowance.outside == pytest.approx(3.175)
    assert read.parts[0].bands[0].thickness == 25.4
    assert (read.shop.rip_kerf, read.shop.film) == (pytest.approx(3.175), 0.1)


def test_the_same_piece_in_inches_and_in_mm_has_the_same_answer() -> None:
    inches = bowl(unit="in")
    inches["form"]["outer"] = [[h / 25.4, r / 25.4] for h, r in inches["form"]["outer"]]
    inches["allowance"] = {key: value / 25.4 for key, value in inches["allowance"].items()}
    for band in inches["bands"]:
        band["thickness"] = "10 mm"
    inches["shop"] = {}
    one, other = answer(inches), answer(bowl(shop={}))
    assert one["form"] == pytest.approx(other["form"], rel=1e-12)  # 1/25.4 is rounded once and once again
    assert one["price"] == other["price"]
    assert [r["layers"] for r in one["rings"]] == [r["layers"] for r in other["rings"]]


# --- what is wrong, one thing at a time ---------------------------------------------------------------------

WALL = {"kind": "wall", "wall": 6, "floor": 9}
WRONG: list[tuple[list[str | int], Any, str, str]] = [
    (["title"], "", "title", "must not be empty"),
    (["title"], 5, "title", "must be text"),
    (["title"], "a\0", "title", "cannot be written"),
    (["title"], "\ud83c", "title", "cannot be written"),
    (["title"], "x" * 100_000, "title", "at most 200 characters"),
    (["unit"], "furlong", "unit", '"mm", "cm" or "in"'),
    (["unit"], 1, "unit", '"mm", "cm" or "in"'),
    (["unit"], ["mm"], "unit", '"mm", "cm" or "in"'),
    (["quantity"], 0, "quantity", "at least 1"),
    (["quantity"], 1.5, "quantity", "whole number"),
    (["quantity"], True, "quantity", "not true"),
    (["quantity"], 10**400, "quantity", "finite"),
    (["form"], [], "form", "must be an object"),
    (["form"], None, "form", "must be an object"),
    (["form", "outer"], {}, "form.outer", "must be a list"),
    (["form", "outer"], [], "form.outer", "at least 2"),
    (["form", "outer"], [[0, 40]], "form.outer", "at least 2"),
    (["form", "outer"], [[0, 40], [40]], "form.outer[1]", "at least 2"),
    (["form", "outer"], [[0, 40], [40, 60, 1, 2]], "form.outer[1]", "at most 3"),
    (["form", "outer"], [[0, 40], {"h": 1}], "form.outer[1]", "must be a list"),
    (["form", "outer"], [[0, 40], [40, NAN]], "form.outer[1][1]", "finite"),
    (["form", "outer"], [[0, 40], [INF, 60]], "form.outer[1][0]", "finite"),
    (["form", "outer"], [[0, 40], [40, True]], "form.outer[1][1]", "not true"),
    (["form", "outer"], [[0, 40], [40, "sixty"]], "form.outer[1][1]", "not a length"),
    (["form", "outer"], [[0, 40], [40, "60"]], "form.outer[1][1]", "needs a unit"),
    (["form", "outer"], [[0, -40], [40, 60]], "form.outer[0][1]", "must not be negative"),  # crosses the axis
    (["form", "outer"], [[0, 40], [40, 20_000]], "form.outer[1][1]", "at most 10000 mm"),
    (["form", "outer"], [[0, 40], [40, 60], [40, 50]], "form.outer[2][0]", "heights must rise"),
    (["form", "outer"], [[0, 40], [40, 60], [20, 70]], "form.outer[2][0]", "heights must rise"),  # crosses itself
    (["form", "outer"], [[0, 40], [20, 0], [40, 60]], "form.outer[1][1]", "touch the axis"),
    (["form", "outer"], [[0, 0], [40, 0]], "form.outer", "has no width"),
    (["form", "curve"], "wavy", "form.curve", '"straight" or "smooth"'),
    (["form", "inside"], "solid", "form.inside", "must be an object"),
    (["form", "inside"], {"kind": "hollow"}, "form.inside.kind", '"solid", "wall" or "curve"'),
    (["form", "inside"], {"kind": "solid", "wall": 6}, "form.inside.wall", "is not a key here"),
    (["form", "inside"], {"kind": "wall", "wall": 0, "floor": 9}, "form.inside.wall", "more than"),
    (["form", "inside"], {"kind": "wall", "wall": 1e-300, "floor": 9}, "form.inside.wall", "more than"),
    (["form", "inside"], {"kind": "wall", "wall": 6}, "form.inside.floor", "is missing"),
    (["form", "inside"], {"kind": "wall", "wall": 6, "floor": 40}, "form.inside.floor", "less than the form's height"),
    (["form", "inside"], {"kind": "wall", "wall": 90, "floor": 9}, "form.inside.wall", "no hollow is left"),
    (["form", "inside"], {"kind": "curve", "inner": [[9, 30], [40, 60]]}, "form.inside.inner[1][1]", "breaks through"),
    (["form", "inside"], {"kind": "curve", "inner": [[9, 30], [39, 50]]}, "form.inside.inner[1][0]", "end at the rim"),
    (["form", "inside"], {"kind": "curve", "inner": [[9, -1], [40, 50]]}, "form.inside.inner[0][1]", "negative"),
    (["allowance"], [], "allowance", "must be an object"),
    (["allowance", "outside"], -1, "allowance.outside", "must not be negative"),
    (["allowance", "left"], 1, "allowance.left", "is not a key here"),
    (["bands"], {}, "bands", "must be a list"),
    (["bands"], [], "bands", "at least 1"),
    (["bands", 0], 5, "bands[0]", "must be an object"),
    (["bands", 1, "layers"], 0, "bands[1].layers", "at least 1"),
    (["bands", 1, "layers"], 2.5, "bands[1].layers", "whole number"),
    (["bands", 1, "layers"], 6_000, "bands[1].layers", "at most 5000"),
    (["bands", 1, "layers"], 2, "bands", "short of"),
    (["bands", 1, "layers"], 4, "bands", "a whole layer or more, above"),
    (["bands", 1, "thickness"], 0, "bands[1].thickness", "more than 0"),
    (["bands", 1, "thickness"], "10", "bands[1].thickness", "needs a unit"),
    (["bands", 1, "segments"], 2, "bands[1].segments", "at least 3"),
    (["bands", 1, "segments"], 10_000, "bands[1].segments", "at most 360"),
    (["bands", 1, "segments"], True, "bands[1].segments", "not true"),
    (["bands", 1, "segments"], 15, "bands[1].woods", "do not go evenly into 15"),
    (["bands", 1, "woods"], [], "bands[1].woods", "at least 1"),
    (["bands", 1, "woods"], "maple", "bands[1].woods", "must be a list"),
    (["bands", 1, "woods"], ["maple", "unobtainium"], "bands[1].woods[1]", 'no wood is called "unobtainium"'),
    (["bands", 1, "woods"], ["maple", "chery"], "bands[1].woods[1]", "did you mean cherry"),
    (["bands", 1, "woods"], ["maple", 3], "bands[1].woods[1]", "must be text"),
    (["bands", 1, "woods"], ["ma\nple", "ash"], "bands[1].woods[0]", "no wood is called"),
    (["bands", 1, "offset"], "half", "bands[1].offset", "must be a number"),
    (["bands", 1, "offset"], [], "bands[1].offset", "at least 1"),
    (["bands", 1, "offset"], [0.5, None], "bands[1].offset[1]", "must be a number"),
    (["bands", 1, "gap"], 1, "bands[1].gap", "less than 1"),
    (["bands", 1, "gap"], -0.1, "bands[1].gap", "must not be negative"),
    (["bands", 1, "made"], "carved", "bands[1].made", '"cut", "sliced", "solid", "veneer" or "staves"'),
    (["bands", 1, "made"], "sliced", "bands[1].ring_height", "is missing"),
    (["bands", 1, "ring_height"], 40, "bands[1].ring_height", '"made": "sliced" only'),
    (["bands", 1, "colour"], "red", "bands[1].colour", "is not a key here"),
    (["shop"], 5, "shop", "must be an object"),
    (["shop", "rip_kerf"], -1, "shop.rip_kerf", "must not be negative"),
    (["shop", "rip_kerf"], None, "shop.rip_kerf", "must be a length"),
    (["shop", "saw"], 1, "shop.saw", "is not a key here"),
    (["shop", "mix_ratio"], [1], "shop.mix_ratio", "at least 2"),
    (["shop", "mix_ratio"], [0, 1], "shop.mix_ratio[0]", "at least 0.01"),
    (["shop", "mix_ratio"], [1, 1e-9], "shop.mix_ratio[1]", "at least 0.01"),
    (["shop", "mix_ratio"], "1:1", "shop.mix_ratio", "must be a list"),
    (["shop", "strip_lies"], "up", "shop.strip_lies", '"either", "flat" or "on_edge"'),
    (["shop", "layers_per_glue_up"], 1, "shop.layers_per_glue_up", "at least 2"),
    (["shop", "cup_ml"], 5, "shop.cup_ml", "holds no mix"),
    (["shop", "working_share"], 0, "shop.working_share", "more than 0"),
    (["boards"], {}, "boards", "must be a list"),
    (["boards"], [1], "boards[0]", "must be an object"),
    (["boards"], [{"wood": "ash", "length": 1, "width": 1}], "boards[0].thickness", "is missing"),
    (["boards"], [{"wood": "x", "length": 1, "width": 1, "thickness": 1}], "boards[0].wood", "no wood is called"),
    (["boards"], [{"length": 1, "width": 1, "thickness": 1}], "boards[0].wood", "is missing"),
    (["pricing"], "USD", "pricing", "must be an object"),
    (["pricing", "currency"], "XXX", "pricing.currency", "ISO 4217"),
    (["pricing", "currency"], "usd", "pricing.currency", "ISO 4217"),
    (["pricing", "currency"], "$", "pricing.currency", "ISO 4217"),
    (["pricing", "labour_rate"], "thirty", "pricing.labour_rate", "must be an amount"),
    (["pricing", "labour_rate"], "-1", "pricing.labour_rate", "must not be negative"),
    (["pricing", "margin"], 1, "pricing.margin", "less than 1"),
    (["pricing", "margin"], "0.15", "pricing.margin", "must be a number"),
    (["pricing", "gallery_share"], 1, "pricing.gallery_share", "less than 1"),
    (["pricing", "failure_share"], 1.0, "pricing.failure_share", "less than 1"),
    (["pricing", "tax"], -0.1, "pricing.tax", "must not be negative"),
    (["pricing", "tax_inclusive"], "no", "pricing.tax_inclusive", "true or false"),
    (["pricing", "tax_inclusive"], 1, "pricing.tax_inclusive", "true or false"),
    (["colour"], "red", "colour", "is not a key here"),
    (["\0repeated"], 5, "\ufffdrepeated", "is not a key here"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "place", "reason"), WRONG, ids=lambda value: repr(value)[:30])
def test_what_is_wrong_is_named_at_its_place_and_nothing_else_is(
    path: list[str | int], value: Any, place: str, reason: str
) -> None:
    (line,) = errors_of(changed(bowl(), path, value))
    assert line.startswith(f"{place}: ")
    assert reason in line


REQUIRED: list[list[str | int]] = [
    ["title"], ["unit"], ["form"], ["form", "outer"], ["bands"], ["bands", 1, "layers"], ["bands", 0, "thickness"],
    ["bands", 0, "segments"], ["bands", 0, "woods"],
]  # fmt: skip


@pytest.mark.parametrize("path", REQUIRED, ids=str)
def test_a_missing_key_is_named_by_its_own_place(path: list[str | int]) -> None:
    place = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)[1:]
    assert errors_of(without(bowl(), path)) == [f"{place}: is missing"]


@pytest.mark.parametrize("data", [None, 5, "sheet", [], [bowl()], True, NAN])
def test_what_is_no_object_at_all_is_the_sheet(data: Any) -> None:
    (line,) = errors_of(data)
    assert line.startswith("sheet: must be an object {...}")


def test_every_error_is_given_at_once_in_the_order_of_the_sheet() -> None:
    sheet = bowl(title="", quantity=0, colour="red")
    sheet["bands"][0]["segments"] = 2
    sheet["bands"][1]["woods"] = ["maple", "chery"]
    sheet["shop"]["film"] = -1
    sheet["pricing"]["currency"] = "GOLD"
    assert places_of(sheet) == [
        "title", "quantity", "bands[0].segments", "bands[1].woods[1]", "shop.film", "pricing.currency", "colour",
    ]  # fmt: skip


def test_errors_of_the_shape_stand_beside_the_others() -> None:
    sheet = bowl(title="")
    sheet["bands"][1]["layers"] = 2
    sheet["form"]["inside"] = {"kind": "wall", "wall": 6, "floor": 50}
    sheet["pricing"]["margin"] = 2
    assert places_of(sheet) == ["title", "pricing.margin", "form.inside.floor"]
    sheet["form"]["inside"] = WALL
    assert places_of(sheet) == ["title", "pricing.margin", "bands"]


@pytest.mark.parametrize("key", ["bond_line", "flatten", "slice_hold", "slice_sanding", "slice_kerf"])
def test_a_shop_that_cannot_be_read_is_not_blamed_on_the_shape(key: str) -> None:
    sheet = bowl()
    sheet["bands"][1] |= {"made": "sliced", "ring_height": 18}
    sheet["shop"] |= {"slice_hold": 0, key: "much"}
    assert places_of(sheet) == [f"shop.{key}"]


def test_a_thick_ring_too_low_for_a_layer_is_refused_at_its_band() -> None:
    sheet = bowl()
    sheet["bands"][1] |= {"made": "sliced", "ring_height": 20}
    assert errors_of(sheet) == ["bands[1].ring_height: must be at least 20.2 mm to give one layer"]


# --- how high the stack may end -----------------------------------------------------------------------------


@pytest.mark.parametrize(("height", "fits"), [(40.1, True), (40.11, False), (30.01, True), (30.0, False)])
def test_the_stack_may_end_a_tenth_short_and_less_than_a_layer_over(height: float, fits: bool) -> None:
    sheet = changed(bowl(), ["form", "outer"], [[0, 40], [height, 60]])
    assert places_of(sheet) == ([] if fits else ["bands"])


def test_the_refusal_says_how_many_layers_of_each_band_would_fit() -> None:
    (line,) = errors_of(changed(bowl(), ["form", "outer"], [[0, 40], [70, 60]]))
    assert "6 of 'side' (3 now)" in line
    assert "4 of 'foot' (1 now)" in line
    for band, layers in ((0, 4), (1, 6)):
        mended = changed(bowl(), ["form", "outer"], [[0, 40], [70, 60]])
        assert errors_of(changed(mended, ["bands", band, "layers"], layers)) == []


def test_the_bond_line_counts_in_the_height_of_the_stack() -> None:
    sheet = changed(bowl(), ["shop", "bond_line"], 0.1)
    bottoms = [layer["bottom"] for layer in answer(sheet)["layers"]]
    assert bottoms == pytest.approx([0, 10.1, 20.2, 30.3], abs=1e-12)
    tall = changed(sheet, ["form", "outer"], [[0, 40], [40.4, 60]])
    assert errors_of(tall) == []  # 40.3 is a tenth short
    assert places_of(changed(tall, ["form", "outer"], [[0, 40], [40.41, 60]])) == ["bands"]


def test_what_stands_over_is_a_caution_above_a_tenth() -> None:
    def codes(height: float) -> list[str]:
        found = answer(changed(bowl(), ["form", "outer"], [[0, 40], [height, 60]]))
        return [caution["code"] for caution in found["cautions"]]

    assert "stack_difference" not in codes(39.9)
    assert "stack_difference" in codes(39.89)
    assert "stack_difference" not in codes(40.1)


SPOONFULS = {"cup_ml": 2.004, "cup_mark_ml": 1.002, "mix_loss_ml": 2.0, "layers_per_glue_up": 2}


def test_more_mixes_than_anybody_could_stir_are_refused_where_it_can_be_mended() -> None:
    sheet = changed(bowl(), ["shop"], SPOONFULS)
    assert places_of(sheet) == []
    assert places_of({**sheet, "quantity": 100}) == ["quantity"]
    assert places_of(changed(sheet, ["shop", "film"], 10)) == ["shop.cup_ml"]


def test_markup_in_a_title_is_kept_as_it_is() -> None:
    title = '<b>Bowl</b> & "co" </script>'
    assert answer(bowl(title=title))["title"] == title


def test_a_hundred_thousand_layers_in_many_bands_are_refused_at_once() -> None:
    sheet = bowl()
    sheet["bands"] = [{**sheet["bands"][1], "layers": 5000}] * 20
    assert places_of(sheet) == ["bands"]


def test_a_repeated_key_deep_in_the_sheet_is_named_by_its_place() -> None:
    text = json.dumps(bowl()).replace('"gap": 0,', '"gap": 0, "gap": 0.5,', 1)
    with pytest.raises(InvalidSheet, match=r"^bands\[0\]\.gap: is given more than once$"):
        read_sheet(read_json(text))


def test_a_price_is_the_decimal_that_was_typed() -> None:
    sheet = bowl(boards=[{"wood": "ash", "length": 500, "width": 100, "thickness": 25, "price": 19.99}])
    assert read_sheet(sheet).boards[0].price == Decimal("19.99")
