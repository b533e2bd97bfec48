"""Photos of a finished piece: drawn anew to be shown, the file as it came kept beside; ordered, chosen, taken out."""

import re
from collections.abc import Iterable
from typing import Any

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile, File
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from projects.models import Member, PieceRecord, RecordPhoto, StepNote
from projects.models.photos import PhotoKind
from projects.redrawing import WITH_HEIF, Drawn, NoPhoto, Size, TooManyPixels, drawn_anew
from projects.services.record_places import held
from projects.services.saving import checked

MOST_BYTES = 50_000_000
MOST_PHOTOS = 100
LARGE, SMALL = Size(2560, 88), Size(720, 80)
_UNREADABLE = "is no photo that can be read here. Send it as JPEG, PNG, WebP or HEIC."


def drawn(upload: File) -> tuple[Drawn, Drawn]:
    """A photo upright, large and small, with nothing in it but the picture.

    Errors: ValidationError for a file that is too large, has too many pixels, or is no photo.
    """
    if (upload.size or 0) > MOST_BYTES:
        raise ValidationError(f"is larger than {MOST_BYTES // 1_000_000} MB.")
    try:
        large, small = drawn_anew(upload, kinds=WITH_HEIF, sizes=[LARGE, SMALL])
    except TooManyPixels as refusal:
        raise ValidationError(f"has more than {refusal.most // 1_000_000} million pixels.") from None
    except NoPhoto:
        raise ValidationError(_UNREADABLE) from None
    return large, small


def plain_name(name: str) -> str:
    """A file's name without a path, or anything that a name has no need of."""
    last = re.split(r"[/\\]", name)[-1]
    plain = re.sub(r"[^\w .()+-]", "_", last, flags=re.ASCII).strip(" .")
    return plain[-120:] or "photo"


def photo_add(
    *,
    record: PieceRecord,
    upload: File,
    member: Member | None = None,
    caption: str = "",
    kind: str = PhotoKind.PIECE,
) -> RecordPhoto:
    """Keep a photo of a piece, last in its order; the first that shows the piece is the chosen one.

    Errors: ValidationError at `photo`, which names the file.
    """
    name = plain_name(upload.name or "")
    try:
        large, small = drawn(upload)
    except ValidationError as refusal:
        raise ValidationError({"photo": f"{name} {refusal.messages[0]}"}) from None
    upload.seek(0)
    photo = RecordPhoto(
        record=record,
        kind=kind,
        caption=caption[:160],
        original_name=name,
        original_bytes=upload.size,
        member=member,
    )
    photo.width, photo.height = large.width, large.height
    photo.small_width, photo.small_height = small.width, small.height
    try:
        photo.original.save("original", upload, save=False)
        photo.shown.save("shown", ContentFile(large.content), save=False)
        photo.small.save("small", ContentFile(small.content), save=False)
        with transaction.atomic():
            held(record)
            _last_in_order(photo)
            return checked(photo)
    except OSError as trouble:
        _files_deleted(photo)
        why = trouble.strerror or "the disk refused it"
        raise ValidationError({"photo": f"{name} could not be kept: {why}. It was not added."}) from trouble
    except BaseException:
        _files_deleted(photo)
        raise


def _last_in_order(photo: RecordPhoto) -> None:
    photos = RecordPhoto.objects.for_studio(photo.record.studio_id).filter(record=photo.record)
    if photos.count() >= MOST_PHOTOS:
        raise ValidationError({"photo": f"{MOST_PHOTOS} photos are kept of a piece. Throw some away first."})
    photo.position = (photos.aggregate(last=Max("position"))["last"] or 0) + 1
    photo.chosen = photo.kind == PhotoKind.PIECE and not photos.filter(chosen=True).exists()


def bench_photos_taken(*, record: PieceRecord, member: Member | None = None) -> int:
    """Copy the photos taken at the bench into the record, as they were noted; how many. Files that are gone are not."""
    if record.commission is None:
        return 0
    notes = StepNote.objects.for_studio(record.studio_id).filter(step__commission=record.commission)
    taken = 0
    for note in notes.exclude(photo="").select_related("step").order_by("at", "pk")[:MOST_PHOTOS]:
        caption = note.text or note.step.name
        try:
            with note.photo.open("rb") as file:
                copy = ContentFile(file.read(), name=f"bench {timezone.localtime(note.at):%Y-%m-%d}.jpg")
            photo_add(record=record, upload=copy, member=member, caption=caption, kind=PhotoKind.PROCESS)
        except (OSError, ValidationError):
            continue
        taken += 1
    return taken


def bench_photos_left(record: PieceRecord) -> int:
    """How many photos of the bench did not come along into a record just written."""
    if record.commission is None:
        return 0
    notes = StepNote.objects.for_studio(record.studio_id).filter(step__commission=record.commission)
    came = RecordPhoto.objects.for_studio(record.studio_id).filter(record=record, kind=PhotoKind.PROCESS)
    return notes.exclude(photo="").count() - came.count()


def photo_update(*, photo: RecordPhoto, caption: str) -> RecordPhoto:
    """Change the words below a photo."""
    photo.caption = caption.strip()
    return checked(photo)


def photo_move(*, photo: RecordPhoto, by: int) -> None:
    """Move a photo by one place: -1 forward, 1 back. At the end nothing changes."""
    with transaction.atomic():
        held(photo.record)
        shown = list(_of_kind(photo))
        at = next(place for place, one in enumerate(shown) if one.pk == photo.pk)
        to = min(max(at + by, 0), len(shown) - 1)
        shown.insert(to, shown.pop(at))
        _numbered(shown)


def _of_kind(photo: RecordPhoto) -> Any:
    photos = RecordPhoto.objects.for_studio(photo.record.studio_id).filter(record=photo.record)
    return photos.filter(kind=photo.kind).order_by("position", "pk")


def _numbered(photos: Iterable[RecordPhoto]) -> None:
    for position, one in enumerate(photos, start=1):
        if one.position != position:
            one.position = position
            one.save(update_fields=["position"])


def photo_choose(*, photo: RecordPhoto) -> RecordPhoto:
    """Have a photo stand for the piece."""
    with transaction.atomic():
        held(photo.record)
        photo.refresh_from_db()
        if photo.taken_out_at is not None:
            raise ValidationError("This photo was taken out. Put it back first.")
        RecordPhoto.objects.for_studio(photo.record.studio_id).filter(
            record=photo.record, chosen=True
        ).update(chosen=False)
        photo.chosen = True
        return checked(photo)


def photo_take_out(*, photo: RecordPhoto) -> RecordPhoto:
    """Show a photo no more; `photo_put_back` undoes it. The next of the piece stands for it in its place."""
    with transaction.atomic():
        held(photo.record)
        photo.refresh_from_db()
        if photo.taken_out_at is None:
            was_chosen, photo.chosen, photo.taken_out_at = photo.chosen, False, timezone.now()
            checked(photo)
            if was_chosen:
                _next_chosen(photo.record)
        return photo


def _next_chosen(record: PieceRecord) -> None:
    there = RecordPhoto.objects.for_studio(record.studio_id).filter(record=record, taken_out_at__isnull=True)
    following = there.filter(kind=PhotoKind.PIECE).order_by("position", "pk").first()
    if following is not None:
        following.chosen = True
        checked(following)


def photo_put_back(*, photo: RecordPhoto) -> RecordPhoto:
    """Show a photo again that was taken out."""
    with transaction.atomic():
        held(photo.record)
        photo.refresh_from_db()
        photo.taken_out_at = None
        checked(photo)
        if (
            not RecordPhoto.objects.for_studio(photo.record.studio_id)
            .filter(record=photo.record, chosen=True)
            .exists()
        ):
            _next_chosen(photo.record)
            photo.refresh_from_db()
        return photo


def photo_throw_away(*, photo: RecordPhoto) -> None:
    """Delete a photo that was taken out, and its files. Errors: ValidationError for one that is still shown."""
    with transaction.atomic():
        held(photo.record)
        photo.refresh_from_db()
        if photo.taken_out_at is None:
            raise ValidationError("Take the photo out first.")
        photo.delete()
        transaction.on_commit(lambda: _files_deleted(photo))


def _files_deleted(photo: RecordPhoto) -> None:
    for file in (photo.original, photo.shown, photo.small):
        if file:
            file.delete(save=False)
