"""One backup as a folder: `backup.json` with what it is of and each file's SHA-256, the database, and `media/`."""

import datetime
import filecmp
import hashlib
import json
import os
import re
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any

from projects.backup.databases import BackupRefused, Database

FORMAT = "turnery-backup"
VERSION = 1
TOLD = "backup.json"
MEDIA = "media"
STALE = datetime.timedelta(days=1)
"""What a backup that was broken off has left is cleared away after so long."""

_NAME = re.compile(r"turnery-(\d{8}T\d{6}Z)")
_STAMP = "%Y%m%dT%H%M%SZ"


@dataclass(frozen=True)
class Backup:
    """A backup that is there: where, of when, and what it says of itself."""

    folder: Path
    made_at: datetime.datetime
    told: Mapping[str, Any] = field(default_factory=dict)

    @property
    def files(self) -> Mapping[str, Mapping[str, Any]]:
        """Each file by its way from the folder, with its size and SHA-256."""
        files: Mapping[str, Mapping[str, Any]] = self.told["files"]
        return files

    @property
    def photos(self) -> Mapping[str, Mapping[str, Any]]:
        """Those of its files that belong in the media folder, by their way from there."""
        return {
            name.removeprefix(f"{MEDIA}/"): one for name, one in self.files.items() if name.startswith(MEDIA)
        }


def name_of(made_at: datetime.datetime) -> str:
    """What the backup of a moment is called."""
    return f"turnery-{made_at.astimezone(datetime.UTC):{_STAMP}}"


def backups_in(folder: Path) -> list[Backup]:
    """The backups in a folder, the oldest first: folders with such a name and a `backup.json`; nothing else counts."""
    found = []
    for place in folder.iterdir() if folder.is_dir() else ():
        match = _NAME.fullmatch(place.name)
        if match and place.is_dir() and not place.is_symlink() and (place / TOLD).is_file():
            made_at = datetime.datetime.strptime(match[1], _STAMP).replace(tzinfo=datetime.UTC)
            found.append(Backup(place, made_at))
    return sorted(found, key=lambda backup: backup.made_at)


def make(
    folder: Path, *, database: Database, media: Path, told: Mapping[str, Any], now: datetime.datetime
) -> Backup:
    """Back a database and its photos up into a folder of their own in `folder`, checked before it gets its name.

    Photos are copied before the database and after it, so that none is missing that the copy of the database names.
    One that the last backup has as well is kept once for both.
    Errors: BackupRefused, DamagedDatabase, OSError; nothing is left then.
    """
    folder.mkdir(parents=True, exist_ok=True)
    place = folder / name_of(now)
    if place.exists():
        raise BackupRefused(f"{place}: is there already.")
    like = next((backup.folder / MEDIA for backup in reversed(backups_in(folder))), None)
    draft = folder / f".{place.name}.part"
    draft.mkdir(mode=0o700)
    try:
        copy_photos(media, draft / MEDIA, like=like)
        database.copy_to(draft / database.file_name)
        copy_photos(media, draft / MEDIA, like=like)
        files = {name: _stated(draft / name) for name in sorted(_names(draft))}
        said = {"format": FORMAT, "version": VERSION, "made_at": now.isoformat(), "database": database.kind}
        said |= {**told, "files": files}
        (draft / TOLD).write_text(json.dumps(said, indent=1, ensure_ascii=False), encoding="utf-8")
        for name in (*files, TOLD):
            _down_to_the_disk(draft / name)
        backup = read(draft, database)
        draft.rename(place)
        _down_to_the_disk(folder)
    except BaseException:
        shutil.rmtree(draft, ignore_errors=True)
        raise
    return Backup(place, now, backup.told)


def read(folder: Path, database: Database) -> Backup:
    """A backup with every file as it says. Errors: BackupRefused with the file, DamagedDatabase."""
    backup = _told(folder)
    if backup.told["database"] != database.kind:
        raise BackupRefused(
            f"{folder}: is of {backup.told['database']}, and the database here is {database}. "
            "To move a studio from one to the other, use archive and restore_archive."
        )
    if database.file_name not in backup.files:
        raise BackupRefused(f"{folder / TOLD}: names no database.")
    for name, stated in backup.files.items():
        if not (folder / name).is_file():
            raise BackupRefused(f"{folder / name}: is missing.")
        if _stated(folder / name) != stated:
            raise BackupRefused(f"{folder / name}: is not what was written: its SHA-256 or size differs.")
    database.check(folder / database.file_name)
    return backup


def _told(folder: Path) -> Backup:
    try:
        told = json.loads((folder / TOLD).read_text(encoding="utf-8"))
        made_at = datetime.datetime.fromisoformat(told["made_at"])
        version, files = told["version"], told["files"]
        whole = told["format"] == FORMAT and isinstance(told["database"], str) and isinstance(files, dict)
    except OSError as error:
        raise BackupRefused(f"{folder}: is no backup ({error.strerror or error}).") from None
    except (ValueError, KeyError, TypeError, RecursionError):
        whole = False
    if not whole:
        raise BackupRefused(f"{folder / TOLD}: cannot be read, or is of something else.")
    if version != VERSION:
        raise BackupRefused(f"{folder}: is of another Turnery (version {version}; this one reads {VERSION}).")
    for name in files:
        way = PurePosixPath(name)
        if way.is_absolute() or ".." in way.parts or "\\" in name:
            raise BackupRefused(f"{folder / TOLD}: {name!r} leads out of the folder.")
    return Backup(folder, made_at, told)


def clear(backup: Backup) -> None:
    """Take a backup away; what is broken off half-way is no backup any more."""
    away = backup.folder.with_name(f".{backup.folder.name}.going")
    backup.folder.rename(away)
    shutil.rmtree(away)


def clear_stale(folder: Path, *, now: datetime.datetime) -> None:
    """Take away what backups that were broken off more than a day ago have left."""
    for place in folder.iterdir() if folder.is_dir() else ():
        left = re.fullmatch(rf"\.{_NAME.pattern}\.(part|going)", place.name)
        if (
            left
            and not place.is_symlink()
            and now.timestamp() - place.stat().st_mtime > STALE.total_seconds()
        ):
            shutil.rmtree(place, ignore_errors=True)


def copy_photos(source: Path, target: Path, *, like: Path | None = None) -> None:
    """Copy what is not there yet; a file that is taken away meanwhile is no more to be kept.

    What is the very same under `like`, an earlier backup's photos, is linked from there and takes no room.
    """
    for name in _names(source):
        place = target / name
        if place.exists():
            continue
        place.parent.mkdir(parents=True, exist_ok=True)
        if like is not None and _linked(source / name, like / name, place):
            continue
        try:
            copy_whole(source / name, place)
        except FileNotFoundError:
            continue


def _linked(source: Path, kept: Path, target: Path) -> bool:
    """Give a kept file a second name where it is the same byte for byte and the disk knows links; whether it did.

    Nobody writes into a backup's files: restoring copies them, and a photo is never changed under its name.
    """
    try:
        if kept.is_symlink() or not filecmp.cmp(source, kept, shallow=False):
            return False
        os.link(kept, target)
    except OSError:
        return False
    return True


def copy_whole(source: Path, target: Path) -> None:
    """Copy a file beside its place, for its owner alone, and put it there at once."""
    draft = target.with_name(f".{target.name}.new")
    with (
        source.open("rb") as old,
        os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as new,
    ):
        shutil.copyfileobj(old, new, 1 << 20)
    draft.replace(target)


def _names(folder: Path) -> Iterator[str]:
    """The files in a folder by their way from it. Links are not followed, nor files that are still being written."""
    for place, folders, files in os.walk(folder):
        folders.sort()
        for name in sorted(files):
            way = Path(place) / name
            if not way.is_symlink() and not name.startswith("."):
                yield way.relative_to(folder).as_posix()


def photos_in(folder: Path) -> dict[str, dict[str, Any]]:
    """The files of a media folder by their way from it, each with its size and SHA-256."""
    return {name: _stated(folder / name) for name in _names(folder)}


def _stated(file: Path) -> dict[str, Any]:
    with file.open("rb") as opened:
        digest = hashlib.file_digest(opened, "sha256").hexdigest()
    return {"size": file.stat().st_size, "sha256": digest}


def _down_to_the_disk(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError:
        if path.is_file():
            raise  # of a folder, not every disk can be asked
    finally:
        os.close(handle)
