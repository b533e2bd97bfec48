"""Photos of a finished piece: the file as it came, and what is drawn from it to be shown."""

import secrets

from django.db import models
from django.db.models import Q
from django.utils import timezone

from projects.models.fields import one_of
from projects.models.owned import StudioOwned
from projects.models.records import PieceRecord
from projects.models.studio import Member
from projects.redrawing import harm


class PhotoKind(models.TextChoices):
    """What a photo shows."""

    PIECE = "piece", "the piece"
    PROCESS = "process", "how it was made"


def _somewhere(photo: "RecordPhoto", ending: str) -> str:
    return f"records/{photo.record.studio_id}/{secrets.token_hex(16)}{ending}"


def original_path(photo: "RecordPhoto", filename: str) -> str:
    """Where the file as it came is kept: by a name that nobody can guess, and no kind that anything would open."""
    return _somewhere(photo, ".original")


def shown_path(photo: "RecordPhoto", filename: str) -> str:
    """Where what is drawn from it is kept."""
    return _somewhere(photo, ".jpg")


class RecordPhoto(StudioOwned):
    """A photo of a piece. All three files are private: only pages that ask for the studio hand them out.

    `original` is as it came, place and camera and all; `shown` is drawn anew from it, upright and without any of that,
    `small` likewise for lists. Taken out, it is shown no more, and can be put back until it is thrown away.
    """

    studio_path = "record__studio"

    record = models.ForeignKey(PieceRecord, models.CASCADE, related_name="photos")
    kind = models.CharField(max_length=7, choices=PhotoKind, default=PhotoKind.PIECE, editable=False)
    position = models.PositiveIntegerField(default=1, editable=False)
    chosen = models.BooleanField(default=False, editable=False)
    caption = models.CharField(max_length=160, blank=True)
    original = models.FileField(upload_to=original_path, max_length=120, editable=False)
    original_name = models.CharField(max_length=120, blank=True, editable=False)
    original_bytes = models.PositiveIntegerField(default=0, editable=False)
    shown = models.FileField(upload_to=shown_path, max_length=120, editable=False)
    width = models.PositiveIntegerField(default=0, editable=False)
    height = models.PositiveIntegerField(default=0, editable=False)
    small = models.FileField(upload_to=shown_path, max_length=120, editable=False)
    small_width = models.PositiveSmallIntegerField(default=0, editable=False)
    small_height = models.PositiveSmallIntegerField(default=0, editable=False)
    member = models.ForeignKey(
        Member, models.SET_NULL, null=True, blank=True, editable=False, related_name="+"
    )
    at = models.DateTimeField(default=timezone.now, editable=False)
    taken_out_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["record"],
                condition=Q(chosen=True),
                name="photo_one_chosen",
                violation_error_message="One photo is chosen already.",
            ),
            models.CheckConstraint(
                name="photo_chosen_is_there",
                condition=Q(chosen=False) | Q(taken_out_at__isnull=True),
                violation_error_message="A photo that was taken out cannot be the chosen one.",
            ),
            one_of("photo", "kind", PhotoKind),
        ]

    def __str__(self) -> str:
        return self.caption or f"photo {self.position}"

    @property
    def harm(self) -> str:
        """What is wrong with its files on the disk, in words; empty where nothing is."""
        return harm(self.shown) or harm(self.small)
