"""What is owed by a frozen quote: worked by hand, against the price's own figures, and adding up for any terms."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.answer import as_json
from estimating.estimate import Estimate, estimate
from estimating.piece import Pricing
from estimating.price.costs import Cost
from estimating.price.money import minor_digits, round_money
from estimating.price.pricing import make_price
from estimating.price.shares import clashes
from estimating.sheet import read_sheet
from projects.owed import Owed, is_consigned, owed
from projects.pricing_data import pricing_data
from tests.projects.frozen import BOWL, BOWL_BANDS

D = Decimal
ZERO = D("0.00")
USUAL = Pricing(margin=D("0.25"), gallery_share=D("0.4"), deposit_share=D("0.5"))


@cache
def _bowl() -> Estimate:
    return estimate(read_sheet({"title": "Bowl", "unit": "mm", "form": BOWL, "bands": BOWL_BANDS}))


COST = D("750.00")


def frozen(cost: Decimal = COST, **terms: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    """Answer and pricing section as a quote freezes them, of a piece that costs so much in twenty hours."""
    pricing = replace(USUAL, **terms)
    nothing = round_money(ZERO, currency=pricing.currency)
    labour = round_money(cost, currency=pricing.currency)
    whole = Cost(nothing, nothing, nothing, labour, nothing, nothing)
    price = make_price(whole, mean_hours=20, pricing=pricing)
    made = _bowl()
    answer = as_json(replace(made, cost=whole, price=price, sheet=replace(made.sheet, pricing=pricing)))
    return answer, pricing_data(pricing)


def by(**terms: Any) -> Owed:
    return owed(*frozen(**terms))


def amounts(found: Owed) -> list[Decimal]:
    return [payment.amount for payment in found.payments]


# --- worked by hand: net is 750 / 0.75 = 1,000, retail 1,000 / 0.6 = 1,666.67 --------------------------------------


def test_a_private_client_owes_the_price_and_its_tax() -> None:
    found = by(gallery_share=ZERO, tax=D("0.2"))
    assert (found.base, found.tax, found.amount) == (D("1000.00"), D("200.00"), D("1200.00"))
    assert amounts(found) == [D("500.00"), D("700.00")]  # the deposit is half of the price before tax


def test_a_gallery_on_consignment_owes_the_studio_s_part() -> None:
    """1,666.67 less its 666.67 is 1,000.00; a fifth of tax on that, not on what its client pays."""
    found = by(tax=D("0.2"))
    assert (found.base, found.tax, found.amount) == (D("1000.00"), D("200.00"), D("1200.00"))
    assert amounts(found) == [D("600.00"), D("600.00")]


def test_where_the_price_has_its_tax_in_it_the_gallery_s_part_is_the_same() -> None:
    """2,000.00 on the tag holds 333.33 of tax: 1,666.67 before it, and 1,000.00 of that is the studio's."""
    found = by(tax=D("0.2"), tax_inclusive=True)
    assert (found.base, found.tax, found.amount) == (D("1000.00"), D("200.00"), D("1200.00"))


def test_freight_crate_and_stand_are_owed_as_they_cost_and_taxed() -> None:
    found = by(tax=D("0.1"), freight=D(80), crate=D(120), stand=D(40))
    assert (found.base, found.tax, found.amount) == (D("1240.00"), D("124.00"), D("1364.00"))


def test_a_fee_that_the_studio_bears_is_owed_with_the_net() -> None:
    """1,000 / (1 - 0.4 - 0.03) = 1,754.39; its 40 % is 701.76, so 1,052.63 is paid, 52.63 of it for the fee."""
    found = by(payment_fee=D("0.03"))
    assert (found.amount, found.tax) == (D("1052.63"), ZERO)


def test_a_gallery_that_buys_owes_what_its_paper_says() -> None:
    found = by(gallery_mode="purchase", tax=D("0.2"), freight=D(80))
    assert (found.base, found.tax, found.amount) == (D("1080.00"), D("216.00"), D("1296.00"))
    assert amounts(found) == [D("500.00"), D("796.00")]


def test_a_commission_passed_on_is_paid_by_the_client_in_full() -> None:
    found = by(gallery_mode="commission")
    assert found.amount == D("1666.67")


def test_tax_is_rounded_once_for_the_quote_or_for_each_line() -> None:
    """8.25 % of 1,000.00, 0.99 and 0.99: 82.50, and 0.081675 twice, which is 0.16 or 0.08 each."""
    terms: dict[str, Any] = {"tax": D("0.0825"), "freight": D("0.99"), "crate": D("0.99")}
    assert by(**terms).tax == D("82.66")
    assert by(**terms, tax_by="line").tax == D("82.66")
    more: dict[str, Any] = {"tax": D("0.0825"), "freight": D("0.43"), "crate": D("0.43")}
    assert by(**more).tax == D("82.57")  # 0.035475 twice is 0.07095 on 82.50
    assert by(**more, tax_by="line").tax == D("82.58")  # 0.04 and 0.04


def test_without_a_deposit_there_is_one_payment() -> None:
    assert amounts(by(deposit_share=ZERO)) == [D("1000.00")]
    assert amounts(by(deposit_share=ZERO, gallery_share=ZERO)) == [D("1000.00")]


def test_a_deposit_of_all_is_one_payment() -> None:
    assert amounts(by(deposit_share=D(1))) == [D("1000.00")]


def test_stages_are_scaled_at_their_ends() -> None:
    """1,052.63 in thirds: 350.88, 701.75 and 1,052.63 at the ends."""
    third = D("0.3333")
    found = by(payment_fee=D("0.03"), stage_shares=(third, third))
    assert amounts(found) == [D("350.84"), D("350.84"), D("350.95")]  # at 350.841579 and 701.683158


def test_a_quote_from_before_modes_and_stages_is_owed_as_it_says() -> None:
    """Such a quote has neither `money` nor the terms that came later; its deposit is a share of its price."""
    answer, pricing = frozen(gallery_share=ZERO, tax=D("0.2"))
    for key in ("gallery_mode", "tax_by", "stage_shares", "freight_tax", "sold"):
        pricing.pop(key, None)
    answer.pop("money")
    found = owed(answer, pricing)
    assert (found.base, found.tax, found.amount) == (D("1000.00"), D("200.00"), D("1200.00"))
    assert amounts(found) == [D("500.00"), D("700.00")]
    assert [payment.share for payment in found.payments] == [D("0.5"), D("0.5")]


def test_a_gallery_s_quote_from_before_modes_is_of_consignment() -> None:
    answer, pricing = frozen(tax=D("0.2"))
    answer.pop("money")
    pricing.pop("gallery_mode")
    assert (owed(answer, pricing).amount, amounts(owed(answer, pricing))) == (
        D("1200.00"),
        [D("600.00"), D("600.00")],
    )


def test_lines_of_several_rates_are_owed_at_each() -> None:
    """1,000.00 at a fifth and 80.00 at a twentieth: 200.00 and 4.00."""
    found = by(tax=D("0.2"), freight=D(80), freight_tax=D("0.05"))
    assert [(one.rate, one.base, one.tax) for one in found.at_rates] == [
        (D("0.2"), D("1000.00"), D("200.00")),
        (D("0.05"), D("80.00"), D("4.00")),
    ]
    printed = by(tax=D("0.2"), freight=D(80), freight_tax=D("0.05"), gallery_share=ZERO)
    assert printed.at_rates == found.at_rates


# --- for any terms ------------------------------------------------------------------------------------------------

SHARES = st.decimals(0, D("0.6"), places=4)
RATES = st.decimals(0, D("0.3"), places=5)
EXTRAS = st.sampled_from([D(0), D("0.01"), D("12.34"), D(250)])
MODES = ("consignment", "purchase", "commission")


def terms_with(
    modes: tuple[str, ...], shares: st.SearchStrategy[Decimal]
) -> st.SearchStrategy[dict[str, Any]]:
    """Terms of all kinds that leave a price."""
    return st.fixed_dictionaries(
        {
            "currency": st.sampled_from(["USD", "JPY", "KWD"]),
            "gallery_share": shares,
            "gallery_mode": st.sampled_from(modes),
            "tax": RATES,
            "tax_inclusive": st.booleans(),
            "tax_by": st.sampled_from(["quote", "line"]),
            "deposit_share": st.one_of(st.just(D(0)), st.just(D(1)), SHARES),
            "discount": st.one_of(st.just(D(0)), st.decimals(0, D("0.3"), places=3)),
            "discount_borne_by": st.sampled_from(["both", "studio", "gallery"]),
            "payment_fee": st.sampled_from([D(0), D("0.029")]),
            "freight": EXTRAS,
            "crate": EXTRAS,
            "stand": EXTRAS,
            "freight_tax": st.one_of(st.none(), RATES),
            "crate_tax": st.one_of(st.none(), RATES),
            "stage_shares": st.sampled_from([(), (D("0.3"), D("0.3")), (D("0.25"), D("0.25"), D("0.25"))]),
            "price_step": st.sampled_from([D(0), D(5)]),
        }
    ).filter(lambda terms: not list(clashes(replace(USUAL, **terms))))


ANY_SHARE = st.one_of(st.just(D(0)), SHARES)
TERMS = terms_with(MODES, ANY_SHARE)
PRINTED = st.one_of(terms_with(MODES[1:], ANY_SHARE), terms_with(MODES, st.just(D(0))))
CONSIGNED = terms_with(MODES[:1], SHARES.filter(bool))
COSTS = st.decimals(D("0.01"), D(20000), places=2)


@given(COSTS, TERMS)
def test_it_adds_up_to_the_coin_in_every_way(cost: Decimal, terms: dict[str, Any]) -> None:
    found = by(cost=cost, **terms)
    assert found.base + found.tax == found.amount
    assert sum(amounts(found), D(0)) == found.amount
    assert sum((one.base for one in found.at_rates), D(0)) == found.base
    assert sum((one.tax for one in found.at_rates), D(0)) == found.tax
    places = -(minor_digits(terms["currency"]) or 0)
    for amount in (found.base, found.tax, found.amount, *amounts(found)):
        assert amount == amount.quantize(D(1).scaleb(places))


@given(COSTS, PRINTED)
def test_who_pays_the_printed_price_owes_the_frozen_figures(cost: Decimal, terms: dict[str, Any]) -> None:
    answer, pricing = frozen(cost, **terms)
    assert not is_consigned(answer, pricing)
    found, price, shared = owed(answer, pricing), answer["price"], answer["money"]
    assert (str(found.base), str(found.tax), str(found.amount)) == (
        shared["tax_base"],
        price["tax"],
        price["total"],
    )
    assert [(float(p.share), str(p.amount)) for p in found.payments] == [
        (p["share"], p["amount"]) for p in shared["payments"]
    ]


@given(COSTS, CONSIGNED)
def test_a_gallery_on_consignment_owes_net_fee_what_passes_through_and_tax(
    cost: Decimal, terms: dict[str, Any]
) -> None:
    answer, pricing = frozen(cost, **terms)
    assert is_consigned(answer, pricing)
    found, price, shared = owed(answer, pricing), answer["price"], answer["money"]
    lines = [D(price["net"]) + D(shared["fee"]), *(D(shared[name]) for name in ("freight", "crate", "stand"))]
    assert found.base == sum(lines)
    rates = [
        terms["tax"],
        *(terms["tax"] if terms[n] is None else terms[n] for n in ("freight_tax", "crate_tax")),
    ]
    exact = sum(Fraction(a) * Fraction(r) for a, r in zip(lines, [*rates, terms["tax"]], strict=True))
    coin = Fraction(1, 10 ** (minor_digits(terms["currency"]) or 0))
    roundings = 4 if terms["tax_by"] == "line" else len(found.at_rates)
    assert abs(Fraction(found.tax) - exact) <= roundings * coin / 2
    assert len(found.payments) <= len(shared["payments"])


def test_nothing_is_owed_for_nothing() -> None:
    found = by(cost=D("0.00"))
    assert (found.amount, found.payments) == (D("0.00"), ())


@pytest.mark.parametrize("mode", ["purchase", "commission"])
def test_without_a_share_the_mode_makes_no_difference(mode: str) -> None:
    assert by(gallery_share=ZERO, gallery_mode=mode).amount == by(gallery_share=ZERO).amount
