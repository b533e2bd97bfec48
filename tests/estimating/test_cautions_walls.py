"""Cautions of covering and of the finished wall: each beside the nearest sheet that does not earn it."""

from dataclasses import replace
from math import pi, sin, sqrt

import pytest
from hypothesis import given

from estimating.cautions import Caution, find_cautions
from estimating.estimate import estimate
from estimating.sheet import read_sheet
from tests.estimating.sheets import Json, bowl, changed, modest, sheets, without
from tests.estimating.test_cautions import cautions


def hollow(*, wall: float = 8, floor: float = 10, **changes: object) -> Json:
    """The small bowl, hollowed to one wall: its sides rise 2 for 1 outwards."""
    return changed(bowl(**changes), ["form", "inside"], {"kind": "wall", "wall": wall, "floor": floor})


def with_rings_changed(sheet: Json, **narrower: float) -> list[Caution]:
    """The cautions of a piece whose third ring is made otherwise than it should be."""
    made = estimate(read_sheet(sheet))
    (shape,) = made.shapes
    rings = [replace(ring, **narrower) if ring.number == 3 else ring for ring in shape.rings]  # type: ignore[arg-type]
    shapes = (replace(shape, rings=tuple(rings)),)
    found = find_cautions(sheet=made.sheet, shapes=shapes, plan=made.cutting, woods=made.workshop.woods)
    return [caution for caution in found if caution.code == "not_covered"]


def test_a_ring_too_small_for_the_form_is_named_with_what_is_missing() -> None:
    """Layer 3 reaches 55 at its top."""
    assert with_rings_changed(hollow(), outer_radius=55.0) == []
    (found,) = with_rings_changed(hollow(), outer_radius=54.5)
    assert (found.severity, found.where) == ("warning", "bands[1]")
    assert found.message.startswith("Layer 3 does not cover the form: up to 0.50 mm of it is missing outside")


def test_a_ring_too_wide_inside_is_named_with_what_is_missing() -> None:
    inside = 50 - 8 * sqrt(1.25)  # level through a wall of 8 mm that leans 1 in 2
    assert with_rings_changed(hollow(), inner_radius=inside) == []
    (found,) = with_rings_changed(hollow(), inner_radius=inside + 0.25)
    assert "up to 0.25 mm of it is missing inside" in found.message


@modest
@given(sheets())
def test_the_rings_of_any_piece_cover_its_form(sheet: Json) -> None:
    assert not cautions(sheet, "not_covered")


@pytest.mark.parametrize("made", ["cut", "sliced", "staves"])
def test_the_rings_that_are_laid_always_cover_the_form(made: str) -> None:
    sheet = hollow(allowance={})
    sheet["bands"][1] |= {"made": made}
    if made == "sliced":
        sheet["bands"][1] |= {"ring_height": 50}
    if made == "staves":
        sheet["bands"][1] |= {"layers": 1, "thickness": 30}
    assert not cautions(sheet, "not_covered")


def test_a_bore_without_a_plug_is_a_hole_where_the_form_is_solid() -> None:
    bored = changed(hollow(), ["bands", 0, "bore"], 20)
    (found,) = cautions(bored, "open_bore")
    assert (found["severity"], found["where"]) == ("warning", "bands[0]")
    assert "Layer 1 has a bore 20.0 mm wide" in found["message"]
    assert not cautions(bored, "not_covered")  # said once
    plugged = changed(bored, ["bands", 0, "plug"], "walnut")
    assert not cautions(plugged, "open_bore")
    assert not cautions(plugged, "not_covered")
    assert not cautions(changed(hollow(), ["bands", 1, "bore"], 20), "open_bore")  # the hollow is wider


def test_a_bore_below_the_form_is_turned_away_with_the_tenon() -> None:
    sheet = without(hollow(), ["allowance", "bottom"]) | {
        "holding": {"by": "tenon", "depth": 7, "parting": 3}
    }
    sheet["bands"].insert(0, {"layers": 1, "thickness": 10, "segments": 12, "woods": ["maple"], "bore": 76})
    assert not cautions(sheet, "open_bore")
    assert not cautions(sheet, "wide_bore")  # the foot above it is 80 mm wide


def test_an_allowance_smaller_than_the_run_out_is_too_small() -> None:
    """Layer 3 needs 0.2 + 0.36 / 2, and for its halves 0.2 + (55 + a) / cos 15 x 12 x 0.02 degrees / 2: a = 0.7008."""

    def found(outside: float) -> list[Json]:
        return cautions(hollow(allowance={"outside": outside, "inside": 3}), "run_out")

    assert not found(0.702)
    assert [c["where"] for c in found(0.699)] == ["allowance.outside"]
    assert "Layer 3 has little to spare outside" in found(0.699)[0]["message"]
    assert "Allow 0.8 mm outside" in found(0.699)[0]["message"]
    assert "Layers 1 to 4 have" in found(0)[0]["message"]


def test_inside_the_run_out_is_that_of_centring_and_of_drift_alone() -> None:
    """Layer 4 may stand 0.38 mm off on a slope of 1 in 2: 0.2 + 0.19."""

    def found(inside: float) -> list[Json]:
        return cautions(hollow(allowance={"outside": 3, "inside": inside}), "run_out")

    assert not found(0.391)
    assert [c["where"] for c in found(0.389)] == ["allowance.inside"]
    assert "layer 4 has 0.4 mm" in found(0.389)[0]["message"]
    assert not cautions(bowl(allowance={"outside": 3, "inside": 0}), "run_out")  # solid: no inside to miss


def test_a_wall_thinner_than_the_shop_turns_is_named_by_its_glue_line() -> None:
    assert not cautions(hollow(wall=3), "thin_wall")
    (found,) = cautions(hollow(wall=2.9), "thin_wall")
    assert (found["severity"], found["where"]) == ("warning", "form.inside")
    assert "2.9 mm thick at the glue line between layers" in found["message"]
    assert not cautions(changed(hollow(wall=2.9), ["shop", "min_wall"], 2.9), "thin_wall")


def test_a_wall_thin_between_the_glue_lines_alone_is_thick_enough_at_them() -> None:
    inner = [[10, 30], [14, 30], [15, 46], [16, 30], [40, 30]]
    sheet = changed(bowl(), ["form", "inside"], {"kind": "curve", "inner": inner})
    assert not cautions(sheet, "thin_wall")
    at_the_line = [[10, 30], [19, 30], [20, 48], [21, 30], [40, 30]]
    (found,) = cautions(changed(sheet, ["form", "inside", "inner"], at_the_line), "thin_wall")
    assert "between layers 2 and 3" in found["message"]
    assert "above layer 2)" in found["message"]


def test_a_floor_thinner_than_a_wall_may_be_is_too_thin() -> None:
    assert not cautions(hollow(floor=3), "thin_floor")
    assert [c["where"] for c in cautions(hollow(floor=2.9), "thin_floor")] == ["form.inside"]
    assert not cautions(hollow(floor=0), "thin_floor")  # a hole all through has no floor
    plate = bowl(form={"outer": [[0, 40], [2, 60]]}, bands=[bowl()["bands"][0] | {"thickness": 2}])
    assert not cautions(plate, "thin_floor")  # nor has a thin solid plate


def test_a_recess_must_leave_a_floor_over_it() -> None:
    def found(depth: float, by: str = "recess") -> list[Json]:
        sheet = without(hollow(), ["allowance", "bottom"])
        if by == "tenon":
            sheet["bands"][0]["thickness"] = 10 + depth
        return cautions(sheet | {"holding": {"by": by, "depth": depth, "parting": 0}}, "thin_floor")

    assert not found(7)
    assert [c["where"] for c in found(7.1)] == ["holding.depth"]
    assert "Make the recess 7.0 mm deep at most" in found(7.1)[0]["message"]
    assert not found(7.1, by="tenon")


@pytest.mark.parametrize(("segments", "level"), [(12, 10 * sin(pi / 12)), (6, 5.0), (3, 10 * sin(pi / 3))])
def test_fibres_at_the_lip_run_a_wall_over_the_sine_of_half_a_segment(segments: int, level: float) -> None:
    """10 mm of fibre at the joint are enough. The wall leans 1 in 2, so that level it is sqrt(1.25) as thick."""

    def found(wall: float) -> list[Json]:
        sheet = hollow(wall=wall / sqrt(1.25), shop={"min_wall": 0})
        sheet["bands"][1] |= {"segments": segments, "woods": ["maple"]}
        return cautions(sheet, "short_grain")

    assert not found(level + 0.01)
    (short,) = found(level - 0.01)
    assert (short["severity"], short["where"]) == ("warning", "bands[1]")
    assert f"layer 4, is {(level - 0.01) / sqrt(1.25):.1f} mm thick" in short["message"]
    assert "fibres run only 10.0 mm" in short["message"]


def test_a_lip_thinner_than_a_wall_may_be_has_short_grain_at_any_count() -> None:
    sheet = hollow(wall=2.9)
    sheet["bands"][1] |= {"segments": 48, "woods": ["maple"]}
    assert "2.9 mm thick, under the shop's least 3 mm" in cautions(sheet, "short_grain")[0]["message"]
    assert not cautions(changed(sheet, ["form", "inside", "wall"], 3), "short_grain")


def test_a_top_layer_of_which_little_is_left_is_a_feather() -> None:
    """Four layers of 10: the form may end within the fourth."""

    def found(height: float) -> list[Json]:
        return cautions(bowl(form={"outer": [[0, 40], [height, 60]]}), "feathered_rim")

    assert not found(33)
    assert [c["where"] for c in found(32.9)] == ["bands[1]"]
    assert "Only 2.9 mm of layer 4" in found(32.9)[0]["message"]
    assert found(30.06)
    assert not found(30.04)


def test_a_top_layer_of_which_nothing_is_left_is_wasted() -> None:
    def found(height: float) -> list[Json]:
        return cautions(
            bowl(form={"outer": [[0, 40], [height, 60]]}, allowance={"outside": 3, "top": 5}), "wasted_layer"
        )

    assert not found(30.06)
    assert [(c["severity"], c["where"]) for c in found(30.04)] == [("note", "bands[1]")]
    assert "Layer 4 stands wholly above the rim" in found(30.04)[0]["message"]


def test_a_thin_top_layer_that_is_whole_is_no_feather() -> None:
    sheet = bowl(form={"outer": [[0, 40], [40.6, 60]]})
    sheet["bands"].append({"made": "veneer", "layers": 1, "thickness": 0.6, "woods": ["walnut"]})
    assert not cautions(sheet, "feathered_rim")
