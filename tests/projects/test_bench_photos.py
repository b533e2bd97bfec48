"""Photos from the bench: what is kept is the picture alone, and a hostile file is refused before it costs anything."""

import io
import resource
import zlib
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageDraw, ImageFile

from projects.models import BenchTap, Member, StepNote
from projects.services.bench import bench_tap
from projects.services.bench_photos import LONGEST_SIDE, note_delete, photo_cleaned
from tests.factories import BenchStepFactory

PLACE = (51.4778, -0.0014)
SECRET = b"Somewhere 7, taken by a telephone"


@pytest.fixture(autouse=True)
def folder(settings: Any, tmp_path: Path) -> Path:
    """Photos of a test are kept in a folder of its own."""
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def maker(alice: Any) -> Member:
    """Alice at the bench."""
    return alice.member


def _picture(size: tuple[int, int] = (400, 300)) -> Image.Image:
    """A red corner on the top left of grey."""
    picture = Image.new("RGB", size, "grey")
    ImageDraw.Draw(picture).rectangle((0, 0, size[0] // 4, size[1] // 4), fill="red")
    return picture


def _file(
    picture: Image.Image, kind: str = "JPEG", name: str = "photo.jpg", **more: Any
) -> SimpleUploadedFile:
    held = io.BytesIO()
    picture.save(held, kind, **more)
    return SimpleUploadedFile(name, held.getvalue())


def _located() -> Image.Exif:
    exif = Image.Exif()
    exif[0x010F] = "Telephone maker"
    exif[0x8298] = SECRET.decode()
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2] = "N", (51.0, 28.0, 40.0)
    gps[3], gps[4] = "W", (0.0, 0.0, 5.0)
    return exif


def _refusal(file: SimpleUploadedFile) -> str:
    with pytest.raises(ValidationError) as refusal:
        photo_cleaned(file)
    (place,) = refusal.value.message_dict
    assert place == "photo"
    return str(refusal.value.messages[0])


def test_place_camera_and_comment_are_gone() -> None:
    file = _file(_picture(), exif=_located(), comment=SECRET)
    assert SECRET in file.read(), "it was in there"
    kept = photo_cleaned(file).read()
    assert SECRET not in kept
    assert b"Exif" not in kept
    with Image.open(io.BytesIO(kept)) as picture:
        assert dict(picture.getexif()) == {}
        assert "comment" not in picture.info


def test_a_picture_held_upright_stays_upright() -> None:
    """Orientation 6: the top left of the stored rows is at the top right of what was seen (Exif 2.32, 4.6.4 A)."""
    exif = Image.Exif()
    exif[0x0112] = 6
    kept = photo_cleaned(_file(_picture((400, 300)), exif=exif))
    with Image.open(kept) as picture:
        assert picture.size == (300, 400)
        red, _, blue = picture.getpixel((290, 10))
        assert red > 200 > blue


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_each_kind_is_kept_as_jpeg_of_the_largest_size(kind: str) -> None:
    with Image.open(photo_cleaned(_file(_picture((4000, 1000)), kind))) as picture:
        assert picture.format == "JPEG"
        assert picture.size == (LONGEST_SIDE, LONGEST_SIDE // 4)


def test_what_shines_through_stands_on_white() -> None:
    with Image.open(photo_cleaned(_file(Image.new("RGBA", (40, 40), (0, 0, 0, 0)), "PNG"))) as picture:
        assert picture.getpixel((20, 20)) == (255, 255, 255)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        b"GIF89a" + b"\0" * 200,
        b"\xff\xd8\xff\xe0" + b"\0" * 500,
        b"%PDF-1.7\n",
        b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n",
    ],
)
def test_what_is_no_photo_is_refused(content: bytes) -> None:
    assert "no photo that can be read" in _refusal(SimpleUploadedFile("photo.jpg", content))


@pytest.mark.parametrize("lenient", [False, True])
def test_a_photo_cut_short_is_refused(lenient: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    # The printer of papers sets this for the whole process as it is loaded.
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", lenient)
    whole = _file(_picture((1200, 900))).read()
    assert "no photo that can be read" in _refusal(SimpleUploadedFile("photo.jpg", whole[: len(whole) // 2]))


def _bomb(side: int) -> bytes:
    """A PNG of a few kilobytes that is `side` pixels a side, all black, written by hand (ISO/IEC 15948)."""

    def chunk(name: bytes, content: bytes) -> bytes:
        checked = name + content
        return len(content).to_bytes(4, "big") + checked + zlib.crc32(checked).to_bytes(4, "big")

    header = side.to_bytes(4, "big") * 2 + bytes([1, 0, 0, 0, 0])
    rows = zlib.compress(b"\0" * ((side // 8 + 1) * side), 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [11_000, 14_000, 30_000])
def test_a_small_file_of_endless_pixels_is_refused_before_it_is_unpacked(side: int) -> None:
    bomb = SimpleUploadedFile("photo.png", _bomb(side))
    assert bomb.size < 300_000
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert "million pixels" in _refusal(bomb)
    # Unpacked it would be a hundred megabytes at the least; kilobytes are counted here.
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 50_000


def test_a_file_of_a_hundred_megabytes_is_refused_unread() -> None:
    class Endless(SimpleUploadedFile):
        """A file that says its size and must not be read."""

        def read(self, *args: Any) -> bytes:
            raise AssertionError("it was read")

    huge = Endless("photo.jpg", b"")
    huge.size = 100_000_000
    assert _refusal(huge) == "At most 30 MB."


@pytest.mark.parametrize("name", ["../../evil.jpg", "/etc/passwd", "a\0b.jpg", "C:\\x\\y.exe", "page.html"])
def test_a_photo_is_kept_under_a_name_of_our_own(maker: Member, folder: Path, name: str) -> None:
    step = BenchStepFactory(commission__studio=maker.studio)
    file = _file(_picture())
    file._name = name  # past the cleaning that a form would do
    tap = bench_tap(
        member=maker, uuid=uuid4(), act="photo", step=step, photo=file, payload={"text": "Dry fit"}
    )
    note = StepNote.objects.get(step=step)
    assert (tap.outcome, note.text) == ("Photo kept.", "Dry fit")
    (kept,) = (path for path in folder.rglob("*") if path.is_file())
    assert kept == Path(note.photo.path)
    assert kept.parent == folder / "bench" / str(maker.studio_id)
    assert kept.suffix == ".jpg"
    assert kept.stat().st_mode & 0o077 == 0, "for nobody else on this machine"


def test_a_photo_sent_twice_is_kept_once(maker: Member, folder: Path) -> None:
    step, once = BenchStepFactory(commission__studio=maker.studio), uuid4()
    for _ in range(2):
        bench_tap(member=maker, uuid=once, act="photo", step=step, photo=_file(_picture()))
    assert StepNote.objects.count() == BenchTap.objects.count() == 1
    assert sum(path.is_file() for path in folder.rglob("*")) == 1


def test_a_refused_photo_leaves_nothing(maker: Member, folder: Path) -> None:
    step = BenchStepFactory(commission__studio=maker.studio)
    with pytest.raises(ValidationError):
        bench_tap(
            member=maker, uuid=uuid4(), act="photo", step=step, photo=SimpleUploadedFile("p.jpg", b"no photo")
        )
    assert StepNote.objects.count() == BenchTap.objects.count() == 0
    assert not any(path.is_file() for path in folder.rglob("*"))


def test_a_photo_goes_with_its_note(maker: Member, folder: Path) -> None:
    step = BenchStepFactory(commission__studio=maker.studio)
    bench_tap(member=maker, uuid=uuid4(), act="photo", step=step, photo=_file(_picture()))
    note_delete(note=StepNote.objects.get())
    assert not any(path.is_file() for path in folder.rglob("*"))
