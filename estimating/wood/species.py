"""Woods: name, density and shrinkage as published in tables/woods.csv, and the price a shop pays."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

TABLE = Path(__file__).parent.parent / "tables" / "woods.csv"


@dataclass(frozen=True, slots=True)
class Species:
    """One wood. Density kg/m3 at 12 % moisture; shrinkage % from green to ovendry; colour as #rrggbb.

    `price_per_m3` is what the shop pays for a cubic metre of boards as bought; 0 until the shop says. `health_note` is
    "none", "irritant" or "sensitizer", or a shop's own words; `health_detail` says where it harms. `oily` woods want
    wiping before glue, the dust of those with `dust_stains` colours pale neighbours, `fades` is what light does to the
    colour, `protected_note` which list of protected species it stands in, and since when.
    """

    key: str
    name: str
    botanical: str
    density: float
    colour: str
    price_per_m3: Decimal = Decimal(0)
    shrink_radial_pct: float | None = None
    shrink_tangential_pct: float | None = None
    health_note: str = ""
    source: str = ""
    from_memory: str = ""
    health_detail: str = ""
    oily: bool = False
    dust_stains: bool = False
    fades: str = ""
    protected_note: str = ""
    traits_source: str = ""


@cache
def published_species() -> Mapping[str, Species]:
    """Every wood of tables/woods.csv by its key."""
    with TABLE.open(encoding="utf-8", newline="") as table:
        return {row["key"]: _species(row) for row in csv.DictReader(table)}


def _species(row: Mapping[str, str]) -> Species:
    return Species(
        key=row["key"],
        name=row["name"],
        botanical=row["botanical_name"],
        density=density_at_12(
            specific_gravity=float(row["specific_gravity"]),
            basis=row["sg_basis"],
            shrink_volumetric_pct=_number(row["shrink_volumetric_pct"]),
        ),
        colour=row["colour"],
        shrink_radial_pct=_number(row["shrink_radial_pct"]),
        shrink_tangential_pct=_number(row["shrink_tangential_pct"]),
        health_note=row["health_note"],
        source=row["source"],
        from_memory=row["from_memory"],
        health_detail=row["health_detail"],
        oily=row["oily"] == "yes",
        dust_stains=row["dust_stains"] == "yes",
        fades=row["fades"],
        protected_note=row["protected_note"],
        traits_source=row["traits_source"],
    )


def density_at_12(
    *, specific_gravity: float, basis: str, shrink_volumetric_pct: float | None = None
) -> float:
    """Density at 12 % moisture, kg/m3, from a published specific gravity.

    `basis` says what was divided by what: `12pct` ovendry mass by volume at 12 %, `green` ovendry mass by green
    volume, `airdry` mass at 12 % by volume at 12 %. A green volume shrinks by the wood's own volumetric shrinkage S
    (%, green to ovendry) where that is known, else by that of the average wood, 26.5 x G: heavy tropical woods shrink
    far less than the average, and would come out denser than wood can be.
    Source: density = 1000 G (1 + M/100) with M = 12, G12 = G / (1 - 0.6 S/100), (30 - 12)/30 = 0.6 of the shrinkage
    being done at 12 %, from the Wood Handbook (FPL-GTR-282) ch. 4; the two shrinkage relations from memory.
    Errors: ValueError for a basis that is none of these.
    """
    match basis:
        case "12pct":
            return 1000 * specific_gravity * 1.12
        case "green":
            shrinkage = 26.5 * specific_gravity if shrink_volumetric_pct is None else shrink_volumetric_pct
            return 1000 * specific_gravity / (1 - 0.6 * shrinkage / 100) * 1.12
        case "airdry":
            return 1000 * specific_gravity
    raise ValueError(f"no such basis of specific gravity: {basis!r}")


def _number(text: str) -> float | None:
    return float(text) if text else None
