"""Cautions of the woods used: each with the sheet that earns it and the nearest that does not."""

from dataclasses import replace
from typing import Any

import pytest

from estimating.estimate import estimate
from estimating.sheet import read_sheet
from estimating.wood.colour import lightness
from estimating.wood.courses import Course, courses_of, touching
from estimating.wood.species import Species, published_species
from estimating.wood.woods_together import DARK, PALE, SEASONS, UNLIKE, protected_woods, strain_apart
from estimating.workshop import Workshop, standing_workshop
from tests.estimating.kinds import ZIGZAG, built, cut, disc, in_parts, part
from tests.estimating.sheets import Json, answer
from tests.estimating.test_weather import estimated

WOODS = published_species()


def told(*bands: Json, **changes: Any) -> dict[str, Json]:
    return {caution["code"]: caution for caution in answer(built(*bands, **changes))["cautions"]}


def of_woods(*woods: str, **changes: Any) -> dict[str, Json]:
    return told(cut(layers=4, woods=list(woods), **changes))


def with_wood(key: str, **traits: Any) -> Workshop:
    """The standing shop with one wood of other traits."""
    shop = standing_workshop()
    return replace(shop, woods={**shop.woods, key: replace(shop.woods[key], **traits)})


def codes_with(shop: Workshop, *bands: Json) -> set[str]:
    return {caution.code for caution in estimate(read_sheet(built(*bands), workshop=shop), shop).cautions}


def test_an_oily_wood_is_to_be_wiped_with_the_solvent_s_cautions() -> None:
    found = of_woods("cocobolo")["oily_wood"]
    assert (found["severity"], found["where"]) == ("warning", "bands[0]")
    for said in ("cocobolo is oily", "safety data sheet", "no flame", "Layers 1 to 4"):
        assert said in found["message"]
    assert "oily_wood" not in of_woods("maple")
    assert "oily_wood" in codes_with(with_wood("maple", oily=True), cut(layers=4, woods=["maple"]))


def test_dark_dust_is_told_in_the_layer_across_the_line_and_round_a_plug() -> None:
    assert "dark_dust" in of_woods("padauk", "maple")
    assert "dark_dust" in told(cut(layers=2, woods=["padauk"]), cut(layers=2, woods=["maple"]))
    plugged = cut(layers=2, woods=["maple"], bore=20, plug="padauk")
    assert "dark_dust" in told(plugged, cut(layers=2, woods=["maple"]))
    apart = (cut(woods=["padauk"]), cut(layers=2, woods=["cherry"]), cut(woods=["maple"]))
    assert "dark_dust" not in told(*apart)
    assert "dark_dust" not in of_woods("padauk", "cherry")  # too dark to show it
    assert "dark_dust" not in of_woods("padauk")
    assert "dark_dust" not in of_woods("ash", "maple")


def test_dark_dust_names_the_layers_and_woods() -> None:
    found = told(cut(layers=3, woods=["maple"]), cut(layers=2, woods=["wenge"]))["dark_dust"]
    assert "The dust of wenge stains sugar maple beside it" in found["message"]
    assert "Layers 3 to 4." in found["message"]


@pytest.mark.parametrize(("colour", "stains"), [("#505050", True), ("#565656", False)])
def test_a_shop_s_own_dark_wood_stains_by_its_colour_alone(colour: str, stains: bool) -> None:
    assert (lightness(colour) < DARK) == stains
    shop = with_wood("oak", colour=colour, dust_stains=False)
    assert ("dark_dust" in codes_with(shop, cut(layers=4, woods=["oak", "maple"]))) == stains


@pytest.mark.parametrize(("colour", "stained"), [("#AFAFAF", True), ("#A4A4A4", False)])
def test_only_pale_wood_is_stained(colour: str, stained: bool) -> None:
    assert (lightness(colour) >= PALE) == stained
    shop = with_wood("oak", colour=colour)
    assert ("dark_dust" in codes_with(shop, cut(layers=4, woods=["oak", "padauk"]))) == stained


def test_woods_of_one_ring_that_move_unlike_are_told_and_those_of_the_next_ring_are_not() -> None:
    found = of_woods("beech", "padauk")["neighbours_move"]
    assert found["severity"] == "note"
    assert "American beech beside African padauk" in found["message"]
    assert "neighbours_move" not in told(cut(layers=2, woods=["beech"]), cut(layers=2, woods=["padauk"]))
    assert "neighbours_move" not in of_woods("maple", "walnut")
    assert "neighbours_move" not in of_woods("beech", "mesquite")  # nothing is known of one
    assert "neighbours_move" not in of_woods("beech", "padauk", gap=0.2)  # they do not touch


def test_how_far_two_woods_part_is_the_difference_of_their_sizes_from_season_to_season() -> None:
    """A second method: sizes on the line S (30 - M) / 30 below the green one."""
    low, high = SEASONS
    for one, other in (("beech", "padauk"), ("maple", "walnut"), ("maple", "padauk")):
        grown = [
            (100 - (s or 0) * (30 - high) / 30) / (100 - (s or 0) * (30 - low) / 30) - 1
            for s in (WOODS[one].shrink_tangential_pct, WOODS[other].shrink_tangential_pct)
        ]
        found = strain_apart(WOODS[one], WOODS[other])
        assert found == pytest.approx(abs(grown[0] - grown[1]), rel=1e-9)
        assert ("neighbours_move" in of_woods(one, other)) == (abs(grown[0] - grown[1]) >= UNLIKE)


def test_colours_that_light_changes_are_named_with_what_becomes_of_them() -> None:
    found = of_woods("purpleheart", "maple")["colour_fades"]
    assert "purpleheart turns from purple to brown" in found["message"]
    assert "colour_fades" not in of_woods("maple")


def test_protected_woods_are_told_with_a_date_and_no_certainty() -> None:
    found = of_woods("rosewood")["protected_wood"]
    assert "since 2 January 2017" in found["message"]
    assert "check against the current listing" in found["message"]
    assert "This is no legal advice" in found["message"]
    assert "protected_wood" not in of_woods("walnut")


def test_a_listing_names_where_it_was_read_and_is_no_common_practice() -> None:
    """As `traits_source` of the table has it; a shop's own note without one says so."""
    shapes = estimate(read_sheet(built(cut(layers=4, woods=["padauk"])))).shapes
    for shop, source in (
        (standing_workshop(), "a timber federation's summary of the CITES listings, read November 2026"),
        (with_wood("padauk", traits_source=""), "no source named"),
    ):
        (found,) = protected_woods(courses_of(shapes, laminates={}), shop.woods)
        assert found.source == source


def test_every_protected_note_has_a_year_and_sends_to_the_current_listing() -> None:
    listed = [wood for wood in WOODS.values() if wood.protected_note]
    assert {wood.key for wood in listed} >= {
        "rosewood",
        "cocobolo",
        "blackwood",
        "bubinga",
        "padauk",
        "mahogany",
    }
    for wood in listed:
        assert any(f" {year}" in wood.protected_note for year in range(1975, 2027))
        assert wood.protected_note.endswith("check against the current listing")


def test_all_dalbergia_of_the_table_stand_in_the_list() -> None:
    """The whole genus has been in Appendix II since 2 January 2017 (CITES, 17th meeting; notices of trade bodies)."""
    genus = [wood for wood in WOODS.values() if wood.botanical.startswith("Dalbergia")]
    assert len(genus) == 3
    assert all("Appendix II" in wood.protected_note for wood in genus)


def test_dust_that_sensitises_is_told_at_the_lowest_band_that_has_it() -> None:
    found = told(cut(layers=2, woods=["maple"]), cut(layers=2, woods=["padauk"]))["dust_sensitises"]
    assert found["where"] == "bands[1]"
    assert "African padauk, sensitises eyes, skin and lungs" in found["message"]
    assert "dust_sensitises" not in of_woods("maple", "cherry")
    assert "dust_sensitises" not in of_woods("purpleheart")  # it irritates


def test_places_are_those_of_the_part() -> None:
    body = built(cut(layers=2, woods=["ash"]))
    lid = built(cut(layers=2, woods=["cocobolo"]))
    sheet = in_parts(part("body", body), part("lid", lid, sits={"on": "body"}))
    places = {caution["code"]: caution["where"] for caution in answer(sheet)["cautions"]}
    assert places["oily_wood"] == places["dust_sensitises"] == "parts[1].bands[0]"


def test_woods_touch_round_the_ring_at_its_close_too_and_in_laminates() -> None:
    ring = Course(1, "bands[0]", "", (("a",), ("b",), ("c",)))
    assert ring.pairs == {("a", "b"), ("b", "c"), ("a", "c")}
    open_ring = Course(1, "bands[0]", "", (("a",), ("b",), ("c",)), closed=False)
    assert not open_ring.pairs
    found = estimated(built(cut(woods=["zig"], thickness=14), laminates={"zig": ZIGZAG}))
    (course,) = courses_of(found.shapes, laminates=found.sheet.laminates)
    assert course.pairs == {("cherry", "maple"), ("maple", "walnut"), ("cherry", "walnut")}


def test_layers_of_two_parts_do_not_touch() -> None:
    courses = [Course(1, "", "body", (("a",),)), Course(2, "", "lid", (("b",),))]
    assert not touching(courses)
    assert touching([replace(course, part="") for course in courses]) == {("a", "b"): (1, 2)}


# CIE L* of greys: sRGB #777777 is the middle grey, 50.03; white and black by definition (ISO/CIE 11664-4).
@pytest.mark.parametrize(("colour", "light"), [("#FFFFFF", 100), ("#777777", 50.03), ("#000000", 0)])
def test_lightness_is_that_of_the_standard(colour: str, light: float) -> None:
    assert lightness(colour) == pytest.approx(light, abs=0.02)


# CIE L* of the sRGB primaries, D65 (IEC 61966-2-1 with ISO/CIE 11664-4; widely printed, from memory).
@pytest.mark.parametrize(("colour", "light"), [("#FF0000", 53.24), ("#00FF00", 87.73), ("#0000FF", 32.30)])
def test_the_primaries_are_as_light_as_printed(colour: str, light: float) -> None:
    assert lightness(colour) == pytest.approx(light, abs=0.02)


@pytest.mark.parametrize("colour", ["", "red", "#FFF", "#GGGGGG"])
def test_what_is_no_colour_is_refused(colour: str) -> None:
    with pytest.raises(ValueError):  # noqa: PT011 - either of two messages
        lightness(colour)


def test_a_solid_disc_of_one_wood_has_no_neighbours() -> None:
    assert "neighbours_move" not in told(disc(woods=["beech"]), cut(layers=2, woods=["beech"]))
    wood = Species(key="own", name="own", botanical="", density=600, colour="#FFFFFF")
    assert strain_apart(wood, WOODS["beech"]) is None
