"""A whole piece between two rooms: each layer and glue line against figures worked out from the printed answer."""

from itertools import pairwise
from math import cos, pi, radians
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.estimate import Estimate, estimate
from estimating.sheet import read_sheet
from estimating.wood.climate import equilibrium_moisture
from estimating.wood.species import published_species
from estimating.wood.weather import BREAKS, FELT, OPENS
from estimating.wood.weather_words import LITTLE, MUCH, stress_word, working
from tests.estimating.kinds import ZIGZAG, built, cut, disc, in_parts, staves, veneer
from tests.estimating.sheets import Json, answer, bowl, changed, errors_of, modest, sheets, without

DRIER = {"shop": {"temperature_c": 21, "humidity": 45}, "client": {"temperature_c": 22, "humidity": 30}}
DAMPER = {"shop": {"temperature_c": 20, "humidity": 40}, "client": {"temperature_c": 26, "humidity": 75}}
WIDE = {"width": 400}
OPEN = {"kind": "wall", "wall": 8, "floor": 0}


def weather(sheet: Json) -> Json:
    found: Json = answer(sheet)["movement"]
    return found


def estimated(sheet: Json) -> Estimate:
    return estimate(read_sheet(sheet))


def strain(wood: str, moisture: Json, *, tangential: bool = True) -> float:
    """From the sizes at two moistures on the line from green to ovendry, S (30 - M) / 30 below the green one."""
    species = published_species()[wood]
    shrink = species.shrink_tangential_pct if tangential else species.shrink_radial_pct
    assert shrink is not None
    sizes = [100 - shrink * (30 - moisture[key]) / 30 for key in ("emc_shop", "emc_client")]
    return sizes[1] / sizes[0] - 1


def test_without_a_climate_nothing_is_said_of_movement() -> None:
    assert "movement" not in answer(bowl())
    assert estimated(bowl()).movement is None


def test_the_moistures_are_those_of_the_two_rooms() -> None:
    found = weather(bowl(climate=DAMPER))
    rooms = [equilibrium_moisture(**DAMPER[room]) for room in ("shop", "client")]
    assert [found["emc_shop"], found["emc_client"]] == rooms


@pytest.mark.parametrize("climate", [DRIER, DAMPER], ids=["drier", "damper"])
def test_a_ring_changes_by_the_strain_of_its_wood(climate: Json) -> None:
    sheet = built(
        cut(layers=4, woods=["walnut"]), form={"outer": [[0, 60], [40, 60]], "inside": OPEN}, climate=climate
    )
    found = weather(sheet)
    most, least = strain("walnut", found), strain("walnut", found, tangential=False)
    for layer in found["layers"]:
        assert layer["width"] == pytest.approx(8, abs=1e-6)  # the wall as turned, without allowances
        assert layer["width_change"] == pytest.approx(8 * most, rel=1e-6)
        assert layer["height_change"] == pytest.approx(10 * most, rel=1e-9)
        assert layer["width_change_least"] == pytest.approx(8 * least, rel=1e-6)
        assert layer["height_change_least"] == pytest.approx(10 * least, rel=1e-9)
    assert (most > 0) == (climate is DAMPER)


def test_like_rings_on_like_rings_slide_only_as_far_as_growth_rings_may_differ() -> None:
    sheet = built(
        cut(layers=4, woods=["walnut"]), form={"outer": [[0, 60], [40, 60]], "inside": OPEN}, climate=DRIER
    )
    found = weather(sheet)
    unsorted = (
        abs(strain("walnut", found) - strain("walnut", found, tangential=False)) * 4
    )  # half of the wall
    for joint in found["joints"]:
        assert joint["mismatch"] == pytest.approx(0, abs=1e-9)
        assert joint["mismatch_most"] == pytest.approx(unsorted, rel=1e-6)
    assert [(j["below"], j["above"]) for j in found["joints"]] == [(1, 2), (2, 3), (3, 4)]


def test_unlike_woods_slide_by_half_the_difference_of_their_widths() -> None:
    bands = [cut(layers=2, woods=["walnut"]), cut(layers=2, woods=["maple"])]
    found = weather(built(*bands, form={"outer": [[0, 60], [40, 60]], "inside": OPEN}, climate=DRIER))
    changes = [layer["width_change"] for layer in found["layers"]]
    for joint, (below, above) in zip(found["joints"], pairwise(changes), strict=True):
        assert joint["mismatch"] == pytest.approx(abs(above - below) / 2, abs=1e-9)


def test_a_solid_disc_moves_across_its_diameter_and_slides_on_its_ring() -> None:
    """Across: the disc e R, the ring e w / 2 about its middle circle; along: the ring alone."""
    form = {"outer": [[0, 60], [32, 60]], "inside": {"kind": "wall", "wall": 10, "floor": 12}}
    sheet = built(disc(woods=["maple"]), cut(layers=2), form=form, climate=DRIER, usual_board=WIDE)
    found = weather(sheet)
    first, second = found["layers"][:2]
    e, least = strain("maple", found), strain("maple", found, tangential=False)
    assert first["width"] == pytest.approx(120)
    assert first["width_change"] == pytest.approx(120 * e, rel=1e-9)
    assert first["height_change"] == pytest.approx(12 * e, rel=1e-9)
    assert "closing" not in first
    assert second["width"] == pytest.approx(10, abs=1e-6)
    joint = found["joints"][0]
    assert joint["mismatch"] == pytest.approx(abs(60 * e - 5 * e), rel=1e-6)
    assert joint["mismatch_most"] == pytest.approx(abs(60 * e - 5 * least), rel=1e-6)
    assert first["safe_diameter"] == pytest.approx(2 * OPENS / abs(e), rel=1e-9)


def test_a_disc_of_the_safe_diameter_moves_just_the_limit_at_each_side() -> None:
    form = {"outer": [[0, 30], [32, 30]]}
    found = weather(built(disc(thickness=32, woods=["beech"]), form=form, climate=DAMPER))
    (layer,) = found["layers"]
    share = layer["safe_diameter"] / layer["width"]
    assert abs(layer["width_change"]) * share / 2 == pytest.approx(OPENS, rel=1e-9)


def test_a_bore_narrows_a_ring_and_keeps_a_disc_its_diameter() -> None:
    form = {"outer": [[0, 50], [22, 50]]}
    found = weather(built(disc(bore=20), cut(bore=20), form=form, climate=DRIER))
    assert [layer["width"] for layer in found["layers"]] == pytest.approx([100, 40], abs=1e-9)


def test_discs_with_crossed_grain_slide_and_with_parallel_grain_do_not() -> None:
    form = {"outer": [[0, 50], [24, 50]]}
    parallel = built(disc(layers=2), form=form, climate=DRIER)
    crossed = changed(parallel, ["bands", 0, "offset"], 0.25)
    e = strain("walnut", weather(parallel))
    assert weather(parallel)["joints"][0]["mismatch"] == pytest.approx(0, abs=1e-9)
    assert weather(crossed)["joints"][0]["mismatch"] == pytest.approx(abs(50 * e), rel=1e-9)


def test_staves_move_round_the_piece_and_not_along_it() -> None:
    form = {"outer": [[0, 60], [80, 60]], "inside": OPEN}
    found = weather(built(cut(layers=2), staves(woods=["maple"]), form=form, climate=DAMPER))
    ring, stave = found["layers"][1:]
    e = strain("maple", found)
    assert stave["height_change"] == stave["height_change_least"] == 0
    assert stave["width_change"] == pytest.approx(stave["width"] * e, rel=1e-9)
    assert "closing" not in stave
    # outside: the stave's circle grows by e R, the ring's edge by e w / 2; inside the ring's edge comes in
    inside = 60 - ring["width"]
    assert found["joints"][1]["mismatch"] == pytest.approx(
        max(abs(60 * e - ring["width"] / 2 * e), abs(inside * e + ring["width"] / 2 * e)), rel=1e-6
    )


def test_a_laminate_moves_by_the_slant_of_its_strips() -> None:
    form = {"outer": [[0, 60], [20, 60]], "inside": OPEN}
    stripes = {**ZIGZAG, "angle": 60, "kind": "stripes"}
    sheet = built(cut(layers=2, woods=["zig"]), form=form, climate=DRIER, laminates={"zig": stripes})
    found = weather(sheet)
    most = max((strain(wood, found) for wood in ("maple", "walnut", "cherry")), key=abs)
    (layer, _) = found["layers"]
    assert layer["width_change"] == pytest.approx(layer["width"] * most, rel=1e-9)
    assert layer["height_change"] == pytest.approx(10 * most * cos(radians(60)) ** 2, rel=1e-9)


def test_a_part_glued_on_another_has_a_glue_line_and_a_loose_one_none() -> None:
    lid = {"name": "lid", "form": {"outer": [[0, 30], [20, 20]]}, "bands": [cut(layers=2)]}
    body = {"name": "body", "form": {"outer": [[0, 40], [20, 40]]}, "bands": [cut(layers=2)]}
    glued = in_parts(body, {**lid, "sits": {"on": "body"}}, climate=DRIER)
    loose = in_parts(body, lid, climate=DRIER)
    assert [(j["below"], j["above"]) for j in weather(glued)["joints"]] == [(1, 2), (2, 3), (3, 4)]
    assert [(j["below"], j["above"]) for j in weather(loose)["joints"]] == [(1, 2), (3, 4)]


def test_veneer_follows_what_it_is_glued_to() -> None:
    """Between two like rings it strains nothing, whatever it would do alone; past it a disc still pulls at a ring."""
    form = {"outer": [[0, 70], [20.6, 70]], "inside": OPEN}
    between = weather(built(cut(), veneer(), cut(), form=form, climate=DAMPER, usual_board=WIDE))
    assert max(joint["mismatch_most"] for joint in between["joints"]) > OPENS
    assert {joint["severity"] for joint in between["joints"]} == {"none"}
    form = {"outer": [[0, 70], [22.6, 70]], "inside": {"kind": "wall", "wall": 8, "floor": 12}}
    past = weather(built(disc(), veneer(), cut(), form=form, climate=DAMPER, usual_board=WIDE))
    without_it = weather(
        built(disc(), cut(), form={**form, "outer": [[0, 70], [22, 70]]}, climate=DAMPER, usual_board=WIDE)
    )
    (severity,) = {joint["severity"] for joint in without_it["joints"]}
    assert [joint["severity"] for joint in past["joints"]] == [severity] * 2 == ["danger"] * 2


def test_a_veneer_at_the_end_of_a_piece_is_held_by_nothing() -> None:
    form = {"outer": [[0, 70], [10.6, 70]]}
    found = weather(built(cut(), veneer(), form=form, climate=DAMPER, usual_board=WIDE))
    assert [joint["severity"] for joint in found["joints"]] == ["none"]


def test_a_wood_of_which_nothing_is_known_moves_nobody_knows_how_much() -> None:
    form = {"outer": [[0, 60], [30, 60]], "inside": OPEN}
    bands = [cut(woods=["mesquite"]), cut(woods=["maple"]), cut(woods=["maple", "mesquite"])]
    found = weather(built(*bands, form=form, climate=DRIER))
    changes = [layer["width_change"] for layer in found["layers"]]
    assert (changes[0], changes[2]) == (None, None)
    assert changes[1] < 0
    assert [(joint["mismatch"], joint["severity"]) for joint in found["joints"]] == [(None, "unknown")] * 2
    assert found["unknown"] == ["mesquite"]


def test_open_segments_have_no_joints_that_would_open() -> None:
    form = {"outer": [[0, 60], [20, 60]], "inside": OPEN}
    found = weather(built(cut(), cut(gap=0.2), form=form, climate=DRIER))
    assert ["closing" in layer for layer in found["layers"]] == [True, False]
    assert found["layers"][0]["closing"]["opens"] == "inside"
    assert found["layers"][0]["closing"]["stress"] == "little"


def test_the_humidity_to_hold_keeps_the_moisture_of_the_shop_in_the_client_s_room() -> None:
    found = weather(bowl(climate=DAMPER))
    there = equilibrium_moisture(temperature_c=26, humidity=found["humidity_to_hold"])
    assert there == pytest.approx(found["emc_shop"], abs=1e-9)
    hot = {"shop": {"temperature_c": 0, "humidity": 95}, "client": {"temperature_c": 40, "humidity": 50}}
    assert "humidity_to_hold" not in weather(bowl(climate=hot))  # no air at 40 degrees holds 24 %


@pytest.mark.parametrize(
    ("forced", "word"),
    [
        (0, "little"),
        (LITTLE * 0.999, "little"),
        (LITTLE, "some"),
        (MUCH * 0.999, "some"),
        (MUCH, "much"),
        (0.02, "much"),
    ],
)
def test_stress_is_told_in_three_words(forced: float, word: str) -> None:
    assert stress_word(forced) == word


def test_the_levels_of_mismatch_rise() -> None:
    assert 0 < FELT < OPENS < BREAKS


airs = st.fixed_dictionaries({"temperature_c": st.floats(0, 40), "humidity": st.floats(5, 95)})


@modest
@given(sheets(most_layers=4), airs, airs)
def test_every_piece_moves_one_way_and_not_at_all_in_the_same_air(
    sheet: Json, shop: Json, client: Json
) -> None:
    found = weather({**sheet, "climate": {"shop": shop, "client": client}})
    sign = found["emc_client"] - found["emc_shop"]
    for layer in found["layers"]:
        for key in ("width_change", "height_change"):
            assert layer[key] * sign >= 0
            assert abs(layer[key]) >= abs(layer[f"{key}_least"])
    for joint in found["joints"]:
        assert joint["mismatch_most"] >= joint["mismatch"] - 1e-12
        assert joint["mismatch"] >= 0
        levels = {
            "none": (0, FELT),
            "note": (FELT, OPENS),
            "warning": (OPENS, BREAKS),
            "danger": (BREAKS, 1e9),
        }
        low, high = levels[joint["severity"]]
        assert low <= joint["mismatch_most"] < high
    still = weather({**sheet, "climate": {"shop": shop, "client": shop}})
    assert all(layer["width_change"] == layer["height_change"] == 0 for layer in still["layers"])
    assert all(joint["mismatch_most"] == 0 for joint in still["joints"])


def test_the_working_of_a_layer_holds_the_figures_of_the_answer() -> None:
    found = estimated(bowl(climate=DRIER))
    assert found.movement is not None
    words = " ".join(working(found.movement, 2, woods=found.workshop.woods))
    layer = found.movement.layer(2)
    maple = strain("maple", {"emc_shop": found.movement.emc_shop, "emc_client": found.movement.emc_client})
    for said in (
        "21 degrees C and 45 % humidity", f"{found.movement.emc_shop:.1f} % moisture", "Sugar maple shrinks 9.9 %",
        f"= {100 * maple:+.2f} % (eq. 13-3)", "by its coefficient 0.00353 for 1 %", "Black cherry shrinks 3.7 %",
        f"width changes by {layer.width_change:+.3f} mm", f"height by {layer.height_change:+.3f} mm", "at the inside",
    ):  # fmt: skip
        assert said in words


def test_coefficients_are_left_out_of_the_working_where_they_do_not_hold() -> None:
    damp = {"shop": {"temperature_c": 20, "humidity": 50}, "client": {"temperature_c": 20, "humidity": 90}}
    found = estimated(bowl(climate=damp))
    assert found.movement is not None
    words = " ".join(working(found.movement, 1, woods=found.workshop.woods))
    assert "eq. 13-3" in words
    assert "coefficient" not in words


def test_the_working_says_what_is_not_known_and_what_a_disc_does() -> None:
    form = {"outer": [[0, 40], [22, 40]]}
    found = estimated(built(disc(), cut(woods=["mesquite"]), form=form, climate=DRIER))
    assert found.movement is not None
    disc_words, ring_words = (
        " ".join(working(found.movement, n, woods=found.workshop.woods)) for n in (1, 2)
    )
    assert "a disc 80.0 mm across, which moves square to its grain" in disc_words
    assert "No shrinkage of honey mesquite is published here: nothing is known of how it moves." in ring_words
    assert "mm" not in ring_words
    with pytest.raises(IndexError, match="the piece has layers 1 to 2, not 3"):
        working(found.movement, 3, woods=found.workshop.woods)


@pytest.mark.parametrize(
    ("path", "value", "error"),
    [
        (["climate"], 5, "climate: must be an object {...}, not a number"),
        (["climate", "shop"], [], "climate.shop: must be an object {...}, not a list"),
        (["climate", "shop", "humidity"], 0.45, "climate.shop.humidity: must be at least 5, not 0.45"),
        (["climate", "client", "humidity"], 96, "climate.client.humidity: must be at most 95, not 96"),
        (["climate", "client", "humidity"], "30", 'climate.client.humidity: must be a number, not the text "30"'),
        (["climate", "shop", "temperature_c"], -5, "climate.shop.temperature_c: must be at least -1.1, not -5"),
        (["climate", "shop", "temperature"], 21, "climate.shop.temperature: is not a key here"),
        (["climate", "attic"], {}, "climate.attic: is not a key here"),
    ],
    ids=str,
)  # fmt: skip
def test_a_climate_that_cannot_be_is_refused_at_its_place(path: list[Any], value: Any, error: str) -> None:
    (found,) = errors_of(changed(bowl(climate=DRIER), path, value))
    assert found.startswith(error)


@pytest.mark.parametrize(
    "path", [["shop"], ["client"], ["shop", "humidity"], ["client", "temperature_c"]], ids=str
)
def test_a_climate_needs_both_rooms_whole(path: list[str | int]) -> None:
    found = errors_of(without(bowl(climate=DRIER), ["climate", *path]))
    assert found == [f"climate.{'.'.join(map(str, path))}: is missing"]


def test_half_a_turn_of_grain_is_no_turn() -> None:
    form = {"outer": [[0, 50], [24, 50]]}
    sheet = built(disc(layers=2, offset=0.5), form=form, climate=DRIER)
    assert weather(sheet)["joints"][0]["mismatch"] == pytest.approx(0, abs=pi * 1e-9)
