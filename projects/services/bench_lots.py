"""The lots that a glue-up is mixed from: kept with its step as their labels have them, the last ones offered again."""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Max

from projects.models import Adhesive, AdhesiveLot, BenchStep, Commission, Studio
from projects.models.bench import StepState
from projects.models.lots import LONGEST_LOT, LotPart
from projects.services.bench_cards import is_glue_up
from projects.services.bench_changes import Doing, Refused
from projects.services.saving import checked

MOST_AT_ONCE = 6
EARLIEST, LATEST = datetime.date(1990, 1, 1), datetime.date(2100, 1, 1)
"""What can stand on a label; anything else was mistyped."""


@dataclass(frozen=True, slots=True)
class _Said:
    part: LotPart
    lot: str
    use_by: datetime.date | None


def adhesive_of(commission: Commission) -> Adhesive | None:
    """What a commission is glued with: as its design names it, else the studio's usual one."""
    design = commission.design
    named = design.adhesive if design else None
    return named or Adhesive.objects.for_studio(commission.studio_id).filter(usual=True).first()


def parts_of_adhesive(adhesive: Adhesive | None) -> list[LotPart]:
    """Whose labels are read: of resin and hardener, or of the one bottle."""
    if adhesive is not None and adhesive.ratio_b > 0:
        return [LotPart.RESIN, LotPart.HARDENER]
    return [LotPart.BOTTLE]


def last_lots(studio: Studio, adhesives: Iterable[int]) -> Mapping[tuple[int, str], AdhesiveLot]:
    """By adhesive and part the lot that was kept last, to be offered again. One question."""
    kept = AdhesiveLot.objects.for_studio(studio)
    last = kept.filter(adhesive__in=list(adhesives)).order_by().values("adhesive", "part")
    newest = last.annotate(newest=Max("pk")).values("newest")
    return {(lot.adhesive_id or 0, lot.part): lot for lot in kept.filter(pk__in=newest)}


def lots_of_glue_ups(commission: Commission) -> dict[tuple[int, tuple[int, ...]], list[str]]:
    """What was kept for each glue-up of a commission, in words, by its number and layers: another design has others."""
    found: dict[tuple[int, tuple[int, ...]], list[str]] = {}
    rows = AdhesiveLot.objects.for_studio(commission.studio_id).filter(step__commission=commission)
    for row in rows.select_related("step").order_by("part", "at", "pk"):
        said = found.setdefault((row.step.glue_up or 0, tuple(row.step.layers)), [])
        if str(row) not in said:
            said.append(str(row))
    return found


def is_past(use_by: datetime.date | None, day: datetime.date) -> bool:
    """Whether a lot's last day was before this one."""
    return use_by is not None and use_by < day


def lot(doing: Doing) -> str:
    """Keep the lots that are mixed, from `lots` of a tap: [{"part", "lot", "use_by"}], `use_by` a day or empty.

    What stays empty is not kept; what is kept with the step already is not kept twice.
    Errors: ValidationError at `lots`, `lot_<part>` or `use_by_<part>`.
    """
    step, said = doing.step, _read(doing.tap.payload)
    if not is_glue_up(step):
        raise Refused("No adhesive is mixed in this step.")
    if step.state in (StepState.WAITING, StepState.DROPPED):
        raise Refused("Start the glue-up first.")
    there = {(one.part, one.lot) for one in step.lots.all()}
    new = [one for one in said if (one.part, one.lot) not in there]
    if not new:
        raise Refused("This lot is kept with the step already.")
    for one in new:
        doing.made("lots", checked(_row(doing, step, one)))
    words = ", ".join(f"{one.part.label} lot {one.lot}" for one in new)
    day = doing.at.astimezone(doing.tap.studio.bench.zone).date()
    return " ".join([f"Kept: {words}.", *(past_words(one.part, one.use_by, day=day) for one in new)]).strip()


def _row(doing: Doing, step: BenchStep, said: _Said) -> AdhesiveLot:
    adhesive = adhesive_of(step.commission)
    return AdhesiveLot(
        step=step,
        adhesive=adhesive,
        name=adhesive.name if adhesive else "adhesive",
        part=said.part,
        lot=said.lot,
        use_by=said.use_by,
        at=doing.at,
        member=doing.tap.member,
    )


def past_words(part: str, use_by: datetime.date | None, *, day: datetime.date) -> str:
    """The caution about a lot that is past its last day; empty for any other."""
    if use_by is None or not is_past(use_by, day):
        return ""
    return (
        f"The {LotPart(part).label} is past its use-by date, {use_by.day} {use_by:%B %Y}: old adhesive may not cure, "
        "and a joint may let go on the lathe. Take a fresh one, unless its maker says that it may still be used."
    )


def _read(payload: Mapping[str, Any]) -> list[_Said]:
    """What was typed of each part. Errors: as `lot`."""
    given = payload.get("lots")
    if (
        not isinstance(given, list)
        or len(given) > MOST_AT_ONCE
        or not all(isinstance(one, dict) for one in given)
    ):
        raise ValidationError({"lots": "Give a list of lots."})
    said = [found for one in given if (found := _read_one(one)) is not None]
    if not said:
        raise ValidationError({"lots": "Type the lot as it stands on the label."})
    return list({(one.part, one.lot): one for one in said}.values())


def _read_one(given: Mapping[str, Any]) -> _Said | None:
    part = given.get("part")
    if part not in LotPart.values:
        raise ValidationError({"lots": f"A lot is of one of: {', '.join(LotPart.values)}."})
    part = LotPart(part)
    typed = " ".join(str(given.get("lot") or "").split())
    use_by = _day(given.get("use_by"), part)
    if len(typed) > LONGEST_LOT:
        raise ValidationError(
            {f"lot_{part}": f"The lot of the {part.label} is too long: at most {LONGEST_LOT} characters."}
        )
    if not typed and use_by is not None:
        raise ValidationError({f"lot_{part}": f"Type the lot of the {part.label} beside its use-by date."})
    return _Said(part, typed, use_by) if typed else None


def _day(given: Any, part: LotPart) -> datetime.date | None:
    if given in (None, ""):
        return None
    place, whose = f"use_by_{part}", f"The use-by date of the {part.label}"
    try:
        day = datetime.date.fromisoformat(str(given).strip())
    except ValueError:
        raise ValidationError({place: f"{whose} cannot be read: write it as 2027-03-31."}) from None
    if not EARLIEST <= day <= LATEST:
        raise ValidationError({place: f"{whose} cannot be right: {day.isoformat()}."})
    return day
