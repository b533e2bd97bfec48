"""The studio's rates, standing and learned: the only door from the hours log to what is learned of it."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

from django.db.models import Count, DecimalField, Max, Q, Sum, Value
from django.db.models.functions import Coalesce

from estimating.work.labour import StandingRate, standing_rates
from projects import models
from projects.models.commissions import Stage

if TYPE_CHECKING:
    from estimating.work.learning import JobLog, Learned, Method, Record
    from estimating.work.wright import Curve

MADE = (Stage.FINISHED, Stage.DELIVERED, Stage.CLOSED)
"""Commissions whose pieces are made, so that their hours are all there."""


@dataclass(frozen=True)
class Rates:
    """What estimates go by: `in_force` is learned where the log says something, else standing."""

    standing: Mapping[str, StandingRate]
    in_force: Mapping[str, StandingRate]
    repeat_rate: float


def settings_of(studio: models.Studio) -> models.LearningSettings:
    """How the studio learns; the usual way where it has said nothing."""
    kept: models.LearningSettings | None = models.LearningSettings.objects.for_studio(studio).first()
    return kept or models.LearningSettings(studio=studio)


def standing_of(studio: models.Studio) -> Mapping[str, StandingRate]:
    """The studio's standing rates; an operation that it has none for takes what it usually takes."""
    own = models.StandingRate.objects.for_studio(studio)
    return {**standing_rates(), **{rate.operation: _rate(rate) for rate in own}}


def rates_of(studio: models.Studio) -> Rates:
    """What estimates go by. Three queries, however many operations and entries there are."""
    settings, standing = settings_of(studio), standing_of(studio)
    in_force = dict(standing)
    if settings.use_log:
        in_force |= {name: one.rate for name, one in learned_of(studio, settings, standing).items()}
    return Rates(standing, in_force, float(settings.repeat_rate))


def learned_of(
    studio: models.Studio, settings: models.LearningSettings, standing: Mapping[str, StandingRate]
) -> "Mapping[str, Learned]":
    """What the log says of each operation that it says anything of."""
    jobs = jobs_of(studio)
    if not jobs:
        return {}
    # Imported here since it brings scipy, which a studio without a log does without.
    from estimating.work.learning import teaches

    method = method_of(settings)
    # Counted from the last day in the log, not from today: figures stand still while nothing is logged.
    today = max(job.day for of in jobs.values() for job in of)
    found = {}
    for name, rate in standing.items():
        usable = tuple(job for job in jobs.get(name, ()) if teaches(rate, job))
        if usable:
            found[name] = _learned(rate, usable, method, today)
    return found


def method_of(settings: models.LearningSettings) -> "Method":
    """The studio's settings as the method has them."""
    from estimating.work.learning import Method

    return Method(
        standing_weight=float(settings.standing_weight), half_life_days=float(settings.half_life_days)
    )


@lru_cache(maxsize=2048)
def _learned(rate: StandingRate, jobs: "tuple[JobLog, ...]", method: "Method", today: float) -> "Learned":
    """Kept since a design is estimated at every edit, and the log changes seldom."""
    from estimating.work.learning import learn

    return learn(rate, jobs, method=method, today=today)


@lru_cache(maxsize=2048)
def record_of(learned: "Learned", method: "Method") -> "Record":
    """How well past estimates of an operation did: the jobs that taught it, each estimated from those before it."""
    from estimating.work.learning import replayed

    return replayed(learned.standing, [one.job for one in learned.jobs], method=method)


def jobs_of(studio: models.Studio) -> "Mapping[str, Sequence[JobLog]]":
    """The log by operation, the entries of one commission together. One query.

    An entry that does not say how many teaches nothing and is not in it; one without set-ups was set up for once.
    """
    entries = models.HoursEntry.objects.for_studio(studio).filter(minutes__gt=0, quantity__isnull=False)
    rows = (
        entries.order_by()
        .values_list("operation", "commission")
        .annotate(
            spent=Sum("minutes"),
            times=Sum(Coalesce("setups", Value(1), output_field=DecimalField())),
            done=Sum("quantity"),
            last=Max("worked_on"),
            several=Count("pk"),
        )
    )
    found: dict[str, list[JobLog]] = defaultdict(list)
    for operation, commission, minutes, setups, quantity, last, entries_in_it in sorted(rows):
        found[operation].append(
            _job_log(commission, float(minutes), float(setups), float(quantity), last, entries_in_it)
        )
    return found


def _job_log(
    commission: int, minutes: float, setups: float, quantity: float, last: date, entries: int
) -> "JobLog":
    from estimating.work.learning import JobLog

    return JobLog(minutes, setups, quantity, float(last.toordinal()), str(commission), entries)


def untaught_of(studio: models.Studio) -> Mapping[str, int]:
    """How many entries by operation do not say how many, so that they teach nothing."""
    entries = models.HoursEntry.objects.for_studio(studio).filter(minutes__gt=0, quantity__isnull=True)
    return dict(entries.order_by().values_list("operation").annotate(Count("pk")))


def curve_of(studio: models.Studio) -> "Curve | None":
    """Wright's curve as the log has it: designs that were made more than once, in the order they were asked for.

    Drawings and proofs of the saw are left out, which are not made again; set-ups are in it.
    """
    from estimating.work.wright import ONCE_A_JOB, Lot, fit

    again = Sum("hours__minutes", filter=~Q(hours__operation__in=ONCE_A_JOB))
    made = models.Commission.objects.for_studio(studio).filter(stage__in=MADE, design__isnull=False)
    spent = made.annotate(minutes=again).filter(minutes__gt=0).order_by("asked_on", "pk")
    designs: dict[int, list[Lot]] = defaultdict(list)
    for design, own, usual, minutes in spent.values_list("design", "quantity", "design__quantity", "minutes"):
        designs[design].append(Lot(own or usual, float(minutes)))
    return fit(list(designs.values()))


def _rate(rate: models.StandingRate) -> StandingRate:
    return StandingRate(
        operation=rate.operation,
        stage=rate.stage,
        setup_minutes=float(rate.setup_minutes),
        setup_per=rate.setup_per,
        minutes_per_unit=float(rate.minutes_per_unit),
        unit=rate.unit,
        spread=float(rate.spread),
        note=rate.note,
    )
