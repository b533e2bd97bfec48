"""The hours log: time is logged by a clock or by typing, mended and taken out; what it was before is kept."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.core.exceptions import ValidationError
from django.core.serializers.json import DjangoJSONEncoder
from django.db import transaction
from django.utils import timezone

from projects.models import Commission, HoursChange, HoursEntry, Member, StandingRate, Studio
from projects.models.making import HoursAct
from projects.services import hours_rules as rules
from projects.services.saving import changed, checked

TIMES = ("worked_on", "started_at", "ended_at", "minutes")
KEPT = ("operation", *TIMES, "quantity", "setups", "note")
NO_RATE = "The shop has no rate for this operation. Add it there first."
GONE = "This entry has been taken out of the log."


def held(members: Iterable[Member | int]) -> list[Member]:
    """The members' rows, locked in one order: what is logged of a member's time comes one after the other.

    Within a transaction. The lock leaves rows that refer to the member alone, which other writes add meanwhile.
    """
    keys = {member if isinstance(member, int) else member.pk for member in members}
    return list(Member.objects.select_for_update(no_key=True).filter(pk__in=keys).order_by("pk"))


def hours_log(*, commission: Commission, member: Member, operation: str, **values: Any) -> HoursEntry:
    """Log time worked: `minutes` of a day, or `started_at` and `ended_at` from which they follow.

    Errors: ValidationError keyed by field, among them an operation the shop has no rate for, time that overlaps with
    another timed entry of the member (which it names), and time that cannot be.
    """
    entry = changed(HoursEntry(commission=commission, member=member), {"operation": operation, **values})
    with transaction.atomic():
        held([member])
        _refuse_unknown(entry, _operations(commission.studio_id))
        _made_whole(entry)
        return _checked(entry, rules.near([entry]))


def hours_start(*, commission: Commission, member: Member, operation: str, **values: Any) -> HoursEntry:
    """Start a member's clock; refused while another of theirs runs, here or at the bench."""
    values.setdefault("started_at", timezone.now())
    return hours_log(commission=commission, member=member, operation=operation, **values)


def hours_stop(*, entry: HoursEntry, **values: Any) -> HoursEntry:
    """Stop a running clock and log the minutes. Errors: ValidationError at `ended_at` where it ran for too long."""
    with transaction.atomic():
        row = _latest(entry)
        if row.minutes is not None:
            raise ValidationError("This clock has been stopped already.")
        changed(row, {"ended_at": timezone.now(), **values})
        _refuse_unknown(row, _operations(row.commission.studio_id))
        _made_whole(row)
        # A step at the bench may have been begun before this clock, and told later: each keeps its time.
        return _checked(row, [other for other in rules.near([row]) if other.pk is not None])


def hours_update(*, entry: HoursEntry, by: Member | None = None, **values: Any) -> HoursEntry:
    """Mend an entry, and keep what it was before. Whose time it is stays.

    One that shares a stretch of time at the bench leaves it when its minutes or its day change.
    Errors: ValidationError keyed by field.
    """
    if "member" in values:
        raise TypeError("Whose time it is stays.")
    with transaction.atomic():
        row = _latest(entry)
        before = as_kept(row)
        if {"started_at", "ended_at"} & values.keys():
            values.setdefault("minutes", None)
        changed(row, values)
        if as_kept(row) == before:
            return row
        if row.operation != before["operation"] or row.commission_id != before["commission"]:
            _refuse_unknown(row, _operations(row.commission.studio_id))
        if any(as_kept(row)[name] != before[name] for name in TIMES):
            _leave_stretch(row, values)
            _made_whole(row)
            _checked(row, rules.near([row]))
        else:
            checked(row)
        if as_kept(row) != before:
            keep_change(row, before, HoursAct.CHANGED, by=by)
        return row


def hours_delete(*, entry: HoursEntry, by: Member | None = None) -> None:
    """Take an entry out of the log; the history keeps it."""
    with transaction.atomic():
        row = _latest(entry)
        keep_change(row, as_kept(row), HoursAct.TAKEN_OUT, by=by)
        row.delete()


def hours_put_back(*, studio: Studio, number: int, by: Member | None = None) -> HoursEntry:
    """Put an entry that was taken out into the log again as it was, under its own number.

    The history keeps that as a change right after the taking out. It is held to the log as it is now, like any entry.
    Errors: ValidationError for one that was not taken out, or is there again.
    """
    last = HoursChange.objects.for_studio(studio).filter(entry_number=number).first()
    if last is None or last.what != HoursAct.TAKEN_OUT:
        raise ValidationError("This entry was not taken out.")
    with transaction.atomic():
        held([last.member_id])
        jobs = Commission.objects.for_studio(studio).select_related("studio__bench")
        job = jobs.filter(pk=last.before["commission"]).first()
        if job is None:
            raise ValidationError("Its commission is not there any more.")
        if HoursEntry.objects.filter(pk=number).exists():
            raise ValidationError("This entry is in the log again.")
        was = {name: last.before[name] for name in KEPT}
        row = HoursEntry(pk=number, commission=job, member_id=last.member_id, **was)
        row.clean_fields()  # days and numbers were kept as text
        _refuse_unknown(row, _operations(studio.pk))
        _made_whole(row)
        _checked(row, rules.near([row]))
        keep_change(row, as_kept(row), HoursAct.CHANGED, by=by)
        return row


@dataclass
class Brought:
    """Many entries looked at together: those that would do, and what is refused by the row's place in the list."""

    entries: list[HoursEntry] = field(default_factory=list)
    refused: dict[int, ValidationError] = field(default_factory=dict)


def hours_bring_in(*, studio: Studio, rows: Sequence[Mapping[str, Any]], save: bool) -> Brought:
    """Look at many entries together, and log all of them or none; only looked at unless `save`.

    Each row has what `hours_log` takes. A row must overlap neither with the log nor with the rows before it.
    """
    found = Brought()
    if not rows:
        return found
    with transaction.atomic():
        held(row["member"] for row in rows)
        operations = _operations(studio.pk)
        entries = [changed(HoursEntry(), row) for row in rows]
        log: rules.Log | None = None
        for place, entry in enumerate(entries):
            try:
                _planned(entry, studio, operations)
                log = log or rules.Log(rules.near(entries))
                _refuse(entry, log.about(entry))
                log.add(entry)
                found.entries.append(entry)
            except ValidationError as refusal:
                found.refused[place] = refusal
        if save and not found.refused:
            HoursEntry.objects.bulk_create(found.entries)
    return found


def _planned(entry: HoursEntry, studio: Studio, operations: frozenset[str]) -> None:
    """Check an entry by itself without asking the database."""
    if entry.commission.studio_id != studio.pk or entry.member.studio_id != studio.pk:
        raise ValidationError("Choose a commission and a member of this studio.")
    _refuse_unknown(entry, operations)
    _made_whole(entry)
    if entry.minutes is None:
        raise ValidationError({"minutes": "Give the minutes, or when it began and ended."})
    entry.clean_fields(exclude={"commission", "member"})
    entry.clean()


def keep_change(row: HoursEntry, before: Mapping[str, Any], what: HoursAct, *, by: Member | None) -> None:
    """Put what an entry was into its history."""
    checked(
        HoursChange(
            entry_number=row.pk,
            member_id=row.member_id,
            commission_id=before["commission"],
            worked_on=datetime.date.fromisoformat(before["worked_on"]),
            what=what,
            before=dict(before),
            by=by,
        )
    )


def as_kept(row: HoursEntry) -> dict[str, Any]:
    """An entry as its history keeps it: numbers and moments as text, the commission by id and by title."""
    fields = {field.name: field for field in row._meta.concrete_fields}
    kept: dict[str, Any] = {"commission": row.commission_id, "title": row.commission.title}
    for name in KEPT:
        value = fields[name].to_python(getattr(row, name))
        if isinstance(value, datetime.datetime):
            value = value.astimezone(datetime.UTC)
        is_number = name in ("minutes", "quantity", "setups") and value is not None
        # As the database hands it back, which pads with noughts.
        kept[name] = format(value.normalize(), "f") if is_number else value
    plain: dict[str, Any] = {
        name: DjangoJSONEncoder().default(value)
        if isinstance(value, datetime.date | datetime.datetime)
        else value
        for name, value in kept.items()
    }
    return plain


def _latest(entry: HoursEntry) -> HoursEntry:
    """The entry as it is now, its member held."""
    held([entry.member_id])
    rows = HoursEntry.objects.select_related("commission__studio__bench", "member__user")
    row: HoursEntry | None = rows.filter(pk=entry.pk).first()
    if row is None:
        raise ValidationError(GONE)
    return row


def _operations(studio: int) -> frozenset[str]:
    return frozenset(StandingRate.objects.for_studio(studio).values_list("operation", flat=True))


def _refuse_unknown(entry: HoursEntry, operations: frozenset[str]) -> None:
    if entry.operation not in operations:
        raise ValidationError({"operation": NO_RATE})


def _leave_stretch(row: HoursEntry, values: Mapping[str, Any]) -> None:
    if row.stretch is None:
        return
    row.stretch = None
    if not {"started_at", "ended_at"} & values.keys():
        row.started_at = row.ended_at = None


def _made_whole(entry: HoursEntry) -> None:
    """Fill in what follows: minutes from the times, and the day from the start, at the bench's clock."""
    if entry.started_at:
        entry.worked_on = entry.started_at.astimezone(entry.commission.studio.bench.zone).date()
    if entry.minutes is None and entry.started_at and entry.ended_at:
        if entry.ended_at < entry.started_at:
            raise ValidationError({"ended_at": "Work must not end before it starts."})
        entry.minutes = rules.minutes_of(entry.ended_at - entry.started_at)


def _checked(entry: HoursEntry, others: Sequence[HoursEntry]) -> HoursEntry:
    entry.full_clean()
    _refuse(entry, others)
    return checked(entry)


def _refuse(entry: HoursEntry, others: Sequence[HoursEntry]) -> None:
    rules.snap(entry, others)
    zone = entry.commission.studio.bench.zone
    rules.refuse_impossible(entry, others, zone=zone, now=timezone.now())
