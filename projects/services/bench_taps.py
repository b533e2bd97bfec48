"""What each tap at the bench does: start, end, mixed, note, photo, measure."""

import datetime
from collections.abc import Mapping
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any

from django.core.exceptions import ValidationError
from django.core.files.base import File

from projects.calendar_rows import chain_of
from projects.models import AsBuilt, BenchStep, HoursEntry, Member, StepNote
from projects.models.bench import StepKind, StepState
from projects.services.bench_changes import Doing, Refused
from projects.services.bench_clock import go_on
from projects.services.bench_measured import judge
from projects.services.bench_photos import photo_cleaned
from projects.services.hours_bench import Stretch, clock_stopped, stretch_at_bench
from projects.services.saving import checked

_CENT = Decimal("0.01")
LONGEST_TEXT = 4000
LONG = datetime.timedelta(hours=6)
"""Longer than anybody works at one step: said, so that a clock that was forgotten is mended."""


def start(doing: Doing) -> str:
    """Begin a step. Work by hand is refused while another step of the member runs, and stops a clock of theirs."""
    step, words = doing.step, ["Started."]
    _refuse_begun(step)
    if not step.is_passive:
        other = _running(doing.tap.member)
        if other is not None:
            raise Refused(f"“{other.name}” is running. End it first.")
        words += [told] if (told := clock_stopped(member=doing.tap.member, at=doing.at)) else []
    doing.change(step, state=StepState.RUNNING, started_at=doing.at, started_by=doing.tap.member)
    return " ".join([*words, *_too_early(step, doing.at)])


def _refuse_begun(step: BenchStep) -> None:
    match step.state:
        case StepState.RUNNING:
            whose = f" by {step.started_by}" if step.started_by else ""
            raise Refused(f"This runs already, started{whose}.")
        case StepState.DONE:
            raise Refused("This is done already.")
        case StepState.LOST:
            raise Refused("This went wrong and is planned again as a new step.")


def _running(member: Member) -> BenchStep | None:
    running = BenchStep.objects.filter(started_by=member, state=StepState.RUNNING, kind=StepKind.HANDS_ON)
    found: BenchStep | None = running.first()
    return found


def _too_early(step: BenchStep, at: datetime.datetime) -> list[str]:
    """What should have come first and has not, in words."""
    words = []
    for other in chain_of(step.commission_id).before(step):
        if other.state == StepState.RUNNING and other.is_passive and other.ends_at and other.ends_at > at:
            left = span((other.ends_at - at).total_seconds() / 60)
            words.append(f"Too early: “{other.name}” has {left} to go.")
        elif other.state in (StepState.WAITING, StepState.RUNNING):
            words.append(f"“{other.name}” comes before this and is not done.")
    return words


def end(doing: Doing) -> str:
    """End a step and log its hours; what is left alone after it begins by itself.

    One that was never started is ended by saying its `minutes`, which also stand in place of a clock that ran on.
    """
    step, said = doing.step, _minutes_said(doing.tap.payload)
    values: dict[str, Any] = {"state": StepState.DONE, "ended_at": doing.at, "ended_by": doing.tap.member}
    if step.state != StepState.RUNNING:
        _refuse_begun(step)
        if said is None:
            raise Refused("This was not started. Say how many minutes it took.")
        values["started_at"] = doing.at - datetime.timedelta(minutes=float(said))
        values["started_by"] = doing.tap.member
    elif step.started_at is not None and doing.at < step.started_at:
        raise Refused("It was started later than this.")
    words = _ended_early(step, doing.at)
    doing.change(step, **values)
    if not step.is_passive:
        words.append(log_hours(doing, said))
    _begin_what_follows(doing)
    return " ".join(["Done.", *words])


def _ended_early(step: BenchStep, at: datetime.datetime) -> list[str]:
    planned = step.ends_at
    if not step.is_passive or planned is None or planned <= at:
        return []
    return [f"{span((planned - at).total_seconds() / 60)} earlier than planned. The label decides."]


def _begin_what_follows(doing: Doing) -> None:
    chain = chain_of(doing.step.commission_id)
    for step, values in go_on(chain, now=doing.tap.received_at):
        doing.change(step, **values)


def _minutes_said(payload: Mapping[str, Any]) -> Decimal | None:
    given = payload.get("minutes")
    if given in (None, ""):
        return None
    minutes = _number(given, "minutes")
    if not 0 <= minutes <= 24 * 60:
        raise ValidationError({"minutes": "Must be from 0 to 1440."})
    return minutes


def _number(given: Any, place: str) -> Decimal:
    try:
        number = Decimal(str(given))
    except InvalidOperation:
        number = Decimal("NaN")
    if isinstance(given, bool) or not number.is_finite():
        raise ValidationError({place: "Enter a number."})
    return number


def log_hours(doing: Doing, said: Decimal | None = None) -> str:
    """Put the time of a step into the hours log, an entry for each operation it is of.

    They share the stretch from start to end; minutes that were `said` have no times.
    """
    step = doing.step
    assert step.started_at is not None, "it has ended"
    clock = doing.at - step.started_at
    spent = Decimal(str(clock.total_seconds())) / 60 if said is None else said
    spent = spent.quantize(_CENT, rounding=ROUND_HALF_UP)
    stretch = Stretch() if said is not None else _stretch(doing, step.started_at)
    for operation, minutes in split(spent, {name: share[0] for name, share in step.shares.items()}).items():
        doing.made("hours", checked(_entry(doing, operation, minutes, stretch)))
    told = f"{span(float(spent))} logged."
    if said is None and clock > LONG:
        told += " If the clock ran on, mend it under Hours."
    return f"{told} {stretch.words}".strip()


def _stretch(doing: Doing, begins: datetime.datetime) -> Stretch:
    member = doing.step.started_by or doing.tap.member
    return stretch_at_bench(member=member, begins=begins, ends=doing.at, zone=doing.tap.studio.bench.zone)


def _entry(doing: Doing, operation: str, minutes: Decimal, stretch: Stretch) -> HoursEntry:
    begins, ends = stretch.times or (None, None)
    step = doing.step
    zone = doing.tap.studio.bench.zone
    assert step.started_at is not None, "it has ended"
    quantity, *setups = (_counted(number) for number in step.shares[operation][1:])
    return HoursEntry(
        commission=step.commission,
        member=step.started_by or doing.tap.member,
        operation=operation,
        worked_on=step.started_at.astimezone(zone).date(),
        minutes=minutes,
        quantity=quantity,
        setups=setups[0] if setups else None,
        note=" ".join(f"bench: {step.name}. {stretch.words}".split())[:200].removesuffix("."),
        started_at=begins,
        ended_at=ends,
        stretch=stretch.key,
    )


def _counted(number: float) -> Decimal:
    return Decimal(str(number)).quantize(Decimal("0.001"), rounding=ROUND_HALF_UP)


def split(spent: Decimal, shares: Mapping[str, float]) -> dict[str, Decimal]:
    """Minutes by share, in hundredths that add up exactly: the largest remainders get what rounding leaves."""
    if not shares:
        return {}
    weights = {name: Decimal(str(share)) for name, share in shares.items()}
    total = sum(weights.values())
    if total <= 0:
        weights, total = dict.fromkeys(shares, Decimal(1)), Decimal(len(shares))
    exact = {name: spent * weight / total for name, weight in weights.items()}
    parts = {name: minutes.quantize(_CENT, rounding=ROUND_DOWN) for name, minutes in exact.items()}
    left = int((spent - sum(parts.values())) / _CENT)
    for name in sorted(exact, key=lambda name: parts[name] - exact[name])[:left]:
        parts[name] += _CENT
    return parts


def span(minutes: float) -> str:
    """Minutes as people say them."""
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest} min" if hours else f"{rest} min"


def mixed(doing: Doing) -> str:
    """The two parts are together: the pot life runs."""
    if doing.step.state != StepState.RUNNING or doing.step.is_passive:
        raise Refused("Start the glue-up before the mix.")
    assert doing.step.started_at is not None, "it runs"
    doing.change(doing.step, mixed_at=max(doing.at, doing.step.started_at))
    return "Mixed."


def note(doing: Doing) -> str:
    """Words about a step."""
    text = str(doing.tap.payload.get("text") or "").strip()
    if not text:
        raise ValidationError({"text": "Write something."})
    _refuse_long(text)
    written = StepNote(step=doing.step, text=text, at=doing.at, member=doing.tap.member)
    doing.made("notes", checked(written))
    return "Noted."


def _refuse_long(text: str) -> None:
    if len(text) > LONGEST_TEXT:
        raise ValidationError({"text": f"At most {LONGEST_TEXT} characters."})


def photo(doing: Doing, upload: File | None) -> str:
    """A photo of a step, with words to it or none. Errors: ValidationError at `photo`."""
    if upload is None:
        raise ValidationError({"photo": "Take a photo."})
    text = str(doing.tap.payload.get("text") or "").strip()
    _refuse_long(text)
    taken = StepNote(step=doing.step, text=text, at=doing.at, member=doing.tap.member)
    # Any name will do: where it is kept is the model's own choice.
    taken.photo.save("photo.jpg", photo_cleaned(upload), save=False)
    try:
        doing.made("notes", checked(taken))
    except BaseException:
        taken.photo.delete(save=False)
        raise
    return "Photo kept."


def measure(doing: Doing) -> str:
    """Height of the stack and run-out at its rim after a step, in `height_mm` and `run_out_mm`."""
    payload, step = doing.tap.payload, doing.step
    given = {
        field: _number(payload[key], key)
        for field, key in (("height", "height_mm"), ("run_out", "run_out_mm"))
        if payload.get(key) not in (None, "")
    }
    measured = AsBuilt(
        commission=step.commission,
        piece=max(1, step.piece),
        part=step.part,
        glue_up=step.glue_up,
        at=doing.at,
        member=doing.tap.member,
        **given,
    )
    said = judge(measured, step)
    doing.made("as_built", checked(measured))
    return " ".join(["Measured.", *([said] if said else [])])
