"""What a gallery paid for pieces that it sold on consignment and no commission has: added to, and taken back."""

from collections.abc import Mapping
from decimal import Decimal
from functools import partial
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from projects.consigned import Stay, paid_for, stays_of
from projects.models import Client, Member, Place, PlacePayment
from projects.models.issued import PaymentWay
from projects.services.payments import TWICE, refuse_parts_of_a_coin
from projects.services.record_places import held
from projects.services.saving import changed, checked, gather

NOT_ON_SALE = "Only what a gallery sold on consignment is paid for here."
WITH_ITS_JOB = "It was made for this gallery: take the payment down with its commission."
TAKEN_BACK = "This payment was taken back already."
SAME = ("way", "amount", "paid_on")
"""What two payments for a piece that are one have alike."""


def place_payment_take(
    *,
    place: Place,
    client: Client | None = None,
    member: Member | None = None,
    again: bool = False,
    **values: Any,
) -> PlacePayment:
    """Write down what was paid for a sale, `place`, in the currency of its piece; by `client`, where it is known.

    `again` says that it is another one like one that is there. Errors: ValidationError keyed by field: a sale that does
    not stand, is another gallery's or has a commission's account, no whole coins, more back than came in, one that is
    there already.
    """
    with transaction.atomic():
        record = held(place.record)
        _refuse_sale(place, client)
        payment = changed(PlacePayment(place=place, member=member, currency=record.currency), values)
        payment.full_clean()
        refuse_parts_of_a_coin(payment.amount, payment.currency)
        theirs = PlacePayment.objects.filter(place=place)
        if payment.way == PaymentWay.BACK and payment.amount > paid_for(theirs)[place.pk]:
            raise ValidationError({"amount": "More would go back than came in."})
        same = theirs.filter(takes_back=None, taken_back_by=None)
        if not again and same.filter(**{name: getattr(payment, name) for name in SAME}).exists():
            raise ValidationError({"amount": ValidationError(TWICE, code="twice")})
        return checked(payment)


def place_payments_take(
    *, client: Client, amounts: Mapping[int, Decimal], member: Member | None = None, **values: Any
) -> list[PlacePayment]:
    """Write down what one payment of a gallery is for, all or none: an amount for each sale, by its key.

    Errors: ValidationError with the places `7.amount`, 7 being the sale's key, or `amounts` where there are none.
    """
    if not amounts:
        raise ValidationError({"amounts": "Write what was paid beside a piece at least."})
    made: list[PlacePayment] = []
    sales = {place.pk: place for place in Place.objects.for_studio(client.studio_id).filter(pk__in=amounts)}

    def one(pk: int, amount: Decimal) -> None:
        if pk not in sales:
            raise ValidationError({"amount": NOT_ON_SALE})
        paid = place_payment_take(place=sales[pk], client=client, amount=amount, member=member, **values)
        made.append(paid)

    with transaction.atomic():
        # In the order of the pieces, so that of two at once one waits, and not both for ever.
        order = sorted(amounts, key=lambda pk: (sales[pk].record_id if pk in sales else 0, pk))
        gather((str(pk), partial(one, pk, amounts[pk])) for pk in order)
    return made


def place_payment_take_back(*, payment: PlacePayment, member: Member | None = None) -> PlacePayment:
    """Take a payment back that was written down wrongly: it stays, and counts for nothing.

    Errors: ValidationError where it does not stand, or more would have gone back than came in.
    """
    with transaction.atomic():
        held(payment.place.record)
        theirs = PlacePayment.objects.filter(place=payment.place)
        if not theirs.filter(pk=payment.pk, takes_back=None, taken_back_by=None).exists():
            raise ValidationError(TAKEN_BACK)
        if payment.way == PaymentWay.IN and paid_for(theirs)[payment.place_id] < payment.amount:
            raise ValidationError(
                "More would have gone back than came in. Take back what was paid back first."
            )
        copied = {name: getattr(payment, name) for name in ("place", "way", "amount", "currency", "paid_on")}
        return checked(PlacePayment(takes_back=payment, member=member, **copied))


def _refuse_sale(place: Place, client: Client | None) -> None:
    stay = sale_of(place)
    if stay is None or (client is not None and stay.client != client):
        raise ValidationError({"amount": NOT_ON_SALE})
    if stay.job is not None:
        raise ValidationError({"amount": WITH_ITS_JOB})


def sale_of(place: Place) -> Stay | None:
    """The stay that a place ended by a sale; None where it is no such."""
    found = stays_of(place.record.studio, record=place.record)
    return next((stay for stay in found if stay.sale == place), None)
