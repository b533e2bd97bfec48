"""The whole server backed up while it is in use, checked, and put back; what is damaged is refused."""

import io
import json
import os
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.test import override_settings
from django.utils import timezone

from projects import models
from projects.backup import server
from projects.backup.databases import Sqlite, database_of
from tests.factories import StudioFactory
from tests.projects.archived import PHOTO, full_studio, projects_models, told
from tests.projects.test_command_estimate import ROOT

committed = pytest.mark.django_db(transaction=True)
"""What a backup reads comes from the database itself, not from a test's own transaction."""

README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.fixture(autouse=True)
def media(settings: Any, tmp_path: Path) -> Path:
    """Photos of a test, and what is set aside, are kept in folders of its own."""
    settings.VAR_DIR = tmp_path / "var"
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.MEDIA_ROOT.mkdir()
    return tmp_path / "media"


def _called(*arguments: Any, **options: Any) -> list[str]:
    out = io.StringIO()
    call_command(*map(str, arguments), stdout=out, **options)
    return out.getvalue().splitlines()


def _furnished() -> models.Studio:
    with transaction.atomic():
        return full_studio()


def _made(folder: Path) -> Path:
    _called("backup", folder)
    (backup,) = folder.glob("turnery-*")
    return backup


@committed
def test_what_was_there_comes_back_and_what_was_there_since_is_set_aside(
    tmp_path: Path, media: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Both restores fall into one second: each sets aside under a name of its own.
    moment = timezone.now()
    monkeypatch.setattr(server, "timezone", SimpleNamespace(now=lambda: moment))
    studio = _furnished()
    before = told(studio)
    photos = {path.name: path.read_bytes() for path in media.rglob("*.*")}
    backup = _made(tmp_path / "kept")

    StudioFactory(name="Came later")
    models.StepNote.objects.exclude(photo="").get().photo.delete(save=False)
    (media / "bench" / "later.jpg").write_bytes(b"later")
    looked = _called("restore", backup, dry_run=True)
    assert models.Studio.objects.count() == 2
    lines = _called("restore", backup)

    assert models.Studio.objects.get() == studio
    assert told(studio) == before
    assert {path.name: path.read_bytes() for path in media.rglob("*.*")} == photos
    assert lines[: len(looked) - 1] == looked[:-1]
    assert looked[-1] == "Nothing was changed."
    assert "Photos that come: 1 (bench/" in " ".join(looked)
    assert "Photos that go: 1 (bench/later.jpg)." in looked
    (aside,) = (tmp_path / "var" / "set-aside").iterdir()
    assert f"What was here is set aside in {aside}." in lines
    _called("restore", aside)
    assert len(list((tmp_path / "var" / "set-aside").iterdir())) == 2
    assert set(models.Studio.objects.values_list("name", flat=True)) == {studio.name, "Came later"}
    assert (media / "bench" / "later.jpg").read_bytes() == b"later"


@committed
def test_a_backup_is_its_owner_s_alone_and_says_what_is_in_it(tmp_path: Path, media: Path) -> None:
    _furnished()
    backup = _made(tmp_path / "kept")
    told_there = json.loads((backup / "backup.json").read_text())
    assert told_there["counts"] == {
        "studios": 1,
        "commissions": models.Commission.objects.count(),
        "quotes": 2,
    }
    assert {path.name for path in backup.iterdir()} == {"backup.json", server.here().file_name, "media"}
    assert PHOTO in [path.read_bytes() for path in backup.rglob("*.jpg")]
    assert backup.stat().st_mode & 0o777 == 0o700
    assert [path.name for path in (tmp_path / "kept").iterdir()] == [backup.name]


@committed
def test_a_row_that_is_being_written_meanwhile_is_in_it_whole_or_not_at_all(tmp_path: Path) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL's own dump is of one moment")
    _furnished()
    with closing(sqlite3.connect(connection.settings_dict["NAME"], isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("UPDATE projects_studio SET name = 'half way'")
        backup = _made(tmp_path / "kept")
        other.execute("ROLLBACK")
    with closing(sqlite3.connect(backup / "database.sqlite3")) as copy:
        assert copy.execute("SELECT name FROM projects_studio").fetchall() == [("Fern Gully Turning",)]


def _turn_a_bit(file: Path) -> None:
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 1
    file.write_bytes(content)


def _cut(file: Path) -> None:
    file.write_bytes(file.read_bytes()[: file.stat().st_size // 2])


@pytest.fixture(scope="module")
def kept_once(tmp_path_factory: Any, django_db_setup: None, django_db_blocker: Any) -> Path:
    """A backup of a server with no studio and one photo, for tests that do harm to it."""
    folder: Path = tmp_path_factory.mktemp("kept")
    (folder / "photos" / "bench").mkdir(parents=True)
    (folder / "photos" / "bench" / "one.jpg").write_bytes(PHOTO)
    with django_db_blocker.unblock(), override_settings(MEDIA_ROOT=folder / "photos"):
        return _made(folder / "backups")


@pytest.fixture
def backup(kept_once: Path, tmp_path: Path, db: None) -> Iterator[Path]:
    """A copy of it; whatever is done to it, nothing here has changed in the end."""
    StudioFactory(name="Since then")
    yield shutil.copytree(kept_once, tmp_path / "kept")
    assert models.Studio.objects.get().name == "Since then"
    assert not (tmp_path / "var" / "set-aside").exists()


@pytest.mark.parametrize("harm", [_turn_a_bit, _cut, Path.unlink])
@pytest.mark.parametrize("what", ["database.*", "media/bench/*.jpg"])
def test_one_that_is_damaged_is_refused_and_the_file_named(backup: Path, what: str, harm: Any) -> None:
    file = next(iter(backup.glob(what)))
    harm(file)
    with pytest.raises(CommandError, match=file.name):
        _called("restore", backup)


def test_a_database_that_is_damaged_is_found_though_its_sum_was_made_anew(backup: Path) -> None:
    from projects.backup.folders import _stated

    file = next(iter(backup.glob("database.*")))
    file.write_bytes(
        file.read_bytes()[:-100]
    )  # the last of the rows: PostgreSQL's list of contents stands before them
    told_there = json.loads((backup / "backup.json").read_text())
    told_there["files"][file.name] = _stated(file)
    (backup / "backup.json").write_text(json.dumps(told_there))
    with pytest.raises(CommandError, match=r"is no whole|is damaged"):
        _called("restore", backup)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"version": 2}, "is of another Turnery"),
        ({"migration": "9999_later"}, "is of a newer Turnery, which has 9999_later"),
        ({"database": "another"}, "use archive and restore_archive"),
        ({"format": "x"}, "cannot be read, or is of something else"),
        ({"made_at": 5}, "cannot be read, or is of something else"),
        ({"files": {"../x": {}}}, "leads out of the folder"),
        ({"files": {"/etc/passwd": {}}}, "leads out of the folder"),
        ({"files": {}}, "names no database"),
    ],
)
def test_one_that_says_what_cannot_be_is_refused(backup: Path, values: dict[str, Any], words: str) -> None:
    told_there = json.loads((backup / "backup.json").read_text())
    (backup / "backup.json").write_text(json.dumps(told_there | values))
    with pytest.raises(CommandError, match=words):
        _called("restore", backup)


def test_a_folder_that_is_none_is_refused(backup: Path, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="is no backup"):
        _called("restore", tmp_path)


@committed
def test_nothing_is_left_of_a_backup_that_could_not_be_made(tmp_path: Path, monkeypatch: Any) -> None:
    def damaged(self: Any, file: Path) -> None:
        _cut(file)
        check(self, file)

    kind = type(server.here())
    check = kind.check
    monkeypatch.setattr(kind, "check", damaged)
    with pytest.raises(CommandError, match=r"is no whole|is damaged"):
        _called("backup", tmp_path / "kept")
    assert list((tmp_path / "kept").iterdir()) == []


@pytest.mark.django_db
def test_a_live_file_that_is_damaged_is_moved_aside_as_it_is(tmp_path: Path) -> None:
    """Which is what a backup is for. On a SQLite file of its own."""
    live = Sqlite(tmp_path / "live.sqlite3")
    with closing(sqlite3.connect(tmp_path / "good.sqlite3")) as good:
        good.execute("CREATE TABLE wood (name TEXT)")
        good.execute("INSERT INTO wood VALUES ('maple')")
        good.commit()
    live.file.write_bytes(b"not a database at all" * 100)
    aside = server._set_aside(live, tmp_path / "media", tmp_path / "aside", server.timezone.now())
    assert (aside / "live.sqlite3").read_bytes().startswith(b"not a database")
    assert not live.file.exists()
    live.put_back(tmp_path / "good.sqlite3")
    with closing(sqlite3.connect(live.file)) as back:
        assert back.execute("SELECT name FROM wood").fetchall() == [("maple",)]


@committed
def test_postgresql_is_put_back_into_another_database_row_for_row(tmp_path: Path) -> None:
    if connection.vendor != "postgresql":
        pytest.skip("run by make test-postgres")
    _furnished()
    copy = tmp_path / "database.dump"
    server.here().copy_to(copy)
    server.here().check(copy)
    name = f"drill_{os.getpid()}"
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE DATABASE {name}")
    other = database_of({**connection.settings_dict, "NAME": name})
    try:
        for _ in range(2):  # the second time over what the first has left
            other.put_back(copy)
        assert _tables(other) == _tables(server.here())
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f"DROP DATABASE {name}")


def _tables(database: Any) -> dict[str, Any]:
    import psycopg

    with psycopg.connect(database.conninfo, password=database.password or None) as live:
        return {
            model._meta.db_table: live.execute(f"SELECT * FROM {model._meta.db_table} ORDER BY 1").fetchall()  # type: ignore[call-overload]
            for model in projects_models()
        }


@committed
def test_the_drill_in_the_readme_brings_everything_back(tmp_path: Path, media: Path) -> None:
    """Its commands are run as they are printed, on a copy of this test's database."""
    if connection.vendor != "sqlite":
        pytest.skip("the README's drill is of SQLite; PostgreSQL's is above")
    _furnished()
    room = tmp_path / "room"
    (room / "var").mkdir(parents=True)
    server.here().copy_to(room / "var" / "turnery.sqlite3")
    shutil.copytree(media, room / "var" / "media")
    for shared in (".venv", "manage.py"):
        (room / shared).symlink_to(ROOT / shared)
    printed = README.split("<!-- drill:")[1].split("-->")[1]
    commands = "\n".join(line.strip() for line in printed.splitlines() if line.startswith("    "))
    plain = {
        name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "TURNERY_MEDIA")
    }
    environment = {**plain, "TURNERY_VAR": str(room / "var")}
    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", commands],
        cwd=room,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert _rows(room / "drill" / "turnery.sqlite3") == _rows(room / "var" / "turnery.sqlite3")
    photos = [
        {path.name: path.read_bytes() for path in (room / way / "media").rglob("*.*")}
        for way in ("var", "drill")
    ]
    assert photos[0] == photos[1] != {}


def _rows(file: Path) -> dict[str, Any]:
    with closing(sqlite3.connect(file)) as opened:
        names = [
            row[0] for row in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY 1")
        ]
        return {name: opened.execute(f'SELECT * FROM "{name}" ORDER BY 1').fetchall() for name in names}
