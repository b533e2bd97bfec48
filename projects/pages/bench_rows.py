"""Which steps stand on the bench page, and how they wait for one another."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from hashlib import sha256
from zoneinfo import ZoneInfo

from django.db.models import Q

from projects.calendar_rows import Chain
from projects.models import BenchStep, Studio
from projects.models.bench import StepState

AHEAD = 6
"""Steps listed beyond today's, for a maker who is ahead of the plan."""

LONGEST_LIST = 60
LOOKED_BACK = datetime.timedelta(hours=12)
"""What ended before midnight is still shown after it for so long: a cure, or the step that went wrong."""


@dataclass(frozen=True)
class Rows:
    """The steps shown, and the chain of every job they are of. `ahead` are the ids of those beyond today."""

    steps: Sequence[BenchStep]
    chains: dict[int, Chain]
    ahead: frozenset[int]

    def before(self, step: BenchStep) -> list[BenchStep]:
        """What a step waits for."""
        return self.chains[step.commission_id].before(step)

    @property
    def mark(self) -> str:
        """Changes with anything that the page shows of these steps."""
        said = [
            (
                step.pk, step.state, step.name, step.minutes, step.planned_start, step.started_at,
                step.mixed_at, step.ended_at, step.started_by_id, step.after,
            )
            for step in self.steps
        ]  # fmt: skip
        return sha256(repr(said).encode()).hexdigest()[:16]


def rows_shown(studio: Studio, *, now: datetime.datetime, zone: ZoneInfo) -> Rows:
    """What runs, what is planned for today or was and is not done, what was done today, and a few steps beyond."""
    today = now.astimezone(zone).replace(hour=0, minute=0, second=0, microsecond=0)
    # By the wall's clock: a day with a change of the clock is not 24 hours long.
    tomorrow = today + datetime.timedelta(days=1)
    since = min(today, now - LOOKED_BACK)
    rows = BenchStep.objects.for_studio(studio).exclude(state=StepState.DROPPED).by_time()
    rows = rows.select_related("commission", "started_by__user")
    here = rows.filter(
        Q(state=StepState.RUNNING)
        | Q(state=StepState.WAITING, planned_start__lt=tomorrow)
        | Q(state__in=(StepState.DONE, StepState.LOST), ended_at__gte=since)
        | Q(state=StepState.LOST, started_at__gte=since)
    )
    later = rows.filter(Q(planned_start__gte=tomorrow) | Q(planned_start=None), state=StepState.WAITING)
    ahead = later.filter(Q(kind="hands_on") | Q(attended=True))[:AHEAD]
    steps = [*here[:LONGEST_LIST], *ahead]
    chains = _chains(steps)
    return Rows([*steps, *_by_themselves(steps, chains)], chains, frozenset(step.pk for step in ahead))


def _chains(steps: Iterable[BenchStep]) -> dict[int, Chain]:
    jobs = {step.commission_id for step in steps}
    of_job: defaultdict[int, list[BenchStep]] = defaultdict(list)
    rows = (
        BenchStep.objects.filter(commission__in=jobs).live().select_related("commission", "started_by__user")
    )
    for row in rows.order_by("position", "pk"):
        of_job[row.commission_id].append(row)
    return {job: Chain(of_job[job]) for job in jobs}


def _by_themselves(steps: Sequence[BenchStep], chains: dict[int, Chain]) -> list[BenchStep]:
    """What begins by itself once steps that are shown end, and once that ends in its turn."""
    shown = {step.pk for step in steps}
    found: list[BenchStep] = []
    for chain in chains.values():
        # The chain is in the order of the work: what one waits for comes before it.
        for step in chain.steps:
            waits = step.is_passive and not step.attended and step.state == StepState.WAITING
            if waits and step.pk not in shown and any(one.pk in shown for one in chain.before(step)):
                shown.add(step.pk)
                found.append(step)
    return found
