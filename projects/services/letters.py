"""Letters by mail: written with what they are about, sent once that is saved, kept, and sent again where one failed."""

import datetime
import logging
from collections.abc import Iterable, Mapping
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from projects import mailing
from projects.models import Commission, IssuedPaper, Letter, Member, Quote
from projects.models.issued import LetterState
from projects.services.saving import checked

LEFT_LYING = datetime.timedelta(minutes=10)
"""A letter that waits longer was not sent: the program ended before it could be."""

ATTACHED = {"quote_client": Quote, "quote_trade": Quote, "paper": IssuedPaper}
UNDER_WAY = "This letter has gone, or is on its way."
UNSEEN_TROUBLE = "The mail server did not take it."

_log = logging.getLogger(__name__)


def write(
    *,
    commission: Commission,
    to: str,
    kind: str,
    context: Mapping[str, Any],
    member: Member | None = None,
    attachments: Iterable[Mapping[str, Any]] = (),
) -> Letter | None:
    """Write a letter, to be sent once the transaction about it is committed. None where there is no address.

    `kind` is one of `mailing.KINDS`, `context` as `mailing.letter_text` says; `attachments` are papers of the
    commission, {kind: quote_client, quote_trade or paper, id}. What the mail server then says is kept with the letter
    and raises nothing. Errors: ValidationError at `to` for what is no address, at `attachments` for another
    commission's paper.
    """
    if kind not in mailing.KINDS:
        raise ValueError(f"no such letter: {kind!r}")
    to = to.strip()
    if not to:
        return None
    subject, body = mailing.letter_text(kind, commission=commission, to=to, context=context)
    letter = Letter(
        studio=commission.studio,
        commission=commission,
        to=to,
        subject=subject,
        body=body,
        attachments=[_attachment(commission, row) for row in attachments],
        written_by=member,
    )
    with transaction.atomic():
        checked(letter, exclude=() if letter.attachments else ("attachments",))
        transaction.on_commit(lambda: _send(letter.pk))
    return letter


def _attachment(commission: Commission, row: Mapping[str, Any]) -> dict[str, Any]:
    model: Any = ATTACHED.get(str(row.get("kind")))
    if model is None or not model.objects.filter(commission=commission, pk=row.get("id")).exists():
        raise ValidationError({"attachments": "Choose a paper of this commission."})
    return {"kind": row["kind"], "id": row["id"]}


def send_again(*, letter: Letter, now: datetime.datetime | None = None) -> None:
    """Send a letter that failed or was left lying; ValidationError for one that has gone or is on its way.

    Of two who press at once one sends it.
    """
    now = now or timezone.now()
    with transaction.atomic():
        claimed = Letter.objects.filter(not_sent(now=now), pk=letter.pk).update(
            state=LetterState.WAITING, trouble="", sent_at=now
        )
        if not claimed:
            raise ValidationError(UNDER_WAY)
        transaction.on_commit(lambda: _send(letter.pk))


def not_sent(*, now: datetime.datetime) -> Q:
    """Which letters may be sent again: those that failed, and those left lying since they were last tried."""
    before = now - LEFT_LYING
    lying = Q(state=LetterState.WAITING, sent_at__lt=before) | Q(
        state=LetterState.WAITING, sent_at__isnull=True, written_at__lt=before
    )
    return Q(state=LetterState.FAILED) | lying


def _send(pk: int) -> None:
    """Send a letter that is written and saved, and keep how it went."""
    letter = Letter.objects.select_related("commission__studio", "commission__client").filter(pk=pk).first()
    if letter is None:  # thrown away before it was to go
        return
    try:
        mailing.post(letter)
    except Exception as trouble:  # whatever a mail server comes up with, what the letter is about is saved
        _log.warning("letter %s was not sent: %r", pk, trouble)
        said = mailing.one_line(str(trouble)) or UNSEEN_TROUBLE
        Letter.objects.filter(pk=pk).update(state=LetterState.FAILED, trouble=said[:300], sent_at=None)
    else:
        Letter.objects.filter(pk=pk).update(state=LetterState.SENT, trouble="", sent_at=timezone.now())
