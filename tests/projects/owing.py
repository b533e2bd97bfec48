"""A quote of 1,000.00 and 200.00 of tax that stands accepted, made without estimating a piece."""

import datetime
from typing import Any

from projects.models import Quote, Studio
from tests.factories import CommissionFactory, QuoteFactory
from tests.factories_papers import QuoteEventFactory

ESTIMATE = {
    "price": {
        "currency": "EUR", "net": "1000.00", "gallery_share": "0.00", "retail_before_tax": "1000.00", "tax": "200.00",
        "retail": "1000.00", "total": "1200.00", "deposit": "500.00", "balance": "700.00",
    },
}  # fmt: skip
SHEET = {"pricing": {"currency": "EUR", "gallery_share": 0.0, "tax": 0.2, "deposit_share": 0.5}}
SIGNED = {"name": "Perpetua Lorn", "text": "All of it.", "sha256": "0" * 64}


def accepted(studio: Studio, *, number: str = "2027-001", **event: Any) -> Quote:
    """A quote of the studio's over 1,200 that stands accepted."""
    quote = QuoteFactory(
        commission=CommissionFactory(studio=studio), estimate=ESTIMATE, sheet=SHEET, state="issued",
        number=number, revision="A", issued_at=datetime.datetime(2027, 3, 1, tzinfo=datetime.UTC),
        valid_until=datetime.date(2027, 4, 1),
    )  # fmt: skip
    QuoteEventFactory(quote=quote, what="accepted", **SIGNED, **event)
    return quote
