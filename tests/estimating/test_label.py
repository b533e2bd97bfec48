"""The adhesive's label: times at other temperatures from printed rules, the sheet's section, the usual kinds."""

import csv
from dataclasses import fields, replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidSheet
from estimating.glue.kinds import KINDS, TABLE, usual_adhesives, usual_of
from estimating.glue.label import Times, pot_life, times_at
from estimating.piece import Label, Sheet, ShopSettings
from estimating.sheet import read_sheet
from estimating.workshop import standing_workshop
from tests.estimating.sheets import Json, bowl, modest

SHOP = ShopSettings()
EPOXY = Label()
PVA = usual_of("pva").label


def fahrenheit(degrees: float) -> float:
    return (degrees - 32) / 1.8


def at(celsius: float, *, label: Label = EPOXY, **shop: Any) -> Times:
    return times_at(replace(SHOP, temperature_c=celsius, **shop), label)


# --- times at the bench's temperature -------------------------------------------------------------------------

# Pot life of an epoxy doubles for each 18 degrees F below 77 and halves above it:
# experts123.com/q/how-does-temperature-variation-effect-epoxy.html.
EPOXY_FAQ = {77: 1.0, 59: 2.0, 41: 4.0, 95: 0.5}


@pytest.mark.parametrize(("fahrenheits", "times"), EPOXY_FAQ.items())
def test_an_epoxys_pot_life_follows_the_printed_rule(fahrenheits: float, times: float) -> None:
    shop = replace(SHOP, pot_life_at_c=fahrenheit(77), temperature_c=fahrenheit(fahrenheits))
    assert pot_life(shop, Label()) == pytest.approx(30 * times, rel=1e-12)


def test_a_floor_makers_worked_example_with_a_rule_of_seventeen_degrees() -> None:
    """30 min at 70 degrees F are 15 at 87: epoxysystems.com/epoxy-installation-hot-weather.aspx."""
    shop = replace(SHOP, pot_life_at_c=fahrenheit(70), temperature_c=fahrenheit(87))
    assert pot_life(shop, Label(slower_c=17 / 1.8)) == pytest.approx(15, rel=1e-12)
    assert pot_life(shop, Label()) == pytest.approx(15, rel=0.05)  # by the usual rule of 18


# Clamping and drying of PVA at 70 degrees F: 1 h and 24 h, doubled for every 15 degrees F below:
# woodmagazine.com/glues/give-the-glue-time.
PVA_BENCH = {70: (60.0, 1440.0), 55: (120.0, 2880.0), 40: (240.0, 5760.0), 85: (60.0, 1440.0)}


@pytest.mark.parametrize(("fahrenheits", "hours"), PVA_BENCH.items())
def test_pva_clamps_and_dries_twice_as_long_for_every_fifteen_degrees_fahrenheit(
    fahrenheits: float, hours: tuple[float, float]
) -> None:
    found = at(fahrenheit(fahrenheits), label=PVA, pot_life_at_c=fahrenheit(70))
    # 15 degrees F are 8.33 degrees C; the table's 8.3 stretches two doublings by 0.6 %.
    assert (found.press, found.cure) == pytest.approx(hours, rel=0.006)


def test_warmth_shortens_what_the_mix_lasts_and_nothing_that_is_waited_for() -> None:
    warm, usual = at(31), at(21)
    assert (warm.pot, warm.working, warm.open) == (15, 10.5, 15)
    assert (warm.set, warm.press, warm.cure) == (usual.set, usual.press, usual.cure) == (45, 120, 720)


def test_the_cold_lengthens_everything() -> None:
    assert at(11) == Times(pot=60, working=42, open=60, set=90, set_most=120, press=240, cure=1440)


def test_faces_lie_open_as_long_as_the_label_says_or_as_the_mix_lasts() -> None:
    assert at(21, label=Label(open_min=8)).open == 8
    assert at(11, label=Label(open_min=8)).open == 16
    assert at(21, pot_life_min=12.0).open == 12


def test_an_adhesive_without_a_rule_keeps_its_times() -> None:
    assert at(1, label=Label(slower_c=0)) == at(41, label=Label(slower_c=0)) == at(21)


@modest
@given(st.floats(-20, 100), st.floats(-20, 100), st.floats(5, 30))
def test_no_time_is_shorter_where_it_is_colder(one: float, other: float, slower: float) -> None:
    cold, warm = (at(t, label=Label(slower_c=slower)) for t in sorted((one, other)))
    for field in fields(Times):
        assert getattr(cold, field.name) >= getattr(warm, field.name) * (1 - 1e-12)


# --- the sheet's section -----------------------------------------------------------------------------------------


def read(adhesive: object, **shop: Any) -> Sheet:
    sheet = bowl(adhesive=adhesive)
    sheet["shop"] = shop
    return read_sheet(sheet)


def errors(adhesive: object) -> list[str]:
    with pytest.raises(InvalidSheet) as refusal:
        read(adhesive)
    return [str(error) for error in refusal.value.errors]


def test_a_sheet_without_a_label_has_the_workshops() -> None:
    sheet = bowl()
    own = replace(standing_workshop(), label=Label(name="Ours", cure_min=600))
    assert read_sheet(sheet).label == Label()
    assert read_sheet(sheet, workshop=own).label.cure_min == 600


def test_the_label_says_what_the_contract_lets_it_say() -> None:
    label = read({"set_min": 30, "press_min": 0, "cure_min": 700}).label
    assert label == Label(set_min=30, set_most_min=0, press_min=0, cure_min=700)


def test_parts_by_mass_are_kept_apart_from_parts_by_volume() -> None:
    sheet = read({"mass_ratio": [100, 44]}, mix_ratio=[2, 1])
    assert (sheet.label.mass_ratio, sheet.shop.mix_ratio) == ((100, 44), (2, 1))
    assert read({"mass_ratio": None}).label.mass_ratio is None


def test_another_kind_brings_its_usual_figures_and_what_the_sheet_says_goes_before() -> None:
    sheet = read({"kind": "pva", "cure_min": 900}, pot_life_min=12)
    assert sheet.label == replace(PVA, cure_min=900)
    assert (sheet.shop.mix_ratio, sheet.shop.pot_life_min, sheet.shop.pot_life_at_c) == ((1, 0), 12, 21)


def test_the_shops_own_kind_keeps_the_shops_own_label() -> None:
    own = replace(standing_workshop(), label=Label(name="Ours", cure_min=600))
    assert read_sheet(bowl(adhesive={"kind": "epoxy"}), workshop=own).label.name == "Ours"


WRONG: list[tuple[Json, str]] = [
    ({"kind": "resin"}, "adhesive.kind: must be "),
    ({"density": 0}, "adhesive.density: must be at least 0.5"),
    ({"set_min": -1}, "adhesive.set_min: must not be negative"),
    ({"cure_min": "a night"}, "adhesive.cure_min: must be a number"),
    ({"slower_c": 0.5}, "adhesive.slower_c: must be at least 5, or 0 where no such rule is known"),
    ({"least_c": 200}, "adhesive.least_c: must be at most 100"),
    ({"mass_ratio": [1]}, "adhesive.mass_ratio: must have at least 2 items"),
    ({"mass_ratio": [1, 0]}, "adhesive.mass_ratio[1]: must be at least 0.01"),
    ({"pressure": [0.5, 0.2]}, "adhesive.pressure: must be [least, most] in MPa, not 0.5 before 0.2"),
    ({"pressure": 1}, "adhesive.pressure: must be a list"),
    ({"cautions": "x" * 2001}, "adhesive.cautions: must be at most 2000 characters"),
    ({"brand": "x"}, "adhesive.brand: is not a key here"),
]


@pytest.mark.parametrize(("adhesive", "message"), WRONG, ids=[message for _, message in WRONG])
def test_a_label_that_cannot_be_is_refused_at_its_place(adhesive: Json, message: str) -> None:
    found = errors(adhesive)
    assert len(found) == 1
    assert found[0].startswith(message)


def test_a_label_that_is_no_object_is_one_error() -> None:
    assert errors([1]) == ["adhesive: must be an object {...}, not a list"]


# --- the table of kinds --------------------------------------------------------------------------------------------


def test_every_kind_has_an_adhesive_and_the_command_has_the_slow_epoxy() -> None:
    assert {usual.label.kind for usual in usual_adhesives().values()} == set(KINDS)
    epoxy, shop = usual_adhesives()["epoxy_slow"], ShopSettings()
    assert replace(epoxy.label, name="", cautions="") == Label()
    assert (epoxy.ratio, epoxy.film) == (shop.mix_ratio, shop.film)
    assert (epoxy.pot_life_min, epoxy.pot_life_at_c) == (shop.pot_life_min, shop.pot_life_at_c)


def test_every_figure_of_the_table_says_where_it_is_from() -> None:
    """Each is named in its source, or as from memory, or as common practice."""
    with TABLE.open(encoding="utf-8", newline="") as table:
        rows = list(csv.DictReader(table))
    told = {"key", "name", "kind", "cautions", "source", "from_memory", "common_practice"}
    for row in rows:
        doubtful = set(row["from_memory"].split()) | set(row["common_practice"].split())
        assert doubtful <= set(row) - told
        for column in set(row) - told - doubtful:
            stem = column.removesuffix("_low").removesuffix("_high")
            assert not row[column] or f"{stem}:" in row["source"] or f"{stem} and" in row["source"], (
                row["key"],
                column,
            )


def test_published_densities_and_pressures_are_what_their_units_say() -> None:
    """9.23 lb to the US gallon; 100 lb/in2 for soft and 250 for hard woods, 1 lb/in2 being 6.894757 kPa."""
    assert usual_of("epoxy").label.density == pytest.approx(9.23 * 453.59237 / 3785.411784, abs=0.005)
    assert pytest.approx((100 * 0.006894757, 250 * 0.006894757), abs=0.005) == PVA.pressure
    assert PVA.slower_c == pytest.approx(15 / 1.8, abs=0.05)
    assert PVA.least_c == pytest.approx(fahrenheit(50), abs=0.05)


def test_what_the_table_holds_is_what_a_sheet_may_say() -> None:
    for usual in usual_adhesives().values():
        label = usual.label
        said = {field.name: getattr(label, field.name) for field in fields(Label)}
        said = {key: list(value) if isinstance(value, tuple) else value for key, value in said.items()}
        assert read(said).label == label


def test_a_set_has_a_range_where_the_label_gives_one_and_it_slows_with_the_cold() -> None:
    assert (at(21).set, at(21).set_most) == (45, 60)
    assert (at(11).set, at(11).set_most) == (90, 120)
    plain = Label(set_min=30, set_most_min=0)
    assert at(21, label=plain).set == at(21, label=plain).set_most == 30


def test_a_sheets_own_set_leaves_the_usual_range_out_and_a_range_must_rise() -> None:
    assert read_sheet(bowl(adhesive={"set_min": 90})).label.set_most_min == 0
    assert read_sheet(bowl(adhesive={"set_min": 90, "set_most_min": 120})).label.set_most_min == 120
    with pytest.raises(InvalidSheet, match=r"adhesive\.set_most_min: must not be less than set_min"):
        read_sheet(bowl(adhesive={"set_min": 90, "set_most_min": 60}))
