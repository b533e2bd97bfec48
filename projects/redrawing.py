"""A photo drawn anew: upright, in sRGB, on white, with nothing left of the file but the picture."""

import io
import struct
import threading
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.core.files.base import File

KINDS = ("JPEG", "PNG", "WEBP")
WITH_HEIF = (*KINDS, "HEIF")
MOST_PIXELS = {"PNG": 40_000_000, "WEBP": 25_000_000, "HEIF": 64_000_000}
"""Of those that are unpacked whole, so that none takes more than about 400 MB."""
MOST_PIXELS_OF_JPEG = 100_000_000
"""A JPEG is read at a fraction of its size."""
MOST_PROFILE = 4_000_000

# How the camera was held, as EXIF numbers it (CIPA DC-008, Orientation, tag 0x0112), and what turns it upright.
_ORIENTATION = 0x0112
_UPRIGHT = {2: 0, 3: 3, 4: 1, 5: 5, 6: 4, 7: 6, 8: 2}
# What a reader raises for a file that is broken, or broken on purpose.
_BROKEN = (
    OSError,
    SyntaxError,
    ValueError,
    TypeError,
    EOFError,
    KeyError,
    IndexError,
    OverflowError,
    struct.error,
)


class NoPhoto(ValueError):
    """A file that is none of the kinds that are read, or is broken."""


class TooManyPixels(ValueError):
    """A picture larger than is unpacked; `most` is how many pixels one of its kind may have."""

    def __init__(self, most: int) -> None:
        super().__init__(f"more than {most // 1_000_000} million pixels")
        self.most = most


@dataclass(frozen=True, slots=True)
class Size:
    """The longest side, in pixels, that a picture is brought down to, and JPEG's quality."""

    longest: int
    quality: int


@dataclass(frozen=True, slots=True)
class Drawn:
    """A picture drawn anew, as JPEG."""

    content: bytes
    width: int
    height: int


_LOCK = threading.Lock()


@contextmanager
def whole_alone() -> Iterator[None]:
    """Have a picture that was cut short refused: the printer of papers, once loaded, lets such pass everywhere."""
    from PIL import ImageFile

    with _LOCK:
        lenient, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False
        try:
            yield
        finally:
            ImageFile.LOAD_TRUNCATED_IMAGES = lenient


def drawn_anew(upload: File, *, kinds: tuple[str, ...], sizes: Sequence[Size]) -> list[Drawn]:
    """A photo in each of some sizes, the largest first. One after another, so that memory is needed once.

    Errors: NoPhoto, TooManyPixels.
    """
    # Imported here since nothing else on a page needs it.
    from PIL import Image

    if "HEIF" in kinds:
        from pillow_heif import register_heif_opener

        register_heif_opener(thumbnails=False)
    with whole_alone(), warnings.catch_warnings():
        # The limits are ours, and said in words.
        warnings.simplefilter("ignore")
        try:
            upload.seek(0)
            with Image.open(upload, formats=kinds) as picture:
                most = MOST_PIXELS.get(picture.format or "", MOST_PIXELS_OF_JPEG)
                if picture.width * picture.height > most:
                    raise TooManyPixels(most)
                return _in_sizes(picture, sizes)
        except TooManyPixels:
            raise
        except Image.DecompressionBombError:
            raise TooManyPixels(MOST_PIXELS_OF_JPEG) from None
        except (*_BROKEN, RuntimeError, MemoryError):
            raise NoPhoto from None


def _in_sizes(picture: Any, sizes: Sequence[Size]) -> list[Drawn]:
    from PIL import Image

    longest = (sizes[0].longest, sizes[0].longest)
    turn = _UPRIGHT.get(_orientation(picture))
    # A JPEG is read at a fraction of its size where that is enough, which spares the memory.
    picture.draft("RGB", longest)
    picture.thumbnail(longest)
    profile = picture.info.get("icc_profile")
    upright = picture if turn is None else picture.transpose(Image.Transpose(turn))
    sheet = _in_srgb(_on_white(upright), profile)
    drawn = []
    for size in sizes:
        sheet.thumbnail((size.longest, size.longest))
        drawn.append(_jpeg(sheet, size.quality))
    return drawn


def _orientation(picture: Any) -> int:
    """As the file says it; one that lies or cannot be read says nothing."""
    try:
        said = picture.getexif().get(_ORIENTATION, 1)
    except _BROKEN:
        return 1
    return said if isinstance(said, int) else 1


def _on_white(picture: Any) -> Any:
    """A picture with nothing to see through, in 8 bits; as it was where it is of inks or of grey."""
    from PIL import Image

    if picture.mode in ("I", "I;16", "I;16B"):
        # A conversion would cut all above 255 off to white.
        return picture.point(lambda level: level * (1 / 256)).convert("L")
    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        clear = picture.convert("RGBA")
        sheet = Image.new("RGB", clear.size, "white")
        sheet.paste(clear, mask=clear.getchannel("A"))
        return sheet
    return picture if picture.mode in ("RGB", "CMYK", "L") else picture.convert("RGB")


def _in_srgb(picture: Any, profile: bytes | None) -> Any:
    """Its colours as they look, on a new sheet; a profile that is broken or of other colours says nothing."""
    from PIL import Image, ImageCms

    sheet = Image.new("RGB", picture.size)
    if profile and len(profile) <= MOST_PROFILE:
        try:
            seen: Any = ImageCms.profileToProfile(picture, io.BytesIO(profile), _srgb(), outputMode="RGB")
        except (ImageCms.PyCMSError, *_BROKEN):
            pass
        else:
            sheet.paste(seen)
            return sheet
    sheet.paste(picture.convert("RGB"))
    return sheet


@cache
def _srgb() -> Any:
    from PIL import ImageCms

    return ImageCms.createProfile("sRGB")


def _jpeg(sheet: Any, quality: int) -> Drawn:
    kept = io.BytesIO()
    sheet.save(kept, "JPEG", quality=quality, optimize=True)
    return Drawn(kept.getvalue(), *sheet.size)


def harm(file: Any) -> str:
    """What is wrong with a photo that was drawn here, in words; empty where nothing is. Its ends alone are read."""
    try:
        with file.storage.open(file.name, "rb") as stored:
            begins = stored.read(2)
            stored.seek(max(stored.size - 2, 0))
            ends = stored.read(2)
    except FileNotFoundError:
        return "is gone from the disk"
    except OSError:
        return "cannot be read from the disk"
    # JPEG's first and last markers (ITU-T T.81, table B.1: SOI, EOI).
    return "" if (begins, ends) == (b"\xff\xd8", b"\xff\xd9") else "is damaged on the disk"
