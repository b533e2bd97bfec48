"""Money as it is printed: by Babel, with the decimals of ISO 4217, as it was printed before Babel wrote it."""

from decimal import ROUND_HALF_UP, Decimal

import iso4217
import pytest
from babel.numbers import get_currency_precision, get_currency_symbol
from hypothesis import given
from hypothesis import strategies as st

from estimating.price.money import minor_digits
from projects.templatetags.turnery import money

PAYABLE = sorted(one.code for one in iso4217.Currency if minor_digits(one.code) is not None)

# Currencies whose hundredths nobody uses any more, so that Babel's locale data (Unicode CLDR, supplemental data,
# currency fractions) has none for them while ISO 4217 still does; the Iraqi dinar has thousandths there.
FEWER_IN_USE = {
    "AFN", "ALL", "COP", "HUF", "IDR", "IRR", "IQD", "KPW", "LAK", "LBP", "MGA", "MMK", "SOS", "SYP", "YER",
}  # fmt: skip


def test_two_tables_of_minor_units_agree_but_for_coins_out_of_use() -> None:
    differing = {code for code in PAYABLE if minor_digits(code) != get_currency_precision(code)}
    assert differing == FEWER_IN_USE
    assert {get_currency_precision(code) for code in differing} == {0}


def by_hand(amount: Decimal, currency: str) -> str:
    places = minor_digits(currency)
    assert places is not None
    value = amount.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    minus = "−" if value < 0 else ""
    if currency in ("USD", "EUR", "GBP"):
        return f"{minus}{get_currency_symbol(currency, locale='en')}{abs(value):,.{places}f}"
    return f"{currency} {minus}{abs(value):,.{places}f}"


@given(st.decimals(-(10**9), 10**9, places=4), st.sampled_from(PAYABLE))
def test_money_is_written_as_by_hand(amount: Decimal, currency: str) -> None:
    assert money(amount, currency) == by_hand(amount, currency)


@pytest.mark.parametrize(
    ("amount", "currency", "printed"),
    [
        ("1182.5", "USD", "$1,182.50"),
        ("1182.5", "CHF", "CHF 1,182.50"),
        ("-0.5", "EUR", "−€0.50"),
        ("1182.5", "JPY", "JPY 1,183"),
        ("1182.5", "KWD", "KWD 1,182.500"),
        ("1182.5", "HUF", "HUF 1,182.50"),
        ("1182.5", "", "1,182.50"),
        (None, "USD", "–"),
    ],
)
def test_money_reads_as_people_write_it(amount: str | None, currency: str, printed: str) -> None:
    assert money(amount, currency) == printed
