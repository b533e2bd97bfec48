"""A studio written down as an archive: its rows at one moment, then the files they name."""

import datetime
import hashlib
import json
import tempfile
import tomllib
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import PurePosixPath
from typing import IO, Any

from django.conf import settings
from django.db import connection, transaction
from django.utils import timezone

from projects.archive.references import MAPPED, Model
from projects.archive.schema import (
    EARLIER_NUMBERS,
    FORMAT,
    MANIFEST,
    VERSION,
    Carried,
    UnwritableArchive,
    carried,
    rows_name,
    rows_of,
)
from projects.archive.values import as_json, is_plain
from projects.models import Studio

_IN_MEMORY = 5_000_000
_PIECE = 1 << 20


def turnery_version() -> str:
    """This program's version."""
    project = tomllib.loads((settings.BASE_DIR / "pyproject.toml").read_text(encoding="utf-8"))
    return str(project["project"]["version"])


class Numbers:
    """Each row's number in the archive, from 1 within its model; below 0 for rows that are gone."""

    def __init__(self) -> None:
        self._there: dict[Model, dict[int, int]] = {}
        self._gone: dict[Model, dict[int, int]] = {}

    def learn(self, model: Model, keys: list[int]) -> None:
        """Number the rows of a model in this order."""
        self._there[model] = {key: number for number, key in enumerate(keys, start=1)}

    def there(self, model: Model, key: int) -> int | None:
        """The number of a row; None where it is not the studio's."""
        return self._there[model].get(key)

    def of(self, model: Model, key: Any) -> int:
        """The number of a row that may be gone."""
        known = self._there[model].get(int(key))
        if known is not None:
            return known
        gone = self._gone.setdefault(model, {})
        return gone.setdefault(int(key), -len(gone) - 1)


class Writer:
    """An archive while it is written: what is put in, with its size and SHA-256."""

    def __init__(self, file: IO[bytes], made_at: datetime.datetime) -> None:
        self.zip = zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED)
        self.members: dict[str, dict[str, Any]] = {}
        self.made_at = made_at

    @contextmanager
    def member(self, name: str, *, packed: bool = True) -> Iterator["_Hashed"]:
        """A member to write into; noted once it is whole."""
        info = zipfile.ZipInfo(name, self.made_at.timetuple()[:6])
        info.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
        info.external_attr = 0o600 << 16
        with self.zip.open(info, "w", force_zip64=True) as out:
            hashed = _Hashed(out)
            yield hashed
        self.members[name] = {"size": hashed.size, "sha256": hashed.hash.hexdigest()}

    def copy(self, name: str, source: IO[bytes], *, packed: bool = True) -> None:
        """A member with what is left in a file."""
        with self.member(name, packed=packed) as out:
            while piece := source.read(_PIECE):
                out.write(piece)


class _Hashed:
    def __init__(self, out: IO[bytes]) -> None:
        self._out, self.hash, self.size = out, hashlib.sha256(), 0

    def write(self, piece: bytes) -> None:
        self._out.write(piece)
        self.hash.update(piece)
        self.size += len(piece)


def write_archive(studio: Studio, file: IO[bytes], *, passwords: bool = False) -> dict[str, Any]:
    """Write a studio into an open file, and return the manifest.

    Others' writes wait while the rows are read; the photos are copied after that.
    Errors: UnwritableArchive where a row refers to another studio's, or a photo goes while it is written.
    """
    writer = Writer(file, timezone.now())
    with writer.zip:
        with _one_moment():
            rows = _Rows(studio, writer, passwords=passwords)
            rows.write()
        _copy_photos(rows.photos, writer)
        manifest = {
            "format": FORMAT,
            "schema": VERSION,
            "made_at": writer.made_at.isoformat(),
            "turnery": turnery_version(),
            "studio": studio.name,
            "passwords": passwords,
            "rows": rows.counts,
            "missing": rows.missing,
            "members": writer.members,
        }
        # Straight into the ZIP: it cannot stand in its own list of members.
        writer.zip.writestr(MANIFEST, json.dumps(manifest, indent=1, ensure_ascii=False))
    return manifest


def _copy_photos(photos: dict[str, Any], writer: Writer) -> None:
    for name, stored in photos.items():
        try:
            with stored.storage.open(stored.name, "rb") as photo:
                writer.copy(name, photo, packed=False)
        except FileNotFoundError:
            raise UnwritableArchive(
                f"{stored.name}: was taken away while the archive was written. Try again."
            ) from None


@contextmanager
def _one_moment() -> Iterator[None]:
    """All that is read inside is of one moment: SQLite lets nobody write meanwhile, PostgreSQL keeps a snapshot."""
    outermost = not connection.in_atomic_block
    with transaction.atomic():
        if outermost and connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        yield


class _Rows:
    """The rows of a studio while they are written, and the photos that they name."""

    def __init__(self, studio: Studio, writer: Writer, *, passwords: bool) -> None:
        self.studio, self.writer = studio, writer
        self.models = carried(passwords=passwords)
        self.numbers = Numbers()
        self.counts: dict[str, dict[str, Any]] = {}
        self.photos: dict[str, Any] = {}
        self.missing: list[str] = []

    def write(self) -> None:
        for one in self.models:
            self.numbers.learn(one.model, list(rows_of(one, self.studio).values_list("pk", flat=True)))
        for one in self.models:
            with tempfile.SpooledTemporaryFile(_IN_MEMORY) as lines:
                count = 0
                for row in rows_of(one, self.studio).iterator(chunk_size=100):
                    lines.write(self._line(one, row))
                    count += 1
                lines.seek(0)
                self.writer.copy(rows_name(one), lines)
            self.counts[one.name] = {"count": count, "fields": one.names}

    def _line(self, one: Carried, row: Any) -> bytes:
        try:
            line = json.dumps(self._row(one, row), ensure_ascii=False, allow_nan=False)
        except (KeyError, TypeError, AttributeError, ValueError) as trouble:
            if isinstance(trouble, UnwritableArchive):
                raise
            raise UnwritableArchive(
                f"{one.name} {row.pk}: cannot be written down ({trouble!r})."
            ) from trouble
        return line.encode() + b"\n"

    def _row(self, one: Carried, row: Any) -> dict[str, Any]:
        number = self.numbers.of(one.model, row.pk)
        found: dict[str, Any] = {"id": number}
        for field in one.fields:
            place = f"files/{one.name}/{number}/{field.name}"
            found[field.name] = self._value(one, field, row, place)
        for field in one.many:
            keys = getattr(row, field.name).order_by("pk").values_list("pk", flat=True)
            found[field.name] = [self._reference(field, key, row) for key in keys]
        return found

    def _value(self, one: Carried, field: Any, row: Any, place: str) -> Any:
        value = getattr(row, field.attname)
        if field.is_relation:
            return None if value is None else self._reference(field, value, row)
        if (one.model, field.name) in EARLIER_NUMBERS:
            return self.numbers.of(EARLIER_NUMBERS[one.model, field.name], value)
        if is_plain(field):
            plain = as_json(field, value)
            mapped = MAPPED.get((one.model, field.name))
            return plain if mapped is None or plain is None else mapped.mapped(plain, self.numbers.of)
        if field.get_internal_type() == "FileField":
            return self._photo(value, place)
        return self._content(value, place)

    def _reference(self, field: Any, key: int, row: Any) -> int:
        number = self.numbers.there(field.related_model, key)
        if number is None:
            kind = row._meta.verbose_name
            raise UnwritableArchive(f"{kind} {row.pk}, {field.name}: refers to a row of another studio.")
        return number

    def _photo(self, stored: Any, place: str) -> Any:
        """A photo's member, written later; what is gone from the disk is carried as missing."""
        if not stored:
            return ""
        if not stored.storage.exists(stored.name):
            self.missing.append(place)
            return {"missing": True}
        suffix = PurePosixPath(stored.name).suffix.lower()
        place += suffix if suffix[1:].isalnum() and suffix.isascii() else ""
        self.photos[place] = stored
        return place

    def _content(self, value: Any, place: str) -> str | None:
        if value is None or not len(value):
            return None if value is None else ""
        content = bytes(value)
        place += ".pdf" if content.startswith(b"%PDF-") else ".bin"
        with self.writer.member(place) as out:
            out.write(content)
        return place
