"""What sign-offs and changes share: held while something happens to them, answered once, withdrawn, written about."""

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from projects.agreed import AT_AN_END
from projects.models import ChangeOrder, ClientLink, Commission, Member, SignOff, Studio
from projects.models.agreements import Answer
from projects.services import letters
from projects.services.quote_link import link_of, link_path
from projects.services.saving import checked

A = TypeVar("A", SignOff, ChangeOrder)

ANSWERED = "This was answered already."
LAID_ASIDE = "The studio has laid this commission aside."
DONE = "It is {stage}: nothing more is put to the client."


@contextmanager
def job_held(commission: Commission) -> Iterator[Commission]:
    """Hold a commission's row while something is put to its client, or answered: of two at once one is first.

    The studio's row is held before it, as in `quote_life.held`: no two wait for each other.
    """
    with transaction.atomic():
        Studio.objects.select_for_update(no_key=True).get(pk=commission.studio_id)
        rows = Commission.objects.select_for_update(of=("self",)).select_related("studio", "client", "design")
        yield rows.get(pk=commission.pk)


@contextmanager
def waiting(row: A) -> Iterator[A]:
    """Hold what was asked, as it is stored now. Errors: ValidationError with code `answered` once it is answered."""
    with job_held(row.commission) as whose:
        current: A = type(row)._default_manager.get(pk=row.pk)
        current.commission = whose
        if not current.is_waiting:
            raise ValidationError(ANSWERED, code="answered")
        yield current


def refuse_at_end(commission: Commission) -> None:
    """Refuse to put something to the client of what is delivered, closed or declined."""
    if commission.stage in AT_AN_END:
        raise ValidationError(DONE.format(stage=commission.get_stage_display()))


def answer(
    row: A,
    *,
    agreed: bool,
    name: str,
    words: str,
    link: ClientLink | None,
    member: Member | None,
    now: datetime.datetime | None,
) -> A:
    """Write down the answer to what is held by `waiting`, the client's by `link` or taken down by `member`.

    Errors: ValidationError at `name` for an agreement without one; where the commission is laid aside; for another
    commission's link or another studio's member.
    """
    if (link is None) == (member is None):
        raise TypeError("An answer comes by the client's link or through a member.")
    if link is not None and link.commission_id != row.commission_id:
        raise ValidationError("This address is of another commission.")
    if member is not None and member.studio_id != row.studio_id:
        raise ValidationError("Choose a member of this studio.")
    if row.commission.stage in AT_AN_END:
        raise ValidationError(LAID_ASIDE, code="aside")
    if agreed and not name.strip():
        raise ValidationError({"name": "Type your name." if link else "Whose agreement is it?"})
    row.answer = Answer.AGREED if agreed else Answer.REFUSED
    row.answered_name, row.answered_words = _short(name, 120, "name"), _short(words, 4000, "words")
    row.answered_by, row.answered_by_link = member, link
    row.answered_at = max(now or timezone.now(), row.asked_at)
    return checked(row)


def withdraw(row: A, *, member: Member, words: str, now: datetime.datetime | None) -> A:
    """Take back what still waits for the client."""
    with waiting(row) as current:
        current.answer, current.answered_by = Answer.WITHDRAWN, member
        current.answered_words = _short(words, 4000, "words")
        current.answered_at = max(now or timezone.now(), current.asked_at)
        return checked(current)


def _short(words: str, most: int, field: str) -> str:
    said = words.strip()
    if len(said) > most:
        raise ValidationError({field: f"At most {most} characters."})
    return said


def tell_client(commission: Commission, kind: str, *, member: Member | None, **context: Any) -> None:
    """Write to the client, where there is an address, with the private page where one opens."""
    about = {"link": link_path(link_of(commission)), **context}
    letters.write(commission=commission, to=commission.client.email, kind=kind, context=about, member=member)


def tell_studio(row: A, kind: str, **context: Any) -> None:
    """Write to the studio what the client has answered; nothing where somebody there took it down."""
    if row.answered_by_link_id is None:
        return
    whose = row.commission
    about = {
        "link": reverse("job", args=[whose.pk]),
        "agreed": row.answer == Answer.AGREED,
        "name": row.answered_name,
        "words": row.answered_words,
        **context,
    }
    letters.write(commission=whose, to=whose.studio.email, kind=kind, context=about)
