"""Backups on days when things go wrong: photos gone, the disk full, and photos that are kept once for many backups."""

import errno
import io
import os
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from projects.backup import databases, folders, server
from projects.backup.databases import BackupRefused, DamagedDatabase, Sqlite
from projects.models import RecordPhoto
from tests.factories_records import RecordPhotoFactory
from tests.projects.test_backup import committed


@pytest.fixture(autouse=True)
def media(settings: Any, tmp_path: Path) -> Path:
    """Photos of a test are kept in a folder of its own."""
    settings.VAR_DIR, settings.MEDIA_ROOT = tmp_path / "var", tmp_path / "media"
    return tmp_path / "media"


def _backup(folder: Path, **options: Any) -> tuple[Path, str]:
    """The newest backup, just made, and what was said of trouble."""
    out, trouble = io.StringIO(), io.StringIO()
    call_command("backup", str(folder), stdout=out, stderr=trouble, **options)
    return max(folder.glob("turnery-*")), trouble.getvalue()


def _photos(backup: Path) -> dict[str, Path]:
    media = backup / "media"
    return {path.relative_to(media).as_posix(): path for path in media.rglob("*") if path.is_file()}


def _dated(backup: Path, day: str) -> Path:
    """The backup as one of another day, so that the next falls into no second that is taken."""
    return backup.rename(backup.with_name(f"turnery-{day}T020000Z"))


@committed
def test_a_photo_is_kept_once_for_all_backups_that_have_it(tmp_path: Path, media: Path) -> None:
    photo = RecordPhotoFactory()
    first = _dated(_backup(tmp_path / "kept")[0], "20260301")
    RecordPhotoFactory(record=photo.record, position=2)
    second = _backup(tmp_path / "kept")[0]
    old, new = _photos(first), _photos(second)
    assert set(old) < set(new)
    assert all(new[name].samefile(old[name]) for name in old)
    assert not any(path.samefile(media / name) for name, path in new.items()), (
        "what is live is shared with none"
    )
    folders.clear(folders.backups_in(tmp_path / "kept")[0])
    call_command("restore", str(second), dry_run=True, stdout=io.StringIO())
    call_command("restore", str(second), stdout=io.StringIO())
    assert not any(path.samefile(media / name) for name, path in new.items())


@committed
@pytest.mark.parametrize("harm", ["changed", "cut", "gone", "link"])
def test_what_is_harmed_in_the_last_backup_is_copied_anew_and_not_handed_on(
    harm: str, tmp_path: Path, media: Path
) -> None:
    RecordPhotoFactory()
    first = _dated(_backup(tmp_path / "kept")[0], "20260301")
    whole = {name: path.read_bytes() for name, path in _photos(media.parent).items()}
    assert whole
    for path in _photos(first).values():
        content = path.read_bytes()
        path.unlink()
        if harm == "link":
            path.symlink_to(tmp_path / "elsewhere")
            (tmp_path / "elsewhere").write_bytes(content)
        elif harm != "gone":
            path.write_bytes(content[:-1] if harm == "cut" else content[:-1] + b"?")
    second = _backup(tmp_path / "kept")[0]
    assert {name: path.read_bytes() for name, path in _photos(second).items()} == whole
    assert not any(path.is_symlink() or path.stat().st_nlink > 1 for path in _photos(second).values())


@committed
def test_a_disk_without_links_keeps_a_copy_in_each(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    RecordPhotoFactory()
    _dated(_backup(tmp_path / "kept")[0], "20260301")

    def none(*args: Any) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(folders.os, "link", none)
    second = _backup(tmp_path / "kept")[0]
    assert {path.stat().st_nlink for path in _photos(second).values()} == {1}


@committed
def test_photos_that_are_gone_are_told_and_the_backup_goes_on(tmp_path: Path, media: Path) -> None:
    photo = RecordPhotoFactory()
    assert _backup(tmp_path / "kept")[1] == ""
    _dated(max((tmp_path / "kept").glob("turnery-*")), "20260301")
    Path(photo.shown.path).unlink()
    backup, trouble = _backup(tmp_path / "kept")
    assert f"Gone from the disk, and so not in it: 1 ({photo.shown.name})." in trouble
    call_command("restore", str(backup), stdout=io.StringIO())
    assert RecordPhoto.objects.get() == photo


@committed
@pytest.mark.parametrize("at", ["photo", "database", "list"])
def test_a_full_disk_leaves_no_backup_and_takes_none_away(
    at: str, tmp_path: Path, media: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    RecordPhotoFactory()
    first = _dated(_backup(tmp_path / "kept")[0], "20260301")
    RecordPhotoFactory()

    def full(*args: Any, **options: Any) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    places = {
        "photo": ["shutil.copyfileobj"],
        "database": [f"projects.backup.databases.{kind}.copy_to" for kind in ("Sqlite", "Postgresql")],
        "list": ["pathlib.Path.write_text"],
    }
    for place in places[at]:
        monkeypatch.setattr(place, full)
    with pytest.raises(CommandError, match="No space left on device"):
        _backup(tmp_path / "kept", keep="daily=1")
    monkeypatch.undo()
    assert list((tmp_path / "kept").iterdir()) == [first]


def _live(folder: Path) -> Sqlite:
    """A SQLite file of its own with one wood in it."""
    folder.mkdir()
    with closing(sqlite3.connect(folder / "live.sqlite3")) as made:
        made.execute("CREATE TABLE wood (name TEXT)")
        made.execute("INSERT INTO wood VALUES ('maple')")
        made.commit()
    return Sqlite(folder / "live.sqlite3")


@pytest.mark.django_db
@pytest.mark.parametrize("why", ["locked", "full"])
def test_a_database_that_is_only_busy_is_not_moved_out_of_the_way(
    why: str, tmp_path: Path, media: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A restore sets the present state aside first. Taken for damaged, it would be gone while others write into it."""
    live = _live(tmp_path / "live")
    before = live.file.read_bytes()
    monkeypatch.setattr(databases, "PATIENCE_S", 0.1)
    if why == "full":
        full = sqlite3.OperationalError("database or disk is full")
        full.sqlite_errorname = "SQLITE_FULL"
        monkeypatch.setattr(databases, "_opened", lambda file, mode: (_ for _ in ()).throw(full))
    with closing(sqlite3.connect(live.file)) as other:
        if why == "locked":
            other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(BackupRefused, match="cannot be copied") as refusal:
            server._set_aside(live, media, tmp_path / "aside", server.timezone.now())
    assert not isinstance(refusal.value, DamagedDatabase)
    assert live.file.read_bytes() == before
    assert list((tmp_path / "aside").iterdir()) == []


def test_a_database_that_stays_locked_is_not_waited_for_for_ever(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    live, copy = _live(tmp_path / "live"), _live(tmp_path / "copy")
    monkeypatch.setattr(databases, "PATIENCE_S", 0.1)
    with closing(sqlite3.connect(live.file)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(BackupRefused, match="Stop the server first"):
            live.put_back(copy.file)
