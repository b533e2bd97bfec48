"""Woods: figures of the Wood Handbook, density at 12 % moisture, and a source on every row."""

import csv
import re

import pytest

from estimating.wood.species import TABLE, density_at_12, published_species

WOODS = published_species()

# Wood Handbook (FPL-GTR-190): specific gravity at 12 % of Table 5-3 (from memory; the same in the FIA species table),
# shrinkage in per cent, radial and tangential, green to ovendry, of Table 4-3.
HANDBOOK = {
    "walnut": ("Juglans nigra", 0.55, 5.5, 7.8),
    "maple": ("Acer saccharum", 0.63, 4.8, 9.9),
    "cherry": ("Prunus serotina", 0.50, 3.7, 7.1),
    "ash": ("Fraxinus americana", 0.60, 4.9, 7.8),
    "beech": ("Fagus grandifolia", 0.64, 5.5, 11.9),
    "birch": ("Betula alleghaniensis", 0.62, 7.3, 9.5),
    "oak": ("Quercus alba", 0.68, 5.6, 10.5),
    "red_oak": ("Quercus rubra", 0.63, 4.0, 8.6),  # shrinkage from memory
    "poplar": ("Liriodendron tulipifera", 0.42, 4.6, 8.2),
    "butternut": ("Juglans cinerea", 0.38, 3.4, 6.4),
    "alder": ("Alnus rubra", 0.41, 4.4, 7.3),
    "aspen": ("Populus tremuloides", 0.38, 3.5, 6.7),
    "basswood": ("Tilia americana", 0.37, 6.6, 9.3),
    "chestnut": ("Castanea dentata", 0.43, 3.4, 6.7),
    "cottonwood": ("Populus deltoides", 0.40, 3.9, 9.2),
    "elm": ("Ulmus americana", 0.50, 4.2, 9.5),
    "hackberry": ("Celtis occidentalis", 0.53, 4.8, 8.9),
    "holly": ("Ilex opaca", 0.57, 4.8, 9.9),
    "persimmon": ("Diospyros virginiana", 0.74, 7.9, 11.2),
    "sweetgum": ("Liquidambar styraciflua", 0.52, 5.3, 10.2),
    "sycamore": ("Platanus occidentalis", 0.49, 5.0, 8.4),
    "western_redcedar": ("Thuja plicata", 0.32, 2.4, 5.0),
    "douglas_fir": ("Pseudotsuga menziesii", 0.48, 4.8, 7.6),
}


@pytest.mark.parametrize("key", HANDBOOK)
def test_a_wood_has_the_figures_of_the_wood_handbook(key: str) -> None:
    botanical, gravity, radial, tangential = HANDBOOK[key]
    wood = WOODS[key]
    assert wood.botanical == botanical
    assert wood.density == pytest.approx(1120 * gravity, abs=1e-9)
    assert (wood.shrink_radial_pct, wood.shrink_tangential_pct) == (radial, tangential)


# Tropical woods: basic gravity (ovendry mass, green volume) and shrinkage, of the Forest Products Laboratory's sheets
# after Chudnoff, Tropical Timbers of the World (AH-607). Padauk's gravity is the middle of 0.55 to 0.67.
CHUDNOFF = {
    "padauk": ("Pterocarpus soyauxii", 0.61, 3.3, 5.2),
    "rosewood": ("Dalbergia latifolia", 0.70, 2.7, 5.8),
}


@pytest.mark.parametrize("key", CHUDNOFF)
def test_a_tropical_wood_has_the_figures_of_its_sheet(key: str) -> None:
    botanical, gravity, radial, tangential = CHUDNOFF[key]
    wood = WOODS[key]
    assert (wood.botanical, wood.shrink_radial_pct, wood.shrink_tangential_pct) == (
        botanical,
        radial,
        tangential,
    )
    # green to 12 %: it shrinks by 0.6 of all it shrinks, which for two directions is about their sum
    volume = 1 - 0.6 * (radial + tangential) / 100
    assert wood.density == pytest.approx(1120 * gravity / volume, rel=0.02)


# Wood Handbook Table 4-6a, density at 12 % moisture by specific gravity at 12 %, kg/m3 (from memory).
TABLE_4_6 = {0.30: 336, 0.40: 448, 0.50: 560, 0.60: 672, 0.70: 784}


@pytest.mark.parametrize(("gravity", "density"), TABLE_4_6.items())
def test_density_is_that_of_the_handbook_table(gravity: float, density: float) -> None:
    assert density_at_12(specific_gravity=gravity, basis="12pct") == pytest.approx(density, abs=0.5)


# Specific gravity green and at 12 %, and volumetric shrinkage, of one wood (FIA species table after Miles & Smith 2009;
# Wood Handbook Table 4-3).
PAIRS = {
    "walnut": (0.51, 0.55, 12.8), "maple": (0.56, 0.63, 14.7), "cherry": (0.47, 0.50, 11.5),
    "oak": (0.60, 0.68, 16.3), "beech": (0.56, 0.64, 17.2),
}  # fmt: skip


@pytest.mark.parametrize(("green", "dry", "shrinkage"), PAIRS.values(), ids=PAIRS)
def test_green_gravity_leads_to_that_at_12_per_cent(green: float, dry: float, shrinkage: float) -> None:
    """By the wood's own shrinkage and by that of the average wood: single woods lie within 5 % of either."""
    for known in (None, shrinkage):
        found = density_at_12(specific_gravity=green, basis="green", shrink_volumetric_pct=known) / 1120
        assert found == pytest.approx(dry, rel=0.05)
        assert found > green  # wood shrinks as it dries


def test_no_wood_is_denser_than_the_densest_timbers_there_are() -> None:
    """Lignum vitae and African blackwood are the densest, 1.2 to 1.3 g/cm3 air dry (common knowledge, from memory)."""
    densest = sorted(WOODS.values(), key=lambda wood: wood.density)[-2:]
    assert {wood.key for wood in densest} == {"lignum_vitae", "blackwood"}
    assert all(1200 < wood.density < 1300 for wood in densest)


def test_air_dry_gravity_holds_its_water_already() -> None:
    assert density_at_12(specific_gravity=0.66, basis="airdry") == pytest.approx(660, abs=1e-9)


def test_a_basis_nobody_knows_is_refused() -> None:
    with pytest.raises(ValueError, match="no such basis of specific gravity: 'dry'"):
        density_at_12(specific_gravity=0.6, basis="dry")


def test_forty_woods_or_more_each_say_where_their_figures_are_from() -> None:
    assert len(WOODS) >= 40
    for wood in WOODS.values():
        assert wood.source
        assert re.fullmatch(r"#[0-9A-F]{6}", wood.colour)
        assert re.fullmatch(r"[a-z_]{2,20}", wood.key)
        assert 300 < wood.density < 1300
        assert wood.name
        assert wood.botanical


def test_wood_shrinks_more_along_its_rings_than_across_them() -> None:
    """True of every wood of the handbook's tables, so a row with the two exchanged would show."""
    for wood in WOODS.values():
        if wood.shrink_radial_pct is not None and wood.shrink_tangential_pct is not None:
            assert 0 < wood.shrink_radial_pct < wood.shrink_tangential_pct < 15


def test_volumetric_shrinkage_is_about_the_sum_of_the_two() -> None:
    with TABLE.open(encoding="utf-8", newline="") as table:
        for row in csv.DictReader(table):
            if row["shrink_volumetric_pct"] and row["shrink_radial_pct"] and row["shrink_tangential_pct"]:
                both = float(row["shrink_radial_pct"]) + float(row["shrink_tangential_pct"])
                # measured apart in different pieces: within a third
                assert float(row["shrink_volumetric_pct"]) == pytest.approx(both, rel=0.34)


def test_values_from_memory_are_marked_so() -> None:
    marked = [wood for wood in WOODS.values() if "memory" in wood.from_memory]
    assert marked
    assert "memory" not in WOODS["oak"].from_memory


@pytest.mark.parametrize("key", ["maple", "walnut", "cherry", "ash", "oak", "beech", "padauk"])
def test_the_woods_of_the_contract_are_there(key: str) -> None:
    assert key in WOODS
