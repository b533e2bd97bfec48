"""The order that papers are made out for: what was accepted, with its changes, and what was asked for before."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.core.exceptions import ValidationError

from estimating.price.payments import Payment
from estimating.price.tax import Taxed
from projects.models import ChangeOrder, Commission, IssuedPaper, Quote, QuoteEvent
from projects.models.agreements import Answer
from projects.models.issued import ASKS_FOR_MONEY, PaperKind
from projects.owed import Owed, gallery_mode, is_consigned, owed
from projects.papers.offered import as_chosen
from projects.papers_money import (
    Line,
    change_lines,
    less,
    order_lines,
    payments_due,
    rates_from_json,
    with_changes,
)
from projects.quote_state import accepted_quote
from projects.services.freezing import frozen_addressee, frozen_letterhead

NOT_AGREED = "No quote of this commission stands accepted. Papers are made out for what was agreed."
AS_ACCEPTED = ("tax_status", "tax_note", "tax_name", "currency", "length_unit", "inch_style")
"""What of a letterhead goes by the quote: the figures were made with it."""


@dataclass(frozen=True)
class Order:
    """What was accepted, read as if the option chosen were the quote, and the changes agreed since."""

    commission: Commission
    quote: Quote
    event: QuoteEvent
    chosen: Quote
    changes: tuple[ChangeOrder, ...]

    @property
    def pricing(self) -> dict[str, Any]:
        """The pricing section that the accepted figures were made with."""
        return dict(self.chosen.sheet["pricing"])

    @cached_property
    def owed(self) -> Owed:
        """What the client owes by the quote, before changes."""
        return owed(self.chosen.estimate, self.pricing)

    @cached_property
    def whole(self) -> Taxed:
        """What the client owes in all, changes and all, by rate of tax."""
        return with_changes(self.owed, self.changes)

    @cached_property
    def letterhead(self) -> dict[str, Any]:
        """The studio as it is now; how figures are taxed and written as on the quote."""
        accepted = {name: self.quote.letterhead.get(name, "") for name in AS_ACCEPTED}
        return frozen_letterhead(self.commission.studio) | accepted

    @cached_property
    def addressee(self) -> dict[str, Any]:
        """The client as it is now, taxed as on the quote; of delivery, what the quote says, else what is agreed now."""
        now, then = frozen_addressee(self.commission), self.quote.addressee
        said = {name: value for name, value in then.get("delivery", {}).items() if value not in (None, "")}
        return now | {"tax_status": then.get("tax_status", ""), "delivery": now["delivery"] | said}

    @property
    def delivery(self) -> dict[str, Any]:
        """What is agreed of delivery and rights."""
        return dict(self.addressee["delivery"])

    @property
    def is_consigned(self) -> bool:
        """Whether a gallery sells it on and keeps its share."""
        return is_consigned(self.chosen.estimate, self.pricing)

    @property
    def has_share(self) -> bool:
        """Whether a gallery's share stands between studio and buyer, which the buyer's copy says nothing of."""
        buys = gallery_mode(self.chosen.estimate, self.pricing) == "purchase"
        return not buys and bool(float(self.pricing.get("gallery_share") or 0))

    @cached_property
    def payments(self) -> tuple[Payment, ...]:
        """What is paid when, before changes: those come on the last."""
        via = self.delivery.get("deposit_via") or "direct"
        return payments_due(self.owed, self.chosen.estimate, self.pricing, deposit_via=via)

    def lines(self, *, what: str) -> list[Line]:
        """The order line by line before tax, the pieces called `what`."""
        return [
            *order_lines(self.owed, self.chosen.estimate, what=what),
            *change_lines(self.changes, rate=self.owed.at_rates[0].rate),
        ]

    @cached_property
    def requests(self) -> tuple[IssuedPaper, ...]:
        """The requests that stand, oldest first: those that a credit note took back as a whole ask for nothing."""
        rows = self.commission.papers.filter(kind__in=ASKS_FOR_MONEY).defer("pdf").order_by("issued_at", "pk")
        return tuple(row for row in rows.prefetch_related("corrections") if open_of(row) > 0)

    @property
    def left(self) -> Taxed:
        """What no request has asked for yet, by rate."""
        return less(self.whole, (taxed_of(paper) for paper in self.requests))

    def kind_of(self, stage: int) -> PaperKind:
        """What the request for a payment is called, by its place from 1: deposit, payment, and last the balance."""
        if stage == len(self.payments):
            return PaperKind.BALANCE
        return PaperKind.DEPOSIT if stage == 1 else PaperKind.STAGE

    def to_ask(self) -> Iterator[tuple[PaperKind, int]]:
        """The requests that may be made out now, in order: those not asked for, as long as the balance is not."""
        asked = {paper.stage for paper in self.requests}
        last = len(self.payments)
        if last in asked:
            # Changes agreed after it leave something to ask for.
            if self.left.total > 0:
                yield PaperKind.BALANCE, last
            return
        yield from ((self.kind_of(stage), stage) for stage in range(1, last + 1) if stage not in asked)


def order_of(commission: Commission) -> Order:
    """The order of a commission. Errors: ValidationError where no quote of it stands accepted."""
    found = accepted_quote(commission)
    if found is None:
        raise ValidationError(NOT_AGREED, code="not_agreed")
    quote, event = found
    agreed = commission.change_orders.filter(quote=quote, answer=Answer.AGREED).defer("sheet", "drawing")
    return Order(commission, quote, event, as_chosen(quote, event.option), tuple(agreed.order_by("number")))


def taxed_of(paper: IssuedPaper) -> Taxed:
    """What a paper asked for, by rate."""
    return rates_from_json(paper.content["rates"])


def open_of(paper: IssuedPaper) -> Decimal:
    """What of a request no credit note has taken back."""
    taken = (credit.amount for credit in paper.corrections.all())
    return Decimal(paper.amount - sum(taken, Decimal(0)))
