"""The statement of a commission: what is agreed, asked, credited, paid and late; it adds up whatever happens."""

import datetime
from collections.abc import Sequence
from decimal import Decimal
from itertools import count
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from projects.models import ChangeOrder, IssuedPaper, Payment, Quote, Studio
from projects.statement import Owed, Statement, late, stated, statement, statements
from tests.factories import CommissionFactory, QuoteFactory
from tests.factories_papers import (
    ChangeOrderFactory,
    IssuedPaperFactory,
    PaymentFactory,
    QuoteEventFactory,
    QuoteOptionFactory,
)
from tests.projects.owing import ESTIMATE, SHEET, SIGNED, accepted

D = Decimal
TODAY = datetime.date(2027, 3, 10)
DAY = datetime.timedelta(days=1)
numbers = count(1)


def request(amount: Any, *, due: int | None = 5, kind: str = "deposit", **values: Any) -> IssuedPaper:
    """A paper that asks for so much, due so many days from today."""
    number = next(numbers)
    due_on = None if due is None else TODAY + due * DAY
    return IssuedPaper(
        pk=number, kind=kind, number=f"2027-{number:03}", amount=D(amount), due_on=due_on, **values
    )


def credit(amount: Any, of: IssuedPaper) -> IssuedPaper:
    return IssuedPaper(pk=next(numbers), kind="credit", amount=D(amount), corrects_id=of.pk)


def paid(amount: Any, paper: IssuedPaper | None = None, *, way: str = "in", struck: bool = False) -> Payment:
    when = datetime.datetime(2027, 3, 9, tzinfo=datetime.UTC) if struck else None
    return Payment(amount=D(amount), paper=paper, way=way, struck_at=when)


def agreed(amount: Any = 1000) -> tuple[Quote, Owed]:
    quote = Quote(pk=1, number="2027-001", revision="A")
    return quote, Owed("EUR", D(amount), D(0), D(amount), (), ())


AGREED = agreed()


def of(
    papers: Sequence[IssuedPaper] = (),
    payments: Sequence[Payment] = (),
    *,
    quoted: tuple[Quote, Owed] | None = AGREED,
    changes: Sequence[ChangeOrder] = (),
) -> Statement:
    return stated(quoted, changes=changes, papers=papers, payments=payments, currency="USD", today=TODAY)


def each_paid(found: Statement) -> list[Decimal]:
    return [row.paid for row in found.requests]


# --- worked by hand -----------------------------------------------------------------------------------------------


def test_nothing_agreed_asked_or_paid_is_nothing_owed() -> None:
    found = of(quoted=None)
    assert found.is_empty
    assert (found.balance, found.currency) == (0, "USD")


def test_what_is_agreed_is_the_quote_and_its_changes() -> None:
    quoted = agreed()
    changes = [
        ChangeOrder(quote=quoted[0], number=1, title="A wider rim", amount=D(150)),
        ChangeOrder(quote=quoted[0], number=2, title="No stand", amount=D(-40)),
        ChangeOrder(quote_id=99, number=3, title="Of a quote before", amount=D(7)),
    ]
    found = of(quoted=quoted, changes=changes)
    assert [(line.words, line.amount) for line in found.lines] == [
        ("Quote 2027-001", 1000),
        ("Change 1: A wider rim", 150),
        ("Change 2: No stand", -40),
    ]
    assert (found.agreed, found.balance, found.unasked) == (1110, 1110, 1110)


def test_a_part_payment_leaves_the_rest_of_its_request_open() -> None:
    deposit = request(500)
    found = of([deposit], [paid(200, deposit)])
    assert (found.requests[0].open, found.balance, found.ahead) == (300, 800, 0)


def test_a_payment_without_a_paper_goes_to_the_oldest_open_request_first() -> None:
    first, second, third = request(300), request(300), request(400)
    found = of([first, second, third], [paid(300, second), paid(450)])
    assert each_paid(found) == [300, 300, 150]


def test_what_is_paid_beyond_its_paper_goes_on_to_others_and_then_ahead() -> None:
    first, second = request(300), request(200)
    found = of([first, second], [paid(600, second)])
    assert (each_paid(found), found.ahead, found.balance) == ([300, 200], 100, 400)


def test_an_overpayment_is_owed_back_and_paid_back() -> None:
    whole = request(1000, kind="balance")
    found = of([whole], [paid(1100)])
    assert (found.balance, found.ahead) == (-100, 100)
    after = of([whole], [paid(1100), paid(100, way="back")])
    assert (after.balance, after.ahead, each_paid(after)) == (0, 0, [1000])


def test_money_paid_back_of_a_request_opens_it_again() -> None:
    deposit = request(500)
    found = of([deposit], [paid(500, deposit), paid(120, deposit, way="back")])
    assert (found.requests[0].open, found.balance) == (120, 620)


def test_money_paid_back_for_nothing_named_comes_off_the_newest_request() -> None:
    first, second = request(300), request(200)
    found = of([first, second], [paid(300, first), paid(200, second), paid(250, way="back")])
    assert each_paid(found) == [250, 0]


def test_a_struck_payment_is_shown_and_not_counted() -> None:
    deposit = request(500)
    found = of([deposit], [paid(500, deposit, struck=True)])
    assert (found.paid_in, found.balance, len(found.payments)) == (0, 1000, 1)
    assert found.requests[0].open == 500


def test_a_credit_note_for_part_lowers_what_is_owed() -> None:
    first, second = request(500), request(500)
    found = of([first, second, credit(50, second)], [paid(950)])
    assert (found.credited, found.balance, found.asked, found.unasked) == (50, 0, 950, 0)
    assert [row.open for row in found.requests] == [0, 0]


def test_a_credit_note_for_the_whole_takes_the_request_back() -> None:
    """The 500 were asked in error for 400: credited, and asked anew. What is owed is what was agreed."""
    wrong = request(500)
    found = of([wrong, credit(500, wrong)])
    assert found.requests[0].is_taken_back
    assert (found.credited, found.balance, found.unasked) == (0, 1000, 1000)
    right = request(400)
    found = of([wrong, credit(500, wrong), right])
    assert (found.balance, found.unasked) == (1000, 600)


def test_what_was_paid_of_a_request_taken_back_goes_to_the_next() -> None:
    wrong, right = request(500), request(400)
    found = of([wrong, credit(500, wrong), right], [paid(500, wrong)])
    assert (each_paid(found), found.ahead) == ([0, 400], 100)


def test_a_deposit_paid_back_on_its_credit_note_leaves_nothing() -> None:
    """The client withdraws: nothing is agreed any more, the deposit is credited and paid back."""
    deposit = request(500)
    note = credit(500, deposit)
    found = of([deposit, note], [paid(500, deposit), paid(500, note, way="back")], quoted=None)
    assert (found.agreed, found.balance, found.ahead) == (0, 0, 0)


def test_where_no_quote_was_accepted_what_was_asked_is_owed() -> None:
    found = of([request(500, content={"currency": "CHF"})], [paid(200)], quoted=None)
    assert (found.agreed, found.balance, found.currency) == (500, 300, "CHF")


@pytest.mark.parametrize(("due", "is_late"), [(-1, True), (0, False), (1, False), (None, False)])
def test_a_request_is_overdue_from_the_day_after(due: int | None, is_late: bool) -> None:
    found = of([request(500, due=due)], [paid(100)])
    assert found.requests[0].is_overdue is is_late
    assert found.overdue == (400 if is_late else 0)
    assert found.overdue_since == (TODAY - DAY if is_late else None)


def test_what_is_paid_or_taken_back_is_not_overdue() -> None:
    done, wrong = request(500, due=-9), request(300, due=-3)
    found = of([done, wrong, credit(300, wrong)], [paid(500)])
    assert (found.overdue, found.overdue_since) == (0, None)


def test_overdue_is_what_is_open_of_all_that_is_late_since_the_first() -> None:
    found = of([request(100, due=-9), request(200, due=-3), request(300, due=4)], [paid(30)])
    assert (found.overdue, found.overdue_since) == (270, TODAY - 9 * DAY)


# --- whatever happens ---------------------------------------------------------------------------------------------

MONEY = st.decimals(D("0.01"), D(2000), places=2)


@st.composite
def histories(draw: Any) -> tuple[list[IssuedPaper], list[Payment]]:
    """Requests, credit notes for some of them, and payments of all kinds."""
    asking = [request(draw(MONEY), due=draw(st.integers(-9, 9))) for _ in range(draw(st.integers(0, 4)))]
    notes = [
        credit(draw(MONEY), draw(st.sampled_from(asking)))
        for _ in range(draw(st.integers(0, 3)) if asking else 0)
    ]
    papers = [None, *asking, *notes]
    payments = [
        paid(
            draw(MONEY),
            draw(st.sampled_from(papers)),
            way=draw(st.sampled_from(["in", "in", "back"])),
            struck=draw(st.booleans()),
        )
        for _ in range(draw(st.integers(0, 6)))
    ]
    return [*asking, *notes], payments


@given(histories(), st.one_of(st.none(), MONEY))
def test_it_adds_up_to_the_coin(
    history: tuple[list[IssuedPaper], list[Payment]], amount: Decimal | None
) -> None:
    papers, payments = history
    found = of(papers, payments, quoted=None if amount is None else agreed(amount))
    came = sum((p.amount for p in payments if p.way == "in" and not p.struck_at), D(0))
    went = sum((p.amount for p in payments if p.way == "back" and not p.struck_at), D(0))
    assert (found.paid_in, found.paid_back) == (came, went)
    assert found.agreed - found.credited - came + went == found.balance
    assert found.asked + found.unasked == found.agreed - found.credited
    assert sum(each_paid(found), D(0)) + found.ahead == came - went
    open_sum = sum((row.open for row in found.requests), D(0))
    assert found.balance == open_sum + found.unasked - found.ahead


@given(histories())
def test_no_request_is_paid_below_nothing_or_beyond_what_it_asks(
    history: tuple[list[IssuedPaper], list[Payment]],
) -> None:
    found = of(*history)
    assert all(row.paid >= 0 and row.open >= 0 for row in found.requests)
    if found.ahead > 0:
        assert not any(row.open for row in found.requests)
    if found.ahead < 0:
        assert not any(row.paid for row in found.requests)


@given(histories(), st.randoms(use_true_random=False))
def test_the_order_in_which_payments_were_taken_down_makes_no_difference(
    history: tuple[list[IssuedPaper], list[Payment]], random: Any
) -> None:
    papers, payments = history
    other = list(payments)
    random.shuffle(other)
    assert each_paid(of(papers, payments)) == each_paid(of(papers, other))


@given(histories())
def test_struck_payments_change_nothing(history: tuple[list[IssuedPaper], list[Payment]]) -> None:
    papers, payments = history
    one, other = of(papers, payments), of(papers, [row for row in payments if not row.struck_at])
    assert (one.balance, each_paid(one), one.overdue) == (other.balance, each_paid(other), other.overdue)


# --- from the database --------------------------------------------------------------------------------------------


@pytest.mark.django_db
def test_a_commission_s_statement_is_gathered_from_its_rows(studio: Studio) -> None:
    quote = accepted(studio)
    job = quote.commission
    ChangeOrderFactory(quote=quote, base=50, tax=10, amount=60, answer="agreed", answered_name="P. Lorn",
                       answered_at=datetime.datetime(2027, 3, 2, tzinfo=datetime.UTC))  # fmt: skip
    ChangeOrderFactory(quote=quote, number=9)  # waits
    paper = IssuedPaperFactory(commission=job, due_on=TODAY - DAY)
    IssuedPaperFactory(commission=job, kind="delivery", base=None, tax=None, amount=None)
    PaymentFactory(commission=job, amount=200, paid_on=datetime.date(2026, 3, 1))
    PaymentFactory(commission=CommissionFactory(studio=studio), paid_on=datetime.date(2026, 3, 1))
    found = statement(job, today=TODAY)
    assert (found.currency, found.agreed, found.paid_in, found.balance) == ("EUR", 1260, 200, 1060)
    assert (found.overdue, found.unasked) == (300, 760)
    assert late([job], today=TODAY)[job.pk][0].paper == paper
    assert late([job], today=TODAY - DAY) == {}


@pytest.mark.django_db
def test_the_option_that_was_chosen_is_what_is_owed(studio: Studio) -> None:
    quote = QuoteFactory(commission=CommissionFactory(studio=studio), estimate=ESTIMATE, sheet=SHEET)
    price = {**ESTIMATE["price"], "tax": "240.00", "retail": "1200.00", "total": "1440.00"}
    option = QuoteOptionFactory(quote=quote, estimate={"price": price}, sheet=SHEET)
    quote.state, quote.number, quote.revision = "issued", "2027-007", "A"
    quote.issued_at, quote.valid_until = datetime.datetime(2027, 3, 1, tzinfo=datetime.UTC), TODAY
    quote.save()
    QuoteEventFactory(quote=quote, what="accepted", option=option, **SIGNED)
    assert statement(quote.commission, today=TODAY).agreed == 1440


@pytest.mark.django_db
def test_an_acceptance_withdrawn_leaves_nothing_agreed(studio: Studio) -> None:
    quote = accepted(studio, at=datetime.datetime(2027, 3, 2, tzinfo=datetime.UTC))
    QuoteEventFactory(quote=quote, what="withdrawn", at=datetime.datetime(2027, 3, 3, tzinfo=datetime.UTC))
    assert statement(quote.commission, today=TODAY).agreed == 0


@pytest.mark.django_db
def test_many_statements_ask_the_database_as_often_as_one(studio: Studio) -> None:
    jobs = [accepted(studio).commission]
    with CaptureQueriesContext(connection) as for_one:
        statements(jobs, today=TODAY)
    for number in range(2, 6):
        job = accepted(studio, number=f"2027-{number:03}").commission
        PaymentFactory(commission=job, paper=IssuedPaperFactory(commission=job))
        jobs.append(job)
    with CaptureQueriesContext(connection) as for_five:
        found = statements(jobs, today=TODAY)
    assert [found[job.pk].agreed for job in jobs] == [1200] * 5
    assert len(for_five) == len(for_one)
