"""Minutes of work: a rate and its spread for each operation, and the log-normal sum of a job."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

TABLE = Path(__file__).parent.parent / "tables" / "operations.csv"


@dataclass(frozen=True, slots=True)
class StandingRate:
    """What an operation takes: minutes a set-up and minutes a unit (medians), log-normal spread sigma."""

    operation: str
    stage: str
    setup_minutes: float
    setup_per: str
    minutes_per_unit: float
    unit: str
    spread: float
    source: str = ""
    note: str = ""


@cache
def standing_rates() -> Mapping[str, StandingRate]:
    """The standing rates of tables/operations.csv by operation."""
    with TABLE.open(encoding="utf-8", newline="") as table:
        return {row["operation"]: _rate(row) for row in csv.DictReader(table)}


def _rate(row: Mapping[str, str]) -> StandingRate:
    return StandingRate(
        operation=row["operation"],
        stage=row["stage"],
        setup_minutes=float(row["setup_minutes"]),
        setup_per=row["setup_per"],
        minutes_per_unit=float(row["minutes_per_unit"]),
        unit=row["unit"],
        spread=float(row["spread"]),
        source=row["source"],
        note=row["note"],
    )
