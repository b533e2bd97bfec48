"""Discs, veneer, staves, charts and laminates through the whole estimate."""

import math

import numpy as np
import pytest
from hypothesis import given

from estimating.estimate import estimate
from estimating.sheet import read_sheet
from tests.estimating.kinds import ZIGZAG, built, cut, disc, kinds, staves, veneer
from tests.estimating.sheets import answer, bowl, errors_of, modest
from tests.estimating.test_account import PARTS


@modest
@given(kinds())
def test_however_layers_are_made_the_parts_of_every_wood_are_its_boards(sheet: dict[str, object]) -> None:
    found = answer(sheet)
    for account in found["wood"].values():
        assert sum(account[name] for name in PARTS) == pytest.approx(account["boards"], rel=1e-9)
        assert all(account[name] >= -1e-9 * account["boards"] for name in PARTS)
    by_layer: dict[str, float] = {}
    for layer in found["layers"]:
        for wood, volume in layer["woods"].items():
            by_layer[wood] = by_layer.get(wood, 0.0) + volume * found["quantity"]
    for wood, account in found["wood"].items():
        assert account["turned"] == pytest.approx(by_layer[wood], rel=1e-9)


@modest
@given(kinds())
def test_every_glue_up_comes_after_what_it_waits_for_and_has_its_mix(sheet: dict[str, object]) -> None:
    found = answer(sheet)
    glued = {mix["glue_up"] for mix in found["adhesive"]["mixes"]}
    for number, glue_up in enumerate(found["glue_ups"], 1):
        assert glue_up["number"] == number
        assert all(before < number for before in (*glue_up["after"], *glue_up["joins"]))
    assert glued == {glue_up["number"] for glue_up in found["glue_ups"]}


def test_a_solid_disc_is_sawn_round_from_a_square_of_one_board() -> None:
    found = answer(built(disc(), cut(layers=3)))
    ring = found["rings"][0]
    radius = found["layers"][0]["outer_radius"]
    assert (ring["made"], ring["segments"], ring["miter_deg"]) == ("solid", 1, 0)
    assert ring["outer_edge"] == ring["inner_edge"] == ring["strip_width"] == pytest.approx(2 * radius)
    walnut = found["wood"]["walnut"]
    assert walnut["segments"] == 1
    # layers are the round blank; between it and the strip lie the corners of the square and the saw
    assert walnut["turned"] + walnut["turning_waste"] == pytest.approx(math.pi * radius**2 * 12)
    assert walnut["slicing_waste"] == pytest.approx(math.pi * radius**2 * 1)


def test_a_disc_swings_no_wider_than_it_is_and_has_no_joints() -> None:
    (shape,) = estimate(read_sheet(built(disc(), cut(layers=3)))).shapes
    assert shape.rings[0].corner_radius == shape.rings[0].outer_radius
    assert shape.rings[0].end_joints == 0


def test_veneer_is_cut_from_sheets_of_its_own_thickness() -> None:
    found = answer(built(disc(), veneer(), cut(layers=3)))
    sheets = [board for board in found["cutting"]["boards"] if board["wood"] == "cherry"]
    assert [(board["thickness"], board["length"], board["width"]) for board in sheets] == [(0.6, 2400, 200)]
    # 2.4 m x 0.2 m at the usual 20 a square metre
    assert sheets[0]["price"] == "9.60"
    assert found["wood"]["cherry"]["slicing_waste"] == pytest.approx(0, abs=1e-9)


def test_veneer_on_the_rack_is_used_before_any_is_bought_and_boards_are_not() -> None:
    board = {"wood": "cherry", "length": 600, "width": 190, "price": "4.00"}
    sheet = built(
        disc(), veneer(), cut(layers=3), boards=[board | {"thickness": 0.6}, board | {"thickness": 26}]
    )
    used = [board for board in answer(sheet)["cutting"]["boards"] if board["wood"] == "cherry"]
    assert [(board["thickness"], board["buy"]) for board in used] == [(0.6, False)]


def test_a_disc_wider_than_any_board_is_refused_with_what_would_mend_it() -> None:
    sheet = built(disc(), form={"outer": [[0, 140], [12, 140]]})
    (error,) = errors_of(sheet)
    assert error.startswith("bands: ring 1: a walnut")
    assert "larger board" in error


@pytest.mark.parametrize(
    ("band", "place", "reason"),
    [
        (disc(segments=12), "bands[0].segments", "has no segments"),
        (disc(woods=["maple", "walnut"]), "bands[0].woods", "is of one wood, not 2"),
        (disc(woods=["zig"]), "bands[0].woods[0]", "makes segments"),
        (disc(gap=0.1), "bands[0].gap", "goes with segments"),
        (disc(bore="auto"), "bands[0].bore", "no tips"),
        (staves(layers=2, thickness=30), "bands[0].layers", "must be 1"),
        (staves(bore=20), "bands[0].bore", "cannot be bored"),
        (staves(gap=0.1), "bands[0].gap", "goes with segments"),
        (cut(plug="maple"), "bands[0].plug", "fills a bore"),
        (cut(bore=20, plug="mapel"), "bands[0].plug", "maple"),
        (cut(woods=["zag"]), "bands[0].woods[0]", "zig"),
    ],
)
def test_what_does_not_go_together_is_refused_at_its_place(band: dict, place: str, reason: str) -> None:  # type: ignore[type-arg]
    (error,) = errors_of(built(band, laminates={"zig": ZIGZAG}))
    assert error.startswith(f"{place}: ")
    assert reason in error


def cone(*, floor: float) -> dict[str, object]:
    inside = {"kind": "wall", "wall": 9, "floor": floor}
    return {"kind": "cone", "height": 80, "bottom_diameter": 100, "top_diameter": 160, "inside": inside}


def test_staves_of_a_cone_lean_as_it_does_and_carry_the_compound_miter() -> None:
    form = {
        "kind": "cone",
        "height": 80,
        "bottom_diameter": 100,
        "top_diameter": 160,
        "inside": {"kind": "wall", "wall": 9, "floor": 20},
    }
    ring = answer(built(cut(thickness=20), staves(), form=form))["rings"][1]
    flare = math.atan(30 / 80)
    # miter = atan(sin(flare) tan(180/n)), tilt = asin(cos(flare) sin(180/n)), both from a square cut (see test_staves)
    assert ring["flare_deg"] == pytest.approx(math.degrees(flare))
    assert ring["miter_deg"] == pytest.approx(
        math.degrees(math.atan(math.sin(flare) * math.tan(math.pi / 16)))
    )
    assert ring["tilt_deg"] == pytest.approx(
        math.degrees(math.asin(math.cos(flare) * math.sin(math.pi / 16)))
    )
    assert ring["slant_length"] == pytest.approx((60 + 2 * 0.5) / math.cos(flare))
    # the outer flats clear the top radius, 80, and the allowance; half a millimetre of height is flattened away there
    wide = 80 + 3 + 0.5 * math.tan(flare)
    assert ring["rip_width"] == pytest.approx(2 * wide * math.tan(math.pi / 16), rel=1e-6)


def test_staves_stand_upright_where_the_piece_is_solid_anywhere_between() -> None:
    form = {
        "kind": "cone",
        "height": 80,
        "bottom_diameter": 100,
        "top_diameter": 160,
        "inside": {"kind": "wall", "wall": 9, "floor": 30},
    }
    ring = answer(built(cut(thickness=20), staves(), form=form))["rings"][1]
    assert ring["flare_deg"] == 0
    assert ring["miter_deg"] == pytest.approx(0)
    assert ring["tilt_deg"] == pytest.approx(180 / 16)


def test_a_chart_gives_every_layer_its_own_row_repeated_round_the_ring() -> None:
    rows = ["mmww", "mw", "w"]
    chart = {"legend": {"m": "maple", "w": "walnut"}, "rows": rows}
    band = cut(layers=3, chart=chart)
    found = answer(built(band))
    names = {"m": "maple", "w": "walnut"}
    for ring, row in zip(found["rings"], rows, strict=True):
        assert ring["pattern"] == [names[sign] for sign in row * (12 // len(row))]
    assert found["wood"]["walnut"]["segments"] == 6 + 6 + 12


M = {"m": "maple"}


@pytest.mark.parametrize(
    ("changes", "place", "reason"),
    [
        ({"chart": {"legend": M, "rows": ["m", "m"]}}, "bands[0].chart.rows", "2 rows for 3 layers"),
        ({"chart": {"legend": M, "rows": ["m", "x", "m"]}}, "bands[0].chart.rows[1]", "x"),
        ({"chart": {"legend": M, "rows": ["m", "m", "mmmmm"]}}, "bands[0].chart.rows[2]", "5 long"),
        ({"chart": {"legend": M | {"mm": "ash"}, "rows": ["m"] * 3}}, "bands[0].chart.legend.mm", "single sign"),
        ({"chart": {"legend": {"m": "mapel"}, "rows": ["m", "m", "m"]}}, "bands[0].chart.legend.m", "maple"),
        ({"chart": {"rows": ["m", "m", "m"]}}, "bands[0].chart.legend", "missing"),
        ({"chart": {"legend": M, "rows": ["m", "", "m"]}}, "bands[0].chart.rows[1]", "empty"),
        ({"chart": ["m"]}, "bands[0].chart", "object"),
    ],
)  # fmt: skip
def test_a_chart_that_does_not_fit_is_refused_at_its_row(changes: dict, place: str, reason: str) -> None:  # type: ignore[type-arg]
    band = cut(layers=3, **changes)
    error = errors_of(built(band))[0]
    assert error.startswith(f"{place}: ")
    assert reason in error


def test_a_chart_beside_woods_is_refused() -> None:
    chart = {"legend": M, "rows": ["m"]}
    assert errors_of(built(cut() | {"chart": chart}))[0].startswith("bands[0].woods: stands beside a chart")


def test_rows_that_layers_of_one_thick_ring_cannot_have_are_named() -> None:
    legend = {"m": "maple", "w": "walnut"}
    band = cut(
        layers=3,
        thickness=8,
        made="sliced",
        ring_height=60,
        chart={"legend": legend, "rows": ["mw", "mw", "wm"]},
    )
    (error,) = errors_of(built(band))
    assert error.startswith("bands[0].chart.rows[2]: differs from the lowest row")
    band["chart"]["rows"][2] = "mw"
    assert answer(built(band))["rings"][0]["pattern"][:2] == ["maple", "walnut"]


def test_a_laminate_stands_for_a_wood_and_its_strips_are_cut_glued_and_counted() -> None:
    plain = answer(built(cut(layers=1, thickness=14, woods=["maple"])))
    found = answer(built(cut(layers=1, thickness=14, woods=["zig"]), laminates={"zig": ZIGZAG}))
    # the same turned piece, of other woods
    assert sum(w["turned"] for w in found["wood"].values()) == pytest.approx(plain["wood"]["maple"]["turned"])
    assert {key for layer in found["layers"] for key in layer["woods"]} == {"maple", "walnut", "cherry"}
    (cuts,) = found["laminates"]
    assert (cuts["ring"], cuts["laminate"], cuts["segments"]) == (1, "zig", 12)
    assert [strip["wood"] for strip in cuts["strips"]] == ["maple", "walnut", "cherry"]
    assert [strip["thickness"] for strip in cuts["strips"]] == [
        pytest.approx(found["rings"][0]["strip_width"] + 1)
    ] * 3
    assert [glue_up["kind"] for glue_up in found["glue_ups"]] == ["panel", "half_ring", "ring"]
    names = [operation["name"] for operation in found["labour"]["operations"]]
    assert "glue up and slice laminated panels" in names


def test_a_laminate_too_narrow_for_its_segment_says_how_wide_it_must_be() -> None:
    narrow = ZIGZAG | {"strips": [{"wood": "maple", "width": 10}]}
    (error,) = errors_of(built(cut(thickness=14, woods=["zig"]), laminates={"zig": narrow}))
    assert error.startswith("laminates.zig.strips: are 10 mm wide together")


@pytest.mark.parametrize(
    ("laminate", "place"),
    [
        (ZIGZAG | {"kind": "checker"}, "laminates.zig.kind"),
        (ZIGZAG | {"angle": 90}, "laminates.zig.angle"),
        (ZIGZAG | {"strips": []}, "laminates.zig.strips"),
        (ZIGZAG | {"strips": [{"wood": "maple"}]}, "laminates.zig.strips[0].width"),
        (ZIGZAG | {"strips": [{"wood": "mapel", "width": 9}]}, "laminates.zig.strips[0].wood"),
        (ZIGZAG | {"glue": 1}, "laminates.zig.glue"),
    ],
)
def test_what_is_wrong_with_a_laminate_is_named(laminate: dict, place: str) -> None:  # type: ignore[type-arg]
    errors = errors_of(built(cut(thickness=14, woods=["zig"]), laminates={"zig": laminate}))
    assert errors[0].startswith(f"{place}: ")


def test_a_laminate_may_not_take_the_name_of_a_wood() -> None:
    (error,) = errors_of(built(cut(), laminates={"maple": ZIGZAG}))
    assert error.startswith("laminates.maple: is the name of a wood")


def test_corners_break_a_smooth_curve_and_only_there() -> None:
    def form(*, corner: bool) -> dict[str, object]:
        middle: list[object] = [20, 60, "corner"] if corner else [20, 60]
        return {"outer": [[0, 40], [10, 45], middle, [30, 50], [40, 30]], "curve": "smooth"}

    sheet = bowl(form=form(corner=True))
    (shape,) = estimate(read_sheet(sheet)).shapes
    (plain,) = estimate(read_sheet(bowl(form=form(corner=False)))).shapes
    below, above = shape.form.outer.slope(np.array([20 - 1e-9, 20 + 1e-9])).tolist()
    assert below > 0.5
    assert above < -0.5
    assert plain.form.outer.slope(np.array([20.0]))[0] == pytest.approx(0, abs=1e-9)


def test_a_third_item_of_a_point_may_only_say_that_it_is_a_corner() -> None:
    (error,) = errors_of(bowl(form={"outer": [[0, 40], [20, 50, "soft"], [40, 60]], "curve": "smooth"}))
    assert error == 'form.outer[1][2]: may only be "corner"'
