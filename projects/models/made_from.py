"""Which finished piece a design was made from: the link by which a piece shows what came of it."""

from django.core.exceptions import ValidationError
from django.db import models

from projects.models.designs import Design
from projects.models.owned import StudioOwned
from projects.models.records import PieceRecord


class MadeFrom(StudioOwned):
    """A design made again from a piece in the log; said when it is made, and never changed.

    A row of its own and no field of the design, which records refer to: rows that refer to one another in a ring
    cannot be put into an empty database one after the other.
    """

    studio_path = "design__studio"

    design = models.OneToOneField(Design, models.CASCADE, related_name="made_from")
    record = models.ForeignKey(PieceRecord, models.CASCADE, related_name="made_again")

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "made from"

    def __str__(self) -> str:
        return f"{self.design} from {self.record}"

    def clean(self) -> None:
        """Refuse another studio's piece."""
        if self.record.studio_id != self.design.studio_id:
            raise ValidationError({"record": "Choose a piece of this studio."})
