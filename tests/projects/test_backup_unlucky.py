"""Backups on days when things go wrong: photos gone, the disk full, and photos that are kept once for many backups."""

import errno
import io
import os
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from projects.backup import folders
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
