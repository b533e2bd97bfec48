"""Two windows at once on one commission's money: one payment is taken down once, and no more goes back than came in."""

from decimal import Decimal
from functools import partial

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.models import Commission, Payment
from projects.services.payments import payment_strike, payment_take
from projects.statement import statement
from tests.factories import StudioFactory
from tests.projects.owing import accepted
from tests.projects.threads import at_once

pytestmark = pytest.mark.django_db(transaction=True)
TIMES = 8
FIVE_HUNDRED = Decimal(500)


@pytest.fixture
def job() -> Commission:
    """A commission over 1,200.00."""
    return accepted(StudioFactory()).commission


def take(job: Commission, **values: object) -> Payment:
    return payment_take(commission=job, amount=FIVE_HUNDRED, **values)


def balance(job: Commission) -> Decimal:
    return statement(job, today=timezone.localdate()).balance


def refusals(came: list[object]) -> int:
    assert all(isinstance(one, Payment | ValidationError) for one in came), came
    return sum(isinstance(one, ValidationError) for one in came)


def test_a_payment_sent_twice_is_taken_down_once(job: Commission) -> None:
    for number in range(TIMES):
        came = at_once(*[partial(take, job, reference=f"R{number}")] * 3)
        assert refusals(came) == 2
        assert Payment.objects.filter(reference=f"R{number}").count() == 1
    assert balance(job) == 1200 - TIMES * 500


def test_money_goes_back_once_when_two_pay_it_back(job: Commission) -> None:
    for number in range(TIMES):
        take(job, reference=f"in {number}")
        came = at_once(*[partial(take, job, way="back", reference=f"back {number} {n}") for n in range(2)])
        assert refusals(came) == 1
        assert balance(job) == 1200


def test_one_of_two_strikes_a_payment_and_its_reason_stays(job: Commission) -> None:
    for number in range(TIMES):
        made = take(job, reference=f"R{number}")
        came = at_once(*[partial(payment_strike, payment=made, why=f"reason {n}") for n in range(2)])
        assert refusals(came) == 1
        made.refresh_from_db()
        winner = next(one for one in came if isinstance(one, Payment))
        assert made.struck_why == winner.struck_why


def test_a_payment_is_struck_or_paid_back_and_never_both(job: Commission) -> None:
    for number in range(TIMES):
        made = take(job, reference=f"in {number}")
        came = at_once(
            partial(payment_strike, payment=made, why="it never came"),
            partial(take, job, way="back", reference=f"back {number}"),
        )
        assert refusals(came) == 1
        assert balance(job) == 1200
