"""Money: rounding as tax rules print it, cost lines and price worked by hand, and properties that must hold."""

from dataclasses import replace
from decimal import ROUND_HALF_EVEN, Decimal
from pathlib import Path
from xml.etree import ElementTree

import iso4217
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.piece import Finish, Pricing
from estimating.price.costs import Cost, add_costs, exact, finish_ml
from estimating.price.money import in_equal_parts, minor_digits, price_of_board, round_money
from estimating.price.pricing import make_price
from tests.estimating.sheets import answer, bowl, modest

D = Decimal

# ISO 4217 list one, published 2026-01-01: currencies whose minor unit is not a hundredth.
NO_DECIMALS = [
    "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "UYI", "VND", "VUV", "XAF", "XOF",
    "XPF",
]  # fmt: skip
THREE = ["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"]
FOUR = ["CLF", "UYW"]
NO_CURRENCY_TO_PAY_IN = [
    "XAG",
    "XAU",
    "XBA",
    "XBB",
    "XBC",
    "XBD",
    "XDR",
    "XPD",
    "XPT",
    "XSU",
    "XTS",
    "XUA",
    "XXX",
]


@pytest.mark.parametrize(
    ("codes", "digits"),
    [(NO_DECIMALS, 0), (THREE, 3), (FOUR, 4), (["USD", "EUR", "GBP", "CAD", "CHF", "SEK", "HUF"], 2)],
)
def test_a_currency_has_the_decimals_of_iso_4217(codes: list[str], digits: int) -> None:
    assert {code: minor_digits(code) for code in codes} == dict.fromkeys(codes, digits)


def test_every_currency_of_the_published_list_has_its_decimals() -> None:
    """List one as an XML table, read here by itself."""
    table = ElementTree.parse(Path(iso4217.__file__).parent / "table.xml")
    listed = {
        entry.findtext("Ccy"): entry.findtext("CcyMnrUnts")
        for entry in table.iter("CcyNtry")
        if entry.findtext("Ccy")
    }
    assert len(listed) > 150
    for code, digits in listed.items():
        assert minor_digits(code) == (int(digits) if digits.isdigit() else None)


@pytest.mark.parametrize("code", [*NO_CURRENCY_TO_PAY_IN, "", "usd", "$", "DOLLAR", "US"])
def test_what_has_no_minor_unit_is_no_currency_to_price_in(code: str) -> None:
    assert minor_digits(code) is None
    with pytest.raises(ValueError, match="not a currency with a minor unit"):
        round_money(D(1), currency=code)


# Streamlined Sales and Use Tax Agreement, section 324: carried to the third decimal, up when it is greater than four.
# HMRC VATREC12030: below half a penny down, half a penny or more up.
@pytest.mark.parametrize(
    ("amount", "currency", "rounded"),
    [
        ("0.094875", "USD", "0.09"),  # 8.25 % of 1.15: not through 0.095
        ("0.095", "USD", "0.10"),
        ("0.0949", "USD", "0.09"),
        ("0.005", "GBP", "0.01"),
        ("0.0049999", "GBP", "0.00"),
        ("2.675", "EUR", "2.68"),  # a binary float would fall to 2.67
        ("0.125", "USD", "0.13"),  # half even would give 0.12
        ("2.5", "JPY", "3"),
        ("1.0005", "KWD", "1.001"),
        ("-0.125", "USD", "-0.13"),
    ],
)
def test_halves_go_up(amount: str, currency: str, rounded: str) -> None:
    assert str(round_money(D(amount), currency=currency)) == rounded


@modest
@given(st.decimals(-(10**9), 10**9, places=6))
def test_rounding_moves_by_half_a_minor_unit_at_most(amount: Decimal) -> None:
    rounded = round_money(amount, currency="EUR")
    assert abs(rounded - amount) <= D("0.005")
    if abs(rounded - amount) < D("0.005"):
        assert rounded == amount.quantize(D("0.01"), rounding=ROUND_HALF_EVEN)


def pricing(**changes: object) -> Pricing:
    plain = Pricing(
        currency="USD",
        labour_rate=D("30.00"),
        margin=D("0.15"),
        gallery_share=D("0.4"),
        deposit_share=D("0.5"),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def cost(total: str, *, labour: str = "0") -> Cost:
    zero = D("0.00")
    return Cost(D(total) - D(labour), zero, zero, D(labour), zero, zero)


# --- cost -------------------------------------------------------------------------------------------------------


def test_the_lines_of_cost_are_those_of_a_sum_on_paper() -> None:
    """Wood 41.235, 165 ml at 0.04, sundries 5 and 10.5 h at 1.50, 10.5 h at 30 and at 12; one in twenty fails."""
    lines = add_costs(
        wood=41.235,
        adhesive_ml=165.0,
        finish=D("0.75"),
        mean_hours=10.5,
        pricing=pricing(
            adhesive_per_ml=D("0.04"), consumables=D("5.00"), consumables_rate=D("1.50"),
            overhead_rate=D("12.00"), failure_share=D("0.05"),
        ),
    )  # fmt: skip
    assert (lines.wood, lines.adhesive) == (D("41.24"), D("6.60"))  # 41.235 goes up
    assert lines.consumables == D("21.50")  # 5.00 + 0.75 + 15.75
    assert (lines.labour, lines.overhead) == (D("315.00"), D("126.00"))
    assert lines.failures == D("26.86")  # 510.34 x 0.05 / 0.95 = 26.8600
    assert lines.total == D("537.20")
    assert lines.all_but_labour == D("222.20")


def test_failures_make_good_what_is_lost() -> None:
    """Of every job begun a share p is lost: cost / (1 - p) in all."""
    lines = add_costs(
        wood=100.0, adhesive_ml=0, finish=D(0), mean_hours=0, pricing=pricing(failure_share=D("0.2"))
    )
    assert lines.total == D("125.00")


def test_finish_is_coats_times_surface() -> None:
    """Five coats of 0.7 ml on 12 square decimetres."""
    assert finish_ml(Finish(coats=5, ml_per_dm2=0.7), surface=120_000) == pytest.approx(42.0, rel=1e-14)


def test_a_float_becomes_the_decimal_it_prints_as() -> None:
    assert exact(0.1) == D("0.1")


# Of a board foot, 2,359,737.216 mm3 (NIST SP 811), at 3,000 a cubic metre.
def test_a_board_costs_its_volume_at_the_price_a_cubic_metre() -> None:
    assert price_of_board(2_359_737.216, per_m3=D(3000)) == D("7.08")


# --- price ------------------------------------------------------------------------------------------------------


def test_a_maker_who_wants_300_of_a_gallery_that_keeps_40_per_cent_asks_500() -> None:
    """Grossed up, 300 / (1 - 0.4), not 300 x 1.4 = 420."""
    price = make_price(cost("300.00"), mean_hours=0, pricing=pricing(margin=D(0)))
    assert (price.net, price.retail, price.gallery_share) == (D("300.00"), D("500.00"), D("200.00"))


def test_margin_is_a_share_of_the_net_price() -> None:
    """85 / (1 - 0.15) = 100, of which 15 is margin."""
    assert make_price(cost("85.00"), mean_hours=0, pricing=pricing()).net == D("100.00")


def test_tax_is_reckoned_on_retail_before_tax_and_printed_where_it_is_inclusive() -> None:
    plain = make_price(cost("85.00"), mean_hours=0, pricing=pricing(tax=D("0.2")))
    included = make_price(cost("85.00"), mean_hours=0, pricing=pricing(tax=D("0.2"), tax_inclusive=True))
    assert (plain.retail_before_tax, plain.tax, plain.retail) == (D("166.67"), D("33.33"), D("166.67"))
    assert (included.tax, included.retail, included.deposit) == (D("33.33"), D("200.00"), D("100.00"))
    assert plain.deposit == D("83.34")  # half of 166.67, half up


def test_eight_and_a_quarter_per_cent_of_one_fifteen_is_nine_cents() -> None:
    terms = pricing(margin=D(0), gallery_share=D(0), tax=D("0.0825"))
    assert make_price(cost("1.15"), mean_hours=0, pricing=terms).tax == D("0.09")


def test_a_wanted_hourly_earning_takes_the_place_of_the_margin() -> None:
    terms = pricing(wanted_hourly=D("40.00"))
    price = make_price(cost("400.00", labour="300.00"), mean_hours=10, pricing=terms)
    assert price.net == D("500.00")  # 100 of other costs and ten hours at 40
    assert price.per_hour == D("40.00")


def test_what_is_left_an_hour_counts_all_costs_but_labour() -> None:
    price = make_price(cost("400.00", labour="300.00"), mean_hours=10, pricing=pricing(margin=D("0.2")))
    assert price.net == D("500.00")
    assert price.per_hour == D("40.00")


def test_an_offer_is_worked_backwards() -> None:
    """480 with 20 % tax in it is 400, of which 240 reach the studio; 100 of other costs leave 14 an hour."""
    terms = pricing(tax=D("0.2"), tax_inclusive=True, offer=D("480.00"))
    price = make_price(cost("400.00", labour="300.00"), mean_hours=10, pricing=terms)
    assert price.offer is not None
    assert (price.offer.net, price.offer.per_hour) == (D("240.00"), D("14.00"))


def test_no_hours_leave_nothing_an_hour() -> None:
    assert make_price(cost("10.00"), mean_hours=0, pricing=pricing()).per_hour == D("0.00")


@modest
@given(
    st.decimals("0.01", 100_000, places=2),
    st.decimals(0, "0.9", places=2),
    st.decimals(0, "0.9", places=2),
    st.decimals(0, "0.3", places=3),
)
def test_shares_add_up_to_the_cent(total: Decimal, margin: Decimal, share: Decimal, tax: Decimal) -> None:
    terms = pricing(margin=margin, gallery_share=share, tax=tax, tax_inclusive=True)
    price = make_price(cost(str(total)), mean_hours=7, pricing=terms)
    assert price.net + price.gallery_share + price.tax == price.retail
    half = D("0.005")
    assert abs(price.net * (1 - margin) - total) <= half
    assert abs(price.retail_before_tax * (1 - share) - price.net) <= half
    assert abs(price.retail_before_tax * tax - price.tax) <= half


@pytest.mark.parametrize(("currency", "digits"), [("JPY", 0), ("USD", 2), ("KWD", 3), ("CLF", 4)])
def test_money_is_printed_with_exactly_the_decimals_of_its_currency(currency: str, digits: int) -> None:
    sheet = bowl()
    sheet["pricing"] |= {"currency": currency, "tax": 0.0825}
    found = answer(sheet)
    amounts = [*found["cost"].values(), *(v for k, v in found["price"].items() if k != "currency")]
    amounts += [found["cutting"]["cost"], found["cutting"]["bound"]]
    for amount in amounts:
        assert len(amount.partition(".")[2]) == digits
    assert found["price"]["currency"] == currency


@given(st.integers(0, 10**9), st.integers(1, 60), st.sampled_from(["USD", "JPY", "KWD"]))
def test_equal_parts_are_whole_coins_that_add_up_and_are_a_coin_apart_at_most(
    coins: int, count: int, currency: str
) -> None:
    coin = D(1).scaleb(-(minor_digits(currency) or 0))
    parts = in_equal_parts(coins * coin, count=count, currency=currency)
    assert (len(parts), sum(parts)) == (count, coins * coin)
    assert all(part % coin == 0 for part in parts)
    assert max(parts) - min(parts) <= coin


def test_what_is_less_than_a_coin_is_in_the_last_part() -> None:
    assert in_equal_parts(D("10.001"), count=2, currency="USD") == (D("5.00"), D("5.001"))
