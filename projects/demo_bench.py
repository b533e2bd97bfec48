"""The demo's bench: one commission half-way through its gluing, another agreed, and a calendar for both."""

import datetime
from collections.abc import Mapping, Sequence
from typing import Any
from uuid import uuid4

from django.utils import timezone

from projects.models import BenchStep, Client, Commission, Member, Studio
from projects.models.commissions import Stage
from projects.services import bench_hours, commissions
from projects.services.bench import bench_tap
from projects.services.bench_cards import is_glue_up
from projects.services.calendar import calendar_plan

BACK = datetime.timedelta(days=24)
"""When the work at the bench was begun, from which the plan of what is done is drawn."""

JUST_ENDED = datetime.timedelta(minutes=20)
"""So long ago the last glue-up was closed: its adhesive is setting."""

LOTS = (
    [{"part": "a", "lot": "R 26-0412"}, {"part": "b", "lot": "H 26-0388"}],
    [{"part": "a", "lot": "R 26-0519"}, {"part": "b", "lot": "H 26-0388"}],
)
"""What the labels say: the resin ran out half-way."""

# What each step took against what it was planned to take, over and over.
PACE = (1.1, 0.92, 1.0, 1.25, 0.85)


def work_at_the_bench(studio: Studio, maker: Member, making: Commission, *, gallery: Client) -> None:
    """Agree a second commission of the same design, do half the gluing of the first, and plan both."""
    now = timezone.now()
    bench_hours.day_off_add(
        studio=studio, first=timezone.localdate() + datetime.timedelta(12), reason="Craft fair"
    )
    calendar_plan(studio=studio, now=now - BACK)
    _glue_half(making, maker, now=now)
    second = commissions.commission_create(
        studio=studio,
        client=gallery,
        title="Low bowl, for the window",
        design=making.design,
        asked_on=timezone.localdate() - datetime.timedelta(14),
        promised_on=timezone.localdate() + datetime.timedelta(weeks=9),
    )
    for stage in (Stage.DESIGNING, Stage.QUOTED, Stage.AGREED):
        commissions.commission_move(commission=second, to=stage)
    calendar_plan(studio=studio, now=now)


def _glue_half(making: Commission, maker: Member, *, now: datetime.datetime) -> None:
    """Every step of the plan up to the middle one of the ring glue-ups, a little slower or quicker than planned."""
    work = list(BenchStep.objects.filter(commission=making, kind="hands_on").live().by_time())
    rings = [step for step in work if ".half_ring." in step.key or ".ring." in step.key]
    last = rings[len(rings) // 2]
    done = work[: work.index(last) + 1]
    assert last.planned_end is not None, "it was planned"
    days = datetime.timedelta(days=(now - JUST_ENDED - last.planned_end).days)
    free, glue_ups = now - BACK, [step for step in done if is_glue_up(step)]
    for number, step in enumerate(done):
        start, end = _worked(step, days, PACE[number % len(PACE)], free=free)
        free = end
        if step == last:
            start, end = now - JUST_ENDED - (end - start), now - JUST_ENDED
        lots = LOTS[step in glue_ups[len(glue_ups) // 2 :]] if is_glue_up(step) else ()
        work_done(step, maker, start=start, end=end, lots=lots)
    bench_tap(
        member=maker, uuid=uuid4(), act="note", step=last, payload={"text": "A thin bead all round. Good."}
    )


def work_done(
    step: BenchStep,
    maker: Member,
    *,
    start: datetime.datetime,
    end: datetime.datetime,
    lots: Sequence[Mapping[str, str]] = (),
) -> None:
    """Tap a step begun and ended; of a glue-up the lots as well, and that it was mixed."""
    taps: list[tuple[str, datetime.datetime, dict[str, Any]]] = [("start", start, {})]
    if lots:
        taps += [("lot", start, {"lots": list(lots)}), ("mixed", start, {})]
    for act, at, payload in [*taps, ("end", end, {})]:
        bench_tap(member=maker, uuid=uuid4(), act=act, step=step, at=at, payload=payload)


def _worked(
    step: BenchStep, later: datetime.timedelta, pace: float, *, free: datetime.datetime
) -> tuple[datetime.datetime, datetime.datetime]:
    """From when to when a step was worked: as planned, so much later, at its own pace, and after the one before."""
    assert step.planned_start is not None, "it was planned"
    start = max(step.planned_start + later, free)
    return start, start + datetime.timedelta(minutes=max(1, round(step.minutes * pace)))
