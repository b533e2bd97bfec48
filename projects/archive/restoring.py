"""An archive's rows put into the database as they were, each checked; all of them or none, photos included."""

import re
import secrets
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any

from django.contrib.auth.hashers import identify_hasher
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.db import DatabaseError, IntegrityError, transaction
from django.db import models as db
from django.utils import timezone

from projects import models
from projects.archive.reading import Archive
from projects.archive.references import MAPPED, Model
from projects.archive.schema import EARLIER_NUMBERS, Carried, UnreadableArchive
from projects.archive.values import from_json, is_plain

_HEAVY = frozenset({"JSONField", "BinaryField", "TextField"})


@dataclass
class Restored:
    """What was put in, or would be: rows by model, and log-ins by what they were called in the archive."""

    studio: str = ""
    counts: dict[str, int] = field(default_factory=dict)
    log_ins: dict[str, str] = field(default_factory=dict)
    files: int = 0
    missing: int = 0
    with_passwords: bool = False


def restore(archive: Archive, *, rename: bool = False, dry_run: bool = False) -> Restored:
    """Put a studio in as one more, whatever is there already; with `dry_run` look only.

    With `rename` log-ins whose names are taken get a number behind theirs; otherwise they are refused.
    Errors: UnreadableArchive with the place of what is wrong, and nothing is changed.
    """
    rows = _Rows(archive, rename=rename, dry_run=dry_run)
    with _files_too(rows.written), transaction.atomic():
        rows.put()
        transaction.set_rollback(dry_run)
    return rows.told


@contextmanager
def _files_too(written: list[Any]) -> Iterator[None]:
    """Take files away again that were written before something went wrong, and folders that were made for them."""
    try:
        yield
    except BaseException:
        for stored in written:
            folder = Path(stored.path).parent
            stored.storage.delete(stored.name)
            with suppress(OSError):
                folder.rmdir()  # only where nothing else is in it
        raise


class _Rows:
    """The rows of an archive on their way in."""

    def __init__(self, archive: Archive, *, rename: bool, dry_run: bool) -> None:
        self.archive, self.rename, self.dry_run = archive, rename, dry_run
        self.told = Restored(
            missing=len(archive.manifest["missing"]), with_passwords=archive.manifest["passwords"]
        )
        self.written: list[Any] = []
        self._there: dict[Model, dict[int, Any]] = {}
        self._gone: dict[tuple[Model, int], int] = {}
        self._later: list[tuple[str, Any, Any, int]] = []
        self._taken = set(User.objects.values_list("username", flat=True))

    def put(self) -> None:
        for one in self.archive.models:
            self._there[one.model] = {}
            lacking = _lacking(one, self.archive)
            for place, row in self.archive.rows(one):
                self._there[one.model][row["id"]] = self._put(one, row, place, lacking)
            self._set_later()
            self.told.counts[one.name] = len(self._there[one.model])
        studios = list(self._there[models.Studio].values())
        if len(studios) != 1:
            raise UnreadableArchive("rows/studio.jsonl: must have one studio.")
        self.told.studio = studios[0].name

    def _put(self, one: Carried, row: Mapping[str, Any], place: str, lacking: Mapping[str, Any]) -> Any:
        instance: Any = one.model()
        for model_field in one.fields:
            name = model_field.name
            if name in lacking:
                setattr(instance, model_field.attname, lacking[name])
                continue
            with _placed(f"{place}, {name}"):
                self._set(one, instance, model_field, row[name], f"{place}, {name}")
        _drawn_anew(instance)
        if isinstance(instance, User):
            self._let_in(instance, place)
        many = {one_field: self._many(one_field, row, place) for one_field in one.many}
        _check(instance, place)
        _insert(instance, place)
        for one_field, others in many.items():
            getattr(instance, one_field.name).set(others)
        return _lightened(instance)

    def _set(self, one: Carried, instance: Any, model_field: Any, value: Any, place: str) -> None:
        key = (one.model, model_field.name)
        if model_field.is_relation:
            self._refer(one, instance, model_field, value, place)
        elif key in EARLIER_NUMBERS:
            setattr(instance, model_field.attname, self._earlier(EARLIER_NUMBERS[key], value))
        elif is_plain(model_field):
            read = from_json(model_field, value)
            if key in MAPPED and read is not None:
                read = MAPPED[key].mapped(read, self._id_of)
            setattr(instance, model_field.attname, read)
        elif model_field.get_internal_type() == "FileField":
            setattr(instance, model_field.attname, self._file(instance, model_field, value))
        else:
            setattr(instance, model_field.attname, self._content(model_field, value))

    def _refer(self, one: Carried, instance: Any, model_field: Any, value: Any, place: str) -> None:
        if value is None:
            if not model_field.null:
                raise ValueError("must not be empty")
            return
        other = self._there[model_field.related_model].get(value) if type(value) is int else None
        if other is not None:
            setattr(instance, model_field.name, other)
        elif model_field.related_model is one.model and type(value) is int:
            self._later.append((place, instance, model_field, value))
        else:
            raise ValueError(f"refers to {value!r}, which is not in the archive")

    def _set_later(self) -> None:
        """Set references to rows of the same model that came after."""
        for place, instance, model_field, value in self._later:
            other = self._there[model_field.related_model].get(value)
            if other is None:
                raise UnreadableArchive(f"{place}: refers to {value!r}, which is not in the archive.")
            rows = _unguarded(type(instance)).filter(pk=instance.pk)
            with _refused_by_the_database(type(instance), place):
                rows.update(**{model_field.attname: other.pk})
        self._later.clear()

    def _many(self, model_field: Any, row: Mapping[str, Any], place: str) -> list[Any]:
        place, listed = f"{place}, {model_field.name}", row.get(model_field.name, [])
        there = self._there[model_field.related_model]
        if not isinstance(listed, list) or not all(type(key) is int and key in there for key in listed):
            raise UnreadableArchive(f"{place}: must list rows of the archive by their ids.")
        return [there[key] for key in listed]

    def _id_of(self, model: Model, number: Any) -> int:
        """The id of a row that a JSON field names by its number; numbers below 0 are of rows that were gone before."""
        if int(number) < 0:
            return self._earlier(model, int(number)) if model in EARLIER_NUMBERS.values() else int(number)
        other = self._there[model].get(int(number))
        if other is None:
            raise ValueError(f"refers to {number!r}, which is not in the archive")
        return int(other.pk)

    def _earlier(self, model: Model, number: Any) -> int:
        if type(number) is not int or number >= 0:
            return self._id_of(model, number)
        if (model, number) not in self._gone:
            self._gone[model, number] = _used_up(model)
        return self._gone[model, number]

    def _file(self, instance: Any, model_field: Any, value: Any) -> str:
        """A photo put on the disk under a name of the model's choice; the name alone for one that was missing."""
        if value == "":
            return ""
        gone = value == {"missing": True}
        suffix = ".jpg" if gone else PurePosixPath(str(value)).suffix
        name: str = model_field.generate_filename(instance, f"photo{suffix}")
        if gone:
            return name
        if not isinstance(value, str):
            raise ValueError("must name a member of the archive")
        with self.archive.content(value) as content:
            self.told.files += 1
            if self.dry_run:
                return name
            stored = model_field.attr_class(instance, model_field, name)
            stored.name = model_field.storage.save(name, ContentFile(content.read()))
            self.written.append(stored)
            return str(stored.name)

    def _content(self, model_field: Any, value: Any) -> bytes | None:
        if value is None and model_field.null:
            return None
        if value == "":
            return b""
        if not isinstance(value, str):
            raise ValueError("must name a member of the archive")
        with self.archive.content(value) as content:
            self.told.files += 1
            return content.read()

    def _let_in(self, user: User, place: str) -> None:
        """Give a log-in its name, and no password unless the archive has its hash."""
        wanted = user.username
        if wanted in self._taken and not self.rename:
            raise UnreadableArchive(f"{place}, username: there is a log-in {wanted} here already.")
        number = 2
        while user.username in self._taken:
            user.username = f"{wanted[:140]}-{number}"
            number += 1
        self._taken.add(user.username)
        self.told.log_ins[wanted] = user.username
        if not user.password:
            user.set_unusable_password()
        elif user.has_usable_password():
            with _placed(f"{place}, password"):
                identify_hasher(user.password)


def _lacking(one: Carried, archive: Archive) -> dict[str, Any]:
    """What fields have that the archive is too old to know. Errors: UnreadableArchive for one that needs a value."""
    known, values = set(archive.fields(one)), dict[str, Any]()
    if one.name not in archive.manifest["rows"]:
        return values
    for model_field in one.fields:
        if model_field.name in known:
            continue
        if getattr(model_field, "auto_now", False) or getattr(model_field, "auto_now_add", False):
            values[model_field.name] = timezone.now()
        elif model_field.has_default() or model_field.null or model_field.get_default() == "":
            values[model_field.name] = model_field.get_default()
        else:
            raise UnreadableArchive(f"rows/{one.name}.jsonl: the field {model_field.name} is missing.")
    return values


def _drawn_anew(instance: Any) -> None:
    """Secrets that are not carried, and what follows from that: a client's link that was open is revoked."""
    if isinstance(instance, models.ClientLink):
        instance.token_hash = secrets.token_hex(32)  # of no token
        instance.revoked_at = instance.revoked_at or timezone.now()


def _check(instance: Any, place: str) -> None:
    """Every field within its range, and what the model says of them together; the database's own rules come after.

    What a form asks to be filled in may be empty here, where the database allows it. A check changes nothing.
    """
    as_read = {one.attname: instance.__dict__[one.attname] for one in instance._meta.concrete_fields}
    passed_over = {
        one.name
        for one in instance._meta.concrete_fields
        if one.is_relation or (as_read[one.attname] in one.empty_values and as_read[one.attname] is not None)
    } | {one.name for one in instance._meta.concrete_fields if one.null and as_read[one.attname] is None}
    try:
        instance.clean_fields(exclude=passed_over)
        instance.clean()
    except ValidationError as refusal:
        raise UnreadableArchive(f"{place}{_words(refusal)}") from None
    instance.__dict__.update(as_read)


def _words(refusal: ValidationError) -> str:
    if not hasattr(refusal, "error_dict"):
        return f": {' '.join(refusal.messages)}"
    name, messages = next(iter(refusal.message_dict.items()))
    return f"{'' if name == '__all__' else f', {name}'}: {' '.join(messages)}"


def _insert(instance: Any, place: str) -> None:
    """Add a row as it was: the one door past `save`, which sets times of its own and guards rows that are frozen.

    It adds and never changes one that is there, so that nothing issued can be reached through it.
    """
    with _refused_by_the_database(type(instance), place):
        db.Model.save_base(instance, raw=True, force_insert=True)


def _unguarded(model: Model) -> "db.QuerySet[Any]":
    """Rows by a plain query, for those that were put in a moment ago."""
    return db.QuerySet(model)


def _used_up(model: Model) -> int:
    """An id that no row has or will have: a row's that is added and taken away at once.

    Its references lead nowhere, which the database minds only at the end.
    """
    assert model is models.HoursEntry, "the only rows whose ids outlive them"
    row = models.HoursEntry(commission_id=0, member_id=0, minutes=0, created_at=timezone.now())
    db.Model.save_base(row, raw=True, force_insert=True)
    key = int(row.pk)
    _unguarded(model).filter(pk=key).delete()
    return key


def _lightened(instance: Any) -> Any:
    """A row that is in, without what may be large: whoever asks for that has it read again."""
    for one in instance._meta.concrete_fields:
        if one.get_internal_type() in _HEAVY:
            instance.__dict__.pop(one.attname, None)
    return instance


@contextmanager
def _placed(place: str) -> Iterator[None]:
    """Say where a value stands that cannot be read."""
    try:
        yield
    except UnreadableArchive as refusal:
        raise UnreadableArchive(
            refusal if str(refusal).startswith("rows/") else f"{place}: {refusal}."
        ) from None
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError, OverflowError) as trouble:
        words = str(trouble) if type(trouble) is ValueError else f"cannot be read ({trouble!r})"
        raise UnreadableArchive(f"{place}: {words}.") from None


@contextmanager
def _refused_by_the_database(model: Model, place: str) -> Iterator[None]:
    """What the database refuses, in the words of the rule."""
    try:
        yield
    except (DatabaseError, ValueError, OverflowError) as refusal:
        said = str(refusal)
        words = next((str(rule.violation_error_message) for rule in _rules(model, said)), "")
        verb = "refused" if isinstance(refusal, IntegrityError) else "cannot hold"
        raise UnreadableArchive(
            f"{place}: {words or f'The database {verb} this row ({said.strip()}).'}"
        ) from None


def _rules(model: Model, said: str) -> Iterator[db.BaseConstraint]:
    """The rules that a database's words are about: by their names, or as SQLite has it by the columns."""
    columns = set(re.findall(r"\w+\.(\w+)", said))
    for rule in model._meta.constraints:
        unique = isinstance(rule, db.UniqueConstraint) and "UNIQUE" in said
        if rule.name in said or (unique and columns == _columns(model, rule)):
            yield rule


def _columns(model: Model, rule: Any) -> set[str]:
    return {str(model._meta.get_field(name).column) for name in rule.fields}  # type: ignore[union-attr]  # of a field
