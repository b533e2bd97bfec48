"""Where a quote stands and what of it was agreed: from its frozen row and the acts beside it, here alone."""

import datetime
from collections.abc import Iterable
from typing import Any

from django.db import models
from django.db.models import F

from projects.models import Commission, Quote, QuoteEvent
from projects.models.quote_life import QuoteAct
from projects.models.quotes import QuoteState

PRINTED = ("trade_pdf", "client_pdf")
"""The bytes of the papers, which no list and no rule needs."""


class Standing(models.TextChoices):
    """Where a quote stands."""

    DRAFT = "draft", "draft"
    ISSUED = "issued", "issued"
    SEEN = "seen", "seen"
    ACCEPTED = "accepted", "accepted"
    DECLINED = "declined", "declined"
    WITHDRAWN = "withdrawn", "withdrawn"
    LAPSED = "lapsed", "lapsed"
    REPLACED = "replaced", "replaced"


DECIDING = (QuoteAct.ACCEPTED, QuoteAct.DECLINED, QuoteAct.WITHDRAWN)
OPEN = (Standing.ISSUED, Standing.SEEN)
"""Where the client may still accept or decline."""


def standing(quote: Quote, *, today: datetime.date) -> Standing:
    """Where a quote stands on a day: what was decided of it, else whether it was replaced, has lapsed or was seen."""
    return _standing(quote, list(quote.events.all()), newest=_newest(quote), today=today)


def _newest(quote: Quote) -> bool:
    later = Quote.objects.filter(commission_id=quote.commission_id, state=QuoteState.ISSUED)
    return not later.filter(revision__gt=quote.revision).exists()


def _standing(quote: Quote, events: Iterable[QuoteEvent], *, newest: bool, today: datetime.date) -> Standing:
    if not quote.is_issued:
        return Standing.DRAFT
    acts = [event.what for event in sorted(events, key=_in_order)]
    decided = [act for act in acts if act in DECIDING]
    if decided:
        return Standing(decided[-1])
    if not newest:
        return Standing.REPLACED
    if quote.valid_until is not None and quote.valid_until < today:
        return Standing.LAPSED
    return Standing.SEEN if QuoteAct.SEEN in acts else Standing.ISSUED


def _in_order(event: QuoteEvent) -> tuple[datetime.datetime, int]:
    return event.at, event.pk


def current_quote(commission: Commission) -> Quote | None:
    """The newest issued revision, without the bytes of its papers; None before the first is issued."""
    issued = Quote.objects.filter(commission=commission, state=QuoteState.ISSUED).defer(*PRINTED)
    found: Quote | None = issued.order_by("-revision").first()
    return found


def current_standings(
    commissions: Iterable[Commission], *, today: datetime.date
) -> dict[int, tuple[Quote, Standing]]:
    """The newest issued revision and where it stands, by the commission's key: two queries, however many there are."""
    issued = Quote.objects.filter(commission__in=list(commissions), state=QuoteState.ISSUED)
    rows = issued.defer(*PRINTED, "sheet", "estimate", "drawing").prefetch_related("events")
    newest: dict[int, Quote] = {row.commission_id: row for row in rows.order_by("revision")}
    return {
        key: (quote, _standing(quote, quote.events.all(), newest=True, today=today))
        for key, quote in newest.items()
    }


def accepted_quote(commission: Commission) -> tuple[Quote, QuoteEvent] | None:
    """The quote that stands accepted and its acceptance; None where none is, or the acceptance was withdrawn."""
    found = acceptances([commission], "quote", "option").get(commission.pk)
    return (found.quote, found) if found else None


def acceptances(commissions: Iterable[Commission], *related: str) -> dict[int, QuoteEvent]:
    """The acceptance that stands, by the commission's key: one query, with the related rows that are named."""
    events = QuoteEvent.objects.filter(quote__commission__in=list(commissions), what__in=DECIDING)
    last: dict[int, QuoteEvent] = {}
    whose: Any = events.select_related(*related).annotate(commission_id=F("quote__commission"))
    if "quote" in related:
        whose = whose.defer(*(f"quote__{paper}" for paper in PRINTED))
    for event in whose.order_by("at", "pk"):
        last[event.quote_id] = event
    accepted: list[Any] = [event for event in last.values() if event.what == QuoteAct.ACCEPTED]
    return {event.commission_id: event for event in accepted}


def agreed_estimate(event: QuoteEvent) -> dict[str, Any]:
    """The frozen estimate that an acceptance agreed to: that of the option chosen, else of the quote as drawn."""
    return dict((event.option or event.quote).estimate)


def agreed_pricing(event: QuoteEvent) -> dict[str, Any]:
    """The frozen terms of price behind it, as the piece sheet has them."""
    return dict((event.option or event.quote).sheet.get("pricing", {}))
