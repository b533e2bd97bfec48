"""Orders to make papers out for: a frozen quote saved and accepted, with changes agreed."""

import datetime
from decimal import Decimal
from typing import Any

from django.utils import timezone

from projects.models import ChangeOrder, Commission, Quote, Studio
from projects.services.freezing import frozen_addressee, frozen_letterhead
from tests.factories import ClientFactory, CommissionFactory
from tests.factories_papers import ChangeOrderFactory, QuoteEventFactory
from tests.projects.frozen import frozen_quote

DAY = datetime.date(2027, 3, 10)


def accepted_order(
    studio: Studio,
    *,
    pricing: dict[str, Any] | None = None,
    client: dict[str, Any] | None = None,
    delivery: dict[str, Any] | None = None,
    **frozen: Any,
) -> Commission:
    """A commission whose quote stands accepted. `pricing` as `frozen_quote` takes it; a private client unless said."""
    who = {"kind": "private", "name": f"Ilse Varrow {Quote.objects.count()}", **(client or {})}
    buyer = ClientFactory(studio=studio, **who)
    title = frozen.pop("title", "Tall vase for the stair")
    commission = CommissionFactory(
        studio=studio, client=buyer, title=title, stage="agreed", **(delivery or {})
    )
    terms = {"gallery_share": 0, "currency": studio.currency, **(pricing or {})}
    quote = frozen_quote(pricing=terms, title=title, **frozen)
    quote.studio, quote.commission = studio, commission
    quote.number, quote.revision = f"2027-{Quote.objects.filter(studio=studio).count() + 1:03}", "A"
    quote.letterhead, quote.addressee = frozen_letterhead(studio), frozen_addressee(commission)
    quote.save()
    accept(quote)
    return commission


def accept(quote: Quote) -> None:
    """Take down that it was accepted."""
    QuoteEventFactory(
        quote=quote,
        what="accepted",
        name="Ilse Varrow",
        text="All of it.",
        sha256="0" * 64,
        at=timezone.now(),
    )


def change(commission: Commission, *, base: str, tax: str = "0", title: str = "A wider rim") -> ChangeOrder:
    """A change that the client has agreed to."""
    return ChangeOrderFactory(
        quote=commission.quotes.get(),
        number=commission.change_orders.count() + 1,
        title=title,
        base=Decimal(base),
        tax=Decimal(tax),
        amount=Decimal(base) + Decimal(tax),
        answer="agreed",
        answered_at=timezone.now(),
        answered_name="Ilse Varrow",
    )
