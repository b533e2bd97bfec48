"""What can be taken out of the log and put back: out of every list and figure meanwhile, and still there."""

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q

from projects.models.owned import StudioOwned, StudioQuerySet
from projects.models.studio import Member

LONGEST_REASON = 300
IN_LOG = Q(taken_out_at__isnull=True)


class InLogManager(models.Manager.from_queryset(StudioQuerySet)):  # type: ignore[misc]  # made when it is loaded
    """Only what is in the log, so that no list or figure has to remember to ask."""

    def get_queryset(self) -> StudioQuerySet:
        """Those that were not taken out."""
        rows: StudioQuerySet = super().get_queryset().filter(taken_out_at=None)
        return rows


class CanBeTakenOut(StudioOwned):
    """A row that is either in the log or taken out of it, with the reason, when, and by whom.

    `objects`, and rows asked for from another row, are those in the log; `everything` has the others too.
    """

    taken_out_at = models.DateTimeField(null=True, blank=True, editable=False)
    taken_out_by = models.ForeignKey(
        Member, models.SET_NULL, null=True, blank=True, editable=False, related_name="+"
    )
    taken_out_why = models.CharField(max_length=LONGEST_REASON, blank=True, editable=False)

    objects: ClassVar[Any] = InLogManager()
    everything: ClassVar[Any] = StudioQuerySet.as_manager()

    class Meta:
        abstract = True


def out_for_a_reason(model: str) -> models.CheckConstraint:
    """What is out says why, and what is in does not."""
    return models.CheckConstraint(
        name=f"{model}_out_for_a_reason",
        condition=Q(taken_out_at__isnull=True, taken_out_why="")
        | (Q(taken_out_at__isnull=False) & ~Q(taken_out_why="")),
        violation_error_message="Say why it is taken out.",
    )
