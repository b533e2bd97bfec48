"""Cautions of discs, veneers, bores, plugs and lids: each beside the nearest sheet that does not earn it."""

import pytest

from tests.estimating.sheets import Json, bowl, changed
from tests.estimating.test_cautions import cautions

HOLLOW = {"kind": "wall", "wall": 8, "floor": 10}


def on_a_disc(width: float, *, made: str = "solid", above: str = "cut") -> Json:
    """A straight piece whose lowest layer is a disc, its allowance with it so wide."""
    radius = width / 2 - 3
    sheet = bowl(form={"outer": [[0, radius], [40, radius]]})
    sheet["bands"][0] = {"layers": 1, "thickness": 10, "woods": ["walnut"], "made": made}
    sheet["bands"][1] |= {"made": above, "woods": ["maple"]}
    if above == "solid":
        sheet["bands"][1] = {"layers": 3, "thickness": 10, "woods": ["maple"], "made": "solid"}
    return sheet


def test_a_solid_disc_over_100_mm_across_its_grain_beside_segments_is_a_risk() -> None:
    assert not cautions(on_a_disc(100), "wide_disc")
    (found,) = cautions(on_a_disc(100.2), "wide_disc")
    assert (found["severity"], found["where"]) == ("warning", "bands[0]")
    assert found["message"].startswith("Layer 1 is a solid disc 100 mm wide")
    assert not cautions(on_a_disc(120, above="solid"), "wide_disc")
    assert not cautions(on_a_disc(120, made="veneer"), "wide_disc")


def test_a_disc_under_segments_is_one_over_them_as_well() -> None:
    sheet = on_a_disc(120)
    sheet["bands"] = sheet["bands"][::-1]
    (found,) = cautions(sheet, "wide_disc")
    assert found["message"].startswith("Layer 4 is")


def test_veneer_shows_its_end_grain_in_a_hollow_wall_and_not_in_a_floor() -> None:
    veneer = {"made": "veneer", "layers": 1, "thickness": 1, "woods": ["walnut"]}
    sheet = changed(bowl(), ["form"], {"outer": [[0, 40], [41, 60]], "inside": HOLLOW})
    low, high = dict(sheet), dict(sheet)
    low["bands"] = [veneer, *sheet["bands"]]
    high["bands"] = [*sheet["bands"], veneer]
    assert not cautions(low, "veneer_grain")
    assert [(c["severity"], c["where"]) for c in cautions(high, "veneer_grain")] == [("note", "bands[2]")]


def test_a_bore_leaves_a_wall_of_the_foot_round_it() -> None:
    def found(bore: float) -> list[Json]:
        return cautions(
            changed(bowl(), ["bands", 0], bowl()["bands"][0] | {"bore": bore, "plug": "maple"}), "wide_bore"
        )

    assert not found(74)
    (narrow,) = found(74.2)
    assert (narrow["severity"], narrow["where"]) == ("warning", "bands[0]")
    assert "leaves 2.9 mm of the ring" in narrow["message"]
    assert "nothing of the ring is left" in found(81)[0]["message"]


def test_a_plug_shows_its_end_grain() -> None:
    bored = changed(bowl(), ["bands", 0, "bore"], 20)
    assert not cautions(bored, "plug_grain")
    (found,) = cautions(changed(bored, ["bands", 0, "plug"], "maple"), "plug_grain")
    assert (found["severity"], found["where"]) == ("note", "bands[0]")
    assert "through layer 1 " in found["message"]


def lidded(flange: float, **sits: object) -> Json:
    """A straight box with an opening of 88 mm, and a lid whose flange has this radius."""
    bands = [{"layers": 2, "thickness": 10, "segments": 12, "woods": ["maple"]}]
    body = {
        "name": "body",
        "form": {"outer": [[0, 50], [20, 50]], "inside": {"kind": "wall", "wall": 6, "floor": 5}},
    }
    lid = {"name": "lid", "form": {"outer": [[0, flange], [8, flange], [8.1, 50], [20, 50]]}}
    lid |= {"sits": {"in": "body", "flange": 8, "clearance": 0.5} | sits}
    sheet = bowl()
    del sheet["form"], sheet["bands"], sheet["allowance"]
    return sheet | {"parts": [body | {"bands": bands}, lid | {"bands": bands}]}


@pytest.mark.parametrize(
    ("flange", "codes"),
    [(44.1, ["lid_tight"]), (43.6, ["lid_tight"]), (43.5, []), (42.5, []), (42.4, ["lid_loose"])],
)
def test_a_lid_goes_in_with_its_clearance_and_not_three_times_as_much(
    flange: float, codes: list[str]
) -> None:
    sheet = lidded(flange)
    found = [*cautions(sheet, "lid_tight"), *cautions(sheet, "lid_loose")]
    assert [c["code"] for c in found] == codes
    for caution in found:
        assert (caution["severity"], caution["where"]) == ("warning", "parts[1].sits")
        assert "flange 87.0 mm wide" in caution["message"]


def test_a_lid_wider_than_its_opening_does_not_go_in() -> None:
    assert "does not go into" in cautions(lidded(44.1), "lid_tight")[0]["message"]
    assert "goes too tightly into" in cautions(lidded(43.9), "lid_tight")[0]["message"]


def test_a_loose_lid_moves_with_the_season_and_a_glued_one_does_not() -> None:
    sheet = lidded(43.4)
    assert [(c["severity"], c["where"]) for c in cautions(sheet, "lid_moves")] == [("note", "parts[1].sits")]
    sheet["parts"][1]["sits"] = {"on": "body"}
    assert not cautions(sheet, "lid_moves")
