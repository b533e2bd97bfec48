"""What happens to a quote once it is out, each act a row beside it. Accepting is in `quote_accept`."""

import datetime
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from projects.models import ClientLink, Commission, Member, Quote, QuoteEvent, Studio
from projects.models.commissions import Stage
from projects.models.quote_life import QuoteAct
from projects.models.studio import ClientKind
from projects.quote_state import OPEN, PRINTED, Standing, standing
from projects.services import letters
from projects.services.commissions import commission_move
from projects.services.quote_link import link_make, link_of, link_path
from projects.services.rack_reserve import release
from projects.services.saving import checked

MOST_OPEN = 20
"""Questions that may wait for an answer at once: whoever has the address can ask."""

WHY_NOT = {
    Standing.DRAFT: "This quote has not been issued.",
    Standing.ACCEPTED: "This quote has been accepted already.",
    Standing.DECLINED: "This quote was declined. The studio can issue a new one.",
    Standing.WITHDRAWN: "The studio has withdrawn this quote.",
    Standing.LAPSED: "This quote has lapsed. The studio can issue a new one.",
    Standing.REPLACED: "A later revision has taken the place of this quote.",
}


@dataclass(frozen=True, slots=True)
class Held:
    """A quote whose commission nobody else changes meanwhile, where it stands, and the time of what happens to it."""

    quote: Quote
    commission: Commission
    standing: Standing
    at: datetime.datetime


@contextmanager
def held(quote: Quote, *, now: datetime.datetime | None = None) -> Iterator[Held]:
    """Hold a quote while something happens to it: the commission's row is locked, so that of two acts one is first.

    The studio's row is held before it, as by whoever issues a quote or is at the bench: no two wait for each other.
    """
    with transaction.atomic():
        Studio.objects.select_for_update(no_key=True).get(pk=quote.studio_id)
        whose: Commission = (
            Commission.objects.select_for_update(of=("self",))
            .select_related("studio", "client")
            .get(pk=quote.commission_id)
        )
        row: Quote = Quote.objects.defer(*PRINTED).get(pk=quote.pk)
        row.commission = whose
        # Looked up now that the row is held: an act is never dated before one that it follows.
        last = QuoteEvent.objects.filter(quote=row).order_by("-at").first()
        moment = now or timezone.now()
        at = max(moment, last.at) if last else moment
        yield Held(row, whose, standing(row, today=timezone.localdate(at)), at)


def refuse_decided(one: Held) -> None:
    """Refuse to decide what is decided, has lapsed, or is laid aside."""
    if one.standing not in OPEN:
        raise ValidationError(WHY_NOT[one.standing], code=str(one.standing))
    if one.commission.stage in (Stage.DECLINED, Stage.DELIVERED, Stage.CLOSED):
        raise ValidationError("The studio has laid this aside. Ask before you decide.", code="aside")


def happened(one: Held, what: QuoteAct, **values: Any) -> QuoteEvent:
    """Write an act down."""
    return checked(QuoteEvent(quote=one.quote, what=what, at=one.at, **values))


def quote_send(
    *, quote: Quote, to: str, member: Member, words: str = "", now: datetime.datetime | None = None
) -> QuoteEvent:
    """Mail a quote to someone, with a few words, its papers and the private address, made if there is none.

    A gallery gets both copies. Errors: ValidationError at `to`, or where the quote is no more to be decided.
    """
    with held(quote, now=now) as one:
        if one.standing not in (*OPEN, Standing.ACCEPTED):
            raise ValidationError(WHY_NOT[one.standing])
        if not to.strip():
            raise ValidationError({"to": "Say where to send it."})
        link = link_of(one.commission) or link_make(commission=one.commission, member=member)
        event = happened(one, QuoteAct.SENT, member=member, words=words.strip(), name=to.strip()[:120])
        letters.write(
            commission=one.commission,
            to=to,
            kind="quote",
            context={"quote": one.quote, "link": link_path(link), "words": words.strip()},
            member=member,
            attachments=[{"kind": f"quote_{copy}", "id": one.quote.pk} for copy in copies_for(one.quote)],
        )
        return event


def copies_for(quote: Quote) -> tuple[str, ...]:
    """Which copies of its paper are for whom it is addressed to: a gallery has the trade copy as well."""
    return ("client", "trade") if quote.addressee.get("kind") == ClientKind.GALLERY else ("client",)


def quote_seen(*, quote: Quote, link: ClientLink, now: datetime.datetime | None = None) -> None:
    """Note that the client has seen it, the first time."""
    if QuoteEvent.objects.filter(quote=quote, what=QuoteAct.SEEN).exists():
        return
    with held(quote, now=now) as one:
        if not QuoteEvent.objects.filter(quote=quote, what=QuoteAct.SEEN).exists():
            happened(one, QuoteAct.SEEN, link=link)


def quote_ask(
    *,
    quote: Quote,
    words: str,
    name: str = "",
    link: ClientLink | None = None,
    member: Member | None = None,
    now: datetime.datetime | None = None,
) -> QuoteEvent:
    """Ask the studio about a quote. Errors: ValidationError at `words`, or while too many questions wait."""
    said = _said(words, "Write your question.")
    with held(quote, now=now) as one:
        if len(open_questions(one.quote)) >= MOST_OPEN:
            raise ValidationError("Many questions wait for an answer already. Please wait for it.")
        event = happened(one, QuoteAct.ASKED, words=said, name=name.strip(), link=link, member=member)
        tell_studio(one, "question", words=said, name=event.name)
        return event


def open_questions(quote: Quote) -> list[QuoteEvent]:
    """What was asked since the last answer, in order."""
    waiting: list[QuoteEvent] = []
    for event in quote.events.filter(what__in=(QuoteAct.ASKED, QuoteAct.ANSWERED)).order_by("at", "pk"):
        waiting = [*waiting, event] if event.what == QuoteAct.ASKED else []
    return waiting


def quote_answer(
    *, quote: Quote, words: str, member: Member, now: datetime.datetime | None = None
) -> QuoteEvent:
    """Answer what was asked: shown on the client's page, and mailed with what was asked."""
    said = _said(words, "Write your answer.")
    with held(quote, now=now) as one:
        asked = "\n\n".join(event.words for event in open_questions(one.quote))
        event = happened(one, QuoteAct.ANSWERED, words=said, member=member)
        tell_client(one, "answer", member=member, words=said, question=asked)
        return event


def quote_decline(
    *,
    quote: Quote,
    words: str = "",
    name: str = "",
    link: ClientLink | None = None,
    member: Member | None = None,
    now: datetime.datetime | None = None,
) -> QuoteEvent:
    """The client declines, by the link or through `member`. The commission stays where it is: a revision may follow.

    Errors: ValidationError where it is decided already, has lapsed or was replaced.
    """
    with held(quote, now=now) as one:
        refuse_decided(one)
        event = happened(
            one, QuoteAct.DECLINED, words=words.strip(), name=name.strip(), link=link, member=member
        )
        tell_studio(one, "declined", words=event.words, name=event.name)
        return event


def quote_withdraw(
    *, quote: Quote, words: str, member: Member, now: datetime.datetime | None = None
) -> QuoteEvent:
    """Withdraw a quote, accepted or not, and say why; the client's page shows it.

    Where it was accepted and nothing is made yet, the commission goes back to designing and its boards are free again.
    """
    said = _said(words, "Say why.")
    with held(quote, now=now) as one:
        if one.standing not in (*OPEN, Standing.LAPSED, Standing.ACCEPTED):
            raise ValidationError(WHY_NOT[one.standing])
        event = happened(one, QuoteAct.WITHDRAWN, words=said, member=member)
        if one.standing == Standing.ACCEPTED and one.commission.stage == Stage.AGREED:
            commission_move(commission=one.commission, to=Stage.DESIGNING)
            release(commission=one.commission, member=member)
        return event


def tell_studio(one: Held, kind: str, **context: Any) -> None:
    """Write to the studio, where it has an address."""
    about = {"quote": one.quote, "link": reverse("job", args=[one.commission.pk]), **context}
    letters.write(commission=one.commission, to=one.commission.studio.email, kind=kind, context=about)


def tell_client(one: Held, kind: str, *, member: Member | None = None, **context: Any) -> None:
    """Write to the client, where there is an address."""
    about = {"quote": one.quote, "link": link_path(link_of(one.commission)), **context}
    to = one.commission.client.email
    letters.write(commission=one.commission, to=to, kind=kind, context=about, member=member)


def _said(words: str, otherwise: str) -> str:
    said = words.strip()
    if not said:
        raise ValidationError({"words": otherwise})
    return said
