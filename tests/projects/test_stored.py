"""Files on the disk: there whole or not at all, whatever the disk says, and never met half written by a backup."""

import errno
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile, TemporaryUploadedFile
from django.test import Client as Browser

from projects import stored
from projects.backup import folders
from projects.models import RecordPhoto
from projects.services.record_photos import photo_add
from tests.factories_records import RecordFactory
from tests.projects.test_record_photos import picture


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> Path:
    """Photos of a test are kept in a folder of its own."""
    settings.MEDIA_ROOT = tmp_path / "media"
    return tmp_path / "media"


def files_in(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


class Endless(ContentFile):
    """A file of which the disk takes a part."""

    def chunks(self, chunk_size: int | None = None) -> Iterator[bytes]:
        yield b"a" * 100_000
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def full_at(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is full as the file of this number is written down to it."""
    asked = iter(range(1, 100))

    def refuse(handle: int) -> None:
        if next(asked) == number:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(stored.os, "fsync", refuse)


def test_of_what_a_full_disk_took_a_part_nothing_is_left(folder: Path) -> None:
    with pytest.raises(OSError, match="No space left"):
        default_storage.save("records/1/a.jpg", Endless(b""))
    assert files_in(folder) == []


def test_a_file_that_is_there_is_not_written_over(folder: Path) -> None:
    names = [default_storage.save("bench/1/a.jpg", ContentFile(text)) for text in (b"one", b"two")]
    assert len(set(names)) == 2
    assert [default_storage.open(name).read() for name in names] == [b"one", b"two"]
    assert files_in(folder) == sorted(names)
    assert all((folder / name).stat().st_mode & 0o077 == 0 for name in names)


def test_a_disk_that_knows_no_links_keeps_files_all_the_same(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*args: Any) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(stored.os, "link", none)
    assert default_storage.save("bench/1/a.jpg", ContentFile(b"one")) == "bench/1/a.jpg"
    assert files_in(folder) == ["bench/1/a.jpg"]


def test_a_large_upload_is_moved_to_its_place(folder: Path) -> None:
    with TemporaryUploadedFile("a.jpg", "image/jpeg", 3, None) as upload:
        upload.write(b"one")
        upload.seek(0)
        default_storage.save("records/1/a.jpg", upload)
    assert files_in(folder) == ["records/1/a.jpg"]


def test_a_backup_does_not_meet_a_file_that_is_half_written(folder: Path, tmp_path: Path) -> None:
    """It would keep the part, and take it for the whole once the row that names it is there."""

    class Slow(ContentFile):
        def chunks(self, chunk_size: int | None = None) -> Iterator[bytes]:
            yield b"one "
            folders.copy_photos(folder, tmp_path / "kept")
            yield b"two"

    default_storage.save("records/1/a.jpg", Slow(b""))
    folders.copy_photos(folder, tmp_path / "kept")
    assert (tmp_path / "kept/records/1/a.jpg").read_bytes() == b"one two"


@pytest.mark.django_db
@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_photo_that_the_disk_has_no_room_for_is_refused_in_words(
    number: int, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file as it came, the large and the small: whichever the disk does not take, none of them stays."""
    record = RecordFactory()
    full_at(number, monkeypatch)
    with pytest.raises(ValidationError) as refusal:
        photo_add(record=record, upload=SimpleUploadedFile("bowl.jpg", picture()))
    words = "bowl.jpg could not be kept: No space left on device. It was not added."
    assert refusal.value.message_dict == {"photo": [words]}
    assert files_in(folder) == []
    assert not RecordPhoto.objects.exists()


@pytest.mark.django_db
def test_the_page_says_that_the_disk_is_full_and_keeps_the_others(
    as_alice: Browser, studio: Any, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    record = RecordFactory(studio=studio)
    full_at(4, monkeypatch)
    sent = [SimpleUploadedFile(name, picture()) for name in ("one.jpg", "two.jpg", "three.jpg")]
    answer = as_alice.post(f"/log/{record.pk}/photos/", {"photos": sent})
    assert answer.status_code == 400
    assert b"two.jpg could not be kept" in answer.content
    assert sorted(record.photos.values_list("original_name", flat=True)) == ["one.jpg", "three.jpg"]
    assert len(files_in(folder)) == 6
