"""Photo files that no row names: what is left where a server was killed between writing a file and its row."""

import datetime
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.apps import apps
from django.db.models import FileField

from projects.backup.databases import BackupRefused

YOUNGEST = datetime.timedelta(days=1)
"""What came or changed since may belong to a row that is still being written."""

# As `upload_to` and the storage name them, whole or half written, and as a backup puts them back; nobody else's files.
_OURS = re.compile(r"\w+/\d+/(\.?[0-9a-f]{32}(_\w{7})?\.(jpg|original|part)|\.[0-9a-f]{32}[\w.]*\.new)")


@dataclass(frozen=True)
class Stray:
    """A file that no row names: its way from the media folder, and its size in bytes."""

    name: str
    size: int


def named() -> set[str]:
    """Every file that a row names, of any studio."""
    names: set[str] = set()
    for model in apps.get_app_config("projects").get_models():
        for one in model._meta.concrete_fields:
            if isinstance(one, FileField):
                rows = model._base_manager.exclude(**{one.name: ""}).exclude(**{one.name: None})
                names |= set(rows.values_list(one.name, flat=True))
    return names


def stray_in(media: Path, *, now: datetime.datetime) -> list[Stray]:
    """The files of Turnery's own making in the media folder that no row names, and that are a day old.

    Errors: BackupRefused where no row names any file that is there, as with another server's database.
    """
    # Before the rows are read: a file whose row comes meanwhile is not among them.
    there = dict(_old(media, now))
    names = named()
    stray = [Stray(name, size) for name, size in there.items() if name not in names]
    if stray and not any((media / name).is_file() for name in names):
        raise BackupRefused(f"{media}: no row names any photo there. Are they of this database?")
    return stray


def _old(media: Path, now: datetime.datetime) -> Iterator[tuple[str, int]]:
    for place in sorted(media.glob("*/*/*")):
        name = place.relative_to(media).as_posix()
        if not _OURS.fullmatch(name) or any(one.is_symlink() for one in (place, *place.parents[:2])):
            continue
        try:
            found = place.stat()
        except FileNotFoundError:  # what was being written has its name by now
            continue
        # Copying often keeps the time of the content, but not that of the file's own record.
        if now.timestamp() - max(found.st_mtime, found.st_ctime) >= YOUNGEST.total_seconds():
            yield name, found.st_size
