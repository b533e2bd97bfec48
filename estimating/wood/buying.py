"""How boards are bought: units of sale, nominal thickness, and the price of one board, which is rounded once."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Literal, get_args

TABLE = Path(__file__).parent.parent / "tables" / "nominal_thickness.csv"

BoughtBy = Literal["piece", "board_foot", "cubic_metre", "running_metre", "running_foot"]
BOUGHT_BY: tuple[BoughtBy, ...] = get_args(BoughtBy)

_INCH = Fraction(254, 10)
_FOOT = 12 * _INCH
_BOARD_FOOT = 144 * _INCH**3
_METRE = Fraction(1000)
_ROOM = Context(prec=100)  # an absurd amount is no reason to stop

Measure = Decimal | float | int


@dataclass(frozen=True, slots=True)
class NominalThickness:
    """A thickness as hardwood is sold by, in quarters of an inch: mm as sawn rough, and surfaced on two sides.

    `rough` is what the trade counts; a board may be sawn a little over, and a kiln-dried one may be 1/16 in. under.
    """

    name: str
    rough: float
    surfaced: float
    source: str
    from_memory: str


@cache
def nominal_thicknesses() -> Mapping[str, NominalThickness]:
    """Every row of tables/nominal_thickness.csv by its name, thinnest first."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = [
            NominalThickness(
                name=row["name"],
                rough=float(_inches(row["rough_in"]) * _INCH),
                surfaced=float(_inches(row["surfaced_in"]) * _INCH),
                source=row["source"],
                from_memory=row["from_memory"],
            )
            for row in csv.DictReader(file)
        ]
    return MappingProxyType({row.name: row for row in rows})


def _inches(text: str) -> Fraction:
    return sum((Fraction(part) for part in text.split()), Fraction(0))


def units_in_board(
    *, bought_by: BoughtBy, length: Measure, width: Measure, thickness: Measure, nominal: str = ""
) -> Fraction:
    """How many units of sale one board is, exactly. Lengths mm.

    A volume is reckoned on the thickness that was bought: the nominal one where it is named, else the measured one.
    For board feet, stock thinner than an inch counts as an inch.
    Source: a board foot is 144 cubic inches of nominal, not dressed, size, and under 1 in. counts as 1 in. (US Navy,
    Engineering Aid Basic, chapter 6). That a cubic metre goes by the same thickness is common practice, no source.
    Yards that round their tally to whole feet sell by the piece, as far as this is concerned.
    Errors: ValueError for a unit or a nominal thickness that is not known, and for a length that is not above 0.
    """
    long, wide, thick = _exact(length), _exact(width), _exact(thickness)
    if nominal:
        thick = _rough(nominal)
    match bought_by:
        case "piece":
            return Fraction(1)
        case "board_foot":
            return long * wide * max(thick, _INCH) / _BOARD_FOOT
        case "cubic_metre":
            return long * wide * thick / _METRE**3
        case "running_metre":
            return long / _METRE
        case "running_foot":
            return long / _FOOT
    raise ValueError(f"not a unit that boards are sold by: {bought_by!r}")


def _rough(nominal: str) -> Fraction:
    known = nominal_thicknesses()
    if nominal not in known:
        raise ValueError(f"not a nominal thickness: {nominal!r}; known are {', '.join(known)}")
    return _exact(known[nominal].rough)


def _exact(measure: Measure) -> Fraction:
    value = Fraction(repr(measure) if isinstance(measure, float) else measure)
    if value <= 0:
        raise ValueError(f"a board's length, width and thickness are above 0, not {measure}")
    return value


def price_of_one(
    *,
    bought_by: BoughtBy,
    price_per_unit: Decimal,
    length: Measure,
    width: Measure,
    thickness: Measure,
    nominal: str = "",
    places: int = 2,
) -> Decimal:
    """What one board costs at a price a unit of sale, rounded half up to so many `places`, and nowhere before.

    Errors: as `units_in_board`.

    >>> eight_quarter = {"length": 2438.4, "width": 152.4, "thickness": 44.45, "nominal": "8/4"}
    >>> price_of_one(bought_by="board_foot", price_per_unit=Decimal("7.25"), **eight_quarter)
    Decimal('58.00')
    """
    units = units_in_board(
        bought_by=bought_by, length=length, width=width, thickness=thickness, nominal=nominal
    )
    return _rounded(units * Fraction(price_per_unit), places=places)


def price_of_share(price: Decimal, *, volume: Measure, of: Measure, places: int = 2) -> Decimal:
    """What of a board's price goes with a piece of it, by volume, rounded half up to so many `places`.

    Errors: ValueError for a volume that is not above 0.

    >>> price_of_share(Decimal("82.00"), volume=3, of=16)
    Decimal('15.38')
    """
    return _rounded(Fraction(price) * _exact(volume) / _exact(of), places=places)


def _rounded(amount: Fraction, *, places: int) -> Decimal:
    steps, rest = divmod(amount * 10**places, 1)
    return Decimal(int(steps) + (rest >= Fraction(1, 2))).scaleb(-places, context=_ROOM)
