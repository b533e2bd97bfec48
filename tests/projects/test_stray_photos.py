"""Photo files that no row names: found where a server was killed; old ones of its own go, and only when asked to."""

import datetime
import io
import os
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.core.files.base import ContentFile
from django.core.management import CommandError, call_command
from django.db.models import FileField, QuerySet
from django.utils import timezone

from projects.backup import stray
from projects.models import RecordPhoto, SignOff, StepNote
from tests.factories import StepNoteFactory
from tests.factories_papers import SignOffFactory
from tests.factories_records import RecordPhotoFactory

pytestmark = pytest.mark.django_db

NAME = f"{7:032x}"
HOUR = datetime.timedelta(hours=1)


@pytest.fixture(autouse=True)
def media(settings: Any, tmp_path: Path) -> Path:
    """Photos of a test are kept in a folder of its own."""
    settings.MEDIA_ROOT = tmp_path / "media"
    return tmp_path / "media"


@pytest.fixture
def photo() -> RecordPhoto:
    """A photo whose three files a row names."""
    made: RecordPhoto = RecordPhotoFactory()
    return made


@pytest.fixture
def tomorrow(monkeypatch: pytest.MonkeyPatch) -> datetime.datetime:
    """It is a day and an hour later, since no test can make a file that is older than itself."""
    later = timezone.now() + datetime.timedelta(days=1) + HOUR
    monkeypatch.setattr(timezone, "now", lambda: later)
    return later


def _write(media: Path, name: str, content: bytes = b"left") -> Path:
    place = media / name
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_bytes(content)
    return place


def _there(media: Path) -> set[str]:
    return {path.relative_to(media).as_posix() for path in media.rglob("*") if not path.is_dir()}


def _say(**options: Any) -> str:
    out = io.StringIO()
    call_command("stray_photos", stdout=out, **options)
    return out.getvalue()


LEFT = [
    f"records/3/{NAME}.original",
    f"records/3/{NAME}.jpg",
    f"records/3/{NAME}_Ab3dE9x.jpg",
    f"bench/3/{NAME}.jpg",
    f"samples/3/{NAME}.jpg",
    f"records/3/.{NAME}.part",
    f"records/3/.{NAME}.original.new",
]
"""A photo's files as they are named, one whose name was taken, one half written, and one half put back."""


@pytest.mark.usefixtures("photo", "tomorrow")
def test_what_no_row_names_is_listed_and_goes_only_when_asked_to(media: Path) -> None:
    rows = _there(media)
    for name in LEFT:
        _write(media, name)
    said = _say()
    assert [line.split()[0] for line in said.splitlines()[:-1]] == sorted(LEFT)
    assert f"No row names these {len(LEFT)} files" in said
    assert _there(media) == rows | set(LEFT), "listing takes nothing away"
    assert f"Gone: {len(LEFT)} files" in _say(remove=True)
    assert _there(media) == rows
    assert "Every photo is named by a row" in _say(remove=True)


@pytest.mark.parametrize(("age", "goes"), [(HOUR * 23, False), (HOUR * 25, True)])
def test_none_goes_that_is_younger_than_a_day(
    media: Path, photo: RecordPhoto, age: datetime.timedelta, goes: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    left = _write(media, LEFT[0])
    now = timezone.now() + age
    monkeypatch.setattr(timezone, "now", lambda: now)
    _say(remove=True)
    assert left.exists() != goes


def test_a_file_that_came_just_now_with_an_old_date_is_no_day_old(media: Path, photo: RecordPhoto) -> None:
    os.utime(_write(media, LEFT[0]), (0, 0))
    assert stray.stray_in(media, now=timezone.now() + HOUR) == []


@pytest.mark.usefixtures("photo", "tomorrow")
def test_files_that_somebody_else_put_there_stay(media: Path, tmp_path: Path) -> None:
    elsewhere = _write(tmp_path / "elsewhere", f"3/{NAME}.jpg")
    names = ["notes.txt", "records/3/IMG_1.jpg", f"records/{NAME}.jpg", f"records/3/deep/{NAME}.jpg"]
    for name in names:
        _write(media, name)
    (media / "linked").symlink_to(elsewhere.parent.parent)
    (media / "records/9").symlink_to(elsewhere.parent)
    (media / f"records/3/{NAME}.jpg").symlink_to(elsewhere)
    before = _there(media)
    _say(remove=True)
    assert _there(media) == before
    assert elsewhere.exists()


def test_with_another_database_nothing_goes(
    media: Path, photo: RecordPhoto, tomorrow: datetime.datetime
) -> None:
    before = _there(media)
    photo.delete()
    with pytest.raises(CommandError, match="no row names any photo there"):
        _say(remove=True)
    assert _there(media) == before != set()


def test_every_kind_of_photo_is_known_and_kept(media: Path, tomorrow: datetime.datetime) -> None:
    """Of each field that names a file: it is asked about, and its file's name is one that would be taken for ours."""
    for made in (RecordPhotoFactory(), RecordPhotoFactory(taken_out_at=timezone.now())):
        assert made.original.name in stray.named()
    for factory in (StepNoteFactory, SignOffFactory):
        factory(photo=ContentFile(b"photo", name="x.jpg"))
    fields = [
        (model, one.name)
        for model in apps.get_app_config("projects").get_models()
        for one in model._meta.concrete_fields
        if isinstance(one, FileField)
    ]
    kept = {(RecordPhoto, "original"), (RecordPhoto, "shown"), (RecordPhoto, "small")}
    assert set(fields) == kept | {(StepNote, "photo"), (SignOff, "photo")}
    before = _there(media)
    assert len(before) == 8
    assert _say(remove=True).startswith("Every photo")
    assert _there(media) == before
    QuerySet(RecordPhoto).filter(taken_out_at__isnull=False).delete()
    for model in (StepNote, SignOff):
        QuerySet(model).all()._raw_delete("default")  # past the guard of rows that are frozen
    assert len(stray.stray_in(media, now=tomorrow)) == 5
