"""An archive opened: every member held against the manifest before a row of it is read."""

import hashlib
import json
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import IO, Any

from projects.archive.schema import FORMAT, MANIFEST, VERSION, Carried, UnreadableArchive, carried, rows_name

MOST_MEMBERS = 1_000_000
MOST_MANIFEST = 256 * 1024 * 1024
MOST_CONTENT = 256 * 1024 * 1024
"""Bytes of one photo or paper."""
MOST_LINE = 64 * 1024 * 1024
"""Bytes of one row."""

_PIECE = 1 << 20
# What the standard library's reader raises besides its own error where a ZIP is put together wrongly on purpose.
_ODD = (EOFError, NotImplementedError, OverflowError, RuntimeError, ValueError, OSError)
_NAME = re.compile(r"[a-z0-9_]+(/[a-z0-9_]+)*(\.[a-z0-9]+)?")


@dataclass(frozen=True)
class Archive:
    """An archive whose members are all as its manifest says."""

    zip: zipfile.ZipFile
    manifest: Mapping[str, Any]
    models: tuple[Carried, ...]

    def fields(self, one: Carried) -> list[str]:
        """The fields that its rows of a model have."""
        return list(self.manifest["rows"].get(one.name, {}).get("fields", []))

    def rows(self, one: Carried) -> Iterator[tuple[str, dict[str, Any]]]:
        """Each row of a model with its place. Errors: UnreadableArchive."""
        if one.name not in self.manifest["rows"]:
            return
        name, keys = rows_name(one), {"id", *self.fields(one)}
        number = 0
        with self.zip.open(name) as lines:
            while line := lines.readline(MOST_LINE + 1):
                number += 1
                place = f"{name}, line {number}"
                if len(line) > MOST_LINE:
                    raise UnreadableArchive(f"{place}: is too long.")
                row = _parsed(line, place)
                if not isinstance(row, dict) or set(row) != keys:
                    raise UnreadableArchive(f"{place}: must have exactly the fields that the manifest lists.")
                if type(row["id"]) is not int or row["id"] != number:
                    raise UnreadableArchive(f"{place}, id: must be {number}.")
                yield place, row
        if number != self.manifest["rows"][one.name]["count"]:
            raise UnreadableArchive(f"{name}: the manifest counts other rows than it has.")

    def content(self, name: str) -> IO[bytes]:
        """A photo or paper, open. Errors: UnreadableArchive for a name that is none."""
        if name not in self.manifest["members"] or not name.startswith("files/"):
            raise UnreadableArchive(f"{name!r} is not in the archive")
        return self.zip.open(name)


def open_archive(file: IO[bytes]) -> Archive:
    """An archive with every member checked: its name, its size and its SHA-256.

    Errors: UnreadableArchive, which says what is wrong and where.
    """
    try:
        found = zipfile.ZipFile(file)
        members = _members(found)
        manifest = _manifest(found)
        archive = Archive(found, manifest, carried(passwords=manifest["passwords"]))
        _check_lists(archive, members)
        for name, stated in manifest["members"].items():
            _check(found, members[name], stated)
    except UnreadableArchive:
        raise
    except (zipfile.BadZipFile, zlib.error, struct.error, *_ODD) as trouble:
        raise UnreadableArchive(f"This is no ZIP file, or it was cut short or changed ({trouble}).") from None
    return archive


def _members(found: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    members: dict[str, zipfile.ZipInfo] = {}
    listed = found.infolist()
    if len(listed) > MOST_MEMBERS:
        raise UnreadableArchive(f"It has more than {MOST_MEMBERS} members.")
    for info in listed:
        if not _NAME.fullmatch(info.filename):
            raise UnreadableArchive(f"{info.filename!r}: no member may have such a name.")
        if info.filename in members:
            raise UnreadableArchive(f"{info.filename}: is there twice.")
        if info.flag_bits & 1:
            raise UnreadableArchive(f"{info.filename}: is encrypted.")
        members[info.filename] = info
    if MANIFEST not in members:
        raise UnreadableArchive(f"{MANIFEST}: is missing. This is no archive of a studio.")
    return members


def _manifest(found: zipfile.ZipFile) -> dict[str, Any]:
    with found.open(MANIFEST) as file:
        text = file.read(MOST_MANIFEST + 1)
    if len(text) > MOST_MANIFEST:
        raise UnreadableArchive(f"{MANIFEST}: is too long.")
    manifest = _parsed(text, MANIFEST)
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise UnreadableArchive(f"{MANIFEST}: this is no archive of a studio.")
    schema = manifest.get("schema")
    if type(schema) is not int or schema < 1:
        raise UnreadableArchive(f"{MANIFEST}, schema: must be a number from 1.")
    if schema > VERSION:
        raise UnreadableArchive(
            f"{MANIFEST}: the archive is of a newer Turnery (schema {schema}; this one reads up to {VERSION})."
        )
    if not _is_whole(manifest):
        raise UnreadableArchive(f"{MANIFEST}: is not as the schema has it.")
    return manifest


def _is_whole(manifest: dict[str, Any]) -> bool:
    rows, members, missing = (manifest.get(key) for key in ("rows", "members", "missing"))
    return (
        isinstance(manifest.get("passwords"), bool)
        and isinstance(missing, list)
        and isinstance(rows, dict)
        and isinstance(members, dict)
        and all(
            isinstance(one, dict)
            and type(one.get("count")) is int
            and isinstance(one.get("fields"), list)
            and all(isinstance(name, str) for name in one["fields"])
            for one in rows.values()
        )
        and all(
            isinstance(one, dict) and type(one.get("size")) is int and isinstance(one.get("sha256"), str)
            for one in members.values()
        )
    )


def _check_lists(archive: Archive, members: Mapping[str, zipfile.ZipInfo]) -> None:
    """Whether the ZIP has what the manifest lists, and both only what this program knows."""
    stated = archive.manifest["members"]
    for name in stated:
        if name not in members:
            raise UnreadableArchive(f"{name}: is missing.")
    known = {one.name: one for one in archive.models}
    for name, told in archive.manifest["rows"].items():
        if name not in known:
            raise UnreadableArchive(f"{MANIFEST}, rows: {name!r} is no model that this Turnery knows.")
        if f"rows/{name}.jsonl" not in stated:
            raise UnreadableArchive(f"rows/{name}.jsonl: is missing.")
        if strangers := set(told["fields"]) - set(known[name].names):
            raise UnreadableArchive(
                f"{MANIFEST}, rows, {name}: {min(strangers)!r} is no field that this Turnery knows."
            )
    rows = {f"rows/{name}.jsonl" for name in archive.manifest["rows"]}
    for name in members:
        if name != MANIFEST and (name not in stated or not (name in rows or name.startswith("files/"))):
            raise UnreadableArchive(f"{name}: is not in the manifest.")


def _check(found: zipfile.ZipFile, info: zipfile.ZipInfo, stated: Mapping[str, Any]) -> None:
    """Unpack a member piece by piece, no further than its stated size."""
    name, size = info.filename, stated["size"]
    if name.startswith("files/") and size > MOST_CONTENT:
        raise UnreadableArchive(f"{name}: is larger than {MOST_CONTENT // 1024**2} MB.")
    if info.file_size != size:
        raise UnreadableArchive(f"{name}: has {info.file_size} bytes, the manifest says {size}.")
    read, hashed = 0, hashlib.sha256()
    with found.open(info) as file:
        while piece := file.read(min(_PIECE, size - read + 1)):
            read += len(piece)
            hashed.update(piece)
            if read > size:
                raise UnreadableArchive(f"{name}: unpacks to more than the {size} bytes of the manifest.")
    if read != size or hashed.hexdigest() != stated["sha256"]:
        raise UnreadableArchive(f"{name}: is not what was written: its SHA-256 differs.")


def _parsed(text: bytes, place: str) -> Any:
    try:
        return json.loads(text.decode(), parse_constant=_no_number)
    except (ValueError, RecursionError) as trouble:
        raise UnreadableArchive(f"{place}: cannot be read as JSON ({trouble}).") from None


def _no_number(word: str) -> Any:
    raise ValueError(f"{word} is no number of JSON")
