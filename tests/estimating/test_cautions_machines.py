"""Cautions of what saws, planer, bandsaw and lathe take: each beside the nearest sheet that does not earn it."""

from math import cos, pi, tan

import pytest

from estimating.cautions.lathe import first_speed
from estimating.wood.species import published_species
from tests.estimating.sheets import Json, answer, bowl, changed
from tests.estimating.test_cautions import cautions

ACROSS = 2 * 63 / cos(pi / 12)
"""mm across the corners of the small bowl's widest ring: radius 60 and 3 to turn, 12 segments."""


def limited(sheet: Json, setting: str, limit: float, code: str) -> list[Json]:
    return cautions(changed(sheet, ["shop", setting], limit), code)


def test_corners_wider_than_the_swing_are_named_by_their_rings() -> None:
    assert not limited(bowl(), "lathe_swing", ACROSS + 0.001, "over_swing")
    assert not limited(bowl(), "lathe_swing", 0, "over_swing")  # not set
    (found,) = limited(bowl(), "lathe_swing", ACROSS - 0.001, "over_swing")
    assert (found["severity"], found["where"]) == ("warning", "shop.lathe_swing")
    assert "ring 4 swings 130 mm across its corners" in found["message"]


def test_staves_swing_by_the_corners_of_their_wide_end() -> None:
    """They stand upright where the piece is solid, so at 60 and 3 all the way: the ring itself is no wider."""
    sheet = bowl()
    sheet["bands"][1] = {"made": "staves", "layers": 1, "thickness": 30, "segments": 12, "woods": ["maple"]}
    assert not limited(sheet, "lathe_swing", ACROSS + 0.001, "over_swing")
    assert "ring 2 swings" in limited(sheet, "lathe_swing", ACROSS - 0.001, "over_swing")[0]["message"]


def test_a_stack_with_its_chuck_and_waste_block_must_fit_the_lathe() -> None:
    """40 mm of stack and 75 of chuck; a waste block is 25 more."""
    assert not limited(bowl(), "lathe_length", 115, "over_length")
    (found,) = limited(bowl(), "lathe_length", 114.9, "over_length")
    assert (found["severity"], found["where"]) == ("warning", "shop.lathe_length")
    assert "layers 1 to 4, is 40 mm tall; with a chuck of about 75 mm it needs 115 mm" in found["message"]
    blocked = bowl(holding={"by": "waste_block", "depth": 5, "parting": 0}, allowance={"outside": 3})
    assert not limited(blocked, "lathe_length", 140, "over_length")
    assert (
        "with a waste block of 25 mm" in limited(blocked, "lathe_length", 139.9, "over_length")[0]["message"]
    )


def test_a_blank_weighs_what_its_polygons_do() -> None:
    """One ring of 12 segments, wedges to the centre, apothem 63, 10 mm: 12 x 63^2 x tan 15 x 10 mm3 of maple."""
    sheet = bowl(form={"outer": [[0, 60], [10, 60]]}, bands=[bowl()["bands"][0] | {"woods": ["maple"]}])
    density = _density("maple")
    weight = 12 * 63**2 * tan(pi / 12) * 10 * density * 1e-9
    assert not limited(sheet, "lathe_load_kg", weight + 1e-6, "over_load")
    (found,) = limited(sheet, "lathe_load_kg", weight - 1e-6, "over_load")
    assert (found["severity"], found["where"]) == ("warning", "shop.lathe_load_kg")
    assert f"about {weight:.1f} kg" in found["message"]


def test_a_plugged_disc_weighs_its_rim_and_its_plug() -> None:
    disc = {"made": "solid", "layers": 1, "thickness": 10, "woods": ["maple"], "bore": 40, "plug": "walnut"}
    sheet = bowl(form={"outer": [[0, 60], [10, 60]]}, bands=[disc])
    weight = pi * 10 * ((63**2 - 20**2) * _density("maple") + 20**2 * _density("walnut")) * 1e-9
    assert not limited(sheet, "lathe_load_kg", weight + 1e-6, "over_load")
    assert limited(sheet, "lathe_load_kg", weight - 1e-6, "over_load")


def _density(wood: str) -> float:
    return published_species()[wood].density


@pytest.mark.parametrize(
    ("across", "turns"),
    [(152.4, 1000), (203.2, 750), (254, 600), (304.8, 500), (356, 420), (406.4, 370), (508, 300), (20, 1500)],
)
def test_the_first_speed_is_the_slow_end_of_the_turners_rule_and_never_more(
    across: float, turns: int
) -> None:
    """6 in 1000, 8 in 750, 10 in 600, 12 in 500, 14 in 429, 16 in 375, 20 in 300: 6000 over the diameter in inches
    (aawforum.org, threads/speed.17020); in tens, rounded down; slim blanks are not started faster than 1500."""
    assert first_speed(across) == turns


def test_the_first_speed_is_said_with_the_corners_it_is_for() -> None:
    (found,) = cautions(bowl(), "first_turning")
    assert "130 mm across its corners, at ring 4" in found["message"]
    assert "no faster than 1160 turns a minute (common practice)" in found["message"]
    for advice in ("face shield", "out of the line of fire", "glue cure first"):
        assert advice in found["message"]


def tube(height: int, **more: object) -> Json:
    """A tube with an opening of 30 mm and a floor of 10."""
    sheet = bowl(
        form={"outer": [[0, 20], [height, 20]], "inside": {"kind": "wall", "wall": 5, "floor": 10}}, **more
    )
    sheet["bands"] = [
        {"layers": height // 10, "thickness": 10, "segments": 12, "woods": ["maple"], "offset": 0.5}
    ]
    return sheet


def test_a_hollow_deeper_than_four_openings_is_out_of_reach_until_it_is_closed_between() -> None:
    assert not cautions(tube(130), "out_of_reach")  # 120 of 30
    (found,) = cautions(tube(140), "out_of_reach")
    assert (found["severity"], found["where"]) == ("warning", "form.inside")
    assert "130 mm deep behind an opening 30 mm wide, at layer 14: 4.3 widths" in found["message"]
    assert not cautions(tube(140, close_at=[70]), "out_of_reach")
    assert not limited(tube(140), "hollowing_reach", 4.5, "out_of_reach")
    assert not limited(tube(140), "hollowing_reach", 0, "out_of_reach")  # not set


def test_closing_where_the_caution_says_brings_a_belly_within_reach() -> None:
    outer = [[0, 30], [60, 70], [140, 15], [150, 15]]
    inner = [[10, 25], [60, 62], [140, 9], [150, 9]]
    sheet = bowl(form={"outer": outer, "inside": {"kind": "curve", "inner": inner}})
    sheet["bands"] = [{"layers": 15, "thickness": 10, "segments": 12, "woods": ["maple"], "offset": 0.5}]
    (found,) = cautions(sheet, "out_of_reach")
    assert "close it at 60.0 mm, above layer 6" in found["message"]
    assert not cautions(sheet | {"close_at": [60.0]}, "out_of_reach")


def test_a_board_too_short_for_the_planer_is_a_danger_if_it_is_used() -> None:
    def rack(length: float, wood: str = "walnut") -> Json:
        board = {"wood": wood, "length": length, "width": 150, "thickness": 30, "count": 4, "price": "5.00"}
        return bowl(boards=[board])

    assert not cautions(rack(350), "short_board")
    (found,) = cautions(rack(349), "short_board")
    assert (found["severity"], found["where"]) == ("danger", "boards[0]")
    assert "manual comes first" in found["message"]
    assert not cautions(rack(349, "padauk"), "short_board")  # nothing is sawn from it
    assert not limited(rack(349), "min_planer_length", 300, "short_board")


def test_a_thick_ring_wider_than_the_bandsaw_is_tall_is_parted_on_the_lathe() -> None:
    sheet = bowl()
    sheet["bands"][1] |= {"made": "sliced", "ring_height": 60}
    assert answer(sheet)["rings"][1]["layers"] == [2, 3, 4]
    assert not limited(sheet, "bandsaw_height", ACROSS + 0.001, "bandsaw_height")
    (found,) = limited(sheet, "bandsaw_height", ACROSS - 0.001, "bandsaw_height")
    assert (found["severity"], found["where"]) == ("note", "bands[1]")
    assert not limited(bowl(), "bandsaw_height", 20, "bandsaw_height")  # nothing is sliced


def test_a_disc_thicker_than_the_bandsaw_cuts_cannot_be_sawn_round() -> None:
    """10 mm and half a millimetre to flatten on either face."""
    sheet = bowl()
    sheet["bands"][0] = {"made": "solid", "layers": 1, "thickness": 10, "woods": ["walnut"]}
    assert not limited(sheet, "bandsaw_height", 11, "bandsaw_height")
    (found,) = limited(sheet, "bandsaw_height", 10.9, "bandsaw_height")
    assert (found["severity"], found["where"]) == ("warning", "bands[0]")


def test_tips_of_staves_are_mended_otherwise_than_tips_of_wedges() -> None:
    sheet = bowl()
    sheet["bands"][1] = {"made": "staves", "layers": 1, "thickness": 30, "segments": 12, "woods": ["maple"]}
    wedges, staves = cautions(sheet, "sharp_tips")
    assert wedges["message"].startswith("Segments of ring 1 come to a point")
    assert "Bore the centre" in wedges["message"]
    assert staves["message"].startswith("Staves of ring 2 come to a point")
    assert "fewer staves" in staves["message"]
