"""The money of papers: parts of an order by rate, which add up to the coin whatever is asked first."""

from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.price.payments import in_stages
from estimating.price.tax import TaxAt, Taxed
from projects.owed import owed
from projects.papers_money import (
    less,
    order_lines,
    part_of,
    payments_due,
    rates_as_json,
    rates_from_json,
    together,
    with_changes,
)
from tests.projects.frozen import frozen_quote, usual

D = Decimal
CURRENCIES = {"USD": 2, "JPY": 0, "KWD": 3}


def test_the_tax_in_a_payment_is_that_of_a_published_example() -> None:
    """A deposit of 300 of a sale of 1,200 with 20 % tax holds a sixth of it, the VAT fraction.

    Source: HMRC VAT Notice 700, section 30.2 (the VAT fraction of a standard rate of 20 % is 1/6); from memory.
    """
    found = part_of(Taxed((TaxAt(D("0.2"), D(1000), D(200)),)), D(300), currency="GBP")
    assert found.at_rates == (TaxAt(D("0.2"), D("250.00"), D("50.00")),)


@st.composite
def orders(draw: Any) -> tuple[str, Taxed]:
    currency = draw(st.sampled_from(sorted(CURRENCIES)))
    coin = D(1).scaleb(-CURRENCIES[currency])
    rates = draw(
        st.lists(st.sampled_from(["0", "0.05", "0.0825", "0.2"]), min_size=1, max_size=4, unique=True)
    )
    bases = [draw(st.integers(1, 10**7)) * coin for _ in rates]
    rows = [
        TaxAt(D(rate), base, (base * D(rate)).quantize(coin)) for rate, base in zip(rates, bases, strict=True)
    ]
    return currency, Taxed(tuple(rows))


@given(orders(), st.lists(st.integers(1, 40), max_size=4))
def test_parts_add_up_and_what_is_left_is_the_last_payment_exactly(
    order: tuple[str, Taxed], percents: list[int]
) -> None:
    currency, whole = order
    shares = [D(percent) / 200 for percent in percents]
    payments = in_stages(whole.total, shares=shares, currency=currency)
    asked = [part_of(whole, payment.amount, currency=currency) for payment in payments[:-1]]
    for part, payment in zip(asked, payments, strict=False):
        assert part.total == payment.amount
        assert all(row.base >= 0 <= row.tax for row in part.at_rates)
    left = less(whole, asked)
    assert left.total == payments[-1].amount
    for position, row in enumerate(whole.at_rates):
        together_at = sum(part.at_rates[position].base for part in asked)
        rest = next((one for one in left.at_rates if one.rate == row.rate), TaxAt(row.rate, D(0), D(0)))
        assert together_at + rest.base == row.base


@given(orders(), st.integers(0, 1000))
def test_a_parts_tax_is_within_a_coin_of_its_share(order: tuple[str, Taxed], permille: int) -> None:
    currency, whole = order
    coin = D(1).scaleb(-CURRENCIES[currency])
    amount = (whole.total * permille / 1000).quantize(coin)
    for row, part in zip(whole.at_rates, part_of(whole, amount, currency=currency).at_rates, strict=True):
        assert abs(part.tax - row.tax * amount / whole.total) <= coin
        assert abs(part.base - row.base * amount / whole.total) <= 2 * coin


def test_no_part_is_asked_of_nothing() -> None:
    with pytest.raises(ValueError, match="comes to nothing"):
        part_of(Taxed((TaxAt(D(0), D(0), D(0)),)), D(1), currency="USD")


def test_what_is_kept_as_json_comes_back_the_same() -> None:
    whole = Taxed((TaxAt(D("0.0825"), D("10.01"), D("0.83")), TaxAt(D(0), D("5.00"), D(0))))
    assert rates_from_json(rates_as_json(whole)) == whole


def test_changes_join_the_pieces_rate_and_one_without_tax_a_rate_of_nothing() -> None:
    quote = usual()
    found = owed(quote.estimate, quote.sheet["pricing"] | {"gallery_share": 0})
    changes: Any = [
        SimpleNamespace(number=1, title="Wider", base=D(100), tax=D("8.25")),
        SimpleNamespace(number=2, title="Postage", base=D(7), tax=D(0)),
    ]
    whole = with_changes(found, changes)
    assert [row.rate for row in whole.at_rates] == [D("0.0825"), D(0)]
    assert whole.base == found.base + 107
    assert whole.total == found.amount + D("115.25")


PRICES: list[dict[str, Any]] = [
    {"gallery_share": 0, "freight": "80.00", "stand": "12.34"},
    {"gallery_share": 0, "freight": "80.00", "crate": "33.33", "tax": 0.2, "tax_inclusive": True},
    {"gallery_share": 0.45, "freight": "80.00"},
    {"gallery_share": 0.5, "gallery_mode": "purchase", "freight": "80.00"},
    {"gallery_share": 0, "freight": "80.00", "freight_tax": 0.0, "tax": 0.2},
]


@pytest.mark.parametrize("pricing", PRICES)
def test_an_orders_lines_are_what_is_owed_before_tax_and_each_rates_base(pricing: dict[str, Any]) -> None:
    quote = frozen_quote(pricing=pricing)
    found = owed(quote.estimate, quote.sheet["pricing"])
    lines = order_lines(found, quote.estimate, what="One piece")
    assert sum(line.base for line in lines) == found.base
    assert [line.words for line in lines][:2] == ["One piece", "Freight"]
    for row in found.at_rates:
        assert sum(line.base for line in lines if line.rate == row.rate) == row.base


@pytest.mark.parametrize("share", [0.2, 0.5, 0.9])
def test_a_deposit_passed_on_whole_is_the_buyers_and_the_rest_adds_up(share: float) -> None:
    quote = frozen_quote(pricing={"deposit_share": share, "gallery_share": 0.45})
    pricing = quote.sheet["pricing"]
    found = owed(quote.estimate, pricing)
    whole = payments_due(found, quote.estimate, pricing, deposit_via="gallery_whole")
    retail = D(quote.estimate["money"]["payments"][0]["amount"])
    assert whole[0].amount == min(retail, found.amount)
    assert sum(payment.amount for payment in whole) == found.amount
    assert payments_due(found, quote.estimate, pricing, deposit_via="direct") == found.payments


def test_rates_come_together_in_the_order_they_come_up() -> None:
    rows = [
        TaxAt(D("0.2"), D(1), D(0)),
        TaxAt(D(0), D(2), D(0)),
        TaxAt(D("0.2"), D(3), D(1)),
        TaxAt(D(0), D(-2), D(0)),
    ]
    assert together(rows).at_rates == (TaxAt(D("0.2"), D(4), D(1)),)
