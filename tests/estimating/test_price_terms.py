"""Shares, step, fee, discount, pass-through, a price given: worked by hand, and both ways by properties."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from estimating.piece import Pricing
from estimating.price.costs import Cost
from estimating.price.money import round_up_to
from estimating.price.pricing import Price, left_at, make_price
from estimating.price.shares import clashes, part_of_studio, retail_for
from tests.estimating.sheets import answer, bowl, modest, places_of

D = Decimal
ZERO = D("0.00")


def terms(**changes: Any) -> Pricing:
    return replace(Pricing(margin=D("0.25"), gallery_share=D("0.5")), **changes)


def priced(**changes: Any) -> Price:
    """A cost of 750, of which 600 is 20 hours of labour: net 1,000 at a margin of a quarter."""
    cost = Cost(D("150.00"), ZERO, ZERO, D("600.00"), ZERO, ZERO)
    quantity = changes.pop("quantity", 1)
    return make_price(cost, mean_hours=20, pricing=terms(**changes), quantity=quantity)


# --- worked by hand ---------------------------------------------------------------------------------------------


def test_the_printed_price_is_rounded_up_to_a_step_and_net_worked_back() -> None:
    """1,000 / 0.6 = 1,666.67; the next 25 is 1,675, of which 60 % is 1,005."""
    price = priced(gallery_share=D("0.4"), price_step=D(25))
    assert (price.retail, price.net, price.gallery_share) == (D("1675.00"), D("1005.00"), D("670.00"))
    assert price.per_hour == D("42.75")  # (1005 - 150) / 20


def test_the_step_is_of_the_price_with_its_tax_where_that_is_printed() -> None:
    """1,666.67 and 20 % is 2,000.00: already on a step. With 8.25 % it is 1,804.17, and 1,825 the next."""
    assert priced(gallery_share=D("0.4"), tax=D("0.2"), tax_inclusive=True, price_step=D(25)).retail == D(
        "2000.00"
    )
    price = priced(gallery_share=D("0.4"), tax=D("0.0825"), tax_inclusive=True, price_step=D(25))
    assert (price.retail, price.tax) == (D("1825.00"), D("139.09"))  # 1825 x 0.0825 / 1.0825 = 139.0877


def test_every_piece_of_several_has_a_tag_on_a_step() -> None:
    """2,000 for three is 666.67 each: 675 on the tag, 2,025 in all."""
    assert priced(price_step=D(25), quantity=3).retail == D("2025.00")


def test_a_set_has_one_tag_on_a_step() -> None:
    """2,000 for three as one set: the next 75 is 2,025; each by itself 666.67 is 675, the next 75 of it."""
    assert priced(price_step=D(75), quantity=3, sold="set").retail == D("2025.00")
    assert priced(price_step=D(60), quantity=3, sold="set").retail == D("2040.00")
    assert priced(price_step=D(60), quantity=3).retail == D("2160.00")  # 720 each


def test_a_pair_without_a_step_costs_what_two_do() -> None:
    assert priced(quantity=2, sold="set") == priced(quantity=2)
    assert priced(quantity=1, sold="set", price_step=D(75)) == priced(price_step=D(75))


def test_a_fee_is_grossed_up_by_one_less_share_less_fee() -> None:
    """1,000 / (1 - 0.45 - 0.03) = 1,923.08; the fee is 3 % of it, 57.69."""
    price = priced(gallery_share=D("0.45"), payment_fee=D("0.03"))
    assert (price.retail, price.fee, price.net) == (D("1923.08"), D("57.69"), D("1000.00"))


def test_a_fee_that_the_gallery_bears_is_nothing_to_the_studio() -> None:
    assert priced(payment_fee=D("0.03"), fee_borne_by="gallery") == priced()


def test_freight_crate_and_stand_stand_outside_the_gallery_s_share() -> None:
    price = priced(freight=D(80), crate=D(120), stand=D(40), tax=D("0.1"))
    assert (price.net, price.gallery_share, price.retail) == (D("1000.00"), D("1000.00"), D("2000.00"))
    assert (price.base, price.tax, price.total) == (D("2240.00"), D("224.00"), D("2464.00"))
    assert price.pass_through == (D("80.00"), D("120.00"), D("40.00"))


@pytest.mark.parametrize(
    ("bearer", "net", "gallery"),
    [("both", "900.00", "900.00"), ("studio", "800.00", "1000.00"), ("gallery", "1000.00", "800.00")],
)
def test_a_discount_of_a_tenth_is_borne_by_those_who_bear_it(bearer: str, net: str, gallery: str) -> None:
    price = priced(discount=D("0.1"), discount_borne_by=bearer)
    assert (price.listed, price.discount, price.retail) == (D("2000.00"), D("200.00"), D("1800.00"))
    assert (price.net, price.gallery_share) == (D(net), D(gallery))


def test_haste_is_a_surcharge_on_the_net_price() -> None:
    assert priced(rush=D("0.2")).net == D("1200.00")


def test_a_price_given_is_worked_backwards() -> None:
    """1,800 named, half of it the gallery's: 900 net, (900 - 150) / 20 an hour."""
    price = priced(offer=D(1800), price_from="offer")
    assert (price.retail, price.net, price.per_hour) == (D("1800.00"), D("900.00"), D("37.50"))
    assert price.offer is not None
    assert (price.offer.net, price.offer.per_hour) == (price.net, price.per_hour)


def test_a_gallery_that_buys_pays_the_price_less_its_share() -> None:
    """The studio's paper asks 1,000 and tax on that; the gallery's own tag is 2,000."""
    price = priced(gallery_mode="purchase", tax=D("0.2"))
    assert (price.work, price.tax, price.total, price.retail) == (
        D("1000.00"),
        D("200.00"),
        D("1200.00"),
        D("2000.00"),
    )
    assert (price.deposit, price.balance) == (D("500.00"), D("700.00"))


def test_a_commission_passed_on_is_paid_out_of_the_whole_price() -> None:
    price = priced(gallery_mode="commission", payment_fee=D("0.03"))
    assert price.work == price.retail == D("2127.66")  # 1000 / 0.47
    assert price.net + price.fee + price.gallery_share == price.retail


def test_what_is_left_of_a_slow_hour_has_more_hours_to_pay_for() -> None:
    """Net 1,000, 150 of costs at 20 hours; at 25 hours 5 more at 10 a bench hour: (1,000 - 200) / 25 = 32."""
    cost = Cost(D("150.00"), ZERO, ZERO, D("600.00"), ZERO, ZERO)
    pricing = terms(overhead_rate=D(10))
    price = make_price(cost, mean_hours=20, pricing=pricing)
    assert left_at(25, price=price, cost=cost, mean_hours=20, pricing=pricing) == D("32.00")
    assert left_at(20, price=price, cost=cost, mean_hours=20, pricing=pricing) == price.per_hour
    assert left_at(0, price=price, cost=cost, mean_hours=20, pricing=pricing) == 0


# --- both ways --------------------------------------------------------------------------------------------------

TERMS = st.builds(
    Pricing,
    currency=st.sampled_from(["USD", "JPY", "KWD"]),
    margin=st.decimals(0, "0.9", places=2),
    gallery_share=st.decimals(0, "0.7", places=2),
    gallery_mode=st.sampled_from(["consignment", "purchase", "commission"]),
    tax=st.decimals(0, "0.3", places=3),
    tax_inclusive=st.booleans(),
    tax_by=st.sampled_from(["quote", "line"]),
    payment_fee=st.decimals(0, "0.1", places=3),
    fee_borne_by=st.sampled_from(["studio", "gallery"]),
    freight=st.decimals(0, 500, places=2),
    crate=st.decimals(0, 500, places=2),
    rush=st.decimals(0, "0.3", places=2),
)
COSTS = st.decimals("0.01", 50_000, places=2)


def coin(pricing: Pricing) -> Decimal:
    return D(1).scaleb({"USD": -2, "JPY": 0, "KWD": -3}[pricing.currency])


def cost_of(total: Decimal) -> Cost:
    return Cost(total, ZERO, ZERO, ZERO, ZERO, ZERO)


@modest
@given(COSTS, TERMS)
def test_what_is_paid_is_what_everybody_gets(total: Decimal, pricing: Pricing) -> None:
    """To the coin, whoever bears what: pieces, pass-through and tax; studio, gallery and fee."""
    price = make_price(cost_of(total), mean_hours=3, pricing=pricing)
    studio = price.net + price.fee
    assert studio + price.gallery_share == price.retail_before_tax
    charged = studio if pricing.gallery_mode == "purchase" else price.retail_before_tax
    assert abs(charged + sum(price.pass_through) - price.base) <= (
        coin(pricing) if pricing.gallery_mode == "purchase" else 0
    )
    assert price.base + price.tax == price.total
    assert price.deposit + price.balance == price.total == sum(payment.amount for payment in price.payments)


@modest
@given(COSTS, TERMS)
def test_a_price_found_forwards_leads_back_to_the_net_it_was_found_from(
    total: Decimal, pricing: Pricing
) -> None:
    price = make_price(cost_of(total), mean_hours=3, pricing=pricing)
    wanted = total / (1 - pricing.margin) * (1 + pricing.rush)
    # Half a coin each of net, retail, its tax, the tax of the quote and the fee; as many again of four lines' tax.
    assert abs(price.net - wanted) <= 5 * coin(pricing)
    back = make_price(
        cost_of(total),
        mean_hours=3,
        pricing=replace(pricing, offer=price.retail, price_from="offer", rush=D(0)),
    )
    assert replace(back, offer=None) == price


@modest
@given(COSTS, TERMS)
def test_the_share_algebra_is_its_own_inverse(net: Decimal, pricing: Pricing) -> None:
    """Unrounded: the studio's part of the retail price for a net, less the fee of what is paid, is that net."""
    through = pricing.pass_through
    retail = retail_for(net, pricing=pricing)
    studio = part_of_studio(retail, listed=retail, pricing=pricing)
    paid = (studio if pricing.gallery_mode == "purchase" else retail) + through
    fee = paid * (1 + pricing.tax) * (pricing.payment_fee if pricing.fee_borne_by == "studio" else 0)
    assert abs(studio - fee - net) < D("1e-15")


@modest
@given(COSTS, st.decimals("0.5", 1000, places=2), st.integers(1, 6), st.sampled_from(["each", "set"]))
def test_a_step_only_ever_raises_a_price_and_by_less_than_itself(
    total: Decimal, step: Decimal, pieces: int, sold: str
) -> None:
    pricing = terms(price_step=step, sold=sold)
    stepped = make_price(cost_of(total), mean_hours=1, pricing=pricing, quantity=pieces)
    plain = make_price(cost_of(total), mean_hours=1, pricing=terms(), quantity=pieces)
    tags = 1 if sold == "set" else pieces
    assert stepped.retail / tags % step == 0
    assert plain.retail <= stepped.retail < plain.retail + step * tags + D("0.01")
    assert stepped.net >= plain.net


@modest
@given(COSTS, TERMS, st.decimals(0, "0.5", places=2), st.sampled_from(["both", "studio", "gallery"]))
def test_a_discount_moves_between_studio_and_gallery_and_nowhere_else(
    total: Decimal, pricing: Pricing, discount: Decimal, bearer: str
) -> None:
    cut = replace(pricing, discount=discount, discount_borne_by=bearer)  # type: ignore[arg-type]
    assume(not any(clashes(cut)))
    price = make_price(cost_of(total), mean_hours=1, pricing=cut)
    assert price.retail + price.discount == price.listed
    assert price.net + price.fee + price.gallery_share == price.retail_before_tax
    assert price.retail_before_tax >= 0


def test_a_step_of_nothing_leaves_the_price() -> None:
    assert round_up_to(D("12.34"), step=D(0)) == D("12.34")


# --- what a sheet may say ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "place"),
    [
        ({"price_from": "offer"}, "pricing.price_from"),
        ({"gallery_share": 0.6, "payment_fee": 0.4}, "pricing.payment_fee"),
        ({"discount": 0.5, "discount_borne_by": "gallery"}, "pricing.discount"),
        ({"discount": 0.7, "discount_borne_by": "studio"}, "pricing.discount"),
        ({"gallery_mode": "barter"}, "pricing.gallery_mode"),
        ({"discount": 0.5, "discount_borne_by": "studio", "payment_fee": 0.3}, "pricing.discount"),
        ({"sold": "both"}, "pricing.sold"),
        ({"stage_shares": [0.05] * 12}, "pricing.stage_shares"),
        ({"stage_shares": [0.5, 0.5]}, "pricing.stage_shares"),
        ({"stage_shares": [0.5, -0.1]}, "pricing.stage_shares[1]"),
        ({"ring_loss": 1}, "pricing.ring_loss"),
        ({"price_step": "-5"}, "pricing.price_step"),
    ],
)
def test_terms_that_make_no_price_are_refused_where_they_stand(said: dict[str, Any], place: str) -> None:
    sheet = bowl()
    sheet["pricing"] |= said
    assert places_of(sheet) == [place]


def test_the_answer_says_how_the_price_is_shared() -> None:
    sheet = bowl()
    silent = answer(sheet)
    assert silent["money"]["listed"] == silent["price"]["retail"]
    sheet["pricing"] |= {"freight": "80", "payment_fee": 0.03, "tax": 0.2, "stage_shares": [0.3, 0.4]}
    found = answer(sheet)
    money, price = found["money"], found["price"]
    assert money["freight"] == "80.00"
    assert (
        D(money["tax_base"]) + D(price["tax"])
        == D(price["total"])
        == sum(D(p["amount"]) for p in money["payments"])
    )
    assert D(money["left_an_hour"]["slow"]) < D(money["left_an_hour"]["median"])
