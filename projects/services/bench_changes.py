"""What one tap changes, kept beside it so that it can be taken back; and the steps of a job as they hang together."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models
from django.utils import timezone

from projects.models import BenchStep, BenchTap, Commission, Studio
from projects.models.bench import StepState
from projects.services.saving import checked


class Refused(Exception):
    """A tap that cannot be done, with what the maker is told. It is kept all the same, as refused."""


@dataclass
class Doing:
    """A tap while it is done: the member's, at the moment it was tapped, about one step."""

    tap: BenchTap
    step: BenchStep

    @property
    def at(self) -> datetime.datetime:
        """When it was tapped."""
        return self.tap.at

    def change(self, step: BenchStep, **values: Any) -> None:
        """Set fields of a step, check and save it, and note what they were."""
        kept = self.tap.changed.setdefault("steps", {}).setdefault(str(step.pk), {"before": {}, "after": {}})
        for name, value in values.items():
            kept["before"].setdefault(name, as_json(getattr(step, name)))
            setattr(step, name, value)
            kept["after"][name] = as_json(value)
        checked(step)

    def made(self, what: str, record: models.Model) -> None:
        """Note a record that the tap has made."""
        self.tap.changed.setdefault(what, []).append(record.pk)


def as_json(value: Any) -> Any:
    """A field's value as the tap keeps it: moments as text, records by their keys."""
    if isinstance(value, models.Model):
        return value.pk
    if isinstance(value, datetime.datetime):
        # As the database gives it back, which keeps microseconds.
        return DjangoJSONEncoder().default(value.astimezone(datetime.UTC)) if value.tzinfo else None
    return value


def hold_bench(studio: Studio | int) -> Studio:
    """The studio's row, locked: taps and plans of a studio come one after the other. Within a transaction."""
    key = studio if isinstance(studio, int) else studio.pk
    return Studio.objects.select_for_update().get(pk=key)


class Chain:
    """The steps of one commission as they wait for one another, each key meaning its last run that counts."""

    def __init__(self, steps: Iterable[BenchStep]) -> None:
        self.steps = list(steps)
        self.runs: dict[str, list[BenchStep]] = {}
        for step in sorted(self.steps, key=lambda one: -one.run):
            if step.state not in (StepState.LOST, StepState.DROPPED):
                self.runs.setdefault(step.key, []).append(step)

    def run_of(self, key: str, step: BenchStep) -> BenchStep | None:
        """The run of a key that a step waits for: the last one, of those made again only if it is of its rings."""
        for other in self.runs.get(key, ()):
            if other.pk == step.pk and other.pk is not None:
                continue
            if other.run == 0 or not other.rings or not step.rings or set(other.rings) & set(step.rings):
                return other
        return None

    def before(self, step: BenchStep) -> list[BenchStep]:
        """The steps that one waits for."""
        keys = dict.fromkeys([*step.after, *([step.at_once_after] if step.at_once_after else [])])
        found = (self.run_of(key, step) for key in keys)
        return [other for other in found if other is not None]

    def downstream(self, start: Iterable[BenchStep]) -> Iterator[BenchStep]:
        """Every step that waits for one of these, or for one that does, each once."""
        after: dict[int, list[BenchStep]] = {}
        for step in self.steps:
            for other in self.before(step):
                after.setdefault(other.pk, []).append(step)
        edge, seen = list(start), {step.pk for step in start}
        while edge:
            for step in after.get(edge.pop().pk, ()):
                if step.pk not in seen:
                    seen.add(step.pk)
                    edge.append(step)
                    yield step


def chain_of(commission: Commission | int) -> Chain:
    """The live steps of a commission."""
    return Chain(BenchStep.objects.filter(commission=commission).live().select_related("commission"))


def go_on(chain: Chain, *, now: datetime.datetime) -> Iterator[tuple[BenchStep, dict[str, Any]]]:
    """What the clock alone does to the steps: those left alone end by their minutes, and the next of them begin.

    Yields each step with the fields to set, which the caller sets before it asks for the next.
    """
    moved = True
    while moved:
        moved = False
        for step in chain.steps:
            values = _by_the_clock(chain, step, now)
            if values:
                moved = True
                yield step, values


def _by_the_clock(chain: Chain, step: BenchStep, now: datetime.datetime) -> dict[str, Any]:
    if not step.is_passive:
        return {}
    if step.state == StepState.RUNNING and step.ends_at is not None and step.ends_at <= now:
        return {"state": StepState.DONE, "ended_at": step.ends_at}
    if step.state != StepState.WAITING or step.attended:
        return {}
    before = chain.before(step)
    ends = [one.ended_at for one in before if one.state == StepState.DONE and one.ended_at is not None]
    if not before or len(ends) < len(before) or max(ends) > now:
        return {}
    return {"state": StepState.RUNNING, "started_at": max(ends)}


def trusted(at: datetime.datetime | None, now: datetime.datetime) -> datetime.datetime:
    """When something was tapped, by the maker's clock. Errors: ValidationError at `at` for what cannot be."""
    if at is None:
        return now
    if timezone.is_naive(at):
        raise ValidationError({"at": "Give the time with its time zone."})
    if at > now + AHEAD:
        raise ValidationError({"at": "This lies in the future. Set the clock of the device."})
    if at < now - OLDEST:
        raise ValidationError({"at": f"This lies more than {OLDEST.days} days back."})
    return min(at, now)


AHEAD = datetime.timedelta(minutes=5)
"""A device's clock may be so far ahead; what is tapped then is taken as tapped now."""

OLDEST = datetime.timedelta(days=30)
