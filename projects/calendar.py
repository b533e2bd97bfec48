"""Commissions to the jobs of a calendar, and the bench they are made at: the only door to the planning of time."""

import datetime
import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError

from projects import models
from projects.calendar_rows import Chain, fill, name_of
from projects.estimates import estimate_data, sheet_data
from projects.models.bench import StepState
from projects.models.commissions import Stage
from projects.rates import rates_of, settings_of, standing_of

if TYPE_CHECKING:
    from estimating.calendar.hours import Bench
    from estimating.calendar.jobs import Calendar, CalendarJob
    from estimating.estimate import Estimate
    from estimating.steps.step import Step
    from estimating.work.labour import StandingRate

AT_THE_BENCH = (Stage.AGREED, Stage.MAKING)
"""What stands on the calendar."""

YEARS_AHEAD = 3
"""Public holidays are known to the planner so far ahead."""

_NOT_OF_THE_WORK = ("title", "boards", "pricing", "climate")


@dataclass(frozen=True)
class JobInputs:
    """One commission on the calendar: all its live steps, saved or not, as rows; `gathered` were there before."""

    commission: models.Commission
    rows: tuple[models.BenchStep, ...]
    mark: str
    gathered: frozenset[int]

    @property
    def name(self) -> str:
        """What the calendar calls it."""
        return str(self.commission.pk)

    @cached_property
    def by_name(self) -> Mapping[str, models.BenchStep]:
        """Its rows by what the calendar calls them."""
        return {name_of(row.key, row.run): row for row in self.rows}


@dataclass(frozen=True)
class Inputs:
    """All that a calendar is planned from, gathered at one moment. `left_out` says which jobs are not in it, and why.

    `marks` has a short mark for each thing in it, by its name: `job 3`, `due 3`, `bench`. `spreads` are the studio's
    own of each operation, which the 80 % date is worked out from.
    """

    now: datetime.datetime
    bench: "Bench"
    jobs: tuple[JobInputs, ...]
    left_out: tuple[str, ...] = ()
    marks: Mapping[str, str] = field(default_factory=dict)
    spreads: Mapping[str, float] = field(default_factory=dict)

    def planned(self, *, effort: float) -> "Calendar | None":
        """The calendar; None where nothing is to be made. Errors: ValidationError where nothing can be planned."""
        if not self.jobs:
            return None
        from estimating.calendar.plan import plan_calendar
        from estimating.errors import InvalidInput

        try:
            return plan_calendar(
                [self._job(one) for one in self.jobs], self.bench, now=self.now, effort=effort
            )
        except InvalidInput as refusal:
            raise ValidationError(f"This cannot be planned: {refusal.reason}.") from refusal

    def _job(self, one: JobInputs) -> "CalendarJob":
        from estimating.calendar.jobs import CalendarJob, Happened

        chain = Chain(one.rows)
        # What was tapped in the moment since `now` is taken as of now: nothing has happened in the future.
        happened = {
            name_of(row.key, row.run): Happened(
                min(row.started_at, self.now), None if row.ended_at is None else min(row.ended_at, self.now)
            )
            for row in one.rows
            if row.state in (StepState.RUNNING, StepState.DONE) and row.started_at is not None
        }
        steps = tuple(chain.as_step(row) for row in one.rows)
        due = _due(one.commission, self.now)
        return CalendarJob(one.name, steps, due=due, happened=happened, spreads=self.spreads)


def _due(commission: models.Commission, now: datetime.datetime) -> datetime.datetime | None:
    """The end of the day it is promised for, in the time zone of `now`, which is the bench's."""
    if commission.promised_on is None:
        return None
    day_after = commission.promised_on + datetime.timedelta(days=1)
    return datetime.datetime.combine(day_after, datetime.time(), tzinfo=now.tzinfo)


def inputs_of(studio: models.Studio, *, now: datetime.datetime) -> Inputs:
    """What a calendar would be planned from now: the commissions at the bench, their steps, the bench and its hours.

    Designs that have changed since their steps were drawn up are estimated anew; steps that have begun stay.
    Errors: ValidationError where the bench is never open.
    """
    here = now.astimezone(studio.bench.zone)
    bench = bench_of(studio, now=here)
    rates = rates_of(studio)
    rates_mark = _rates_mark(rates.standing, settings_of(studio))
    plan = models.CalendarPlan.objects.for_studio(studio).first()
    known: Mapping[str, str] = plan.marks if plan is not None else {}
    jobs: list[JobInputs] = []
    left_out: list[str] = []
    marks = {"bench": _bench_mark(studio)}
    for commission in at_the_bench(studio):
        marks[f"due {commission.pk}"] = str(commission.promised_on or "")
        try:
            job = _gathered(commission, known=known.get(f"job {commission.pk}", ""), rates=rates_mark)
        except ValidationError as refusal:
            left_out += refusal.messages
            continue
        marks[f"job {commission.pk}"] = job.mark
        jobs.append(job)
    spreads = {name: rate.spread for name, rate in rates.in_force.items()}
    return Inputs(here, bench, tuple(jobs), tuple(left_out), marks, spreads)


def at_the_bench(studio: models.Studio) -> Sequence[models.Commission]:
    """The commissions that stand on the calendar, those promised first at its head."""
    commissions = models.Commission.objects.for_studio(studio).filter(stage__in=AT_THE_BENCH)
    return list(commissions.job_list().select_related("client", "design__studio__bench", "studio"))


def marks_now(studio: models.Studio) -> dict[str, str]:
    """The marks of what a calendar would be planned from now, without estimating anything."""
    rates = _rates_mark(standing_of(studio), settings_of(studio))
    marks = {"bench": _bench_mark(studio)}
    for commission in at_the_bench(studio):
        marks[f"due {commission.pk}"] = str(commission.promised_on or "")
        if commission.design is not None:
            marks[f"job {commission.pk}"] = _job_mark(commission, rates)
    return marks


def _gathered(commission: models.Commission, *, known: str, rates: str) -> JobInputs:
    """A commission's steps: as they are kept where its design is as it was, else drawn up anew."""
    if commission.design is None:
        raise ValidationError(f"{commission.title} has no design yet.")
    rows = list(models.BenchStep.objects.filter(commission=commission).order_by("position", "run", "pk"))
    live = tuple(row for row in rows if row.state not in (StepState.LOST, StepState.DROPPED))
    gathered = frozenset(row.pk for row in rows)
    mark = _job_mark(commission, rates)
    if live and mark == known:
        return JobInputs(commission, live, mark, gathered)
    estimate = estimated(commission)
    steps = steps_of_job(estimate, session=commission.studio.bench.session_min)
    return JobInputs(commission, _merged(commission, rows, steps, estimate), mark, gathered)


def estimated(commission: models.Commission) -> "Estimate":
    """The estimate of a commission's design as it is now. Errors: ValidationError that names the commission."""
    from estimating.errors import InvalidSheet

    if commission.design is None:
        raise ValidationError(f"{commission.title} has no design yet.")
    data = sheet_data(commission.design, commission=commission)
    try:
        _, estimate = estimate_data(data, studio=commission.studio)
    except InvalidSheet as refusal:
        words = "; ".join(str(error) for error in refusal.errors[:3])
        raise ValidationError(f"{commission.title} cannot be worked out: {words}.") from refusal
    return estimate


def steps_of_job(estimate: "Estimate", *, session: float) -> "tuple[Step, ...]":
    """The steps of an estimate, work longer than `session` minutes in several."""
    from estimating.steps.of_job import steps_of
    from estimating.work.operations import Job

    job = Job(
        estimate.sheet,
        estimate.shapes,
        estimate.needs,
        estimate.cutting,
        estimate.glue_ups,
        estimate.adhesive,
    )
    return steps_of(job, estimate.labour, session=session)


def _merged(
    commission: models.Commission,
    rows: Sequence[models.BenchStep],
    steps: "Sequence[Step]",
    estimate: "Estimate",
) -> tuple[models.BenchStep, ...]:
    """The steps of the design as it is now, in rows: those that have begun as they are, those that wait filled anew.

    What the design asks for no more stays only where it has begun.
    """
    from estimating.remake import rings_of

    kept = {(row.key, row.run): row for row in rows}
    merged: list[models.BenchStep] = []
    for position, step in enumerate(steps):
        row = kept.get((step.key, 0)) or models.BenchStep(commission=commission, key=step.key)
        if row.state in (StepState.WAITING, StepState.DROPPED):
            of_rings = step.rings or rings_of(estimate.shapes, step.layers)
            fill(row, step, of_rings=sorted(of_rings))
            row.position, row.state = position, StepState.WAITING
        merged.append(row)
        merged += [other for other in rows if other.key == step.key and other.run > 0]
    keys = {step.key for step in steps}
    merged += [row for row in rows if row.key not in keys and row.state != StepState.WAITING]
    return tuple(row for row in merged if row.state not in (StepState.LOST, StepState.DROPPED))


def bench_of(studio: models.Studio, *, now: datetime.datetime) -> "Bench":
    """The bench as the planner has it, from the day of `now`, which is in its time zone.

    Errors: ValidationError where it is never open.
    """
    from estimating.calendar.hours import Bench

    week: list[list[tuple[datetime.time, datetime.time]]] = [[] for _ in range(7)]
    for stretch in models.BenchHours.objects.for_studio(studio):
        week[stretch.weekday].append((stretch.opens, stretch.closes))
    if not any(week):
        raise ValidationError("The bench is never open. Set its hours first.")
    settings = studio.bench
    return Bench(
        start=datetime.datetime.combine(now.date(), datetime.time(), tzinfo=now.tzinfo),
        hours=tuple(tuple(sorted(day)) for day in week),
        days_off=days_off(studio, first=now.date()),
        people=settings.people,
        mandrels=settings.mandrels,
        jigs=settings.jigs,
        presses=settings.presses,
        ring_clamps=studio.shop.ring_clamps,
    )


def days_off(studio: models.Studio, *, first: datetime.date) -> frozenset[datetime.date]:
    """The days from `first` on for which nobody works: the studio's own, and public holidays three years ahead."""
    last = first.replace(day=1) + datetime.timedelta(days=366 * YEARS_AHEAD)
    found = {
        day for day in public_holidays(studio.bench, years=range(first.year, last.year + 1)) if day >= first
    }
    for off in models.DayOff.objects.for_studio(studio).filter(last__gte=first, first__lte=last):
        day = max(off.first, first)
        while day <= min(off.last, last):
            found.add(day)
            day += datetime.timedelta(days=1)
    return frozenset(found)


def public_holidays(bench: models.BenchSettings, *, years: Iterable[int]) -> dict[datetime.date, str]:
    """The public holidays of the bench's country and region by day, with their names; none where none is chosen."""
    if not bench.holiday_country:
        return {}
    # Imported here since the library is large, and only a plan and the settings ask it.
    from holidays import country_holidays

    return dict(
        country_holidays(bench.holiday_country, subdiv=bench.holiday_region or None, years=list(years))
    )


def changes(before: Mapping[str, str], now: Mapping[str, str], titles: Mapping[str, str]) -> list[str]:
    """What is no longer as the calendar was planned from, a sentence each. `titles` are the commissions' by key."""
    words = []
    for key in dict.fromkeys([*before, *now]):
        if before.get(key) != now.get(key) and (said := _changed(key, before, now, titles)):
            words.append(said)
    return words


def _changed(key: str, before: Mapping[str, str], now: Mapping[str, str], titles: Mapping[str, str]) -> str:
    kind, _, whose = key.partition(" ")
    title = titles.get(whose, "A job")
    if kind == "bench":
        return "The bench, its hours or its days off have changed."
    if key not in before:
        return f"{title} has come." if kind == "job" else ""
    if key not in now:
        return f"{title} is no longer to be made." if kind == "job" else ""
    if kind == "due":
        return f"{title} is promised for another day."
    return f"{title} is made otherwise: its drawing, its number of pieces, a rate or a setting has changed."


def _job_mark(commission: models.Commission, rates: str) -> str:
    assert commission.design is not None, "refused before"
    data = sheet_data(commission.design, commission=commission, boards=())
    work = {key: value for key, value in data.items() if key not in _NOT_OF_THE_WORK}
    return _mark([work, rates, commission.studio.bench.session_min])


def _rates_mark(standing: "Mapping[str, StandingRate]", learning: models.LearningSettings) -> str:
    """A mark of the standing rates and of how they learn, not of what is learned.

    Every step that ends at the bench teaches something: a calendar that was out of date after each would say nothing.
    """
    how = [learning.use_log, learning.standing_weight, learning.half_life_days, learning.repeat_rate]
    return _mark([[asdict(rate) for rate in standing.values()], [float(value) for value in how]])


def _bench_mark(studio: models.Studio) -> str:
    """A mark of what the bench has and when it is open; of days off all, since none of them changes by passing."""
    fields = [field for field in studio.bench._meta.fields if field.name not in ("id", "studio")]
    settings = {field.name: str(field.value_from_object(studio.bench)) for field in fields}
    hours = models.BenchHours.objects.for_studio(studio).values_list("weekday", "opens", "closes")
    off = models.DayOff.objects.for_studio(studio).values_list("first", "last")
    return _mark([settings, sorted(hours), sorted(off), studio.shop.ring_clamps])


def _mark(value: Any) -> str:
    return hashlib.sha256(json.dumps(value, sort_keys=True, default=str).encode()).hexdigest()[:16]
