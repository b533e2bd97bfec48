"""The usual shop settings, as tables/shop_defaults.csv gives them: values, ranges and what they mean."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

TABLE = Path(__file__).resolve().parents[2] / "estimating" / "tables" / "shop_defaults.csv"

# Units of the table that are said otherwise on a page.
PRINTED_UNITS = {"degree C": "°C", "factor": "", "day": "days"}


@dataclass(frozen=True, slots=True)
class UsualSetting:
    """One row: the usual value as text, the range met in shops, and the words beside it."""

    value: str
    help_text: str

    @property
    def number(self) -> Decimal:
        """The usual value."""
        return Decimal(self.value)


@cache
def usual_settings() -> Mapping[str, UsualSetting]:
    """Every row of the table by its key."""
    with TABLE.open(encoding="utf-8", newline="") as table:
        return {row["key"]: UsualSetting(row["default"], _help_text(row)) for row in csv.DictReader(table)}


def _help_text(row: Mapping[str, str]) -> str:
    meaning = row["meaning"][:1].upper() + row["meaning"][1:]
    usual = f"Usual: {row['default']} {PRINTED_UNITS.get(row['unit'], row['unit'])}".rstrip()
    reach = f", {row['low']} to {row['high']} met" if row["low"] else ""
    note = f" {row['note'][:1].upper()}{row['note'][1:]}." if row["note"] else ""
    return f"{meaning}. {usual}{reach}.{note}"
