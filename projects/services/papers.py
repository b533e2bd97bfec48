"""Handing papers out beside the quote: numbered by kind without a gap, frozen, printed, and never changed."""

import base64
import datetime
import hashlib
from collections.abc import Callable
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from projects.models import Commission, IssuedPaper, Member, PaperSeries, Studio
from projects.models.issued import ASKS_FOR_MONEY, PaperKind
from projects.models.paper_terms import ClientTax
from projects.services import letters
from projects.services.paper_content import Draft, confirmation, credit, delivery, request, title_of
from projects.services.paper_order import Order, order_of
from projects.services.saving import checked
from projects.templatetags.turnery import money

LETTERS = {
    PaperKind.CONFIRMATION: "C",
    PaperKind.DEPOSIT: "D",
    PaperKind.STAGE: "P",
    PaperKind.BALANCE: "B",
    PaperKind.DELIVERY: "N",
    PaperKind.CREDIT: "R",
}
"""What each series' numbers begin with."""


def paper_draft(
    *,
    commission: Commission,
    kind: str,
    stage: int | None = None,
    corrects: IssuedPaper | None = None,
    amount: Decimal | None = None,
    reason: str = "",
    due_on: datetime.date | None = None,
    today: datetime.date | None = None,
) -> Draft:
    """What a paper would say if it were handed out now. Errors: ValidationError, keyed by field where there is one."""
    today = today or timezone.localdate()
    if kind == PaperKind.CREDIT:
        if corrects is None or corrects.commission_id != commission.pk:
            raise ValidationError({"corrects": "Choose a request of this commission."})
        return credit(corrects=corrects, amount=amount, reason=reason, today=today)
    order = order_of(commission)
    if kind in ASKS_FOR_MONEY:
        if due_on is not None and due_on < today:
            raise ValidationError({"due_on": "This day has passed."})
        return _as_invoice(
            order, request(order, stage=_stage(order, kind, stage), today=today, due_on=due_on)
        )
    made: dict[str, Callable[..., Draft]] = {
        PaperKind.CONFIRMATION: confirmation,
        PaperKind.DELIVERY: delivery,
    }
    if kind not in made:
        raise ValidationError({"kind": "There is no such paper."})
    return made[kind](order, today=today)


def _stage(order: Order, kind: str, stage: int | None) -> int:
    """Which payment: the one named, else the first of its kind that may be asked for."""
    found = [place for sort, place in order.to_ask() if sort == kind and stage in (None, place)]
    if not found:
        raise ValidationError(
            {"stage": "This has been asked for already, or is none of this order's payments."}
        )
    return found[0]


def _as_invoice(order: Order, draft: Draft) -> Draft:
    """Refuse a tax invoice without what the law asks for on one where the client accounts for the tax.

    Source: Directive 2006/112/EC article 226, point 4: the customer's number where the customer is liable; from memory.
    """
    reverse = order.addressee.get("tax_status") == ClientTax.REVERSE
    if draft.is_invoice and reverse and not order.addressee.get("tax_number"):
        raise ValidationError("Write down the client's tax number first: a reverse charge invoice needs it.")
    return draft


def paper_issue(
    *,
    commission: Commission,
    kind: str,
    member: Member | None = None,
    stage: int | None = None,
    corrects: IssuedPaper | None = None,
    amount: Decimal | None = None,
    reason: str = "",
    due_on: datetime.date | None = None,
    send_to: str = "",
    today: datetime.date | None = None,
) -> IssuedPaper:
    """Hand a paper out: number it in its series, freeze what it says, print it, and mail it where `send_to` says.

    Of two who ask for the same payment at once, one gets it. Errors: ValidationError as `paper_draft`; nothing is saved
    and no number used up then.
    """
    today = today or timezone.localdate()
    with transaction.atomic():
        # In the order in which quotes take them, and not barring rows that refer to these.
        studio = Studio.objects.select_for_update(no_key=True).get(pk=commission.studio_id)
        held = Commission.objects.select_for_update(no_key=True, of=("self",))
        current: Commission = held.select_related("client", "studio__pricing").get(pk=commission.pk)
        draft = paper_draft(
            commission=current,
            kind=kind,
            stage=stage,
            corrects=corrects,
            amount=amount,
            reason=reason,
            due_on=due_on,
            today=today,
        )
        number = _number(studio, draft.kind, today=today)
        paper = paper_row(draft, commission=current, number=number, member=member, today=today)
        _print(paper)
        checked(paper)
        if send_to:
            paper_send(paper=paper, to=send_to, member=member)
    return paper


def paper_row(
    draft: Draft,
    *,
    commission: Commission,
    number: str,
    today: datetime.date,
    member: Member | None = None,
) -> IssuedPaper:
    """A paper as it would be saved, not printed yet; for a preview as well, which is given a number that is none."""
    found = draft.taxed
    head = title_of(draft.kind, is_invoice=draft.is_invoice, content=draft.content)
    return IssuedPaper(
        studio=commission.studio,
        commission=commission,
        quote=draft.quote,
        corrects=draft.corrects,
        kind=draft.kind,
        number=number,
        stage=draft.stage,
        issued_on=today,
        issued_at=timezone.now(),
        issued_by=member,
        due_on=draft.due_on,
        is_invoice=draft.is_invoice,
        content=draft.content | {"head": head},
        **({"base": found.base, "tax": found.tax, "amount": found.total} if found else {}),
    )


def _number(studio: Studio, kind: PaperKind, *, today: datetime.date) -> str:
    """The next number of a series: `D-2026-001`. Its row stays locked until the paper is saved, or nothing is."""
    rows = PaperSeries.objects.for_studio(studio).select_for_update()
    series, _ = rows.get_or_create(studio=studio, kind=kind)
    if today.year > series.year:
        series.year, series.count = today.year, 0
    series.count += 1
    series.save(update_fields=["year", "count"])
    return f"{LETTERS[kind]}-{series.year}-{series.count:03}"


def _print(paper: IssuedPaper) -> None:
    """Its PDF and SHA-256; where a gallery's share stands between, the buyer's copy as well, in `content`."""
    # Imported here since the printer takes half a second to load and only a paper handed out is printed.
    from projects.papers.handed_out import paper_pdf

    two = bool(paper.content.get("two_copies"))
    paper.pdf = paper_pdf(paper, copy="trade" if two else "client")
    paper.sha256 = hashlib.sha256(paper.pdf).hexdigest()
    if two:
        printed = paper_pdf(paper, copy="client")
        paper.content = paper.content | {
            "client_pdf": base64.b64encode(printed).decode(),
            "client_sha256": hashlib.sha256(printed).hexdigest(),
        }


def client_copy(paper: IssuedPaper) -> bytes:
    """The copy for the buyer: one of its own where a gallery's share stands between, else the paper itself."""
    kept = paper.content.get("client_pdf")
    return base64.b64decode(kept) if kept else bytes(paper.pdf)


def paper_send(*, paper: IssuedPaper, to: str, member: Member | None = None, words: str = "") -> None:
    """Mail a paper to someone. Errors: ValidationError at `to` for what is no address."""
    if not to.strip():
        raise ValidationError({"to": "Say where to send it."})
    amount = "" if paper.amount is None else money(paper.amount, paper.content["currency"])
    letters.write(
        commission=paper.commission,
        to=to,
        kind="request",
        context={"paper": paper, "amount": amount, "words": words.strip()},
        member=member,
        attachments=[{"kind": "paper", "id": paper.pk}],
    )
