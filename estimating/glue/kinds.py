"""The usual adhesives, one or more of a kind, as tables/adhesives.csv has them: figures until a label is read."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, cast, get_args

from estimating.piece import AdhesiveKind, Label

TABLE = Path(__file__).parent.parent / "tables" / "adhesives.csv"
KINDS: tuple[AdhesiveKind, ...] = get_args(AdhesiveKind)


@dataclass(frozen=True, slots=True)
class UsualAdhesive:
    """An adhesive of a kind with its label, and the figures of it that stand in the shop's settings.

    `ratio` parts of A and B by volume, `film` mm wet on a face, pot life minutes at degrees C. `source` says where the
    figures are from; those named in `from_memory` have no source at hand, those in `common_practice` none at all.
    """

    key: str
    label: Label
    ratio: tuple[float, float]
    film: float
    pot_life_min: float
    pot_life_at_c: float
    source: str
    from_memory: tuple[str, ...]
    common_practice: tuple[str, ...]


@cache
def usual_adhesives() -> Mapping[str, UsualAdhesive]:
    """Every adhesive of the table by its key."""
    with TABLE.open(encoding="utf-8", newline="") as table:
        return {row["key"]: _usual(row) for row in csv.DictReader(table)}


def _usual(row: Mapping[str, str]) -> UsualAdhesive:
    return UsualAdhesive(
        key=row["key"],
        label=_label(row),
        ratio=(float(row["ratio_a"]), float(row["ratio_b"])),
        film=float(row["film"]),
        pot_life_min=float(row["pot_life_min"]),
        pot_life_at_c=float(row["pot_life_at_c"]),
        source=row["source"],
        from_memory=tuple(row["from_memory"].split()),
        common_practice=tuple(row["common_practice"].split()),
    )


def _label(row: Mapping[str, str]) -> Label:
    numbers = (
        "density",
        "open_min",
        "set_min",
        "set_most_min",
        "press_min",
        "cure_min",
        "slower_c",
        "least_c",
        "exotherm_ml",
    )
    figures: dict[str, Any] = {name: float(row[name]) for name in numbers}
    return Label(
        name=row["name"],
        kind=cast(AdhesiveKind, row["kind"]),
        pressure=(float(row["pressure_low"]), float(row["pressure_high"])),
        cleaner=row["cleaner"],
        cautions=row["cautions"],
        **figures,
    )


def usual_of(kind: AdhesiveKind) -> UsualAdhesive:
    """The first adhesive of a kind. No label's parts by mass are known here."""
    return next(usual for usual in usual_adhesives().values() if usual.label.kind == kind)
