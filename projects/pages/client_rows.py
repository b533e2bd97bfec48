"""What the client's page shows of a quote: where it stands in words, the ways to have the piece, what was said."""

from typing import Any

from django.urls import reverse
from django.utils import timezone

from projects.models import Quote, QuoteEvent, QuoteOption
from projects.models.quote_life import QuoteAct
from projects.pages.client_forms import AS_DRAWN
from projects.quote_state import DECIDING, OPEN, Standing, standing
from projects.services.quote_life import copies_for


def options_of_quote(quote: Quote) -> list[QuoteOption]:
    """The options frozen on a quote, in their order."""
    return list(quote.options.exclude(sheet={}).order_by("position"))


def quote_rows(quote: Quote, *, token: str) -> dict[str, Any]:
    """All that the page shows of a quote: what its paper says, where it stands, and the ways to have the piece."""
    # Imported here since it brings the printer, which no other page needs.
    from projects.papers.agreed import copy_for
    from projects.papers.quote import quote_context

    events = list(quote.events.select_related("option", "member__user").order_by("at", "pk"))
    stands = standing(quote, today=timezone.localdate())
    decided = next((event for event in reversed(events) if event.what in DECIDING), None)
    return {
        "paper": quote_context(quote, copy=copy_for(quote)),
        "stands": stands,
        "is_open": stands in OPEN,
        "is_lapsed": stands == Standing.LAPSED,
        "decided": decided,
        "talk": [event for event in events if event.what in (QuoteAct.ASKED, QuoteAct.ANSWERED)],
        "ways": _ways(quote, decided, token=token),
        "copies": copies_for(quote),
        "zone": quote.studio.bench.zone,
    }


def _ways(quote: Quote, decided: QuoteEvent | None, *, token: str) -> list[dict[str, Any]]:
    """The piece as drawn and each option: drawing, size, woods, price, the model's address, the text to be signed."""
    taken = decided is not None and decided.what == QuoteAct.ACCEPTED
    chosen = decided.option_id if decided is not None and taken else None
    return [
        _way(quote, option, token=token) | {"is_taken": taken and chosen == (option.pk if option else None)}
        for option in (None, *options_of_quote(quote))
    ]


def _way(quote: Quote, option: QuoteOption | None, *, token: str) -> dict[str, Any]:
    from projects.papers.agreed import agreed_text, copy_for
    from projects.papers.offered import as_chosen, says_more
    from projects.papers.quote import quote_context

    paper = quote_context(as_chosen(quote, option), copy=copy_for(quote))
    model = reverse("client_model", args=[token])
    return {
        "key": str(option.pk) if option else AS_DRAWN,
        "title": option.title if option else "As drawn",
        "says": says_more(option) if option else [],
        "paper": paper,
        "drawing": f"data:image/svg+xml;base64,{paper['drawing']}",
        "total": paper["prices"].total.amount,
        "model": f"{model}?option={option.pk}" if option else model,
        "text": agreed_text(quote, option),
    }
