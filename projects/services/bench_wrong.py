"""It went wrong: parts marked lost, what has to be made again put on the plan, and the new date said."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.db.models import Max

from projects.calendar import estimated
from projects.calendar_rows import chain_of, fill, name_of, step_of
from projects.models import BenchStep, Commission, JobDates, Mishap
from projects.models.bench import MishapKind, StepState
from projects.remakes import lost_rings, sawing_steps
from projects.services import bench_taps
from projects.services.bench_changes import Doing, Refused
from projects.services.calendar import calendar_plan
from projects.services.saving import checked

if TYPE_CHECKING:
    from estimating.steps.step import Step

MOST_LOST = 500


@dataclass(frozen=True)
class Cost:
    """What was reckoned before the bench is held: the rings that are lost, and the saw's work for new ones."""

    kind: str
    note: str = ""
    rings: tuple[int, ...] = ()
    layers: tuple[int, ...] = ()
    all_rings: frozenset[int] = frozenset()
    sawing: "tuple[Step, ...]" = ()
    trouble: str = ""


def reckon(step: BenchStep, payload: Mapping[str, Any]) -> Cost:
    """What a mishap costs, from `kind`, `layers`, `rings` and `note` of a tap.

    The design is worked out, which may take a second or two. Where it cannot be any more, `trouble` says so, and the
    rings named are all that is lost.
    Errors: ValidationError at `kind`, `layers`, `rings` or `note`.
    """
    kind = payload.get("kind")
    if kind not in MishapKind.values:
        raise ValidationError({"kind": "Say what went wrong."})
    note = str(payload.get("note") or "").strip()
    if len(note) > bench_taps.LONGEST_TEXT:
        raise ValidationError({"note": f"At most {bench_taps.LONGEST_TEXT} characters."})
    rings, layers = (_numbers(payload.get(place), place) for place in ("rings", "layers"))
    told = Cost(str(kind), note, rings, layers)
    if not rings and not layers:
        return told
    try:
        estimate = estimated(step.commission)
    except ValidationError as refusal:
        return replace(told, all_rings=frozenset(rings), trouble=" ".join(refusal.messages))
    lost = lost_rings(estimate, rings=rings, layers=layers)
    sawing = sawing_steps(estimate, lost, session=step.commission.studio.bench.session_min)
    return replace(told, all_rings=lost, sawing=sawing)


def _numbers(given: Any, place: str) -> tuple[int, ...]:
    """Numbers of rings or layers as they were sent: a list of whole numbers above 0."""
    if given in (None, ""):
        return ()
    if not isinstance(given, list) or len(given) > MOST_LOST:
        raise ValidationError({place: "Give a list of numbers."})
    if not all(isinstance(one, int) and not isinstance(one, bool) and one > 0 for one in given):
        raise ValidationError({place: "Give a list of numbers."})
    return tuple(sorted(set(given)))


def wrong(doing: Doing, cost: Cost) -> str:
    """Mark what a mishap cost, and put what has to be done again on the plan as new runs of its steps."""
    from estimating.remake import Mishap as What
    from estimating.remake import steps_again

    step = doing.step
    if step.state in (StepState.LOST, StepState.DROPPED):
        raise Refused("This is not on the plan any more.")
    if step.state == StepState.WAITING and not cost.all_rings:
        raise Refused("This has not begun. Say which rings or layers are lost.")
    chain = chain_of(step.commission_id)
    rows = {name_of(row.key, row.run): row for row in chain.steps}
    begun = {name for name, row in rows.items() if row.state in (StepState.RUNNING, StepState.DONE)}
    again = steps_again(
        [chain.as_step(row) for row in chain.steps],
        begun=begun,
        mishap=What(
            name_of(step.key, step.run), step.piece, rings=cost.all_rings, layers=frozenset(cost.layers)
        ),
        sawing=cost.sawing,
    )
    _end(doing, lost={rows[name].pk for name in again.lost if name in rows})
    for name in again.lost - {name_of(step.key, step.run)}:
        _lose(doing, rows[name])
    made = [_new_run(doing, one, rows.get(one.key)) for one in again.steps]
    _record(doing, cost)
    doing.tap.changed["replan"] = True
    return _told(cost, made)


def _end(doing: Doing, *, lost: set[int]) -> None:
    """End the step that was tapped: its hours are logged as they were worked, whatever came of them."""
    step = doing.step
    if step.state == StepState.RUNNING:
        if step.started_at is not None and doing.at < step.started_at:
            raise Refused("It was started later than this.")
        if not step.is_passive:
            bench_taps.log_hours(doing)
        if step.is_passive and step.pk not in lost:
            return  # the rings that are left go on setting
        doing.change(step, state=StepState.DONE, ended_at=doing.at, ended_by=doing.tap.member)
    if step.pk in lost:
        doing.change(step, state=StepState.LOST)


def _lose(doing: Doing, row: BenchStep) -> None:
    values: dict[str, Any] = {"state": StepState.LOST}
    if row.state == StepState.RUNNING:
        assert row.started_at is not None, "it runs"
        values["ended_at"] = max(doing.at, row.started_at)
    doing.change(row, **values)


def _new_run(doing: Doing, step: "Step", old: BenchStep | None) -> BenchStep:
    """A step put on the plan once more: as its row has it, in the share of its rings; at the saw as it was counted."""
    from estimating.remake import of_rings

    key = old.key if old is not None else step.key
    if old is not None and (old.rings or not step.rings):
        plain = step_of(old)  # what it waits for by key, so that it means the last run of each
        step = of_rings(plain, step.rings) if step.rings else plain
    runs = BenchStep.objects.filter(commission=doing.step.commission, key=key)
    row = BenchStep(commission=doing.step.commission, key=key)
    row.run = (runs.aggregate(last=Max("run"))["last"] or 0) + 1
    fill(row, step, of_rings=(old.planning.get("of_rings") if old and not step.rings else None))
    of = f" for {_words('ring', step.rings)}" if step.rings else ""
    row.name = f"{_bare(row.name)}, again{of}"[:200]
    row.position = old.position if old is not None else (runs.aggregate(at=Max("position"))["at"] or 0)
    doing.made("again", checked(row))
    return row


def _bare(name: str) -> str:
    """A name without that it was done again already."""
    return name.partition(", again")[0]


def _record(doing: Doing, cost: Cost) -> None:
    mishap = Mishap(
        step=doing.step,
        kind=cost.kind,
        note=cost.note,
        layers=list(cost.layers),
        rings=sorted(cost.all_rings),
        at=doing.at,
        member=doing.tap.member,
    )
    doing.made("mishaps", checked(mishap))


def _told(cost: Cost, made: list[BenchStep]) -> str:
    words = ["Noted."]
    if cost.all_rings:
        words.append(f"Lost: {_words('ring', sorted(cost.all_rings))}.")
    if made:
        minutes = sum(row.minutes for row in made if not row.is_passive)
        steps = "1 step is" if len(made) == 1 else f"{len(made)} steps are"
        words.append(f"{steps} planned again, {bench_taps.span(minutes)} of work.")
    if cost.trouble:
        words.append(f"Not planned again: the saw's work. {cost.trouble}")
    return " ".join(words)


def _words(one: str, numbers: Any) -> str:
    listed = [str(number) for number in numbers]
    return f"{one} {listed[0]}" if len(listed) == 1 else f"{one}s {', '.join(listed)}"


def dates_after(commission: Commission) -> str:
    """Plan the studio's calendar anew and say the job's new date against the one before."""
    zone = commission.studio.bench.zone
    before = JobDates.objects.filter(commission=commission).first()
    try:
        calendar_plan(studio=commission.studio)
    except ValidationError as refusal:
        return f"The calendar could not be planned: {' '.join(refusal.messages)}"
    after = JobDates.objects.filter(commission=commission).first()
    if after is None:
        return "The calendar has no date for this job."
    day = after.likely.astimezone(zone).date()
    words = f"New date: {day:%Y-%m-%d}"
    if before is not None and before.likely.astimezone(zone).date() != day:
        words += f", was {before.likely.astimezone(zone).date():%Y-%m-%d}"
    if commission.promised_on is not None and day > commission.promised_on:
        words += f"; promised for {commission.promised_on:%Y-%m-%d}"
    return f"{words}."
