"""Migrated databases that one run leaves to the next: migrating an empty one takes a dozen seconds of a processor."""

import fcntl
import hashlib
import os
import shutil
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.db.backends.sqlite3.creation import DatabaseCreation
from django.db.migrations import Migration
from django.db.migrations.executor import MigrationExecutor

MADE_FROM = (
    "projects/migrations/*.py",
    "projects/models/*.py",  # migrations call what is in them
    "estimating/tables/*.csv",  # and read these
    "requirements-dev.lock",
    "turnery/settings.py",
    "tests/kept_database.py",
)
WHOLE = "whole"
RESTED_S = 20
"""Files changed a moment ago may have been read before that, or may be changed again: nothing of theirs is kept."""
OLD_S = 3 * 3600
"""No run that began with a kept database takes so long."""

MEMORY = Path("/dev/shm")
ROOM_BYTES = 256 * 1024**2
"""Many times what the test databases of a few workers take."""


def put_into_memory() -> None:
    """Have the SQLite test database made in memory that looks like a disk, where there is such and it has room.

    It is a file there too, and is written as it is for a studio, but a write is not waited for: on a disk a test with
    commits of its own waits as long again as it works.
    """
    if connection.vendor != "sqlite" or not MEMORY.is_dir() or not os.access(MEMORY, os.W_OK):
        return
    if shutil.disk_usage(MEMORY).free >= ROOM_BYTES:
        test = connection.settings_dict["TEST"]
        test["NAME"] = MEMORY / Path(test["NAME"]).name


@contextmanager
def kept_database(*, migrates: bool) -> Iterator[None]:
    """Within this an SQLite test database starts as a copy of the kept one; where there is none, it is made and kept.

    Django still runs its migrations on the copy, and finds that none is left to apply. Kept with it is what the
    database was after each migration of ours, empty but for that. Workers that start at once wait for the first.
    A run without migrations has nothing to keep, and no use for what others kept.
    """
    if connection.vendor != "sqlite" or not migrates:
        yield
        return
    whole = _kept(WHOLE)
    whole.parent.parent.mkdir(parents=True, exist_ok=True)
    with _alone(whole.parent.parent / "lock"), pytest.MonkeyPatch.context() as patch:
        if whole.exists():
            _start_from(whole, patch)
            yield
        elif time.time() - max(file.stat().st_mtime for file in _sources()) < RESTED_S:
            yield
        else:
            _keep_on_the_way(patch)
            yield
            _keep(WHOLE)
            _tidy(whole.parent)


def put_back(name: str) -> bool:
    """Make the test database what it was after a migration of ours, or the whole; False where none is kept."""
    if connection.vendor != "sqlite" or not _kept(name).exists():
        return False
    connection.close()
    database = Path(connection.settings_dict["NAME"])
    for beside in ("-wal", "-shm"):
        database.with_name(database.name + beside).unlink(missing_ok=True)
    shutil.copyfile(_kept(name), database)
    return True


def _kept(name: str) -> Path:
    return settings.VAR_DIR / "test-databases" / _mark_of_this_run() / f"{name}.sqlite3"


def _sources() -> list[Path]:
    return [file for pattern in MADE_FROM for file in sorted(settings.BASE_DIR.glob(pattern))]


def _mark() -> str:
    """Stands for all that a migrated database comes from, so that an older one is never taken for it."""
    seen = hashlib.sha256(sqlite3.sqlite_version.encode())
    for file in _sources():
        seen.update(f"\n{file.relative_to(settings.BASE_DIR)}\n".encode() + file.read_bytes())
    return seen.hexdigest()[:20]


@cache
def _mark_of_this_run() -> str:
    return _mark()


@contextmanager
def _alone(file: Path) -> Iterator[None]:
    with file.open("w") as door:
        fcntl.flock(door, fcntl.LOCK_EX)
        yield


def _start_from(kept: Path, patch: pytest.MonkeyPatch) -> None:
    make = DatabaseCreation._create_test_db

    def copy(creation: DatabaseCreation, *arguments: Any, **options: Any) -> str:
        name = make(creation, *arguments, **options)
        shutil.copyfile(kept, name)
        return name

    patch.setattr(DatabaseCreation, "_create_test_db", copy)


def _keep_on_the_way(patch: pytest.MonkeyPatch) -> None:
    apply = MigrationExecutor.apply_migration

    def apply_and_keep(executor: MigrationExecutor, state: Any, migration: Migration, **options: Any) -> Any:
        after = apply(executor, state, migration, **options)
        if migration.app_label == "projects":
            _keep(migration.name)
        return after

    patch.setattr(MigrationExecutor, "apply_migration", apply_and_keep)


def _keep(name: str) -> None:
    kept = _kept(name)
    kept.parent.mkdir(exist_ok=True)
    draft = kept.with_suffix(f".{os.getpid()}")
    draft.unlink(missing_ok=True)
    with connection.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(draft)])
    draft.replace(kept)


def _tidy(made: Path) -> None:
    """Take away what is too old for any run, and what was just made if its sources have changed meanwhile."""
    for folder in made.parent.glob("*/"):
        changed = folder == made and _mark() != made.name
        if changed or time.time() - folder.stat().st_mtime > OLD_S:
            shutil.rmtree(folder)
