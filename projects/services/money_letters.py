"""Letters about money: a paper that asks for it or a reminder of one, and how the payments of a commission stand."""

import datetime

from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.models import Commission, IssuedPaper, Letter, Member
from projects.models.issued import ASKS_FOR_MONEY
from projects.services import letters
from projects.services.quote_link import link_of, link_path
from projects.statement import Request, Statement, statement
from projects.templatetags.turnery import money

NO_ADDRESS = "There is no address to write to. Give the client an email address first."
NOTHING_OPEN = "Nothing of this paper is open."


def request_send(
    *, paper: IssuedPaper, member: Member | None = None, words: str = "", today: datetime.date | None = None
) -> Letter:
    """Mail a request with its paper to the client: again, and as a reminder once it is overdue.

    Errors: ValidationError for a client without an address, and for a paper of which nothing is open.
    """
    commission = paper.commission
    found = statement(commission, today=today or timezone.localdate())
    asked = next((row for row in found.requests if row.paper.pk == paper.pk), None)
    if paper.kind not in ASKS_FOR_MONEY or asked is None or asked.open <= 0:
        raise ValidationError(NOTHING_OPEN)
    return _written(
        commission,
        "request",
        {
            "paper": paper,
            "amount": money(asked.open, found.currency),
            "overdue": asked.is_overdue,
            "words": words,
        },
        member=member,
        attachments=[{"kind": "paper", "id": paper.pk}],
    )


def statement_send(
    *,
    commission: Commission,
    member: Member | None = None,
    words: str = "",
    today: datetime.date | None = None,
) -> Letter:
    """Mail the client how the payments stand. Errors: ValidationError for a client without an address."""
    found = statement(commission, today=today or timezone.localdate())
    return _written(commission, "statement", {"lines": statement_lines(found), "words": words}, member=member)


def statement_lines(found: Statement) -> list[str]:
    """A statement in a few lines of plain text."""
    amounts = [("Agreed", found.agreed), ("Credited", found.credited), ("Received", found.paid_in)]
    amounts += [("Paid back", found.paid_back)] if found.paid_back else []
    lines = [
        f"{words}: {money(amount, found.currency)}"
        for words, amount in amounts
        if amount or words != "Credited"
    ]
    lines += [_open_line(row, found.currency) for row in found.requests if row.open > 0]
    if found.balance < 0:
        return [*lines, f"We owe you: {money(-found.balance, found.currency)}"]
    return [*lines, f"Still to be paid: {money(found.balance, found.currency)}"]


def _open_line(row: Request, currency: str) -> str:
    due = f", due {row.paper.due_on:%-d %B %Y}" if row.paper.due_on else ""
    late = ", overdue" if row.is_overdue else ""
    return f"Open of {row.paper}: {money(row.open, currency)}{due}{late}"


def _written(
    commission: Commission,
    kind: str,
    context: dict[str, object],
    *,
    member: Member | None,
    attachments: list[dict[str, object]] | None = None,
) -> Letter:
    letter = letters.write(
        commission=commission,
        to=commission.client.email,
        kind=kind,
        context={"link": link_path(link_of(commission)), **context},
        member=member,
        attachments=attachments or (),
    )
    if letter is None:
        raise ValidationError(NO_ADDRESS, code="no_address")
    return letter
