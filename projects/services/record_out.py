"""A record taken out of the log and put back: its serial number stays taken, and nothing of it is thrown away."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from projects.models import Commission, Member, PieceRecord, RecordChange, RecordWords
from projects.models.taken_out import LONGEST_REASON
from projects.record_search import words_kept
from projects.services.record_places import held
from projects.services.saving import checked


def record_take_out(*, record: PieceRecord, reason: str, member: Member | None = None) -> PieceRecord:
    """Take a record out of the log, with its papers and its part in every figure. Nothing of it is thrown away.

    Its piece of the commission may be written into the log anew, under another number.
    Errors: ValidationError at `reason`, or where it is out already.
    """
    reason = reason.strip()
    if not reason:
        raise ValidationError({"reason": "Say why it goes out of the log."})
    if len(reason) > LONGEST_REASON:
        raise ValidationError({"reason": f"At most {LONGEST_REASON} characters."})
    with transaction.atomic():
        current = held(record)
        current.taken_out_at, current.taken_out_by, current.taken_out_why = timezone.now(), member, reason
        checked(current)
        RecordWords.objects.filter(record=current).delete()
        checked(RecordChange(record=current, member=member, what="taken out of the log"))
        return current


def record_put_back(*, record: PieceRecord, member: Member | None = None) -> PieceRecord:
    """Put a record back into the log as it was; why it was out goes into its history.

    Errors: ValidationError where it is in the log, or another record of the same piece is.
    """
    with transaction.atomic():
        if record.commission_id:
            # Whoever writes a piece of the commission into the log holds it too.
            Commission.objects.select_for_update().get(pk=record.commission_id)
        everything = PieceRecord.everything.select_for_update(of=("self",))
        current: PieceRecord = everything.get(pk=record.pk)
        if current.taken_out_at is None:
            raise ValidationError("This piece is in the log.")
        there = PieceRecord.objects.filter(commission=current.commission_id or 0, piece=current.piece).first()
        if there is not None:
            raise ValidationError(f"This piece is in the log again as {there.serial}. Take that out first.")
        before = {"taken_out_why": current.taken_out_why}
        current.taken_out_at, current.taken_out_by, current.taken_out_why = None, None, ""
        checked(current)
        words_kept(current)
        checked(RecordChange(record=current, member=member, what="put back into the log", before=before))
        return current
