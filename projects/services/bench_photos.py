"""Photos from the bench: drawn anew before they are kept, so that nothing but the picture itself is kept."""

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile, File

from projects.models import StepNote
from projects.redrawing import KINDS, NoPhoto, Size, TooManyPixels, drawn_anew

MOST_BYTES = 30_000_000
LONGEST_SIDE = 2560
QUALITY = 85
_UNREADABLE = "This is no photo that can be read here. Send it as JPEG, PNG or WebP."


def photo_cleaned(upload: File) -> ContentFile:
    """A photo as JPEG, upright, its longer side at most 2560 px, without what the camera wrote beside the picture.

    Errors: ValidationError at `photo` for a file that is too large, has too many pixels, or is no photo.
    """
    if (upload.size or 0) > MOST_BYTES:
        raise ValidationError({"photo": f"At most {MOST_BYTES // 1_000_000} MB."})
    try:
        (drawn,) = drawn_anew(upload, kinds=KINDS, sizes=[Size(LONGEST_SIDE, QUALITY)])
    except TooManyPixels as refusal:
        raise ValidationError({"photo": f"At most {refusal.most // 1_000_000} million pixels."}) from None
    except NoPhoto:
        raise ValidationError({"photo": _UNREADABLE}) from None
    return ContentFile(drawn.content)


def note_delete(*, note: StepNote) -> None:
    """Take a note back, and its photo with it."""
    photo = note.photo
    note.delete()
    if photo:
        photo.delete(save=False)
