"""The calendar's steps as plain figures for its picture: a row for the bench, for whatever is held, and for cures."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from django.utils.safestring import SafeString, mark_safe

from estimating.picture.calendar import Bar, CalendarDrawing, Flag, Row, State, draw_calendar
from projects.models.bench import StepKind, StepState
from projects.pages.calendar_days import OpenDays, Wall, short_day
from projects.pages.calendar_rows import JobRow, Placed

HELD = {"mandrel": "mandrel", "jig": "pin jig", "press": "press", "ring_clamp": "ring clamps"}
"""What a glue-up holds, as its row is called."""

_PASSIVE = {
    StepKind.SET: "setting",
    StepKind.PRESS: "in the press",
    StepKind.CURE: "curing",
    StepKind.REST: "resting",
    StepKind.DRY: "drying",
}


def pictures(
    steps: Sequence[Placed],
    jobs: Sequence[JobRow],
    *,
    wall: Wall,
    first: datetime.date,
    last: datetime.date,
    days: OpenDays,
    now: datetime.datetime,
    words: str,
) -> dict[str, SafeString]:
    """The picture for a page and the one for a narrow screen. `words` tell what it shows to who cannot see it."""
    figures = _Figures(wall, first, {job.job.pk: job.mark for job in jobs})
    monday = first - datetime.timedelta(days=first.weekday())
    before = (first - monday).days
    drawing = CalendarDrawing(
        first=first,
        days=(last - first).days + 1,
        rows=figures.rows(steps),
        hours=[(start - before, end - before) for start, end in days.stretches(monday, last)],
        off={(day - first).days: reason for day, reason in days.closed.items()},
        flags=list(figures.flags(jobs, last)),
        now=wall.days_since(first, now),
    )
    title = "The calendar to scale"
    # Every word in it is escaped where it is drawn.
    return {
        "wide": mark_safe(draw_calendar(drawing, title=title, description=words)),
        "narrow": mark_safe(
            draw_calendar(drawing, title=title, description=words, narrow=True, prefix="caln")
        ),
    }


class _Figures:
    """Steps turned into bars, in days since midnight of the first day."""

    def __init__(self, wall: Wall, first: datetime.date, marks: Mapping[int, str]) -> None:
        self.wall, self.first, self.marks = wall, first, marks

    def rows(self, steps: Sequence[Placed]) -> list[Row]:
        """The bench, each thing that is held, and the piece left alone; a row with nothing in it is left out."""
        hands = [placed for placed in steps if placed.step.kind == StepKind.HANDS_ON]
        rows = [Row("at the bench", tuple(self._bar(placed) for placed in hands))]
        rows += [Row(name, tuple(self._held(steps, resource))) for resource, name in HELD.items()]
        rows.append(Row("left alone", tuple(self._alone(steps))))
        return [row for row in rows if row.bars]

    def _bar(self, placed: Placed) -> Bar:
        step = placed.step
        return self._from(placed.start, placed.end, step.commission_id, step.name, state=_state([placed]))

    def _from(
        self, start: datetime.datetime, end: datetime.datetime, job: int, words: str, **more: object
    ) -> Bar:
        begin = self.wall.days_since(self.first, start)
        # In the night the clocks go back, the wall can show an earlier time at the end than at the start.
        stop = max(begin, self.wall.days_since(self.first, end))
        return Bar(begin, stop, self.marks.get(job, ""), words, **more)  # type: ignore[arg-type]

    def _held(self, steps: Sequence[Placed], resource: str) -> Iterable[Bar]:
        """One bar a glue-up, from the first minute that it holds something to the last."""
        groups: dict[tuple[int, int, int, int], list[Placed]] = defaultdict(list)
        by_key = {(placed.step.commission_id, placed.step.key, placed.step.run): placed for placed in steps}
        for placed in steps:
            step = placed.step
            if step.uses.get(resource):
                groups[step.commission_id, step.piece, step.glue_up or 0, step.run].append(placed)
        for group in groups.values():
            job, words = group[0].step.commission_id, group[0].step.name
            start, end = group[0].start, max(_held_until(one, resource, by_key) for one in group)
            yield self._from(start, end, job, words, passive=True, state=_state(group))

    def _alone(self, steps: Iterable[Placed]) -> Iterable[Bar]:
        """Times in which pieces cure, rest or dry: of one job, those that overlap are one bar."""
        by_job: dict[int, list[Placed]] = defaultdict(list)
        for placed in steps:
            if placed.step.kind in (StepKind.CURE, StepKind.REST, StepKind.DRY):
                by_job[placed.step.commission_id].append(placed)
        for job, waiting in by_job.items():
            for group in _together(waiting):
                kinds = dict.fromkeys(_PASSIVE[StepKind(one.step.kind)] for one in group)
                start, end = group[0].start, max(one.end for one in group)
                yield self._from(start, end, job, ", ".join(kinds), passive=True, state=_state(group))

    def flags(self, jobs: Iterable[JobRow], last: datetime.date) -> Iterable[Flag]:
        """When each job is done, and the day it is promised for, in the middle of that day."""
        for row in jobs:
            yield Flag(
                self.wall.days_since(self.first, row.done_at), f"{row.mark} done {short_day(row.finish)}"
            )
            promised = row.job.promised_on
            if promised is not None and self.first <= promised <= last:
                at = (promised - self.first).days + 0.5
                yield Flag(at, f"{row.mark} promised {short_day(promised)}", promised=True)


def _together(waiting: Sequence[Placed]) -> Iterable[list[Placed]]:
    """Runs of steps that overlap, in order of their starts."""
    run: list[Placed] = []
    until: datetime.datetime | None = None
    for placed in sorted(waiting, key=lambda one: one.start):
        if run and until is not None and placed.start >= until:
            yield run
            run, until = [], None
        run.append(placed)
        until = max(until or placed.end, placed.end)
    if run:
        yield run


def _held_until(
    placed: Placed, resource: str, by_key: Mapping[tuple[int, str, int], Placed]
) -> datetime.datetime:
    """When what a step holds is free again: at its own end, or when a later step begins or ends."""
    step, found = placed.step, placed.end
    for held in step.planning.get("holds", []):
        later = by_key.get((step.commission_id, held["until"], step.run))
        if held["resource"] == resource and later is not None:
            found = max(found, later.end if held["to_end"] else later.start)
    return found


def _state(group: Sequence[Placed]) -> State:
    states = {placed.step.state for placed in group}
    if StepState.RUNNING in states:
        return "running"
    return "done" if states == {StepState.DONE} else "waiting"
