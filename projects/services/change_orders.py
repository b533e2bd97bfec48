"""Changes after something was agreed: priced against it, put to the client once, agreed to or not."""

import datetime
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import Max
from django.utils import timezone

from estimating.errors import InvalidSheet
from projects.agreed import AgreedPiece, agreed_piece, design_differs, named_finish, readable
from projects.design_differs import fingerprint
from projects.drawings import quote_drawing
from projects.estimates import estimate_data, finish_of, sheet_data
from projects.models import ChangeOrder, ClientLink, Commission, Member, Quote, QuoteEvent
from projects.owed import Owed, is_consigned, owed
from projects.quote_state import accepted_quote, agreed_estimate, agreed_pricing
from projects.services.agreements import (
    answer,
    job_held,
    refuse_at_end,
    tell_client,
    tell_studio,
    waiting,
    withdraw,
)
from projects.services.saving import checked
from projects.statement import is_whole, statement
from projects.templatetags.turnery import money

NOT_ACCEPTED = "No quote stands accepted. Until one does, issue a revision of the quote instead."
CHANGED = "The design has been changed since this page was opened. Look at what it comes to now."
NO_AMOUNT = "Say what the change comes to; 0 where nothing."
LAPSED = "This offer has lapsed. Ask the studio for a new one."
NO_MORE_ACCEPTED = "The quote that it changes stands accepted no more."
_OF_THE_SHOP = ("shop", "adhesive", "usual_board", "boards", "climate")


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the design as it is now comes to against what was agreed: both at today's figures and the agreed terms.

    `before` and `after` are what the client pays for the one and the other; `differs` says what is other. `sheet`,
    `estimate` and `drawing` are what is frozen, `mark` is the fingerprint of the sheet.
    """

    agreed: AgreedPiece
    differs: tuple[str, ...]
    before: Owed
    after: Owed
    sheet: Mapping[str, Any]
    estimate: Mapping[str, Any]
    drawing: str
    mark: str

    @property
    def base(self) -> Decimal:
        """What it goes up by before tax; below nothing for less."""
        return self.after.base - self.before.base

    @property
    def tax(self) -> Decimal:
        """What the tax goes up by."""
        return self.after.tax - self.before.tax

    @property
    def amount(self) -> Decimal:
        """Both together."""
        return self.base + self.tax

    @property
    def size(self) -> Decimal:
        """How much that is, whichever way."""
        return abs(self.amount)


@dataclass(frozen=True, slots=True)
class ChangeTerms:
    """In what a change's price is said: the agreed currency and tax, and whether the price has its tax in it."""

    currency: str
    rate: Decimal
    is_inclusive: bool

    def parts(self, amount: Decimal) -> tuple[Decimal, Decimal]:
        """An amount as it is typed, as what is before tax and the tax."""
        # Imported here since the arithmetic is only asked when something is priced.
        from estimating.price.tax import tax_lines

        taxed = tax_lines(
            [(amount, self.rate)], inclusive=self.is_inclusive, by="quote", currency=self.currency
        )
        return taxed.base, taxed.tax


def change_terms(event: QuoteEvent) -> ChangeTerms:
    """The terms that a change goes by: those of the quote as it was accepted."""
    pricing = agreed_pricing(event)
    figures = owed(agreed_estimate(event), pricing)
    rate = figures.at_rates[0].rate if figures.at_rates else Decimal(0)
    # What a gallery that sells on consignment pays the studio never has its tax in it.
    consigned = is_consigned(agreed_estimate(event), pricing)
    return ChangeTerms(figures.currency, rate, bool(pricing.get("tax_inclusive")) and not consigned)


def change_proposed(commission: Commission) -> Proposal | None:
    """What the design as it is now comes to; None where nothing was agreed or nothing differs.

    Both pieces are estimated anew, with the shop, the boards and the rates of today and the terms that were agreed, so
    that the difference is that of the change alone. A price that was named by the client is left out of both.
    Errors: ValidationError at `design` where one of the two cannot be estimated.
    """
    accepted, agreed, design = accepted_quote(commission), agreed_piece(commission), commission.design
    if accepted is None or agreed is None or design is None:
        return None
    finish = finish_of(design)
    woods = _woods(agreed.sheet)
    now = sheet_data(design, commission=commission, more_woods=woods)
    sheet = named_finish(now, finish.name if finish else "")
    differs = design_differs(commission, agreed.sheet, sheet)
    if not differs:
        return None
    pricing = {**agreed_pricing(accepted[1]), "price_from": "cost"}
    pricing.pop("offer", None)
    before = {key: value for key, value in readable(agreed.sheet).items() if key not in _OF_THE_SHOP}
    before |= {key: now[key] for key in _OF_THE_SHOP if key in now}
    answers = [_estimated(commission, {**one, "pricing": pricing}) for one in (before, now)]
    return Proposal(
        agreed=agreed,
        differs=differs,
        before=owed(answers[0][0], pricing),
        after=owed(answers[1][0], pricing),
        sheet=sheet,
        estimate=answers[1][0],
        drawing=answers[1][1],
        mark=fingerprint(sheet),
    )


def _woods(sheet: Mapping[str, Any]) -> set[str]:
    """The woods a sheet is sawn from as far as its boards and laminates say; unknown ones do no harm."""
    lying = {board["wood"] for board in sheet.get("boards", ())}
    parts = sheet.get("parts") or [sheet]
    return lying | {key for part in parts for band in part.get("bands", ()) for key in band.get("woods", ())}


def _estimated(commission: Commission, sheet: Mapping[str, Any]) -> tuple[dict[str, Any], str]:
    from estimating.answer import as_json

    try:
        _, estimate = estimate_data(sheet, studio=commission.studio)
    except InvalidSheet as refusal:
        raise ValidationError({"design": list(map(str, refusal.errors))}) from refusal
    return as_json(estimate), quote_drawing(estimate, studio=commission.studio)


def change_ask(
    *,
    commission: Commission,
    title: str,
    words: str = "",
    amount: Decimal | None = None,
    days: int | None = 0,
    valid_until: datetime.date | None = None,
    with_drawing: bool = True,
    seen: str = "",
    member: Member,
    now: datetime.datetime | None = None,
) -> ChangeOrder:
    """Put a change and its price to the client; with the design as it is now, where it differs and `with_drawing`.

    `amount` is typed as the quote's prices are, before tax or with it; None takes what was proposed. `seen` is the mark
    of the proposal that was looked at. Errors: ValidationError by field; where no quote stands accepted, or the design
    has changed since.
    """
    moment = now or timezone.now()
    # Estimated before anything is locked: it can take a second that no one else should wait for.
    proposal = change_proposed(commission) if with_drawing else None
    if with_drawing and seen and (proposal is None or proposal.mark != seen):
        raise ValidationError(CHANGED, code="changed")
    with job_held(commission) as whose:
        refuse_at_end(whose)
        accepted = accepted_quote(whose)
        if accepted is None:
            raise ValidationError(NOT_ACCEPTED)
        change = ChangeOrder(studio=whose.studio, commission=whose, quote=accepted[0], asked_by=member)
        change.title, change.words, change.asked_at = title.strip(), words.strip(), moment
        change.days, change.number = days or 0, _next_number(whose)
        change.valid_until = _open_until(whose, valid_until, timezone.localdate(moment))
        _priced(change, amount, proposal, change_terms(accepted[1]))
        if proposal is not None:
            change.sheet, change.estimate = dict(proposal.sheet), dict(proposal.estimate)
            change.drawing = proposal.drawing
        change.text = _text(change, accepted, proposal, timezone.localdate(moment))
        change.sha256 = hashlib.sha256(change.text.encode()).hexdigest()
        checked(change)
        tell_client(whose, "change", member=member, change=change, words=change.words)
        return change


def _next_number(commission: Commission) -> int:
    """The commission's row is held, so that nobody else takes it."""
    last: int | None = ChangeOrder.objects.filter(commission=commission).aggregate(last=Max("number"))["last"]
    return (last or 0) + 1


def _open_until(commission: Commission, day: datetime.date | None, today: datetime.date) -> datetime.date:
    until = day or today + datetime.timedelta(days=commission.studio.quote_valid_days)
    if until < today:
        raise ValidationError({"valid_until": "This day has passed."})
    return until


def _priced(
    change: ChangeOrder, amount: Decimal | None, proposal: Proposal | None, terms: ChangeTerms
) -> None:
    """Its parts: those proposed where that is the amount, else tax at the agreed rate."""
    if proposal is not None and amount in (None, asked_amount(proposal, terms)):
        change.base, change.tax = proposal.base, proposal.tax
    elif amount is None:
        raise ValidationError({"amount": NO_AMOUNT})
    elif not is_whole(amount, currency=terms.currency):
        raise ValidationError({"amount": f"There are no such parts of {terms.currency}."})
    else:
        change.base, change.tax = terms.parts(amount)
    change.amount = change.base + change.tax


def asked_amount(proposal: Proposal, terms: ChangeTerms) -> Decimal:
    """What is proposed, as the quote says prices: before tax, or with it."""
    return proposal.amount if terms.is_inclusive else proposal.base


def _text(
    change: ChangeOrder,
    accepted: tuple[Quote, QuoteEvent],
    proposal: Proposal | None,
    today: datetime.date,
) -> str:
    """The whole of what is put, as the client's page shows it."""
    so_far = statement(change.commission, today=today)

    def sum_of(amount: Decimal) -> str:
        return money(amount, so_far.currency)

    lines = [
        f"Change {change.number} to quote {accepted[0].reference}: {change.title}",
        f"Piece: {change.commission.title}",
        f"For: {change.commission.client.name}",
        f"By: {change.studio.name}",
        f"Offered on {today:%Y-%m-%d}, open until {change.valid_until:%Y-%m-%d}",
        *([f"What changes: {change.words}"] if change.words else []),
    ]
    if proposal is not None:
        lines += ["In the drawing:", *(f"- {words}" for words in proposal.differs)]
        lines.append(f"SHA-256 of the drawing: {hashlib.sha256(proposal.drawing.encode()).hexdigest()}")
    lines += [
        f"Before tax: {sum_of(change.base)}",
        f"Tax: {sum_of(change.tax)}",
        f"With tax: {sum_of(change.amount)}",
        f"Agreed so far: {sum_of(so_far.agreed)}; with this change: {sum_of(so_far.agreed + change.amount)}",
        days_words(change.days),
        "Agreeing says: I have read this, and the piece may be made so, at this price.",
    ]
    return "\n".join(lines)


def days_words(days: int) -> str:
    """How the change moves the day on which it is ready."""
    if not days:
        return "It is ready on the day that was agreed."
    count = f"{abs(days)} day{'' if abs(days) == 1 else 's'}"
    return f"It is ready {count} {'later' if days > 0 else 'earlier'}."


def change_answer(
    *,
    change: ChangeOrder,
    agreed: bool,
    name: str = "",
    words: str = "",
    link: ClientLink | None = None,
    member: Member | None = None,
    now: datetime.datetime | None = None,
) -> ChangeOrder:
    """The client agrees to a change or refuses it: by the private page (`link`), or taken down by `member`.

    What is promised moves by its days where it is agreed to. Errors: ValidationError at `name`; with code `answered`,
    `lapsed`, or where the quote that it changes stands accepted no more.
    """
    with waiting(change) as row:
        if agreed:
            _refuse_lapsed(row, timezone.localdate(now or timezone.now()))
        answer(row, agreed=agreed, name=name, words=words, link=link, member=member, now=now)
        if agreed and row.days:
            _move_promise(row.commission, datetime.timedelta(days=row.days))
        tell_studio(row, "change_answered", change=row)
        return row


def _refuse_lapsed(change: ChangeOrder, today: datetime.date) -> None:
    if change.valid_until < today:
        raise ValidationError(LAPSED, code="lapsed")
    accepted = accepted_quote(change.commission)
    if accepted is None or accepted[0].pk != change.quote_id:
        raise ValidationError(NO_MORE_ACCEPTED)


def _move_promise(commission: Commission, by: datetime.timedelta) -> None:
    for field in ("promised_on", "ready_from", "ready_to"):
        day = getattr(commission, field)
        if day is not None:
            setattr(commission, field, max(day + by, commission.asked_on))
    checked(commission)


def change_withdraw(
    *, change: ChangeOrder, member: Member, words: str = "", now: datetime.datetime | None = None
) -> ChangeOrder:
    """Take back a change that still waits. Errors: ValidationError with code `answered`."""
    return withdraw(change, member=member, words=words, now=now)
