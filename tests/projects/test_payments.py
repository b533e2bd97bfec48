"""Payments are taken down in whole coins, once each, and struck with a reason; no more goes back than came in."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from projects.models import Commission, Member, Payment, Studio
from projects.services.commissions import commission_delete
from projects.services.payments import payment_strike, payment_take
from projects.statement import statement
from tests.factories import CommissionFactory, MemberFactory
from tests.factories_papers import IssuedPaperFactory
from tests.projects.owing import accepted

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A commission over 1,200.00 euros, agreed; its studio counts in dollars."""
    return accepted(studio).commission


@pytest.fixture
def member(studio: Studio) -> Member:
    return MemberFactory(studio=studio)


def take(job: Commission, amount: Any = "500.00", **values: Any) -> Payment:
    return payment_take(commission=job, amount=D(amount), **values)


def balance(job: Commission) -> Decimal:
    return statement(job, today=timezone.localdate()).balance


def wrong(job: Commission, **values: Any) -> dict[str, list[str]]:
    """What is refused of a payment, by field; nothing is saved of it."""
    before = Payment.objects.count()
    with pytest.raises(ValidationError) as refusal:
        take(job, **values)
    assert Payment.objects.count() == before
    return refusal.value.message_dict


def test_a_payment_is_taken_down_with_who_did_it(job: Commission, member: Member) -> None:
    paper = IssuedPaperFactory(commission=job)
    made = take(job, member=member, paper=paper, by="cheque", reference="0077", note="By post.")
    made.refresh_from_db()
    assert (made.studio, made.member, made.paper, made.way, made.by) == (
        job.studio,
        member,
        paper,
        "in",
        "cheque",
    )
    assert made.paid_on == timezone.localdate()
    assert balance(job) == 700


def test_part_payments_add_up_to_the_whole(job: Commission) -> None:
    for amount in ("500.00", "499.99", "200.01"):
        take(job, amount)
    assert balance(job) == 0


def test_an_overpayment_is_taken_down_and_paid_back(job: Commission) -> None:
    take(job, "1300")
    assert balance(job) == -100
    take(job, "100", way="back")
    assert balance(job) == 0


@pytest.mark.parametrize("amount", ["0.001", "12.345", "0.0001"])
def test_less_than_a_coin_of_the_quote_s_currency_is_refused(job: Commission, amount: str) -> None:
    assert wrong(job, amount=amount) == {"amount": ["EUR has 2 decimals: this is not in whole coins."]}


@pytest.mark.parametrize(
    ("currency", "good", "bad"),
    [("JPY", "1200", "0.5"), ("KWD", "0.001", "0.0005"), ("USD", "0.01", "0.001")],
)
def test_coins_are_those_of_iso_4217(studio: Studio, currency: str, good: str, bad: str) -> None:
    """Minor units by ISO 4217: none of the yen, three of the Kuwaiti dinar, two of the dollar."""
    studio.currency = currency
    studio.save()
    job = CommissionFactory(studio=studio)
    assert "coins" in wrong(job, amount=bad)["amount"][0]
    assert take(job, good).amount == D(good)


@pytest.mark.parametrize("amount", ["0", "-5"])
def test_nothing_and_less_is_no_payment(job: Commission, amount: str) -> None:
    assert "amount" in wrong(job, amount=amount)


def test_a_day_to_come_is_refused(job: Commission) -> None:
    day = timezone.localdate() + datetime.timedelta(days=1)
    assert wrong(job, paid_on=day) == {"paid_on": ["This day is still to come."]}


def test_a_paper_of_another_commission_is_refused(job: Commission) -> None:
    other = IssuedPaperFactory(commission=CommissionFactory(studio=job.studio))
    assert wrong(job, paper=other) == {"paper": ["Choose a paper of this commission."]}


@pytest.mark.parametrize("kind", ["confirmation", "delivery", "credit"])
def test_a_paper_that_asks_for_nothing_is_refused(job: Commission, kind: str) -> None:
    request = IssuedPaperFactory(commission=job)
    paper = IssuedPaperFactory(commission=job, kind=kind, corrects=request if kind == "credit" else None)
    assert wrong(job, paper=paper) == {"paper": ["This paper asks for no money."]}


def test_money_goes_back_for_a_credit_note(job: Commission) -> None:
    request = IssuedPaperFactory(commission=job)
    note = IssuedPaperFactory(commission=job, kind="credit", corrects=request)
    take(job, "500", paper=request)
    assert take(job, "500", way="back", paper=note).paper == note


def test_no_more_goes_back_than_came_in(job: Commission) -> None:
    take(job, "500")
    assert wrong(job, amount="500.01", way="back") == {"amount": ["More would go back than came in."]}
    take(job, "500", way="back")
    assert wrong(job, amount="0.01", way="back") == {"amount": ["More would go back than came in."]}


def test_the_same_payment_is_taken_down_twice_only_when_asked_for(job: Commission) -> None:
    take(job, reference="A1")
    assert "already" in wrong(job, amount="500", reference="A1")["amount"][0]
    take(job, reference="A2")
    take(job, reference="A1", again=True)
    assert balance(job) == -300


def test_a_struck_payment_may_be_taken_down_anew(job: Commission) -> None:
    payment_strike(payment=take(job), why="typed wrongly")
    take(job)
    assert balance(job) == 700


def test_a_struck_payment_stays_with_its_reason_and_counts_for_nothing(
    job: Commission, member: Member
) -> None:
    made = payment_strike(payment=take(job), why="  the cheque\nbounced ", member=member)
    made.refresh_from_db()
    assert (made.struck_why, made.struck_by, made.amount) == ("the cheque bounced", member, 500)
    assert made.struck_at is not None
    assert balance(job) == 1200


def test_a_payment_is_not_struck_without_a_reason_or_twice(job: Commission) -> None:
    made = take(job)
    with pytest.raises(ValidationError, match="Say why"):
        payment_strike(payment=made, why=" \n ")
    assert balance(job) == 700
    payment_strike(payment=made, why="wrong job")
    with pytest.raises(ValidationError, match="struck already"):
        payment_strike(payment=made, why="again")
    made.refresh_from_db()
    assert made.struck_why == "wrong job"


def test_what_came_in_is_not_struck_while_it_has_gone_back(job: Commission) -> None:
    came = take(job)
    went = take(job, "500", way="back")
    with pytest.raises(ValidationError, match="Strike what was paid back first"):
        payment_strike(payment=came, why="it never came")
    payment_strike(payment=went, why="it never went")
    payment_strike(payment=came, why="it never came")
    assert balance(job) == 1200


def test_a_commission_that_was_paid_for_is_not_thrown_away(studio: Studio) -> None:
    job = CommissionFactory(studio=studio)
    take(job)
    with pytest.raises(ValidationError, match="has paid"):
        commission_delete(commission=job)
    assert Commission.objects.filter(pk=job.pk).exists()


def test_a_payment_is_never_changed_or_thrown_away(job: Commission) -> None:
    made = take(job)
    made.amount = D(5000)
    with pytest.raises(ValidationError, match="is not changed"):
        made.save()
    with pytest.raises(ValidationError, match="is not changed"):
        made.delete()
    assert balance(job) == 700
