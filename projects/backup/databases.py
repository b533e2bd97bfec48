"""Copies of a database taken while it is in use, checked, and put back: SQLite by its own means, PostgreSQL by its."""

import os
import shutil
import sqlite3
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

PATIENCE_S = 20.0
"""How long a locked database is waited for."""


class BackupRefused(ValueError):
    """What cannot be backed up or put back, and why."""


class DamagedDatabase(BackupRefused):
    """A database, or a copy of one, that is not whole."""


def database_of(settings: Mapping[str, Any]) -> "Database":
    """The database of Django's settings of it."""
    if settings["ENGINE"].endswith("sqlite3"):
        return Sqlite(Path(settings["NAME"]))
    from psycopg.conninfo import make_conninfo

    told = {"dbname": settings["NAME"], "user": settings["USER"], "host": settings["HOST"]}
    told |= {"port": settings["PORT"], **settings["OPTIONS"]}
    given = {name: str(value) for name, value in told.items() if value not in ("", None)}
    return Postgresql(make_conninfo(**given), str(settings["PASSWORD"] or ""), str(settings["NAME"]))


@dataclass(frozen=True)
class Sqlite:
    """A file, copied by SQLite's online backup."""

    file: Path
    kind: str = "sqlite"
    file_name: str = "database.sqlite3"

    def __str__(self) -> str:
        return f"SQLite, {self.file}"

    def exists(self) -> bool:
        """Whether there is anything in it."""
        return self.file.exists() and self.file.stat().st_size > 0

    def copy_to(self, file: Path) -> None:
        """Copy it as it is at one moment, all pages at once. Errors: DamagedDatabase."""
        try:
            with closing(_opened(self.file, "rw")) as live, closing(_opened(file, "rwc")) as copy:
                live.backup(copy, progress=_patience())
                # One file is the whole copy: no log stands beside it.
                copy.execute("PRAGMA journal_mode=DELETE")
        except sqlite3.DatabaseError as trouble:
            # Neither a lock nor a full disk says that it is damaged: whoever restores would move it out of the way.
            kind = DamagedDatabase if _is_damage(trouble) else BackupRefused
            raise kind(f"{self.file}: cannot be copied ({trouble}).") from trouble

    def check(self, file: Path) -> None:
        """Read a copy through. Errors: DamagedDatabase."""
        try:
            with closing(_opened(file, "ro")) as copy:
                found = [row[0] for row in copy.execute("PRAGMA integrity_check(3)")]
                stray = copy.execute("PRAGMA foreign_key_check").fetchone()
        except sqlite3.DatabaseError as trouble:
            raise DamagedDatabase(f"{file}: is no whole database ({trouble}).") from trouble
        if found != ["ok"]:
            raise DamagedDatabase(f"{file}: is damaged: {'; '.join(found)}.")
        if stray is not None:
            raise DamagedDatabase(
                f"{file}: a row of {stray[0]} refers to one of {stray[2]} that is not there."
            )

    def put_back(self, file: Path) -> None:
        """Write a copy into the database as one transaction, whoever has it open. Errors: BackupRefused."""
        self.file.parent.mkdir(parents=True, exist_ok=True)
        try:
            with closing(_opened(file, "ro")) as copy, closing(_opened(self.file, "rwc")) as live:
                copy.backup(live, progress=_patience())
        except sqlite3.DatabaseError as trouble:
            raise BackupRefused(
                f"{self.file}: cannot be written ({trouble}). Stop the server first."
            ) from trouble

    def move_away(self, folder: Path) -> None:
        """Move its files into a folder as they are, logs and all."""
        for suffix in ("", "-wal", "-shm", "-journal"):
            part = self.file.with_name(self.file.name + suffix)
            if part.exists():
                shutil.move(part, folder / part.name)


def _patience() -> Callable[[int, int, int], None]:
    """What ends a copy once it has waited too long for a lock; by itself it would try again for ever."""
    until = time.monotonic() + PATIENCE_S

    def look(status: int, _left: int, _pages: int) -> None:
        if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) and time.monotonic() > until:
            raise sqlite3.OperationalError("it is locked by another program")

    return look


def _is_damage(trouble: sqlite3.DatabaseError) -> bool:
    """Whether SQLite says of a file that it is broken, or none of its own.

    By its words for the result codes 11 and 26 (sqlite3_errstr): a copy's errors do not always carry the code.
    """
    return any(words in str(trouble) for words in ("malformed", "not a database"))


def _opened(file: Path, mode: str) -> sqlite3.Connection:
    return sqlite3.connect(f"file:{quote(str(file))}?mode={mode}", uri=True, timeout=PATIENCE_S)


@dataclass(frozen=True)
class Postgresql:
    """A database of a server, copied by pg_dump. The password goes by the environment, so that no list shows it."""

    conninfo: str
    password: str
    name: str
    kind: str = "postgresql"
    file_name: str = "database.dump"

    def __str__(self) -> str:
        return f"PostgreSQL, {self.name}"

    def exists(self) -> bool:
        """It has to be made before."""
        return True

    def copy_to(self, file: Path) -> None:
        """Copy it as it is at one moment. Errors: BackupRefused."""
        self._run(
            *("pg_dump", "--format=custom", "--no-owner", "--no-privileges", "--no-password"),
            *(f"--file={file}", f"--dbname={self.conninfo}"),
        )

    def check(self, file: Path) -> None:
        """Read a copy's contents, and then all of it. Errors: DamagedDatabase."""
        try:
            self._run("pg_restore", "--list", str(file))
            self._run("pg_restore", f"--file={os.devnull}", str(file))
        except BackupRefused as refusal:
            raise DamagedDatabase(f"{file}: is no whole copy of a database. {refusal}") from None

    def put_back(self, file: Path) -> None:
        """Put a copy in the place of all tables, in one transaction. Errors: BackupRefused."""
        with tempfile.TemporaryDirectory() as folder:
            # Written out whole first: a copy that ends early must not be committed as far as it went.
            script = Path(folder) / "restore.sql"
            self._run("pg_restore", "--no-owner", "--no-privileges", f"--file={script}", str(file))
            self._run(
                *("psql", "--no-psqlrc", "--quiet", "--no-password", "--single-transaction"),
                *("--set=ON_ERROR_STOP=1", f"--dbname={self.conninfo}"),
                *("--command=SET lock_timeout = '30s'", *self._drops(), f"--file={script}"),
            )

    def _drops(self) -> Sequence[str]:
        import psycopg
        from psycopg import sql

        with psycopg.connect(self.conninfo, password=self.password or None) as live:
            asked = "SELECT schemaname, tablename FROM pg_tables WHERE schemaname = current_schema()"
            tables: Iterable[tuple[str, str]] = live.execute(asked).fetchall()
            named = [sql.Identifier(*table).as_string(live) for table in tables]
        return [f"--command=DROP TABLE {', '.join(named)} CASCADE"] if named else []

    def _run(self, *command: str) -> None:
        environment = {**os.environ, **({"PGPASSWORD": self.password} if self.password else {})}
        try:
            done = subprocess.run(
                command,
                env=environment,
                stdin=subprocess.DEVNULL,
                capture_output=True,
                text=True,
                check=False,
            )
        except FileNotFoundError:
            raise BackupRefused(
                f"{command[0]} was not found: install PostgreSQL's client programs, as new as its server."
            ) from None
        if done.returncode:
            raise BackupRefused(f"{command[0]}: {' '.join(done.stderr.split())[:500]}")


Database = Sqlite | Postgresql
"""A database that copies are taken of, checked, and put back into."""
