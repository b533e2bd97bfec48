"""The dust of woods: the published limits, which hold for which wood, and that nothing is said without its source."""

import csv

import pytest

from estimating.wood.dust import ADVICE, TABLE, dust_limits, hazards_of, is_softwood, kind_of, woods_in
from estimating.wood.species import TABLE as WOODS_TABLE
from estimating.wood.species import Species, published_species
from tests.estimating.kinds import ZIGZAG, built, cut, disc
from tests.estimating.sheets import answer, bowl
from tests.estimating.test_weather import estimated

WOODS = published_species()

# mg/m3, 8 hours (NIOSH: up to 10). 29 CFR 1910.1000 Table Z-1; NIOSH Pocket Guide; ACGIH (2007) as OSHA's page on wood
# dust gives them. HSE EH40 and Directive (EU) 2017/2398 from memory.
PUBLISHED = {
    "osha_total": 15, "osha_respirable": 5, "niosh": 1, "acgih": 1, "acgih_redcedar": 0.5,
    "uk_hardwood": 3, "uk_softwood": 5, "eu_hardwood": 2,
}  # fmt: skip


def test_the_limits_are_the_published_ones() -> None:
    limits = {limit.key: limit.mg_per_m3 for limit in dust_limits()}
    assert {key: value for key, value in limits.items() if value is not None} == PUBLISHED
    assert {key for key, value in limits.items() if value is None} == {"acgih_a1", "acgih_a2", "iarc"}


def test_each_limit_in_words_begins_with_its_figure_and_names_its_source() -> None:
    for limit in dust_limits():
        assert limit.source
        if limit.mg_per_m3 is not None:
            assert limit.limit.startswith(f"{limit.mg_per_m3:g} mg/m³")


def test_what_is_from_memory_says_so() -> None:
    with TABLE.open(encoding="utf-8", newline="") as table:
        marks = {row["key"]: row["checked"] for row in csv.DictReader(table)}
    assert set(marks.values()) == {"text", "memory"}
    assert {key for key, mark in marks.items() if mark == "memory"} == {
        "uk_hardwood",
        "uk_softwood",
        "eu_hardwood",
    }


def test_softwoods_are_told_by_their_genus_as_the_table_of_woods_groups_them() -> None:
    with WOODS_TABLE.open(encoding="utf-8", newline="") as table:
        for row in csv.DictReader(table):
            assert is_softwood(WOODS[row["key"]]) == ("softwood" in row["group"]), row["key"]


# ACGIH's cancer notes: A1 oak and beech; A2 birch, mahogany, teak, walnut (OSHA's page on wood dust).
@pytest.mark.parametrize(
    ("key", "earned"),
    [
        ("oak", {"acgih_a1"}), ("red_oak", {"acgih_a1"}), ("beech", {"acgih_a1"}), ("birch", {"acgih_a2"}),
        ("mahogany", {"acgih_a2"}), ("teak", {"acgih_a2"}), ("walnut", {"acgih_a2"}), ("maple", set()),
        ("western_redcedar", {"acgih_redcedar"}), ("eastern_redcedar", set()), ("tanoak", set()),
    ],
)  # fmt: skip
def test_what_is_said_of_single_woods_is_said_of_those_alone(key: str, earned: set[str]) -> None:
    (hazard,) = hazards_of([key], woods=WOODS)
    assert {limit.key for limit in hazard.limits if limit.applies == "genera"} == earned


def test_hardwood_limits_hold_for_hardwoods_and_softwood_limits_for_softwoods() -> None:
    maple, spruce = hazards_of(["maple", "spruce"], woods=WOODS)
    common = {"osha_total", "osha_respirable", "niosh", "acgih", "iarc"}
    assert {limit.key for limit in maple.limits} == common | {"uk_hardwood", "eu_hardwood"}
    assert {limit.key for limit in spruce.limits} == common | {"uk_softwood"}


# American Woodturner, June 1990: S sensitiser, I irritant alone, none named.
CHART = {
    "beech": "sensitizer", "birch": "sensitizer", "locust": "irritant", "cocobolo": "sensitizer", "elm": "irritant",
    "tigerwood": "sensitizer", "walnut": "sensitizer", "wenge": "sensitizer", "padauk": "sensitizer",
    "rosewood": "sensitizer", "cherry": "none", "maple": "none", "western_redcedar": "sensitizer",
    "teak": "sensitizer", "zebrawood": "sensitizer",
}  # fmt: skip


@pytest.mark.parametrize(("key", "kind"), CHART.items(), ids=CHART)
def test_the_kind_of_harm_is_that_of_the_chart(key: str, kind: str) -> None:
    assert hazards_of([key], woods=WOODS)[0].kind == kind


def test_every_wood_of_the_table_says_where_its_traits_are_from() -> None:
    for wood in WOODS.values():
        assert "health:" in wood.traits_source
        assert wood.health_detail
        assert bool(wood.fades) == ("colour in light:" in wood.traits_source)
        assert wood.oily == ("oily:" in wood.traits_source)
        assert wood.dust_stains == ("dust that stains:" in wood.traits_source)
        assert bool(wood.protected_note) == ("protected:" in wood.traits_source)


def test_a_wood_that_sensitises_says_so_in_its_detail_and_one_that_does_not_does_not() -> None:
    for wood in WOODS.values():
        if "sensitises" in wood.health_detail and "spalted" not in wood.health_detail:
            assert wood.health_note == "sensitizer", wood.key
        if wood.health_detail.startswith("no reaction"):
            assert wood.health_note == "none", wood.key


@pytest.mark.parametrize(
    ("note", "kind"),
    [
        ("", "unknown"), ("none", "none"), ("irritant", "irritant"), ("sensitizer", "sensitizer"),
        ("Sensitiser, see a doctor", "sensitizer"), ("causes allergy", "sensitizer"), ("itches", "irritant"),
    ],
)  # fmt: skip
def test_a_shop_s_own_words_are_understood(note: str, kind: str) -> None:
    wood = Species(key="x", name="own", botanical="", density=600, colour="#FFFFFF", health_note=note)
    assert kind_of(wood) == kind
    (hazard,) = hazards_of(["x"], woods={"x": wood})
    assert hazard.cautions
    assert (note in " ".join(hazard.cautions)) or kind in ("none", "unknown") or note == kind


def test_the_woods_of_a_piece_are_found_in_plugs_and_laminates_too() -> None:
    sheet = built(
        disc(woods=["ash"], bore=20, plug="padauk"),
        cut(woods=["zig"], thickness=14),
        laminates={"zig": ZIGZAG},
    )
    assert set(woods_in(estimated(sheet).shapes)) == {"ash", "padauk", "maple", "walnut", "cherry"}


def test_the_answer_names_every_wood_with_its_kind_and_limits() -> None:
    found = answer(bowl())["woods"]
    assert [row["wood"] for row in found] == ["walnut", "maple", "cherry"]
    assert found[0]["kind"] == "sensitizer"
    assert {limit.key for limit in dust_limits()} >= set(found[0]["limits"])
    assert found[0]["cautions"]


def test_advice_speaks_of_extraction_and_respirators_and_leaves_the_last_word_to_others() -> None:
    said = " ".join(ADVICE)
    assert "extractor" in said
    assert "respirator" in said
    assert "authority" in ADVICE[-1]
    assert "licensed" in ADVICE[-1]
