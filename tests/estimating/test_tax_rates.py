"""Several rates of tax on one quote: against published invoices, by hand, and the fee's algebra both ways."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.piece import Pricing
from estimating.price.costs import Cost
from estimating.price.pricing import make_price
from estimating.price.shares import fee_at_cost, part_of_studio, retail_for
from estimating.price.tax import TaxAt, tax_lines
from tests.estimating.sheets import answer, bowl, modest, places_of
from tests.estimating.test_price_terms import COSTS, TERMS, coin, cost_of

D = Decimal


def taxed(
    lines: list[tuple[str, str]], *, by: Any = "quote", inclusive: bool = False
) -> list[tuple[str, str]]:
    """Base and tax at each rate."""
    found = tax_lines(
        [(D(amount), D(rate)) for amount, rate in lines], inclusive=inclusive, by=by, currency="EUR"
    )
    assert found.base + found.tax == found.total
    return [(str(one.base), str(one.tax)) for one in found.at_rates]


# --- published examples and rules --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "rates", "total"),
    [
        # Lines of 4,000, 2,000 and 900, a charge of 200 and a discount of 100: rules/examples, "Vat-category-S".
        (
            [("4000.00", "0.25"), ("2000.00", "0.15"), ("900.00", "0.25"), ("200", "0.25"), ("-100", "0.25")],
            [("5000.00", "1250.00"), ("2000.00", "300.00")],
            "8550.00",
        ),
        # Lines of 4,000, 1,000 exempt and 900, a charge and a discount of 200: "Allowance-example".
        (
            [("4000.00", "0.25"), ("1000.00", "0"), ("900.00", "0.25"), ("200", "0.25"), ("-200", "0.25")],
            [("4900.00", "1225.00"), ("1000.00", "0.00")],
            "7125.00",
        ),
    ],
)
def test_published_invoices_of_two_rates_come_out(
    lines: list[tuple[str, str]], rates: list[tuple[str, str]], total: str
) -> None:
    """Source: the example invoices of Peppol BIS Billing 3.0 (OpenPEPPOL/peppol-bis-invoice-3, rules/examples)."""
    assert taxed(lines) == rates
    found = tax_lines([(D(a), D(r)) for a, r in lines], inclusive=False, by="quote", currency="EUR")
    assert found.total == D(total)


def test_each_rate_is_rounded_by_itself_and_then_added() -> None:
    """EN 16931, rules BR-CO-17 (a rate's tax = its base x rate, to two decimals) and BR-CO-14 (the total is their sum).

    0.12 at 20 % is 0.024, 0.48 at 5 % is 0.024: 0.02 each and 0.04 in all. Added first they would be 0.048, up to 0.05.
    """
    assert taxed([("0.12", "0.2"), ("0.48", "0.05")]) == [("0.12", "0.02"), ("0.48", "0.02")]


def test_by_line_each_line_of_a_rate_is_rounded() -> None:
    """Three of 1.99 at 20 %: 3 x 0.40 by line, 1.19 by quote; 0.30 at 5 % is 0.015, a half, up to 0.02 in both."""
    lines = [("1.99", "0.2"), ("0.30", "0.05"), ("1.99", "0.2"), ("1.99", "0.2")]
    assert taxed(lines, by="line") == [("5.97", "1.20"), ("0.30", "0.02")]
    assert taxed(lines, by="quote") == [("5.97", "1.19"), ("0.30", "0.02")]


def test_tax_is_taken_out_of_each_rate_s_own_prices() -> None:
    """120 holds a sixth at 20 %, 105 a twenty-first at 5 %; what is taxed at nothing holds none."""
    lines = [("120.00", "0.2"), ("105.00", "0.05"), ("80.00", "0")]
    assert taxed(lines, inclusive=True) == [("100.00", "20.00"), ("100.00", "5.00"), ("80.00", "0.00")]


def test_a_line_of_nothing_brings_no_rate_in() -> None:
    found = tax_lines([(D(0), D("0.2")), (D("0.00"), D("0.05"))], inclusive=False, by="line", currency="JPY")
    assert found.at_rates == (TaxAt(D("0.2"), D(0), D(0)),)


@modest
@given(
    st.lists(
        st.tuples(st.decimals(0, 5000, places=2), st.sampled_from([D(0), D("0.05"), D("0.0825"), D("0.2")])),
        min_size=1,
        max_size=8,
    ),
    st.booleans(),
    st.sampled_from(["line", "quote"]),
)
def test_all_rates_together_are_what_is_paid(
    lines: list[tuple[Decimal, Decimal]], inclusive: bool, by: Any
) -> None:
    """A second way, in fractions: every rate's tax is within half a coin a rounding of the exact one."""
    found = tax_lines(lines, inclusive=inclusive, by=by, currency="USD")
    paid = sum(amount for amount, _ in lines)
    assert (found.total if inclusive else found.base) == paid
    for one in found.at_rates:
        own = [amount for amount, rate in lines if rate == one.rate]
        exact = sum(Fraction(amount) for amount in own) * Fraction(one.rate)
        exact /= 1 + Fraction(one.rate) if inclusive else 1
        assert abs(Fraction(one.tax) - exact) <= Fraction(1, 200) * (len(own) if by == "line" else 1)


# --- in a price --------------------------------------------------------------------------------------------------


def priced(**changes: Any) -> Any:
    """Net 1,000, half of the retail price the gallery's."""
    pricing = replace(Pricing(margin=D(0), gallery_share=D("0.5"), tax=D("0.2")), **changes)
    return make_price(cost_of(D("1000.00")), mean_hours=10, pricing=pricing)


def test_freight_at_a_rate_of_its_own_is_taxed_by_itself() -> None:
    price = priced(freight=D(80), freight_tax=D(0), crate=D(120), crate_tax=D("0.05"), stand=D(40))
    assert price.retail_before_tax == D("2000.00")
    assert price.at_rates == (
        TaxAt(D("0.2"), D("2040.00"), D("408.00")),
        TaxAt(D(0), D("80.00"), D("0.00")),
        TaxAt(D("0.05"), D("120.00"), D("6.00")),
    )
    assert (price.base, price.tax, price.total) == (D("2240.00"), D("414.00"), D("2654.00"))


def test_a_gallery_that_buys_is_charged_each_rate_on_what_it_pays() -> None:
    price = priced(gallery_mode="purchase", freight=D(80), freight_tax=D("0.05"))
    assert [(one.base, one.tax) for one in price.at_rates] == [
        (D("1000.00"), D("200.00")),
        (D("80.00"), D("4.00")),
    ]


def test_the_fee_is_of_each_line_with_its_own_tax() -> None:
    """(1,000 + 0.03 x 80) / (1 - 0.5 - 0.036) = 2,160.34; with 20 % and 80 more 2,672.41, of which 3 % is 80.17."""
    price = priced(payment_fee=D("0.03"), freight=D(80), freight_tax=D(0))
    assert (price.retail, price.fee, price.net) == (D("2160.34"), D("80.17"), D("1000.00"))
    same = priced(payment_fee=D("0.03"), freight=D(80))
    assert same.retail == D("2161.38")  # (1,000 + 0.036 x 80) / 0.464
    assert same.net == D("1000.00")


RATES = st.none() | st.decimals(0, "0.3", places=3)
SEVERAL = st.builds(
    lambda pricing, *rates: replace(
        pricing, freight_tax=rates[0], crate_tax=rates[1], stand_tax=rates[2], stand=rates[3]
    ),
    TERMS,
    RATES,
    RATES,
    RATES,
    st.decimals(0, 500, places=2),
)


@modest
@given(COSTS, SEVERAL)
def test_the_fee_s_algebra_is_its_own_inverse_at_several_rates(net: Decimal, pricing: Pricing) -> None:
    """Unrounded: the studio's part less the fee of every line with its own tax is the net it was found from."""
    retail = retail_for(net, pricing=pricing)
    studio = part_of_studio(retail, listed=retail, pricing=pricing)
    charged = studio if pricing.gallery_mode == "purchase" else retail
    with_tax = [
        amount * (1 + rate) for amount, rate in zip((charged, *pricing.at_cost), pricing.rates, strict=True)
    ]
    fee = sum(with_tax) * (pricing.payment_fee if pricing.fee_borne_by == "studio" else 0)
    assert abs(studio - fee - net) < D("1e-15")


@modest
@given(COSTS, SEVERAL)
def test_a_price_at_several_rates_leads_back_to_the_net_it_was_found_from(
    total: Decimal, pricing: Pricing
) -> None:
    price = make_price(cost_of(total), mean_hours=3, pricing=pricing)
    wanted = total / (1 - pricing.margin) * (1 + pricing.rush)
    # Half a coin each of net, retail, its tax, the fee and the tax of up to four rates or lines, and as many of what
    # passes through: its amounts are rounded to coins before the fee is taken of them.
    assert abs(price.net - wanted) <= 7 * coin(pricing)
    back = make_price(
        cost_of(total),
        mean_hours=3,
        pricing=replace(pricing, offer=price.retail, price_from="offer", rush=D(0)),
    )
    assert replace(back, offer=None) == price


@modest
@given(COSTS, SEVERAL)
def test_every_rate_s_part_adds_up_to_what_is_paid(total: Decimal, pricing: Pricing) -> None:
    price = make_price(cost_of(total), mean_hours=3, pricing=pricing)
    assert sum(one.base for one in price.at_rates) == price.base
    assert sum(one.tax for one in price.at_rates) == price.tax
    assert len({one.rate for one in price.at_rates}) == len(price.at_rates)
    assert price.net + price.fee + price.gallery_share == price.retail_before_tax
    assert sum(payment.amount for payment in price.payments) == price.total


def test_a_rate_that_is_the_pieces_own_changes_nothing() -> None:
    plain = priced(freight=D(80), payment_fee=D("0.03"), tax_by="line")
    said = priced(freight=D(80), payment_fee=D("0.03"), tax_by="line", freight_tax=D("0.20"))
    assert said == plain
    assert len(plain.at_rates) == 1


def test_what_passes_through_costs_its_fee() -> None:
    """3 % of 80 x 1.05 and of 40 x 1.2: 2.52 + 1.44."""
    pricing = Pricing(tax=D("0.2"), payment_fee=D("0.03"), freight=D(80), freight_tax=D("0.05"), stand=D(40))
    assert fee_at_cost(pricing) == D("3.96")
    assert fee_at_cost(replace(pricing, fee_borne_by="gallery")) == 0


# --- what a sheet says, and the answer ---------------------------------------------------------------------------


def test_the_answer_has_base_and_tax_of_each_rate_where_there_are_several() -> None:
    sheet = bowl()
    sheet["pricing"] |= {"tax": 0.2, "freight": "80", "tax_inclusive": True}
    assert "taxes" not in answer(sheet)["money"]
    sheet["pricing"] |= {"freight_tax": 0.05, "crate_tax": None}
    found = answer(sheet)
    money = found["money"]
    assert [one["rate"] for one in money["taxes"]] == [0.2, 0.05]
    assert money["taxes"][1] == {"rate": 0.05, "base": "80.00", "tax": "4.00"}
    assert money["printed"] == {"freight": "84.00", "crate": "0.00", "stand": "0.00"}
    assert money["rates"] == {"pieces": 0.2, "freight": 0.05, "crate": 0.2, "stand": 0.2}
    assert sum(D(one["tax"]) for one in money["taxes"]) == D(found["price"]["tax"])
    assert sum(D(one["base"]) for one in money["taxes"]) == D(money["tax_base"])


@pytest.mark.parametrize("rate", [-0.1, 11, "20 %", True])
def test_what_is_no_rate_is_refused_where_it_stands(rate: Any) -> None:
    sheet = bowl()
    sheet["pricing"] |= {"crate_tax": rate}
    assert places_of(sheet) == ["pricing.crate_tax"]


def test_a_cost_of_nothing_is_no_price() -> None:
    """Nothing but freight: the pieces' line of nothing still stands first."""
    nothing = Cost(*[D("0.00")] * 6)
    price = make_price(nothing, mean_hours=0, pricing=Pricing(freight=D(10), freight_tax=D("0.1")))
    assert [one.rate for one in price.at_rates] == [0, D("0.1")]
    assert price.total == D("11.00")
