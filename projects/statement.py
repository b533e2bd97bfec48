"""What is owed for a commission: what was agreed, the papers that ask for it, and the payments."""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimating.price.money import round_money
from projects.models import ChangeOrder, Commission, IssuedPaper, Payment, Quote, QuoteEvent, QuoteOption
from projects.models.agreements import Answer
from projects.models.issued import ASKS_FOR_MONEY, PaperKind, PaymentWay
from projects.owed import AT_COST as AT_COST
from projects.owed import Owed as Owed
from projects.owed import is_consigned as is_consigned
from projects.owed import owed as owed
from projects.quote_state import acceptances

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Agreed:
    """One line of what was agreed: the quote, a change to it, or what was asked where no quote was accepted."""

    words: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Request:
    """A paper that asks for money: what of it a credit note took off, and what of the rest is paid."""

    paper: IssuedPaper
    amount: Decimal
    credited: Decimal
    paid: Decimal
    is_overdue: bool

    @property
    def open(self) -> Decimal:
        """What is still to come of it."""
        return self.amount - self.credited - self.paid

    @property
    def is_taken_back(self) -> bool:
        """Whether credit notes took back the whole of it."""
        return self.credited >= self.amount


@dataclass(frozen=True, slots=True)
class Statement:
    """What stands between a client and the studio for one commission; agreed - credited - received + paid back is owed.

    `payments` holds struck ones too, which count for nothing. A credit note for part of a request lowers what is owed,
    and counts in `credited`; one for the whole of it takes the request back, and what it asked for is still owed.
    `ahead` is what came in that no request asked for.
    """

    currency: str
    lines: tuple[Agreed, ...]
    requests: tuple[Request, ...]
    credits: tuple[IssuedPaper, ...]
    payments: tuple[Payment, ...]
    agreed: Decimal
    credited: Decimal
    paid_in: Decimal
    paid_back: Decimal
    ahead: Decimal
    overdue: Decimal
    overdue_since: datetime.date | None

    @property
    def balance(self) -> Decimal:
        """What is still owed; below nothing where the studio owes it back."""
        return self.due_in_all - self.paid

    @property
    def owed_back(self) -> Decimal:
        """What the studio owes back."""
        return max(-self.balance, ZERO)

    @property
    def due_in_all(self) -> Decimal:
        """What was agreed, less what was credited of it."""
        return self.agreed - self.credited

    @property
    def paid(self) -> Decimal:
        """What came in, less what went back."""
        return self.paid_in - self.paid_back

    @property
    def asked(self) -> Decimal:
        """What all requests ask for that stand, less what was credited of them."""
        return sum((row.amount - row.credited for row in self.requests), ZERO)

    @property
    def asked_open(self) -> Decimal:
        """What of the requests is still to come."""
        return sum((row.open for row in self.requests), ZERO)

    @property
    def has_credits(self) -> bool:
        """Whether a credit note took something off a request."""
        return any(row.credited for row in self.requests)

    @property
    def unasked(self) -> Decimal:
        """What is owed and no request has asked for yet; below nothing where more was asked than is owed."""
        return self.due_in_all - self.asked

    @property
    def is_empty(self) -> bool:
        """Whether nothing was agreed, asked or paid."""
        return not (self.lines or self.requests or self.payments)


def statement(commission: Commission, *, today: datetime.date) -> Statement:
    """How a commission's money stands on a day."""
    return statements([commission], today=today)[commission.pk]


def statements(commissions: Iterable[Commission], *, today: datetime.date) -> dict[int, Statement]:
    """How the money of several stands, by their keys; as many queries as for one. All are of one studio."""
    whose = {commission.pk: commission for commission in commissions}
    rows = {"commission__in": list(whose)}
    accepted = _accepted(whose.values())
    papers = _by_commission(_papers(**rows))
    changes = _by_commission(
        ChangeOrder.objects.filter(answer=Answer.AGREED, **rows).defer("sheet", "estimate", "drawing")
    )
    payments = _by_commission(
        Payment.objects.filter(**rows)
        .select_related("paper", "member__user", "struck_by__user")
        .defer("paper__pdf")
    )
    return {
        key: stated(
            accepted.get(key),
            changes=changes[key],
            papers=papers[key],
            payments=payments[key],
            currency=commission.studio.currency,
            today=today,
        )
        for key, commission in whose.items()
    }


def late(commissions: Iterable[Commission], *, today: datetime.date) -> dict[int, list[Request]]:
    """The requests that are overdue, by the commission's key; commissions without one are left out. Two queries."""
    rows = {"commission__in": list(commissions)}
    papers = _by_commission(_papers(**rows))
    payments = _by_commission(
        Payment.objects.filter(struck_at=None, **rows)
        .select_related("paper")
        .defer("paper__pdf", "paper__content")
    )
    found: dict[int, list[Request]] = {}
    for key, mine in papers.items():
        overdue = [row for row in requested(mine, payments[key], today=today)[0] if row.is_overdue]
        if overdue:
            found[key] = overdue
    return found


def _papers(**rows: Any) -> Any:
    asking = (*ASKS_FOR_MONEY, PaperKind.CREDIT)
    return IssuedPaper.objects.filter(kind__in=asking, **rows).defer("pdf").order_by("issued_at", "pk")


def _by_commission(rows: Iterable[Any]) -> defaultdict[int, list[Any]]:
    found: defaultdict[int, list[Any]] = defaultdict(list)
    for row in rows:
        found[row.commission_id].append(row)
    return found


FIGURES = ("estimate__price", "estimate__money", "sheet__pricing")
"""What of a frozen quote says what is owed; the rest of it is long."""


def _accepted(commissions: Iterable[Commission]) -> dict[int, tuple[Quote, Owed]]:
    """The quotes that stand accepted, each with what is owed by it or by the option that was chosen."""
    return {
        key: (quote, owed(figures, figures["pricing"]))
        for key, (_, quote, figures) in accepted_figures(commissions).items()
    }


def accepted_figures(
    commissions: Iterable[Commission],
) -> dict[int, tuple[QuoteEvent, Quote, dict[str, Any]]]:
    """The acceptances that stand, by the commission's key, each with its quote and frozen price, money and pricing."""
    events = acceptances(commissions)
    options = QuoteOption.objects.filter(pk__in=[event.option_id for event in events.values()])
    chosen = {row["pk"]: row for row in options.values("pk", *FIGURES)}
    quotes = Quote.objects.filter(pk__in=[event.quote_id for event in events.values()])
    drawn = {row["pk"]: row for row in quotes.values("pk", *FIGURES)}
    known = {quote.pk: quote for quote in quotes.only("number", "revision", "commission_id")}
    found: dict[int, tuple[QuoteEvent, Quote, dict[str, Any]]] = {}
    for key, event in events.items():
        row = chosen[event.option_id] if event.option_id else drawn[event.quote_id]
        price, money, pricing = (row[name] for name in FIGURES)
        figures = {"price": price, "money": money, "pricing": pricing or {}}
        found[key] = (event, known[event.quote_id], figures)
    return found


def stated(
    accepted: tuple[Quote, Owed] | None,
    *,
    changes: Iterable[ChangeOrder],
    papers: Iterable[IssuedPaper],
    payments: Iterable[Payment],
    currency: str,
    today: datetime.date,
) -> Statement:
    """The statement from its rows: papers in the order of issue, payments in that of their days."""
    rows, kept = list(papers), tuple(payments)
    counted = [row for row in kept if row.struck_at is None]
    requests, ahead = requested(rows, counted, today=today)
    overdue = [row for row in requests if row.is_overdue]
    lines = _lines(accepted, changes, requests)
    lowering = ZERO if accepted is None else sum((r.credited for r in requests if not r.is_taken_back), ZERO)
    return Statement(
        currency=accepted[1].currency if accepted else _currency(requests) or currency,
        lines=lines,
        requests=requests,
        credits=tuple(paper for paper in rows if paper.kind == PaperKind.CREDIT),
        payments=kept,
        agreed=sum((line.amount for line in lines), ZERO),
        credited=lowering,
        paid_in=_sum(counted, PaymentWay.IN),
        paid_back=_sum(counted, PaymentWay.BACK),
        ahead=ahead,
        overdue=sum((row.open for row in overdue), ZERO),
        overdue_since=min((row.paper.due_on for row in overdue if row.paper.due_on), default=None),
    )


def requested(
    papers: Iterable[IssuedPaper], payments: Iterable[Payment], *, today: datetime.date
) -> tuple[tuple[Request, ...], Decimal]:
    """The requests among the papers with what is credited and paid of each, and what came in beyond them."""
    rows = [paper for paper in papers if paper.amount is not None]
    asking = [paper for paper in rows if paper.kind in ASKS_FOR_MONEY]
    credited = _credited(asking, [paper for paper in rows if paper.kind == PaperKind.CREDIT])
    paid, ahead = _allotted(asking, credited, [row for row in payments if row.struck_at is None])
    return tuple(
        _request(paper, credited=credited[paper.pk], paid=paid[paper.pk], today=today) for paper in asking
    ), ahead


def _lines(
    accepted: tuple[Quote, Owed] | None, changes: Iterable[ChangeOrder], requests: Iterable[Request]
) -> tuple[Agreed, ...]:
    """The quote accepted and its changes. Where none is, what was asked and not taken back."""
    if accepted is None:
        return tuple(
            Agreed(str(row.paper), row.amount - row.credited) for row in requests if not row.is_taken_back
        )
    quote, figures = accepted
    quoted = Agreed(f"Quote {quote.reference}", figures.amount)
    mine = [change for change in changes if change.quote_id == quote.pk]
    return (quoted, *(Agreed(f"Change {change.number}: {change.title}", change.amount) for change in mine))


def _credited(asking: Iterable[IssuedPaper], credit_notes: Iterable[IssuedPaper]) -> dict[int, Decimal]:
    """What was taken off each request, at most the whole of it."""
    taken = {paper.pk: ZERO for paper in asking}
    for note in credit_notes:
        if note.corrects_id in taken:
            taken[note.corrects_id] += abs(note.amount)
    return {paper.pk: min(taken[paper.pk], paper.amount) for paper in asking}


def _allotted(
    asking: Sequence[IssuedPaper], credited: Mapping[int, Decimal], payments: Iterable[Payment]
) -> tuple[dict[int, Decimal], Decimal]:
    """What is paid of each request, and what came in beyond that.

    A payment for a paper goes to it as far as it asks for it; the rest, and what is for no paper, to the oldest open
    request first. What was paid back comes off likewise, in the end off the newest request.
    """
    paid = {paper.pk: ZERO for paper in asking}
    loose = ZERO
    for payment in payments:
        amount = payment.amount if payment.way == PaymentWay.IN else -payment.amount
        target = _target(payment)
        if target in paid:
            paid[target] += amount
        else:
            loose += amount
    for paper in asking:
        within = min(max(paid[paper.pk], ZERO), paper.amount - credited[paper.pk])
        loose += paid[paper.pk] - within
        paid[paper.pk] = within
    for paper in asking if loose > 0 else reversed(asking):
        room = paper.amount - credited[paper.pk] - paid[paper.pk]
        more = max(min(loose, room), -paid[paper.pk])
        paid[paper.pk] += more
        loose -= more
    return paid, loose


def _target(payment: Payment) -> int | None:
    """The request that a payment is for; one for a credit note is for the request it corrects."""
    paper = payment.paper
    if paper is None:
        return None
    return paper.corrects_id if paper.kind == PaperKind.CREDIT else paper.pk


def _request(paper: IssuedPaper, *, credited: Decimal, paid: Decimal, today: datetime.date) -> Request:
    is_open = paper.amount - credited - paid > 0
    is_late = paper.due_on is not None and paper.due_on < today
    return Request(paper, paper.amount, credited, paid, is_open and is_late)


def _currency(requests: Iterable[Request]) -> str:
    named = (row.paper.content.get("currency") for row in requests)
    return next((str(currency) for currency in named if currency), "")


def _sum(payments: Iterable[Payment], way: PaymentWay) -> Decimal:
    return sum((row.amount for row in payments if row.way == way), ZERO)


def is_whole(amount: Decimal, *, currency: str) -> bool:
    """Whether an amount is in whole coins of its currency, by ISO 4217."""
    return round_money(amount, currency=currency) == amount
