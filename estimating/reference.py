"""The piece sheet's settings in a table: every key, what it means, and what stands where a sheet is silent."""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from functools import cache
from pathlib import Path

from estimating.piece import Finish, Label, Pricing, ShopSettings, UsualBoard

TABLE = Path(__file__).parent / "tables" / "shop_defaults.csv"

_OTHER_NAMES = {
    "keep_length": "offcut_keep_length",
    "keep_width": "offcut_keep_width",
    "coats": "finish_coats",
    "ml_per_dm2": "finish_ml_dm2",
    "dry_h": "coat_dry_h",
    "hard_days": "finish_cure_days",
    "deposit_share": "deposit",
}
"""Keys that the table of shop settings calls by a longer name."""

_OWN_MEANINGS: Mapping[str, tuple[str, str]] = {
    "extra_ring": ("what one thick ring more counts as, when layers are shared out to rings", "mm3 a ring"),
    "strip_lies": ("how a strip prefers to lie in the board: flat, on_edge, or either", ""),
    "coat_joint_min": ("time to coat and close one joint between segments", "min a joint"),
    "pot_life_at_c": ("temperature the pot life is given at", "degree C"),
    "name": ("what the shop calls the adhesive", ""),
    "kind": (
        "epoxy, pva, polyurethane, ca, hide or other; another kind than the shop's brings its usual figures",
        "",
    ),
    "density": ("density, mixed", "g/ml"),
    "mass_ratio": ("parts by mass, A and B, from the label; null where it has none", "A:B"),
    "open_min": ("coated faces may lie open; 0 is as long as the pot life", "min"),
    "set_most_min": ("at the latest then it leaves them; 0 where no range is given", "min"),
    "slower_c": ("so much colder doubles every time; 0 where no such rule holds", "degree C"),
    "least_c": ("not used below this temperature", "degree C"),
    "pressure": ("pressure on the joint, from and to", "MPa"),
    "exotherm_ml": ("a mix above this in one cup heats itself; 0 is not known", "ml"),
    "cleaner": ("what cleans tools of it while it is wet", ""),
    "cautions": ("what its label warns of", ""),
    "length": ("length of the board the shop buys", "mm"),
    "width": ("width of the board the shop buys", "mm"),
    "thicknesses": ("thicknesses to be had, thinnest first; the next that fits is taken", "mm"),
    "price_per_m3": ("price of wood that has no price of its own", "currency/m3"),
    "per_ml": ("price of the finish", "currency/ml"),
    "veneer_length": ("length of the sheets of veneer the shop buys", "mm"),
    "veneer_width": ("width of the sheets of veneer the shop buys", "mm"),
    "veneer_price_per_m2": ("price of veneer", "currency/m2"),
    "surface": ("faces of the boards the shop buys: rough ones are planed first", ""),
    "min_wall": ("thinnest wall that is turned without a caution", "mm"),
    "open_contact": ("least contact of an open layer with each neighbour, along the joint", "mm"),
    "hollowing_reach": ("deepest a tool works without a caution, in widths of the opening", ""),
    "bandsaw_height": ("tallest that the bandsaw cuts; 0 is not checked", "mm"),
    "lathe_swing": ("largest diameter the lathe turns; 0 is not checked", "mm"),
    "lathe_length": ("longest the lathe holds; 0 is not checked", "mm"),
    "lathe_load_kg": ("heaviest the lathe carries; 0 is not checked", "kg"),
    "resaw": ("whether boards are resawn in thickness where it saves wood, within the bandsaw's height", ""),
    "currency": ("ISO 4217 code; money is rounded to its minor unit", ""),
    "wanted_hourly": ("wanted hourly earning, in place of the margin", "currency/h"),
    "tax": ("tax on the retail price", "share"),
    "tax_inclusive": ("whether the printed retail price includes the tax", ""),
    "overhead_rate": ("rent, power, insurance, tools: a bench hour", "currency/h"),
    "failure_share": ("jobs that are made again, share p; adds p / (1 - p) of the other costs", "share"),
    "adhesive_per_ml": ("price of the adhesive", "currency/ml"),
    "consumables": ("abrasives, blades, gloves, cups for the whole job", "currency"),
    "consumables_rate": ("the same, by the bench hour", "currency/h"),
    "whole_boards": ("whether boards are charged whole, or less what goes back on the rack", ""),
    "offer": ("a retail price somebody offers, worked backwards to an hourly earning", "currency"),
    "price_from": ("what the price is made from: cost, or offer, the price that is offered", ""),
    "gallery_mode": (
        "consignment: the gallery sells and keeps its share; purchase: it buys, less its share; commission: the studio "
        "sells and passes its share on",
        "",
    ),
    "rush": ("surcharge on the net price for displacing booked work", "share"),
    "price_step": ("the printed price of a piece is rounded up to a multiple of it; 0 is none", "currency"),
    "discount": ("taken off the printed price", "share"),
    "discount_borne_by": ("who bears the discount: both by their shares, studio or gallery", ""),
    "payment_fee": ("card or platform fee, of all that is paid, tax in it", "share"),
    "fee_borne_by": ("whose the payment fee is, studio or gallery: whoever takes the money", ""),
    "freight": ("freight, charged as it costs and outside the gallery's share", "currency"),
    "crate": ("crate, likewise", "currency"),
    "stand": ("stand, likewise", "currency"),
    "tax_by": (
        "whether tax is rounded once for the quote, at each of its rates, or for each line of it: quote or line",
        "",
    ),
    "stage_shares": (
        "payments before the last, as shares of all that is paid; none is deposit and balance",
        "share",
    ),
    "segment_loss": (
        "segments cut again; with a loss of any stage, these stand in the place of failure_share",
        "share",
    ),
    "ring_loss": ("rings glued again, with their segments", "share"),
    "glue_up_loss": ("glue-ups done again, with all layers in them", "share"),
    "lathe_loss": ("pieces lost at the lathe, with everything up to then", "share"),
    "sold": (
        "whether several pieces are sold each by itself or as one set: a set has one price and one price step",
        "",
    ),
    "freight_tax": ("tax on freight; null is that of the pieces", "share"),
    "crate_tax": ("tax on the crate, likewise", "share"),
    "stand_tax": ("tax on the stand, likewise", "share"),
    "freight_from": (
        "given, in freight; or worked_out from what a box of the piece is charged at, by the table of carriage",
        "",
    ),
    "crate_from": ("given, in crate; or worked_out from the sides of the box", ""),
    "carriage": (
        "the table of carriage, lightest first: what a parcel costs that is charged at up_to_kg at most, price",
        "",
    ),
    "box_padding": ("padding in the box, on every side of the piece", "mm"),
    "box_kg_m2": ("what the box weighs: double-wall card about 0.9, plywood of 9 mm about 6", "kg/m2"),
    "volume_divisor": ("what a kilogram of carriage may take up; 4000 to 6000 are met", "cm3/kg"),
    "crate_per_m2": ("crate, a square metre of the box's sides", "currency/m2"),
    "crate_fixed": ("crate, each besides", "currency"),
}

_SHARES = {"margin", "tax", "rush", "discount", "payment_fee"} | {
    f"{stage}_loss" for stage in ("segment", "ring", "glue_up", "lathe")
}
"""Shares whose name does not say so."""

SECTIONS: Mapping[str, type] = {
    "shop": ShopSettings,
    "adhesive": Label,
    "usual_board": UsualBoard,
    "finish": Finish,
    "pricing": Pricing,
}


@dataclass(frozen=True, slots=True)
class Setting:
    """One key of the sheet: its default as JSON writes it, its unit, its meaning, and its usual range if known."""

    section: str
    key: str
    default: str
    unit: str
    meaning: str
    low: str = ""
    high: str = ""


@cache
def settings() -> tuple[Setting, ...]:
    """Every setting of the sheet, section by section."""
    return tuple(setting for section, kind in SECTIONS.items() for setting in _section(section, kind))


def _section(section: str, kind: type) -> Iterator[Setting]:
    usual = _usual_settings()
    for field in fields(kind):
        default = _as_json(
            getattr(kind(), field.name), money="share" not in field.name and field.name not in _SHARES
        )
        if field.name in _OWN_MEANINGS:
            meaning, unit = _OWN_MEANINGS[field.name]
            yield Setting(section, field.name, default, unit, meaning)
        else:
            row = usual[_OTHER_NAMES.get(field.name, field.name)]
            yield Setting(section, field.name, default, row["unit"], row["meaning"], row["low"], row["high"])


@cache
def _usual_settings() -> Mapping[str, Mapping[str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as table:
        return {row["key"]: row for row in csv.DictReader(table)}


def _as_json(value: object, *, money: bool = False) -> str:
    """The value as a sheet would give it: shares as numbers, money as text."""
    match value:
        case None:
            return "null"
        case bool():
            return str(value).lower()
        case Decimal():
            return f'"{value:.2f}"' if money else f"{value}"
        case str():
            return f'"{value}"'
        case tuple():
            return f"[{', '.join(_as_json(item) for item in value)}]"
        case float():
            return f"{value:g}"
    return str(value)
