"""Two windows at once on one sale: a payment is written down once, and a paid sale is not taken back."""

import datetime
from decimal import Decimal
from functools import partial

import pytest
from django.core.exceptions import ValidationError

from projects.models import Place, PlacePayment
from projects.services.place_payments import (
    place_payment_take,
    place_payment_take_back,
    place_payments_take,
)
from projects.services.record_places import place_add, place_take_back
from tests.factories import ClientFactory, StudioFactory
from tests.factories_records import RecordFactory
from tests.projects.threads import at_once

pytestmark = pytest.mark.django_db(transaction=True)
TIMES = 6
MAY, JUNE = datetime.date(2026, 5, 1), datetime.date(2026, 6, 1)


def sold() -> Place:
    """A piece that a gallery sold."""
    studio = StudioFactory()
    gallery = ClientFactory(studio=studio, kind="gallery", gallery_share=Decimal("0.4"))
    record = RecordFactory(studio=studio)
    place_add(record=record, kind="consigned", since=MAY, client=gallery)
    return place_add(record=record, kind="sold", since=JUNE, price=Decimal(500))


def refusals(came: list[object]) -> int:
    assert all(isinstance(one, Place | PlacePayment | ValidationError) for one in came), came
    return sum(isinstance(one, ValidationError) for one in came)


def test_a_payment_sent_twice_is_written_down_once() -> None:
    sale = sold()
    for number in range(TIMES):
        take = partial(place_payment_take, place=sale, amount=Decimal(number + 1), paid_on=JUNE)
        assert refusals(at_once(*[take] * 3)) == 2
    assert PlacePayment.objects.count() == TIMES


def test_a_payment_is_taken_back_once() -> None:
    sale = sold()
    for number in range(TIMES):
        made = place_payment_take(place=sale, amount=Decimal(number + 1), paid_on=JUNE)
        assert refusals(at_once(*[partial(place_payment_take_back, payment=made)] * 2)) == 1


def test_a_sale_is_either_paid_or_taken_back() -> None:
    for _ in range(TIMES):
        sale = sold()
        came = at_once(
            partial(place_payment_take, place=sale, amount=Decimal(5), paid_on=JUNE),
            partial(place_take_back, place=sale),
        )
        assert refusals(came) == 1
        assert (
            PlacePayment.objects.filter(place=sale).exists() != Place.objects.filter(takes_back=sale).exists()
        )


def test_two_payments_for_the_same_pieces_in_another_order_both_come_through() -> None:
    one = sold()
    client = one.record.places.get(kind="consigned").client
    record = RecordFactory(studio=one.record.studio)
    place_add(record=record, kind="consigned", since=MAY, client=client)
    two = place_add(record=record, kind="sold", since=JUNE)
    for number in range(1, TIMES):
        first = {one.pk: Decimal(number), two.pk: Decimal(number)}
        second = {two.pk: Decimal(number) / 2, one.pk: Decimal(number) / 2}
        take = partial(place_payments_take, client=client, paid_on=JUNE, again=True)
        came = at_once(partial(take, amounts=first), partial(take, amounts=second))
        assert all(isinstance(each, list) for each in came), came
