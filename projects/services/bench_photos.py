"""Photos from the bench: drawn anew before they are kept, so that nothing but the picture itself is kept."""

import io
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile, File

from projects.models import StepNote

MOST_BYTES = 30_000_000
MOST_PIXELS = 100_000_000
LONGEST_SIDE = 2560
QUALITY = 85
KINDS = ("JPEG", "PNG", "WEBP")
_UNREADABLE = "This is no photo that can be read here. Send it as JPEG, PNG or WebP."


def photo_cleaned(upload: File) -> ContentFile:
    """A photo as JPEG, upright, its longer side at most 2560 px, without what the camera wrote beside the picture.

    Errors: ValidationError at `photo` for a file that is too large, has too many pixels, or is no photo.
    """
    if (upload.size or 0) > MOST_BYTES:
        raise ValidationError({"photo": f"At most {MOST_BYTES // 1_000_000} MB."})
    # Imported here since nothing else on a page needs it.
    from PIL import Image, UnidentifiedImageError

    with whole_alone(), warnings.catch_warnings():
        # The limit below is ours, and said in words.
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)
        try:
            upload.seek(0)
            with Image.open(upload, formats=KINDS) as picture:
                return ContentFile(_redrawn(picture))
        except Image.DecompressionBombError:
            raise ValidationError({"photo": _too_many()}) from None
        except (UnidentifiedImageError, OSError, SyntaxError, ValueError, TypeError, EOFError, KeyError):
            raise ValidationError({"photo": _UNREADABLE}) from None


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


def _too_many() -> str:
    return f"At most {MOST_PIXELS // 1_000_000} million pixels."


def _redrawn(picture: Any) -> bytes:
    from PIL import Image, ImageOps

    width, height = picture.size
    if width * height > MOST_PIXELS:
        raise ValidationError({"photo": _too_many()})
    # A JPEG is read at a fraction of its size where that is enough, which spares the memory.
    picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
    upright = ImageOps.exif_transpose(picture)
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    # Onto a new sheet: place, camera, comments and previews stay behind with the old one.
    sheet = Image.new("RGB", upright.size, "white")
    if upright.mode in ("RGBA", "LA", "PA") or "transparency" in upright.info:
        upright = upright.convert("RGBA")
        sheet.paste(upright, mask=upright.getchannel("A"))
    else:
        sheet.paste(upright.convert("RGB"))
    kept = io.BytesIO()
    sheet.save(kept, "JPEG", quality=QUALITY, optimize=True)
    return kept.getvalue()


def note_delete(*, note: StepNote) -> None:
    """Take a note back, and its photo with it."""
    photo = note.photo
    note.delete()
    if photo:
        photo.delete(save=False)
