"""What each paper says, as it is frozen: parties, order, lines, tax by rate and words, from the order it is for."""

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from django.core.exceptions import ValidationError
from django.utils import timezone

from estimating.price.money import round_money
from estimating.price.tax import Taxed
from projects.models import IssuedPaper, Quote
from projects.models.issued import ASKS_FOR_MONEY, PaperKind
from projects.papers import words
from projects.papers.between import between_lines, insured_value, packed
from projects.papers.clauses import window
from projects.papers.parties import untaxed_because
from projects.papers.sizes import paper_of
from projects.papers_money import less, part_of, rates_as_json
from projects.services.paper_order import Order, open_of, taxed_of

TITLES = {
    PaperKind.CONFIRMATION: ("Order confirmation", "Order confirmation"),
    PaperKind.DEPOSIT: ("Deposit request", "Deposit invoice"),
    PaperKind.STAGE: ("Payment request", "Part invoice"),
    PaperKind.BALANCE: ("Balance request", "Final invoice"),
    PaperKind.DELIVERY: ("Delivery note", "Delivery note"),
    PaperKind.CREDIT: ("Credit note", "Credit note"),
}
"""What a paper is headed with: where it is no tax invoice, and where it is one."""

HEAD = ("studio", "client", "paper", "currency", "title", "order")
"""What every paper begins with, and a credit note takes over from the request it corrects."""


@dataclass
class Draft:
    """A paper before it has a number: what its row will hold, and what it says."""

    kind: PaperKind
    content: dict[str, Any]
    quote: Quote | None = None
    stage: int | None = None
    corrects: IssuedPaper | None = None
    due_on: datetime.date | None = None
    is_invoice: bool = False
    taxed: Taxed | None = None


def confirmation(order: Order, *, today: datetime.date) -> Draft:
    """What was agreed, all of it: to be looked through by both sides before the work begins."""
    content = _order(order, today=today) | {
        "piece": _piece(order),
        "payments": _payments(order),
        "changes": [f"{change.number}: {change.title}" for change in order.changes],
        "terms": order.chosen.terms,
        "care": order.chosen.care,
        "rates": rates_as_json(order.whole),
        **_between(order),
    }
    before = order.commission.papers.filter(kind=PaperKind.CONFIRMATION).order_by("-issued_at", "-pk").first()
    if before is not None:
        content["replaces"] = f"{before.number} of {words.day(before.issued_on)}"
    return _draft(order, PaperKind.CONFIRMATION, content, taxed=order.whole)


def request(order: Order, *, stage: int, today: datetime.date, due_on: datetime.date | None = None) -> Draft:
    """A request for one payment; the last shows the whole order and takes off what was asked for before."""
    kind = next((kind for kind, place in order.to_ask() if place == stage), None)
    if kind is None:
        raise ValidationError(
            {"stage": "This payment has been asked for already, or is none of this order's."}
        )
    payment = order.payments[stage - 1]
    content = _order(order, today=today) | {"bank": order.letterhead["bank_details"]}
    if kind == PaperKind.BALANCE:
        taxed = order.left
        if taxed.total <= 0:
            raise ValidationError("Nothing of this order is left to ask for.")
        content["taken_off"] = [earlier(paper) for paper in order.requests]
    else:
        if payment.amount > order.left.total:
            raise ValidationError("More would be asked for than is owed.")
        taxed = part_of(order.whole, payment.amount, currency=order.owed.currency)
        last = len(order.payments)
        content["asked"] = "Deposit with the order" if stage == 1 else f"Payment {stage} of {last}"
    content["rates"] = rates_as_json(taxed)
    return _draft(order, kind, content, taxed=taxed, stage=stage, due_on=due_on or _due(order, today))


def credit(*, corrects: IssuedPaper, amount: Decimal | None, reason: str, today: datetime.date) -> Draft:
    """What is taken back of a request: all that is left of it, or a part, with the reason.

    It says who the parties were as the request does, whatever has become of the order since.
    """
    if corrects.kind not in ASKS_FOR_MONEY:
        raise ValidationError({"corrects": "Choose a request for money."})
    left = open_of(corrects)
    wanted = left if amount is None else amount
    wrong = {}
    if not reason.strip():
        wrong["reason"] = "Say why: it stands on the note."
    if not 0 < wanted <= left or round_money(wanted, currency=corrects.content["currency"]) != wanted:
        wrong["amount"] = f"Give an amount above nothing, up to {left:.{_places(left)}f}."
    if wrong:
        raise ValidationError(wrong)
    rest = less(taxed_of(corrects), (taxed_of(note) for note in corrects.corrections.all()))
    # What takes the last of a request takes the last coin of each rate.
    taxed = rest if wanted == left else part_of(rest, wanted, currency=corrects.content["currency"])
    content = {name: corrects.content[name] for name in (*HEAD, "tax_name", "untaxed")} | {
        "dated": today.isoformat(),
        "reason": reason.strip(),
        "corrects": earlier(corrects),
        "rates": rates_as_json(taxed),
    }
    return Draft(
        PaperKind.CREDIT,
        content,
        quote=corrects.quote,
        corrects=corrects,
        taxed=taxed,
        is_invoice=corrects.is_invoice,
    )


def _places(amount: Decimal) -> int:
    """Decimals that an amount needs: two, unless it has more."""
    exponent = amount.normalize().as_tuple().exponent
    return max(2, -exponent) if isinstance(exponent, int) else 2


def delivery(order: Order, *, today: datetime.date) -> Draft:
    """What goes out, and in what state it was received: no price on it."""
    content = _head(order, today=today) | {
        "piece": _piece(order),
        "care": order.chosen.care,
        "terms": order.chosen.terms,
    }
    if order.has_share:
        value = insured_value(order.chosen.estimate, order.delivery)
        content |= {"insured": str(value), "packed": packed(order.chosen.estimate, order.letterhead)}
        content["two_copies"] = True
    return _draft(order, PaperKind.DELIVERY, content)


def _draft(order: Order, kind: PaperKind, content: dict[str, Any], **values: Any) -> Draft:
    draft = Draft(kind, content, quote=order.quote, **values)
    studio = order.commission.studio
    draft.is_invoice = bool(kind in ASKS_FOR_MONEY and studio.sends_invoices and studio.tax_number)
    return draft


def _head(order: Order, *, today: datetime.date) -> dict[str, Any]:
    """What every paper begins with: who, to whom, of which order."""
    letterhead = order.letterhead
    quote = order.quote
    return {
        "studio": letterhead,
        "client": order.addressee,
        "paper": paper_of(unit=letterhead["length_unit"], currency=letterhead["currency"]),
        "currency": order.owed.currency,
        "title": order.chosen.title,
        "order": {
            "quote": quote.reference,
            "quoted": _date(quote.issued_at),
            "accepted": _date(order.event.at),
            "by": order.event.name,
            "option": order.event.option.title if order.event.option else "",
        },
        "dated": today.isoformat(),
    }


def _order(order: Order, *, today: datetime.date) -> dict[str, Any]:
    """Likewise on papers with money: the order's lines, what they come to, and why no tax is charged."""
    what = _what(order)
    return _head(order, today=today) | {
        "lines": [
            {"words": line.words, "base": str(line.base), "rate": str(line.rate)}
            for line in order.lines(what=what)
        ],
        "whole": rates_as_json(order.whole),
        "tax_name": order.letterhead.get("tax_name") or "Tax",
        "untaxed": untaxed_because(order.letterhead, order.addressee),
        "later_days": sum(change.days for change in order.changes),
    }


def _what(order: Order) -> str:
    sold = (order.chosen.estimate.get("money") or {}).get("sold") or "each"
    pieces = words.of_pieces(int(order.chosen.estimate["quantity"]), sold=sold)
    if order.is_consigned:
        return f"The studio’s part of {pieces[:1].lower()}{pieces[1:]}, as drawn"
    return f"{pieces}, as drawn"


def _as_quoted(order: Order, copy: Literal["client", "trade"]) -> dict[str, Any]:
    # Imported here since it brings the printer, which takes half a second to load.
    from projects.papers.quote import quote_context

    return quote_context(order.chosen, copy=copy)


def _piece(order: Order) -> dict[str, Any]:
    """The piece in words, as the quote has it, and its drawing."""
    said = _as_quoted(order, "client")
    return {
        "summary": said["summary"],
        "facts": [
            [head, ", ".join(lines)] for head, lines in said["facts"] if head not in ("Woods", "Ready")
        ],
        "woods": said["woods"],
        "ready": window(order.delivery) or order.chosen.lead_time,
        "drawing": said["drawing"],
        "alternative": said["alternative"],
        "caption": said["caption"],
        "wide": said["wide"],
    }


def _payments(order: Order) -> list[dict[str, str]]:
    """When what is paid; changes come with the last."""
    last = len(order.payments)
    more = order.whole.total - order.owed.amount
    rows = []
    for stage, payment in enumerate(order.payments, start=1):
        when = "before delivery" if stage == last else "with the order" if stage == 1 else ""
        name = TITLES[order.kind_of(stage)][0].split()[0] if stage in (1, last) else f"Payment {stage}"
        amount = payment.amount + (more if stage == last else 0)
        rows.append({"words": ", ".join(part for part in (name, when) if part), "amount": str(amount)})
    return rows


def _between(order: Order) -> dict[str, Any]:
    """What is the gallery's alone: its account, and what the buyer's copy says in its place."""
    if not order.has_share:
        return {}
    trade, client = (_as_quoted(order, "trade")["prices"], _as_quoted(order, "client")["prices"])
    rows = [*trade.account, trade.net]
    return {
        "two_copies": True,
        "account": [{"words": row.words, "amount": row.amount} for row in rows],
        "between": between_lines(order.chosen.estimate, order.pricing, order.delivery),
        "retail": [{"words": row.words, "amount": row.amount} for row in [*client.lines, client.total]],
    }


def earlier(paper: IssuedPaper) -> dict[str, Any]:
    """A request as a later paper names it: title, number, day, and what it asked for by rate."""
    return {
        "title": title_of(paper.kind, is_invoice=paper.is_invoice, content=paper.content),
        "number": paper.number,
        "date": paper.issued_on.isoformat(),
        "rates": paper.content["rates"],
    }


def title_of(kind: str, *, is_invoice: bool, content: dict[str, Any]) -> str:
    """What a paper is headed with. A balance from which nothing is taken off is simply the whole."""
    if kind == PaperKind.BALANCE and not content.get("taken_off"):
        return "Invoice" if is_invoice else "Payment request"
    return TITLES[PaperKind(kind)][is_invoice]


def _due(order: Order, today: datetime.date) -> datetime.date:
    """As the client is given, else as the studio asks."""
    studio, client = order.commission.studio, order.commission.client
    days = studio.payment_days if client.payment_days is None else client.payment_days
    return today + datetime.timedelta(days=days)


def _date(moment: datetime.datetime | None) -> str:
    return timezone.localdate(moment).isoformat() if moment else ""
