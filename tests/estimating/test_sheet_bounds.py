"""What a sheet may not be: names that cannot be written, layers too thin, more strips than can be planned."""

from math import atan, cos, pi, tan

import pytest

from tests.estimating.kinds import ZIGZAG, built, cut, disc, in_parts, part, staves, veneer
from tests.estimating.sheets import Json, answer, errors_of, places_of
from tests.estimating.test_parts import jar

NARROW = ZIGZAG | {"strips": [{"wood": "maple", "width": 10}]}


def test_a_laminate_that_a_part_cannot_use_is_named_where_it_stands_beside_the_parts() -> None:
    sheet = in_parts(
        part("foot", built(disc(), form={"outer": [[0, 40], [12, 50]]})),
        part("body", built(cut(thickness=14, woods=["zig"]))),
    )
    sheet["laminates"] = {"zig": NARROW}
    assert places_of(sheet) == ["laminates.zig.strips"]


@pytest.mark.parametrize("holding", [5, {"by": "glue"}, {"by": "tenon", "depth": "deep"}])
def test_a_holding_that_cannot_be_read_is_refused_once(holding: object) -> None:
    sheet = built(cut(), form={"outer": [[0, 40], [10, 60]]}, holding=holding)
    del sheet["allowance"]
    assert len(errors_of(sheet)) == 1


@pytest.mark.parametrize("thickness", [1e-300, 0.009])
def test_a_layer_thinner_than_any_wood_is_refused(thickness: float) -> None:
    sheet = built(cut(), veneer(), form={"outer": [[0, 40], [10, 60]]})
    sheet["bands"][1]["thickness"] = thickness
    (error,) = errors_of(sheet)
    assert error.startswith("bands[1].thickness: must be at least 0.01 mm")


@pytest.mark.parametrize("name", ["", "\ud800", "z" * 300])
def test_a_laminate_needs_a_name_that_can_be_written(name: str) -> None:
    errors = errors_of(built(cut(), laminates={name: ZIGZAG}))
    assert len(errors) == 1
    assert all(len(error.encode()) < 200 for error in errors)


@pytest.mark.parametrize("sign", ["\ud800", "\0", "m" * 300])
def test_a_sign_of_a_legend_can_be_written(sign: str) -> None:
    chart = {"legend": {"m": "maple", sign: "ash"}, "rows": ["m"]}
    (error,) = errors_of(built(cut(chart=chart)))
    assert "must be a single sign" in error
    assert len(error.encode()) < 200


def test_more_strips_than_can_be_planned_are_refused_at_the_laminates() -> None:
    many = ZIGZAG | {"strips": [{"wood": "maple", "width": 3}] * 100}
    sheet = built(cut(layers=1501, thickness=2, woods=["zig"]), laminates={"zig": many})
    (error,) = errors_of(sheet)
    assert error.startswith("laminates: make 150,100 strips")


def test_a_bore_too_wide_names_the_layer_by_its_number_in_the_whole_piece() -> None:
    sheet = jar()
    sheet["parts"][1]["bands"][0]["bore"] = 140
    (error,) = errors_of(sheet)
    assert error.startswith("parts[1].bands[0].bore: is wider than the blank of layer 6,")


def _sheet_of(thickness: float) -> Json:
    return {
        "wood": "cherry", "length": 130.0, "width": 130.0, "thickness": thickness, "count": 1, "price": "3.00",
    }  # fmt: skip


def test_a_sheet_on_the_rack_serves_one_veneer_only_once() -> None:
    bands = [cut(), veneer(thickness=0.6), cut(), veneer(thickness=0.58), cut()]
    found = answer(built(*bands, boards=[_sheet_of(0.6)]))
    cherry = [board for board in found["cutting"]["boards"] if board["wood"] == "cherry"]
    assert sorted(board["buy"] for board in cherry) == [False, True]


def test_veneer_is_neither_planed_nor_ripped_nor_flattened() -> None:
    def counts(sheet: Json) -> dict[str, tuple[float, float]]:
        done = answer(sheet)["labour"]["operations"]
        return {operation["name"]: (operation["setups"], operation["quantity"]) for operation in done}

    form = {"outer": [[0, 50], [59.9, 50]]}
    plain = counts(built(cut(layers=5), cut(), form=form))
    veneered = counts(built(cut(layers=5), veneer(), cut(), form={"outer": [[0, 50], [60.5, 50]]}))
    for name in ("mill boards flat and to thickness", "rip strips", "flatten ring face"):
        assert veneered[name] == plain[name]


def test_a_waste_block_is_glued_to_what_is_there_of_the_lowest_face() -> None:
    def block(band: Json) -> float:
        held = {"by": "waste_block", "depth": 20, "parting": 2}
        outer = {"outer": [[0, 40], [band["layers"] * band["thickness"] - 2, 60]]}
        sheet = built(band, form=outer, holding=held, allowance={"outside": 3, "inside": 3})
        last = {**sheet, "holding": {"by": "tenon", "depth": 1, "parting": 1}}
        return float(answer(sheet)["adhesive"]["face_area"] - answer(last)["adhesive"]["face_area"])

    radius = 40 + 20 * 10 / 10 + 3
    twelve = 12 * tan(pi / 12) * radius**2
    assert block(cut(thickness=12)) == pytest.approx(twelve)
    assert block(disc()) == pytest.approx(pi * radius**2)
    hole = pi * 10**2
    assert block(disc(bore=20)) == pytest.approx(pi * radius**2 - hole)
    assert block(disc(bore=20, plug="maple")) == pytest.approx(pi * radius**2)
    assert block(cut(thickness=12, bore=20)) == pytest.approx(twelve - hole)
    assert block(cut(thickness=12, bore=20, plug="maple")) == pytest.approx(twelve)


def test_staves_glued_to_a_waste_block_count_at_their_lower_end() -> None:
    cone = {"kind": "cone", "height": 60, "bottom_diameter": 100, "top_diameter": 160,
            "inside": {"kind": "wall", "wall": 9, "floor": 0}}  # fmt: skip
    held = {"by": "waste_block", "depth": 20, "parting": 0}
    found = answer(built(staves(), form=cone, holding=held, allowance={"outside": 3, "inside": 3}))
    # walls 9 mm square to the slope; flats clear 50 + 3 half a millimetre (flatten) up, corners the inside less 3
    flare = atan(30 / 60)
    outer = 53 - 0.5 * tan(flare)
    across = outer - found["rings"][0]["strip_width"]
    assert found["rings"][0]["strip_width"] > 9 / cos(flare)
    assert found["adhesive"]["face_area"] == pytest.approx(16 * tan(pi / 16) * (outer**2 - across**2))
