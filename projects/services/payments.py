"""Payments taken down and struck: in whole coins, once each, and no more back than came in."""

from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from estimating.price.money import minor_digits
from projects.models import Commission, Member, Payment
from projects.models.issued import ASKS_FOR_MONEY, PaperKind, PaymentWay
from projects.services.saving import changed, checked
from projects.statement import is_whole, statement

TWICE = "One of this amount is down for this day already. Tick below if this is another one."
STRUCK = "This payment has been struck already."
SAME = ("way", "amount", "paid_on", "by", "reference", "paper_id")
"""What two payments that are one have alike."""


def payment_take(
    *, commission: Commission, member: Member | None = None, again: bool = False, **values: Any
) -> Payment:
    """Take a payment down, in the currency of the commission's quote and papers.

    `again` says that it is another one like one that is there. Errors: ValidationError keyed by field: an amount that
    is not in whole coins, a paper that asks for nothing, more paid back than came in, one that is there already.
    """
    with transaction.atomic():
        row = _held(commission)
        payment = changed(Payment(studio_id=row.studio_id, commission=row, member=member), values)
        payment.full_clean()
        refuse_parts_of_a_coin(payment.amount, statement(row, today=timezone.localdate()).currency)
        _refuse_paper(payment)
        _refuse_more_back_than_in(row, payment)
        if not again and _is_there(payment):
            raise ValidationError({"amount": ValidationError(TWICE, code="twice")})
        return checked(payment)


def payment_strike(*, payment: Payment, why: str, member: Member | None = None) -> Payment:
    """Strike a payment that was taken down wrongly; it stays, and counts for nothing.

    Errors: ValidationError at `struck_why` without a reason, for one struck already, and where what was paid back would
    be more than what came in.
    """
    reason = " ".join(why.split())
    if not reason:
        raise ValidationError({"struck_why": "Say why it is struck."})
    with transaction.atomic():
        row = _held(payment.commission)
        current: Payment = (
            Payment.objects.select_related("commission", "paper").defer("paper__pdf").get(pk=payment.pk)
        )
        if current.struck_at is not None:
            raise ValidationError(STRUCK, code="struck")
        current.struck_at, current.struck_by, current.struck_why = timezone.now(), member, reason
        _refuse_more_back_than_in(row, current)
        return checked(current)


def _held(commission: Commission) -> Commission:
    """The commission's row, locked: what happens to its money comes one after the other."""
    row: Commission = (
        Commission.objects.select_for_update(of=("self",), no_key=True)
        .select_related("studio")
        .get(pk=commission.pk)
    )
    return row


def refuse_parts_of_a_coin(amount: Decimal, currency: str) -> None:
    """Refuse, at `amount`, what is not in whole coins of its currency."""
    if not is_whole(amount, currency=currency):
        places = minor_digits(currency)
        whole = f"has {places} decimals" if places else "has no decimals"
        raise ValidationError({"amount": f"{currency} {whole}: this is not in whole coins."})


def _refuse_paper(payment: Payment) -> None:
    """Money comes in for what asks for it, and goes back for that or for a credit note."""
    fits = ASKS_FOR_MONEY if payment.way == PaymentWay.IN else (*ASKS_FOR_MONEY, PaperKind.CREDIT)
    if payment.paper is not None and payment.paper.kind not in fits:
        raise ValidationError({"paper": "This paper asks for no money."})


def _refuse_more_back_than_in(commission: Commission, payment: Payment) -> None:
    """With the payment as it is to be, struck or added, in the place of the one that is stored."""
    others = Payment.objects.filter(commission=commission, struck_at=None).exclude(pk=payment.pk)
    counted = [*others, *([payment] if payment.struck_at is None else [])]
    left = sum((row.amount if row.way == PaymentWay.IN else -row.amount for row in counted), Decimal(0))
    if left >= 0:
        return
    if payment.struck_at is not None:
        raise ValidationError("More would have gone back than came in. Strike what was paid back first.")
    raise ValidationError({"amount": "More would go back than came in."})


def _is_there(payment: Payment) -> bool:
    same = {name: getattr(payment, name) for name in SAME}
    return Payment.objects.filter(commission=payment.commission, struck_at=None, **same).exists()
