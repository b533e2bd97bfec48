"""The hours log as CSV, written and read back with every error placed."""

import datetime
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.exceptions import ValidationError

from projects.models import Commission, HoursEntry, Member, Studio
from projects.models.fields import plain_text
from projects.pages.csv_files import (
    Column,
    CsvError,
    armed,
    read_heads,
    read_lines,
    refuse_long,
    too_many,
    with_point,
    written,
)
from projects.pages.hours_typed import clock_of, moment, read_clock, read_span
from projects.services.hours import hours_bring_in

COLUMNS = {
    "day": "worked_on",
    "from": "started_at",
    "to": "ended_at",
    "minutes": "minutes",
    "commission": "commission",
    "operation": "operation",
    "how many": "quantity",
    "set-ups": "setups",
    "note": "note",
    "who": "member",
}
"""A column's head, and the entry's field."""

HEADS = {name: head for head, name in COLUMNS.items()}
NEEDED = ("worked_on", "commission", "operation")

_NUMBER = re.compile(r"no\. ?(\d{1,18})")
_TITLE_AND_NUMBER = re.compile(r"(.*)\(no\. (\d{1,18})\)", re.DOTALL)


@dataclass(slots=True)
class ReadHours:
    """A file as it was read: a row of values for each line, the line it is on, and all that is wrong."""

    rows: list[dict[str, Any]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    entries: list[HoursEntry] = field(default_factory=list)
    errors: list[CsvError] = field(default_factory=list)


def written_hours(entries: Iterable[HoursEntry], studio: Studio) -> str:
    """Entries as CSV, times by the bench's clock. A share of a stretch goes out as minutes alone; what runs stays."""
    titles = Counter(_key(title) for title in _titles(studio).values())
    done = [entry for entry in entries if entry.minutes is not None]
    return written(list(COLUMNS), (_cells(entry, studio, titles) for entry in done))


def _titles(studio: Studio) -> dict[int, str]:
    return dict(Commission.objects.for_studio(studio).values_list("pk", "title"))


def _key(title: str) -> str:
    return title.strip().casefold()


def _cells(entry: HoursEntry, studio: Studio, titles: Mapping[str, int]) -> list[str]:
    begins, ends = ("", "") if entry.stretch else clock_of(entry, studio.bench.zone)
    title, number = entry.commission.title, f"no. {entry.commission_id}"
    clear = titles.get(_key(title)) == 1 and not _NUMBER.fullmatch(title) and not title.endswith(")")
    return [
        entry.worked_on.isoformat(),
        begins if ends else "",
        ends,
        plain_text(Decimal(entry.minutes or 0)),
        title if clear else f"{title} ({number})",
        entry.operation,
        *("" if count is None else plain_text(Decimal(count)) for count in (entry.quantity, entry.setups)),
        entry.note,
        entry.member.user.get_username(),
    ]


@dataclass(frozen=True)
class Names:
    """What a file's words stand for in a studio."""

    studio: Studio
    mine: Member
    jobs: Mapping[str, Sequence[Commission]]
    numbers: Mapping[int, Commission]
    people: Mapping[str, Member]


def names_of(studio: Studio, mine: Member) -> Names:
    """The studio's commissions by title and number, and its members by log-in."""
    by_title: dict[str, list[Commission]] = {}
    numbers = {job.pk: job for job in Commission.objects.for_studio(studio)}
    for job in numbers.values():
        job.studio = studio
        by_title.setdefault(_key(job.title), []).append(job)
    people = Member.objects.for_studio(studio).select_related("user")
    return Names(studio, mine, by_title, numbers, {one.user.get_username(): one for one in people})


def read_hours(text: str, names: Names, *, save: bool = False) -> ReadHours:
    """What a CSV says of hours, looked at against the log; if told to `save` and all is right, all of it is logged."""
    found = ReadHours()
    lines = read_lines(text, COLUMNS, found.errors)
    if not lines:
        return found
    columns = read_heads(lines[0][1], COLUMNS, found.errors)
    given = {column.name for column in columns}
    missing = [HEADS[name] for name in NEEDED if name not in given]
    if "minutes" not in given and not {"started_at", "ended_at"} <= given:
        missing.append("minutes, or from and to")
    if missing:
        found.errors.append(CsvError(1, "", f"These columns are missing: {', '.join(missing)}."))
    if found.errors or too_many(lines, "hours", found.errors):
        return found
    for number, cells in lines[1:]:
        _read_row(number, cells, columns, names, found)
    brought = hours_bring_in(studio=names.studio, rows=found.rows, save=save and not found.errors)
    for place, refusal in brought.refused.items():
        _put(found, found.lines[place], refusal)
    found.entries = brought.entries
    found.errors.sort(key=lambda error: error.line)
    return found


def _put(found: ReadHours, line: int, refusal: ValidationError) -> None:
    """A refusal of the log at its columns."""
    if not hasattr(refusal, "error_dict"):
        found.errors.append(CsvError(line, "", " ".join(refusal.messages)))
        return
    for name, messages in refusal.message_dict.items():
        found.errors.append(CsvError(line, HEADS.get(name, ""), " ".join(messages)))


def _read_row(
    line: int, cells: Sequence[str], columns: Sequence[Column], names: Names, found: ReadHours
) -> None:
    values: dict[str, Any] = {"member": names.mine}
    before = len(found.errors)
    refuse_long(line, cells, columns, found.errors)
    for column, cell in zip(columns, cells, strict=False):
        text = armed(cell)
        if not column.name or not text.strip():
            continue
        try:
            values[column.name] = _value(column.name, text, names)
        except ValueError as refusal:
            found.errors.append(CsvError(line, HEADS[column.name], str(refusal)))
    told = {error.column for error in found.errors[before:]}
    for name in NEEDED:
        if name not in values and HEADS[name] not in told:
            found.errors.append(CsvError(line, HEADS[name], "This must not be empty."))
    if len(found.errors) == before:
        _place(line, values, names, found)


def _place(line: int, values: dict[str, Any], names: Names, found: ReadHours) -> None:
    """A row whose cells can all be read: its times as moments of its day."""
    begins, ends = values.get("started_at"), values.get("ended_at")
    if (begins is None) != (ends is None):
        missing = "started_at" if begins is None else "ended_at"
        found.errors.append(CsvError(line, HEADS[missing], "Give both times, or the minutes alone."))
        return
    if begins is None and "minutes" not in values:
        found.errors.append(CsvError(line, HEADS["minutes"], "Give the minutes, or when it began and ended."))
        return
    for name in ("started_at", "ended_at"):
        if name not in values:
            continue
        try:
            values[name] = moment(values["worked_on"], values[name], names.studio.bench.zone)
        except ValueError as refusal:
            found.errors.append(CsvError(line, HEADS[name], str(refusal)))
            return
    found.rows.append(values)
    found.lines.append(line)


def _value(name: str, text: str, names: Names) -> Any:
    """A cell's value; a time of the day as minutes since midnight.

    Errors: ValueError with a sentence.
    """
    if name == "note":
        return text
    text = text.strip()
    match name:
        case "worked_on":
            return _day(text)
        case "started_at" | "ended_at":
            return read_clock(text, is_end=name == "ended_at")
        case "minutes":
            return read_span(with_point(text))
        case "quantity" | "setups":
            return _count(text)
        case "commission":
            return _commission(text, names)
        case "member":
            return _member(text, names)
    return text


def _day(text: str) -> datetime.date:
    try:
        day = datetime.date.fromisoformat(text)
    except ValueError:
        raise ValueError("Write the day as 2027-03-01: year, month, day.") from None
    if not 1970 <= day.year <= 2199:
        raise ValueError("This day is too far off.")
    return day


def _count(text: str) -> Decimal:
    try:
        number = Decimal(with_point(text))
    except InvalidOperation:
        number = Decimal("NaN")
    if not number.is_finite():
        raise ValueError("Write a number such as 24.")
    return number


def _commission(text: str, names: Names) -> Commission:
    both = _TITLE_AND_NUMBER.fullmatch(text)
    job = names.numbers.get(int(both[2])) if both else None
    if both and job and _key(job.title) == _key(both[1]):
        return job
    same = names.jobs.get(_key(text), ())
    if len(same) == 1:
        return same[0]
    number = _NUMBER.fullmatch(text)
    job = names.numbers.get(int(number[1])) if number else None
    if job is not None:
        return job
    if same:
        told = " or ".join(f"no. {one.pk}" for one in same[:5])
        raise ValueError(f"Several commissions are called so. Write its number: {told}.")
    raise ValueError("No commission of the studio has this title.")


def _member(text: str, names: Names) -> Member:
    member = names.people.get(text)
    if member is None:
        raise ValueError("Nobody in the studio has this log-in.")
    return member
