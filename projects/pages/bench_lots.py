"""The lots of a glue-up as the bench page shows them: what is kept, and what it asks for with the last ones offered."""

import datetime
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid4

from projects.models import Adhesive, AdhesiveLot, BenchStep, BenchTap, Commission, Member
from projects.models.bench import TapAct
from projects.models.lots import LotPart
from projects.services.bench_cards import is_glue_up
from projects.services.bench_lots import adhesive_of, last_lots, parts_of_adhesive, past_words

LOT, USE_BY = "lot_", "use_by_"
"""How the fields of the form begin, before the part."""


@dataclass(frozen=True, slots=True)
class KeptLot:
    """A lot as it was kept. `tap` is the tap of this member's to take back, with the `uuid` of one that does.

    It stands on the last lot of a tap alone; `several` where that takes more lots back than this one.
    """

    row: AdhesiveLot
    past: str
    tap: UUID | None
    several: bool
    uuid: UUID


@dataclass(frozen=True, slots=True)
class PartAsked:
    """The lot of one part: its fields' ends, what to call it, what is offered, and what is to be said of that."""

    part: str
    label: str
    lot: str
    use_by: str
    offered: bool
    past: str


@dataclass(frozen=True, slots=True)
class LotsShown:
    """What a glue-up's card says of its lots; `adhesive` tells which cards are of the same one."""

    adhesive: str
    name: str
    kept: Sequence[KeptLot]
    parts: Sequence[PartAsked]
    today: str
    uuid: UUID = field(default_factory=uuid4)

    @property
    def offered(self) -> bool:
        """Whether any part's last lot stands in its field."""
        return any(one.offered for one in self.parts)


def lots_shown(
    member: Member,
    steps: Sequence[BenchStep],
    *,
    today: datetime.date,
    typed: Mapping[int, Mapping[str, Any]],
) -> dict[int, LotsShown]:
    """By step those that are glue-ups; `typed` has what a refused form had in it, by step. Five questions."""
    glue_ups = [step for step in steps if is_glue_up(step)]
    if not glue_ups:
        return {}
    adhesives = _adhesives(member, glue_ups)
    offered = last_lots(member.studio, {one.pk for one in adhesives.values() if one is not None})
    kept, taps = _kept(member, glue_ups), _taps(member, glue_ups)
    shown = {}
    for step in glue_ups:
        adhesive = adhesives[step.commission_id]
        key, written = adhesive.pk if adhesive else 0, typed.get(step.pk, {})
        shown[step.pk] = LotsShown(
            adhesive=str(key or ""),
            name=adhesive.name if adhesive else "",
            kept=[_kept_lot(row, taps.get(row.pk), today) for row in kept[step.pk]],
            parts=[
                _asked(part, offered.get((key, part.value)), written, today)
                for part in parts_of_adhesive(adhesive)
            ],
            today=today.isoformat(),
        )
    return shown


def _kept_lot(row: AdhesiveLot, tap: tuple[UUID, bool] | None, today: datetime.date) -> KeptLot:
    past = past_words(row.part, row.use_by, day=today)
    return KeptLot(row, past, tap[0] if tap else None, several=bool(tap and tap[1]), uuid=uuid4())


def _adhesives(member: Member, steps: Sequence[BenchStep]) -> dict[int, Adhesive | None]:
    """What each commission is glued with; the usual one is asked for once."""
    found: dict[int, Adhesive | None] = {}
    usual = None
    jobs = Commission.objects.for_studio(member.studio_id).filter(pk__in={one.commission_id for one in steps})
    for job in jobs.select_related("design__adhesive"):
        if job.design is not None and job.design.adhesive is not None:
            found[job.pk] = job.design.adhesive
        else:
            usual = usual or adhesive_of(job)
            found[job.pk] = usual
    return found


def _kept(member: Member, steps: Sequence[BenchStep]) -> Mapping[int, list[AdhesiveLot]]:
    found: defaultdict[int, list[AdhesiveLot]] = defaultdict(list)
    rows = AdhesiveLot.objects.for_studio(member.studio_id).filter(step__in=steps)
    for row in rows.select_related("member__user"):
        found[row.step_id].append(row)
    return found


def _taps(member: Member, steps: Sequence[BenchStep]) -> dict[int, tuple[UUID, bool]]:
    """By the last lot of each the taps of this member that kept lots, and whether there were several in one."""
    taps = BenchTap.objects.for_studio(member.studio_id).filter(
        act=TapAct.LOT, member=member, accepted=True, undone_by=None, step__in=steps
    )
    return {
        max(tap.changed["lots"]): (tap.uuid, len(tap.changed["lots"]) > 1)
        for tap in taps
        if tap.changed.get("lots")
    }


def _asked(
    part: LotPart, last: AdhesiveLot | None, typed: Mapping[str, Any], today: datetime.date
) -> PartAsked:
    offered = last is not None and not typed
    return PartAsked(
        part=part.value,
        label=part.label,
        lot=typed.get(f"{LOT}{part}", "") if typed else last.lot if last else "",
        use_by=typed.get(f"{USE_BY}{part}", "") if typed else _iso(last.use_by) if last else "",
        offered=offered,
        past=past_words(part, last.use_by, day=today) if offered and last else "",
    )


def _iso(day: datetime.date | None) -> str:
    return day.isoformat() if day else ""


def lots_sent(data: Mapping[str, Any]) -> list[dict[str, str]]:
    """The lots of a form as the service takes them, those of which anything was typed."""
    rows = [
        {"part": part, "lot": data.get(f"{LOT}{part}", ""), "use_by": data.get(f"{USE_BY}{part}", "")}
        for part in LotPart.values
    ]
    return [row for row in rows if row["lot"] or row["use_by"]]
