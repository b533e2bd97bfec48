"""This server's database and photos: backed up, and put back from a backup with the present ones set aside first."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import DatabaseError, connection, connections
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from projects import models
from projects.archive.writing import turnery_version
from projects.backup import folders, keeping, stray
from projects.backup.databases import BackupRefused, DamagedDatabase, Database, Sqlite, database_of
from projects.backup.folders import Backup

COUNTED = (models.Studio, models.Commission, models.Quote)


def here() -> Database:
    """The database that this program uses."""
    return database_of(connection.settings_dict)


def back_up(folder: Path, *, now: datetime.datetime | None = None) -> Backup:
    """Back everything up into `folder` while the server runs. Errors: BackupRefused, OSError."""
    now = now or timezone.now()
    folders.clear_stale(folder, now=now)
    return _made(folder, here(), Path(settings.MEDIA_ROOT), now)


def lacking(backup: Backup) -> list[str]:
    """Photos that rows name and the backup has not, since they are gone from the disk; of rows as they are now."""
    # A photo that came while the backup was made is no loss: it is there.
    here = Path(settings.MEDIA_ROOT)
    return sorted(name for name in stray.named() - set(backup.photos) if not (here / name).is_file())


def _made(folder: Path, database: Database, media: Path, now: datetime.datetime) -> Backup:
    told = {"turnery": turnery_version(), "migration": _migration(), "counts": counts()}
    return folders.make(folder, database=database, media=media, told=told, now=now)


def counts() -> dict[str, int]:
    """How many studios, commissions and quotes there are; nothing where the database cannot be read."""
    try:
        return {str(model._meta.verbose_name_plural): model._base_manager.count() for model in COUNTED}
    except DatabaseError:
        return {}


def _migration() -> str:
    """The last migration of this app that the database has; empty where it has none or cannot be read."""
    try:
        applied = MigrationRecorder(connection).applied_migrations()
    except DatabaseError:
        return ""
    return max((name for app, name in applied if app == "projects"), default="")


def goes(folder: Path, rule: keeping.Rule, *, with_one_at: datetime.datetime | None = None) -> list[Backup]:
    """The backups in a folder that a rule does not keep, the oldest first; as if there were one more where asked."""
    there = {backup.made_at: backup for backup in folders.backups_in(folder)}
    moments = [*there, *([with_one_at] if with_one_at else [])]
    return [there[moment] for moment in keeping.going(moments, rule) if moment in there]


@dataclass(frozen=True)
class Putting:
    """What putting a backup back would change: the photos that come, change and go, and what the database is now."""

    backup: Backup
    database: str
    counts: Mapping[str, int]
    comes: tuple[str, ...]
    changes: tuple[str, ...]
    goes: tuple[str, ...]
    behind: bool


def look(folder: Path) -> Putting:
    """Check a backup, and say what putting it back would change. Errors: BackupRefused."""
    backup = folders.read(folder, here())
    known = {name for app, name in MigrationLoader(None).disk_migrations if app == "projects"}
    migration = str(backup.told.get("migration", ""))
    if migration and migration not in known:
        raise BackupRefused(f"{folder}: is of a newer Turnery, which has {migration}. Update this one first.")
    there, kept = folders.photos_in(Path(settings.MEDIA_ROOT)), backup.photos
    return Putting(
        backup=backup,
        database=str(here()),
        counts=counts() if here().exists() else {},
        comes=tuple(sorted(set(kept) - set(there))),
        changes=tuple(sorted(name for name in kept if name in there and kept[name] != there[name])),
        goes=tuple(sorted(set(there) - set(kept))),
        behind=migration != max(known, default=""),
    )


def put_back(putting: Putting, *, aside: Path, now: datetime.datetime | None = None) -> Path | None:
    """Put a backup back; returns where the present state was set aside, as a backup of its own where it is whole.

    Photos that are missing come first, which harms nothing; then the database, all or nothing; photos that the backup
    does not have go last. Errors: BackupRefused, OSError.
    """
    now = now or timezone.now()
    database, media = here(), Path(settings.MEDIA_ROOT)
    connections.close_all()
    kept = _set_aside(database, media, aside, now) if database.exists() else None
    connections.close_all()
    source = putting.backup.folder / folders.MEDIA
    _bring(source, media, putting.comes)
    database.put_back(putting.backup.folder / database.file_name)
    _bring(source, media, putting.changes)
    for name in putting.goes:
        (media / name).unlink(missing_ok=True)
    return kept


def _bring(source: Path, media: Path, names: tuple[str, ...]) -> None:
    for name in names:
        (media / name).parent.mkdir(parents=True, exist_ok=True)
        folders.copy_whole(source / name, media / name)


def _set_aside(database: Database, media: Path, aside: Path, now: datetime.datetime) -> Path:
    """The present state as a backup; a SQLite file that is damaged is moved away as it is, beside the photos.

    Names are by the second: of two in one second, the later goes by the next that is free.
    """
    while any((aside / f"{before}{folders.name_of(now)}").exists() for before in ("", "damaged-")):
        now += datetime.timedelta(seconds=1)
    try:
        return _made(aside, database, media, now).folder
    except DamagedDatabase:
        if not isinstance(database, Sqlite):
            raise
    connections.close_all()
    folder = aside / f"damaged-{folders.name_of(now)}"
    folder.mkdir(parents=True, mode=0o700)
    folders.copy_photos(media, folder / folders.MEDIA)
    database.move_away(folder)
    return folder


def as_told(counted: Mapping[str, Any]) -> str:
    """Counts in words: `1 studio`, `12 quotes`."""
    return ", ".join(f"{number} {name}" for name, number in counted.items()) or "nothing that can be counted"
