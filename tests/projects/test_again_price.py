"""The price of then beside today's: where it is from, and that the reasons of a difference add up to it."""

from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from projects.again import Again, Asked, start_of_design, starts_of_piece, worked_out
from projects.again_price import LINES, TERMS, Then, price_of_one, then_of
from projects.models import Commission, Design, Quote, Studio
from projects.services.quotes import quote_draft, quote_issue
from tests.factories import CommissionFactory, DesignFactory
from tests.factories_papers import QuoteEventFactory
from tests.factories_records import RecordFactory
from tests.projects.agreed_orders import accept

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(studio: Studio) -> Commission:
    return CommissionFactory(studio=studio, design=DesignFactory(studio=studio))


@pytest.fixture
def issued(job: Commission) -> Quote:
    return quote_issue(quote=quote_draft(commission=job))


def shown(design: Design, **asked: Any) -> Again:
    return worked_out(start_of_design(design), Asked(**asked))


def added(reasons: Any) -> Decimal:
    return sum((one.amount for one in reasons), Decimal(0))


def test_what_was_only_estimated_has_no_price_of_then(job: Commission) -> None:
    assert then_of([job]) is None
    assert shown(job.design).since == ()


def test_a_quote_that_was_issued_says_that_it_was_not_accepted(job: Commission, issued: Quote) -> None:
    then = then_of([job])
    assert then is not None
    assert then.words == f"quote {issued.reference}, issued and not accepted"
    assert then.price == Decimal(issued.estimate["price"]["retail"])
    QuoteEventFactory(quote=issued, what="declined", at=timezone.now())
    assert then_of([job]).words.endswith("issued and not accepted, declined")  # type: ignore[union-attr]
    accept(issued)
    assert then_of([job]).words == f"quote {issued.reference}, accepted"  # type: ignore[union-attr]


def test_what_was_agreed_goes_before_the_log_and_the_log_before_what_was_only_asked(
    studio: Studio, job: Commission, issued: Quote
) -> None:
    record = RecordFactory(studio=studio, commission=job, design=job.design, price=Decimal(321))
    then = starts_of_piece(record)["design"].then
    assert then is not None
    assert (then.price, then.words) == (Decimal(321), f"as the log has it for {record.serial}")
    accept(issued)
    then = starts_of_piece(record)["design"].then
    assert then is not None
    assert "accepted" in then.words


def test_nothing_but_prices_has_changed_so_that_is_the_reason(
    studio: Studio, job: Commission, issued: Quote
) -> None:
    """All woods cost half as much again: wood is dearer by just what it costs more, and glue is not."""
    before = shown(job.design)
    for wood in studio.woods.all():
        wood.price_per_m3 *= Decimal("1.5")
        wood.save()
    after = shown(job.design)
    assert [added(one.since) for one in (before, after)] == [
        price_of_one(one.before) - one.start.then.price  # type: ignore[union-attr]
        for one in (before, after)
    ]
    lines = [{one.words: one.amount for one in found.since} for found in (before, after)]
    more = after.before.cost.wood - before.before.cost.wood
    assert more > 0
    assert lines[1].get(LINES[0], 0) - lines[0].get(LINES[0], 0) == more
    assert lines[1].get(LINES[1], 0) == lines[0].get(LINES[1], 0)


def test_the_reasons_since_then_are_named_and_add_up(studio: Studio, job: Commission, issued: Quote) -> None:
    shop = studio.pricing
    shop.labour_rate *= 2
    shop.save()
    wood = studio.woods.get(key="walnut")
    wood.price_per_m3 *= 3
    wood.save()
    found = shown(job.design)
    assert {one.words for one in found.since} <= {*LINES, TERMS}
    assert {LINES[0], LINES[2]} <= {one.words for one in found.since}
    assert found.start.then is not None
    assert added(found.since) == price_of_one(found.before) - found.start.then.price


def test_a_piece_that_was_drawn_otherwise_since_gives_no_reasons(job: Commission, issued: Quote) -> None:
    job.design.parts.get().bands.update(segments=24)
    found = shown(job.design)
    assert found.start.then is not None
    assert found.since == ()


def test_another_currency_or_a_price_written_by_hand_gives_no_reasons(job: Commission, issued: Quote) -> None:
    from projects.again_price import since_then

    found = shown(job.design)
    then = found.start.then
    assert then is not None
    assert since_then(Then(then.price, then.currency, "by hand"), found.before) == ()
    assert since_then(Then(then.price, "NOK", "abroad", then.estimate, then.sheet), found.before) == ()


@pytest.mark.parametrize(
    ("asked", "reasons"),
    [
        ({}, []),
        ({"factor": 1.25}, ["size"]),
        ({"factor": 1.25, "woods": {"maple": "walnut"}}, ["size", "woods"]),
        ({"height": 130.0, "diameter": 100.0, "quantity": 3}, ["size", "number of pieces"]),
        (
            {"factor": 0.8, "woods": {"maple": "walnut"}, "quantity": 3},
            ["size", "woods", "number of pieces"],
        ),
    ],
)
def test_reasons_add_up_to_the_difference(studio: Studio, asked: Any, reasons: list[str]) -> None:
    wood = studio.woods.get(key="walnut")
    wood.price_per_m3 = Decimal(300_000)
    wood.save()
    found = shown(DesignFactory(studio=studio), **asked)
    assert [one.words for one in found.apart] == reasons
    assert added(found.apart) == price_of_one(found.after) - price_of_one(found.before)
    if "woods" in reasons:
        assert next(one.amount for one in found.apart if one.words == "woods") > 0
