"""Archives put together to do harm, and a disk that is full as one comes in: refused, and nothing of them stays."""

import errno
import io
import json
import os
import zipfile
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from projects import models, stored
from projects.services.archive import UnreadableArchive, studio_restore
from tests.projects.archived import changed_archive, kept, manifest_of, members_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> Path:
    """Photos of a test are kept in a folder of its own."""
    settings.MEDIA_ROOT = tmp_path / "media"
    return tmp_path / "media"


def _nothing_stayed(folder: Path) -> None:
    assert not models.Studio.objects.exists()
    assert not [path for path in folder.rglob("*") if path.is_file()]


def _client(text: str) -> Any:
    """The first client's row with its name written so, whatever JSON that is."""

    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        first, *others = members["rows/client.jsonl"].splitlines(keepends=True)
        name = json.dumps(json.loads(first)["name"], ensure_ascii=False)
        changed = first.decode().replace(f'"name": {name}', f'"name": {text}', 1)
        assert changed != first.decode()
        members["rows/client.jsonl"] = changed.encode("utf-8", "surrogatepass") + b"".join(others)

    return change


@pytest.mark.parametrize(
    "text",
    [
        "1" * 300,
        "9" * 5_000,
        "1e999",
        "NaN",
        "-Infinity",
        "[" * 3_000 + "]" * 3_000,
        '"\\ud800"',
        "{}",
        "true",
    ],
    ids=["huge", "endless", "float", "nan", "infinity", "deep", "surrogate", "object", "truth"],
)
def test_json_that_is_no_name_is_refused_by_its_line(text: str, folder: Path) -> None:
    with pytest.raises(UnreadableArchive, match=r"rows/client\.jsonl, line 1"):
        studio_restore(file=changed_archive(kept().file, _client(text)))
    _nothing_stayed(folder)


@pytest.mark.parametrize("number", [2**63, -(2**63) - 1, 10**300])
def test_a_whole_number_beyond_what_a_database_holds_is_refused(number: int, folder: Path) -> None:
    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        rows = [json.loads(line) for line in members["rows/piecerecord.jsonl"].splitlines()]
        rows[0]["segments"] = number
        members["rows/piecerecord.jsonl"] = b"".join(json.dumps(row).encode() + b"\n" for row in rows)

    with pytest.raises(UnreadableArchive, match=r"rows/piecerecord\.jsonl, line 1"):
        studio_restore(file=changed_archive(kept().file, change))
    _nothing_stayed(folder)


def test_a_link_among_the_members_is_only_its_bytes(folder: Path) -> None:
    """What a ZIP calls a link leads nowhere, since nothing is unpacked by its name."""
    members, manifest = members_of(kept().file), manifest_of(kept().file)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        for name, content in {**members, "manifest.json": json.dumps(manifest).encode()}.items():
            info = zipfile.ZipInfo(name)
            info.create_system, info.external_attr = 3, 0o120777 << 16
            made.writestr(info, content)
    out.seek(0)
    studio_restore(file=out)
    assert not any(path.is_symlink() for path in folder.rglob("*"))
    assert any(path.is_file() for path in folder.rglob("*"))


def test_another_rows_photo_is_no_way_to_a_file_outside(folder: Path) -> None:
    def change(members: dict[str, bytes], manifest: dict[str, Any]) -> None:
        rows = [json.loads(line) for line in members["rows/recordphoto.jsonl"].splitlines()]
        rows[0]["shown"] = "files/../../../../etc/passwd"
        members["rows/recordphoto.jsonl"] = b"".join(json.dumps(row).encode() + b"\n" for row in rows)

    with pytest.raises(UnreadableArchive, match="is not in the archive"):
        studio_restore(file=changed_archive(kept().file, change))
    _nothing_stayed(folder)


@pytest.mark.parametrize("number", [1, 2, 4])
def test_a_full_disk_leaves_neither_row_nor_file(
    number: int, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = iter(range(1, 1_000))

    def full(handle: int) -> None:
        if next(asked) == number:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    (tmp_path / "studio.zip").write_bytes(kept().content)
    monkeypatch.setattr(stored.os, "fsync", full)
    with pytest.raises(CommandError, match=r"No space left on device\. Nothing was changed\."):
        call_command("restore_archive", str(tmp_path / "studio.zip"))
    _nothing_stayed(folder)
