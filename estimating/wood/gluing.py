"""Gluing weather: whether the wood of a piece is ready to be glued, by its moisture, its rest and its kinds."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import isfinite

from estimating.errors import InvalidInput
from estimating.piece import Laminate
from estimating.shape.build import Shape
from estimating.wood.courses import courses_of
from estimating.wood.dust import woods_in
from estimating.wood.species import Species
from estimating.wood.woods_together import COMMON, Finding, findings_of_woods

__all__ = ["Finding", "Reading", "gluing_findings", "moisture_findings", "rest_findings"]

APART = 1.0
"""% of moisture within which all wood of a piece should lie when it is glued; common practice, no source."""

MUCH_APART = 2.0
"""% from which it should not be glued at all (our own rule)."""

OF_THE_ROOM = 2.0
"""% within which wood should lie of what the client's room will bring it to; common practice, no source."""

OLD = 7
"""Days after which a reading says little about the wood as it is (our own rule)."""

WETTEST_READ = 60.0
"""%: more is no reading of wood that anyone would glue."""

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Reading:
    """A moisture meter's reading: the wood's key, of what as it is written down ("ring 3", "board 12"), %, and when."""

    wood: str
    what: str
    moisture: float
    day: date | None = None


def gluing_findings(
    shapes: Sequence[Shape],
    *,
    woods: Mapping[str, Species],
    laminates: Mapping[str, Laminate],
    readings: Sequence[Reading] = (),
    rested_days: float | None = None,
    acclimatise_days: float = 0.0,
    emc_client: float | None = None,
    on: date | None = None,
) -> tuple[Finding, ...]:
    """All that is to be known before a piece is glued: its moisture first, then its rest, then its woods.

    `rested_days` are since milling, None where that is not known; `emc_client` % is what the client's room will bring
    the wood to; `on` is the day of gluing. Nothing is said of what is not given.
    Errors: InvalidInput at `readings[i].moisture`, `rested_days`, `acclimatise_days` for what cannot be.
    """
    used = woods_in(shapes)
    return (
        *moisture_findings(readings, used=used, woods=woods, emc_client=emc_client, on=on),
        *rest_findings(rested_days=rested_days, acclimatise_days=acclimatise_days),
        *findings_of_woods(courses_of(shapes, laminates=laminates), woods),
    )


def moisture_findings(
    readings: Sequence[Reading],
    *,
    used: Collection[str],
    woods: Mapping[str, Species],
    emc_client: float | None = None,
    on: date | None = None,
) -> tuple[Finding, ...]:
    """What the readings say. Of what was read several times the last holds; of woods not `used` none does.

    Readings that name no thing may be of any boards of the wood: all of the latest day hold.

    Errors: InvalidInput at `readings[i].moisture` unless it is more than 0 and at most 60 %.
    """
    for index, reading in enumerate(readings):
        if not (isfinite(reading.moisture) and 0 < reading.moisture <= WETTEST_READ):
            reason = f"must be more than 0 and at most {WETTEST_READ:g} %, not {reading.moisture:g}"
            raise InvalidInput(f"readings[{index}].moisture", reason)
    last = [reading for reading in _last(readings) if reading.wood in used]
    return (
        *_apart(last, woods),
        *_not_the_room(last, woods, emc_client),
        *_unread(last, used, woods),
        *_old(last, woods, on),
    )


def _last(readings: Sequence[Reading]) -> list[Reading]:
    """The latest reading of each thing; of several on one day, or without a day, the one given last.

    Of a wood in general, all that were read on the latest day.
    """
    found: dict[tuple[str, str], list[Reading]] = {}
    for reading in readings:
        before = found.setdefault((reading.wood, reading.what), [])
        days = [(one.day or date.min) for one in (*before, reading)]
        if days[-1] < max(days):
            continue
        if reading.what or days[-1] > min(days):
            before.clear()
        before.append(reading)
    return [reading for of_one in found.values() for reading in of_one]


def _apart(readings: Sequence[Reading], woods: Mapping[str, Species]) -> Iterator[Finding]:
    if len(readings) < 2:
        return
    driest = min(readings, key=lambda reading: reading.moisture)
    wettest = max(readings, key=lambda reading: reading.moisture)
    apart = wettest.moisture - driest.moisture
    if apart > APART + _ROUNDING:
        message = (
            f"{_said(wettest, woods)} has {wettest.moisture:.1f} %, {_said(driest, woods)} {driest.moisture:.1f} %: "
            f"{apart:.1f} % apart, and all wood of a piece should lie within {APART:g} %. Let it rest together in one "
            "room, stickered, until it does; a joint of unlike moisture pulls as it evens out."
        )
        both = tuple(dict.fromkeys((driest.wood, wettest.wood)))
        much = apart > MUCH_APART + _ROUNDING
        yield Finding("moisture_apart", "danger" if much else "warning", message, both)


def _not_the_room(
    readings: Sequence[Reading], woods: Mapping[str, Species], emc_client: float | None
) -> Iterator[Finding]:
    if emc_client is None:
        return
    off = [r for r in readings if abs(r.moisture - emc_client) > OF_THE_ROOM + _ROUNDING]
    if off:
        worst = max(off, key=lambda reading: abs(reading.moisture - emc_client))
        others = f", and {len(off) - 1} more" if len(off) > 1 else ""
        way = "wetter" if worst.moisture > emc_client else "drier"
        message = (
            f"{_said(worst, woods)}{others}: {worst.moisture:.1f} %, {abs(worst.moisture - emc_client):.1f} % {way} "
            f"than the {emc_client:.1f} % that the client's room will bring. Bring the wood to within {OF_THE_ROOM:g} "
            "% of it before gluing: keep it in a room of that air, or agree with the client how the piece is kept."
        )
        yield Finding("moisture_not_the_room", "warning", message, tuple(dict.fromkeys(r.wood for r in off)))


def _unread(
    readings: Sequence[Reading], used: Collection[str], woods: Mapping[str, Species]
) -> Iterator[Finding]:
    unread = [wood for wood in used if all(reading.wood != wood for reading in readings)]
    if unread:
        names = ", ".join(woods[wood].name for wood in unread)
        message = (
            f"No moisture has been read of {names}. Read each wood at glue-up, away from the ends, with the meter set "
            "to the wood."
        )
        yield Finding("no_reading", "note", message, tuple(unread))


def _old(readings: Sequence[Reading], woods: Mapping[str, Species], on: date | None) -> Iterator[Finding]:
    old = [r for r in readings if on is not None and r.day is not None and (on - r.day).days > OLD]
    if old and on is not None:
        oldest = min(old, key=lambda reading: reading.day or on)
        days = (on - (oldest.day or on)).days
        message = (
            f"{_said(oldest, woods)} was read {days} days before gluing: read it again, wood follows the air."
        )
        yield Finding(
            "reading_old", "note", message, tuple(dict.fromkeys(r.wood for r in old)), source="our own rule"
        )


def _said(reading: Reading, woods: Mapping[str, Species]) -> str:
    name = woods[reading.wood].name if reading.wood in woods else reading.wood
    what = f", {reading.what}" if reading.what else ""
    return f"{name[:1].upper()}{name[1:]}{what}"


def rest_findings(*, rested_days: float | None, acclimatise_days: float) -> tuple[Finding, ...]:
    """Whether the milled wood has rested as long as the shop's rule asks, days; nothing where it is not known.

    Errors: InvalidInput at `rested_days` or `acclimatise_days` below 0.
    """
    for place, days in (("rested_days", rested_days), ("acclimatise_days", acclimatise_days)):
        if days is not None and not (isfinite(days) and days >= 0):
            raise InvalidInput(place, f"must be 0 days or more, not {days:g}")
    if rested_days is None or rested_days >= acclimatise_days - _ROUNDING:
        return ()
    message = (
        f"Milled {rested_days:g} days ago; the shop lets wood rest {acclimatise_days:g} days after milling. Wait "
        f"{acclimatise_days - rested_days:g} more, then true what has moved, and read the moisture again."
    )
    return (Finding("not_rested", "warning", message, source=COMMON),)
