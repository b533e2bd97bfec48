"""Photos of a piece: whatever is sent, only a picture drawn anew is shown; what came is the studio's alone."""

import io
import zipfile
from pathlib import Path
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from PIL import Image
from pillow_heif import register_heif_opener

from projects.models import PieceRecord, RecordPhoto, Studio
from projects.services import record_photos, records
from projects.services.record_photos import photo_add, plain_name
from tests.factories import BenchStepFactory, CommissionFactory, StepNoteFactory
from tests.factories_records import RecordFactory

pytestmark = pytest.mark.django_db
GPS, ORIENTATION, MAKER = 0x8825, 0x0112, 0x010F


@pytest.fixture(autouse=True)
def _media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def record(studio: Studio) -> PieceRecord:
    """A bowl."""
    return RecordFactory(studio=studio)


def picture(
    kind: str = "JPEG", *, size: tuple[int, int] = (400, 300), orientation: Any = None, **more: Any
) -> bytes:
    """Red at the left, blue at the right, green along the top."""
    image = Image.new("RGB", size, "blue")
    image.paste("red", (0, 0, size[0] // 2, size[1]))
    image.paste("green", (0, 0, size[0], size[1] // 5))
    exif = Image.Exif()
    exif[MAKER] = "Camera of mine"
    exif.get_ifd(GPS)[1] = "N"
    exif.get_ifd(GPS)[2] = (47.0, 30.0, 0.0)
    if orientation is not None:
        exif[ORIENTATION] = orientation
    out = io.BytesIO()
    image.save(out, kind, exif=exif, **more)
    return out.getvalue()


def heic() -> bytes:
    register_heif_opener(thumbnails=False)
    return picture("HEIF")


def sent(content: bytes, name: str = "IMG_1.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content)


def shown(photo: RecordPhoto, size: str = "shown") -> Image.Image:
    image = Image.open(getattr(photo, size).open("rb"))
    image.load()
    return image


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_a_photo_is_kept_as_it_came_and_shown_drawn_anew(record: PieceRecord, kind: str) -> None:
    register_heif_opener(thumbnails=False)
    content = picture(kind, size=(3000, 2000))
    photo = photo_add(record=record, upload=sent(content, "IMG_7.x"))
    assert photo.original.open("rb").read() == content
    large, small = shown(photo), shown(photo, "small")
    assert (large.format, large.size, small.size) == ("JPEG", (2560, 1707), (720, 480))
    assert (photo.width, photo.height, photo.small_width, photo.small_height) == (2560, 1707, 720, 480)
    for image in (large, small):
        assert not image.getexif()
        assert "exif" not in image.info
        assert b"Camera" not in (photo.shown if image is large else photo.small).open("rb").read()
    assert photo.chosen


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photo_is_turned_upright_as_the_library_turns_it(record: PieceRecord, orientation: int) -> None:
    """Held against Pillow's own reading of CIPA DC-008's eight ways to hold a camera."""
    from PIL import ImageOps

    content = picture(orientation=orientation, quality=95)
    upright = ImageOps.exif_transpose(Image.open(io.BytesIO(content)))
    mine = shown(photo_add(record=record, upload=sent(content)))
    assert mine.size == upright.size
    for at in ((0.1, 0.1), (0.9, 0.1), (0.1, 0.9), (0.9, 0.9)):
        where = tuple(int(share * side) for share, side in zip(at, mine.size, strict=True))
        assert mine.getpixel(where) == pytest.approx(upright.getpixel(where), abs=24), at


def test_a_phones_heic_stands_upright_too(record: PieceRecord) -> None:
    mine = shown(photo_add(record=record, upload=sent(heic(), "IMG_2.HEIC")))
    assert mine.size == (400, 300)
    assert mine.getpixel((40, 250))[0] > 180


@pytest.mark.parametrize("orientation", [0, 9, 65535, 77])
def test_exif_that_lies_of_the_orientation_turns_nothing(record: PieceRecord, orientation: int) -> None:
    photo = photo_add(record=record, upload=sent(picture(orientation=orientation)))
    assert shown(photo).size == (400, 300)


def test_exif_that_is_broken_spoils_no_photo(record: PieceRecord) -> None:
    content = picture(orientation=6)
    at = content.index(b"Exif\0\0") + 6
    for broken in (b"XX*\0\xff\xff\xff\xff", b"MM\0*\xff\xff\xff\xf0", b"\0" * 8):
        photo = photo_add(record=record, upload=sent(content[:at] + broken + content[at + 8 :]))
        assert shown(photo).size == (400, 300)


def _refused(record: PieceRecord, content: bytes, name: str = "IMG_1.jpg") -> str:
    with pytest.raises(ValidationError) as refusal:
        photo_add(record=record, upload=sent(content, name))
    assert not RecordPhoto.objects.exists()
    return str(refusal.value.message_dict["photo"][0])


def test_what_is_no_photo_is_refused_and_leaves_nothing(record: PieceRecord, tmp_path: Path) -> None:
    whole = picture()
    wrong = [
        b"",
        b"hello",
        b"%PDF-1.7",
        whole[:200],
        whole[: len(whole) // 2],
        b"\x89PNG\r\n\x1a\n" + b"\0" * 50,
    ]
    for content in [*wrong, heic()[:300], b"<svg xmlns='http://www.w3.org/2000/svg'/>", picture("GIF")]:
        words = _refused(record, content, "notes.jpg")
        assert words.startswith("notes.jpg is no photo that can be read here")
    assert not [path for path in tmp_path.rglob("*") if path.is_file()]


def test_a_decompression_bomb_is_refused_before_it_is_drawn(record: PieceRecord) -> None:
    bomb = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(bomb, "PNG", optimize=True)
    assert len(bomb.getvalue()) < 200_000
    assert "million pixels" in _refused(record, bomb.getvalue())


def test_a_file_of_100_mb_is_refused_unread(record: PieceRecord) -> None:
    class Huge(ContentFile):
        def read(self, *args: Any) -> bytes:
            raise AssertionError("It was read.")

    huge = Huge(b"", name="big.jpg")
    huge.size = 100_000_000
    with pytest.raises(ValidationError, match="larger than 50 MB"):
        photo_add(record=record, upload=huge)


def test_of_a_polyglot_only_the_picture_is_shown(record: PieceRecord, as_alice: Browser) -> None:
    hidden = io.BytesIO()
    with zipfile.ZipFile(hidden, "w") as archive:
        archive.writestr("run.html", "<script>alert(1)</script>")
    content = picture() + b"<html><script>alert(1)</script>" + hidden.getvalue()
    assert zipfile.is_zipfile(io.BytesIO(content))
    photo = photo_add(record=record, upload=sent(content, "x.html"))
    for size in ("shown", "small"):
        answer = as_alice.get(f"/log/photos/{photo.pk}/{size}.jpg")
        assert answer["Content-Type"] == "image/jpeg"
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert b"script" not in answer.content
        assert not zipfile.is_zipfile(io.BytesIO(answer.content))
    answer = as_alice.get(f"/log/photos/{photo.pk}/original/")
    assert answer.content == content
    assert answer["Content-Type"] == "application/octet-stream"
    assert answer["Content-Disposition"] == 'attachment; filename="x.html"'
    assert "sandbox" in answer["Content-Security-Policy"]


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("../../etc/passwd.jpg", "passwd.jpg"),
        ("C:\\photos\\a b.jpg", "a b.jpg"),
        ('x"\r\nSet-Cookie: a.jpg', "x___Set-Cookie_ a.jpg"),
        ("..", "photo"),
        ("пила.heic", "____.heic"),
        ("a" * 300 + ".jpg", "a" * 116 + ".jpg"),
    ],
)
def test_a_name_has_no_path_and_nothing_that_a_name_has_no_need_of(
    record: PieceRecord, tmp_path: Path, name: str, plain: str
) -> None:
    assert plain_name(name) == plain
    upload = ContentFile(picture(), name="x")
    upload.name = name  # as no form would let it through
    photo = photo_add(record=record, upload=upload)
    assert photo.original_name == plain
    for file in (photo.original, photo.shown, photo.small):
        assert Path(file.path).parent == tmp_path / "records" / str(record.studio_id)


def test_photos_are_ordered_chosen_taken_out_and_put_back(record: PieceRecord, tmp_path: Path) -> None:
    _, b, c = (photo_add(record=record, upload=sent(picture()), caption=name) for name in "abc")

    def order() -> str:
        return "".join(photo.caption for photo in record.photos.filter(taken_out_at=None))

    record_photos.photo_move(photo=c, by=-1)
    assert order() == "acb"
    record_photos.photo_move(photo=c, by=-5)
    assert order() == "cab"
    record_photos.photo_choose(photo=b)
    assert record.photos.get(chosen=True) == b
    record_photos.photo_take_out(photo=b)
    assert (order(), record.photos.get(chosen=True)) == ("ca", c)
    with pytest.raises(ValidationError, match="Put it back"):
        record_photos.photo_choose(photo=b)
    record_photos.photo_put_back(photo=b)
    assert order() == "cab"
    with pytest.raises(ValidationError, match="Take the photo out"):
        record_photos.photo_throw_away(photo=b)
    assert len(list((tmp_path / "records").rglob("*.*"))) == 9


@pytest.mark.django_db(transaction=True)
def test_a_photo_thrown_away_leaves_no_file(tmp_path: Path) -> None:
    record = RecordFactory()
    photo = photo_add(record=record, upload=sent(picture()))
    record_photos.photo_take_out(photo=photo)
    record_photos.photo_throw_away(photo=photo)
    assert not record.photos.exists()
    assert not [path for path in tmp_path.rglob("*") if path.is_file()]


def test_photos_from_the_bench_come_with_the_record(studio: Studio) -> None:
    job = CommissionFactory(studio=studio, stage="finished")
    step = BenchStepFactory(commission=job)
    StepNoteFactory(step=step, text="before the press", photo=ContentFile(picture(), name="x.jpg"))
    StepNoteFactory(step=step, text="no photo")
    StepNoteFactory(step=step, photo="bench/gone.jpg")
    record = records.record_finish(commission=job)
    photo = record.photos.get()
    assert (photo.kind, photo.caption, photo.chosen) == ("process", "before the press", False)
    assert record_photos.bench_photos_left(record) == 1


def test_photos_of_the_bench_that_stayed_behind_are_told(as_alice: Browser, studio: Studio) -> None:
    job = CommissionFactory(studio=studio, stage="finished")
    StepNoteFactory(step=BenchStepFactory(commission=job), photo="bench/gone.jpg")
    page = as_alice.post(f"/jobs/{job.pk}/record/", follow=True).content.decode()
    assert "1 photo of the bench did not come along" in page


def test_more_photos_than_are_kept_are_refused(record: PieceRecord, monkeypatch: Any) -> None:
    monkeypatch.setattr(record_photos, "MOST_PHOTOS", 1)
    photo_add(record=record, upload=sent(picture()))
    with pytest.raises(ValidationError, match="1 photos are kept"):
        photo_add(record=record, upload=sent(picture()))
    assert record.photos.count() == 1
