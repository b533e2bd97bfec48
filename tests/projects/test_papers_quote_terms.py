"""A quote's papers under every kind of terms: what is printed, read back out of the PDF, is the answer to the cent."""

import re
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from typing import Any

import pytest

from projects.models import Quote
from projects.papers.quote import quote_pdf
from tests.projects.frozen import BOWL, BOWL_BANDS, frozen_quote, pages_of, text_of

D = Decimal
BOX = {
    "freight_from": "worked_out",
    "crate_from": "worked_out",
    "carriage": [{"up_to_kg": 2, "price": "9.50"}, {"up_to_kg": 20, "price": "24.80"}],
    "crate_per_m2": "60",
    "crate_fixed": "15",
}
RATES = {"tax": 0.2, "freight": "80", "crate": "120", "stand": "45", "freight_tax": 0, "crate_tax": 0.05}
CASES: dict[str, dict[str, Any]] = {
    "stages": {"pricing": {"stage_shares": [0.3, 0.3]}},
    "purchase": {"pricing": {"gallery_mode": "purchase", "freight": "80"}},
    "commission": {"pricing": {"gallery_mode": "commission", "payment_fee": 0.03}},
    "haste and discount": {
        "pricing": {"rush": 0.2, "discount": 0.1, "discount_borne_by": "studio", "price_step": "25"}
    },
    "a pair": {"quantity": 2, "pricing": {"sold": "set", "price_step": "25"}},
    "carriage": {"quantity": 3, "pricing": {"sold": "set", **BOX}},
    "rates": {"pricing": RATES},
    "rates in the prices": {"pricing": RATES | {"tax_inclusive": True, "tax_by": "line"}},
    "all at once": {
        "quantity": 2,
        "pricing": {
            **RATES,
            **BOX,
            "tax_inclusive": True,
            "payment_fee": 0.03,
            "discount": 0.1,
            "discount_borne_by": "gallery",
            "stage_shares": [0.25, 0.25, 0.25],
        },
    },
}
SHEETS = {
    "A4": {"currency": "EUR", "length_unit": "mm", "tax_name": "VAT"},
    "Letter": {"currency": "USD", "length_unit": "in", "tax_name": "Sales tax"},
}
SIGNS = {"EUR": "€", "USD": "$"}


@cache
def quoted(case: str, sheet: str) -> Quote:
    """A quote of a case, on one size of paper."""
    said, head = CASES[case], SHEETS[sheet]
    pricing = {"currency": head["currency"], **said["pricing"]}
    return frozen_quote(pricing=pricing, letterhead=head, quantity=said.get("quantity", 1))


@cache
def paper_of(case: str, sheet: str, copy: Any) -> bytes:
    """One of its papers; printed once, since that takes a second."""
    return quote_pdf(quoted(case, sheet), copy=copy)


def shown(quote: Quote, amount: str | Decimal) -> str:
    """An amount as it is printed."""
    value = D(amount)
    sign = SIGNS[quote.letterhead["currency"]]
    return f"{'−' if value < 0 else ''}{sign}{abs(value):,.2f}"


def client_amounts(quote: Quote) -> Iterator[str]:
    """What the client's table must print, in its order, from the frozen answer alone."""
    price, money = quote.estimate["price"], quote.estimate["money"]
    yield money["work"] if money["mode"] == "purchase" else money["listed"]
    if D(money["discount"]):
        yield f"-{money['discount']}"
    printed = money.get("printed") or money
    yield from (printed[name] for name in ("freight", "crate", "stand") if D(money[name]))
    for one in money.get("taxes") or ():
        yield from (one["base"], one["tax"])
    if "taxes" not in money:
        yield price["tax"]
    yield price["total"]
    if quote.sheet["pricing"].get("stage_shares"):
        yield from (payment["amount"] for payment in money["payments"])
    else:
        yield from (price["deposit"], price["balance"])


def account_amounts(quote: Quote) -> Iterator[str]:
    """What the trade copy adds."""
    price, money = quote.estimate["price"], quote.estimate["money"]
    yield price["retail_before_tax"]
    yield f"-{price['gallery_share']}"
    if D(money["fee"]):
        yield f"-{money['fee']}"
    yield price["net"]


def printed_amounts(paper: bytes, quote: Quote) -> list[str]:
    """Every amount of money on a paper, in the order in which it stands there."""
    sign = re.escape(SIGNS[quote.letterhead["currency"]])
    return re.findall(rf"−?{sign}[\d,]+\.\d\d", text_of(paper))


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("case", CASES)
def test_the_client_s_paper_prints_the_frozen_answer_to_the_cent_and_no_other_amount(
    case: str, sheet: str
) -> None:
    quote = quoted(case, sheet)
    expected = [shown(quote, amount) for amount in client_amounts(quote)]
    assert printed_amounts(paper_of(case, sheet, "client"), quote) == expected


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("case", CASES)
def test_the_trade_copy_adds_the_account_to_the_cent_and_no_other_amount(case: str, sheet: str) -> None:
    quote = quoted(case, sheet)
    expected = [shown(quote, amount) for amount in (*client_amounts(quote), *account_amounts(quote))]
    assert printed_amounts(paper_of(case, sheet, "trade"), quote) == expected


@pytest.mark.parametrize("case", CASES)
def test_the_lines_of_the_table_add_up_to_its_total(case: str) -> None:
    """As a reader would add them: lines, and tax where it stands beside them."""
    quote = quoted(case, "A4")
    price, money = quote.estimate["price"], quote.estimate["money"]
    amounts = list(client_amounts(quote))
    lines = sum(map(D, amounts[: 1 + bool(D(money["discount"]))]))
    printed = money.get("printed") or money
    lines += sum(D(printed[name]) for name in ("freight", "crate", "stand"))
    beside = 0 if quote.sheet["pricing"].get("tax_inclusive") else D(price["tax"])
    assert lines + beside == D(price["total"])
    account = [D(amount) for amount in account_amounts(quote)]
    assert sum(account[:-1]) == account[-1]
    payments = money["payments"] if quote.sheet["pricing"].get("stage_shares") else ()
    assert sum((D(payment["amount"]) for payment in payments), D(0)) in (0, D(price["total"]))


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("case", CASES)
def test_no_paper_of_usual_length_is_torn(case: str, sheet: str) -> None:
    """One page, or what is agreed alone on the second; the account and the prices stay whole on the first."""
    for copy in ("client", "trade"):
        first, *more = pages_of(paper_of(case, sheet, copy))
        assert "Total" in first
        assert ("Net to the studio" in first) == (copy == "trade")
        assert len(more) <= 1
        for page in more:
            assert "Agreed between us" in page
            assert not re.search(r"[€$]\d", page)


@pytest.mark.parametrize(
    ("case", "words"),
    [
        ("stages", ("With the order, 30 %", "Payment 2, 30 %", "Before delivery, 40 %")),
        ("purchase", ("One piece, as drawn, to the gallery", "40 % of the price of the work before tax")),
        ("haste and discount", ("Discount, 10 %",)),
        ("a pair", ("A pair alike, each built from", "A pair, as drawn €")),
        ("carriage", ("A set of three alike, each built from", "A set of three, as drawn €", "Freight €")),
        ("rates", ("Freight (VAT 0 %) €80.00", "Crate (VAT 5 %) €120.00", "Stand €45.00", "VAT, 5 % of €120.00 €6.00")),
        ("rates in the prices", ("Crate (VAT 5 %) €126.00", "Stand €54.00", "of which VAT, 5 % of €120.00 €6.00")),
    ],
)  # fmt: skip
def test_the_client_s_words_fit_the_case(case: str, words: tuple[str, ...]) -> None:
    said = text_of(paper_of(case, "A4", "client"))
    for one in words:
        assert one in said, one
    assert not re.search(r"share|net to|45 %", said, re.IGNORECASE)


@pytest.mark.parametrize(
    ("case", "words"),
    [
        ("stages", "Gallery’s share, 45 % of retail before tax −"),
        ("purchase", "The gallery’s own price before tax €"),
        ("purchase", "Taken off for the gallery, 45 % −"),
        ("commission", "Commission to the gallery, 45 % of retail before tax −"),
        ("commission", "Payment fee, 3 % of all that is paid −"),
        ("haste and discount", "Gallery’s share, 45 % of the price before the discount −"),
        ("all at once", "45 % of the price before the discount, less the discount −"),
    ],
)
def test_the_account_says_what_the_gallery_s_share_is_of(case: str, words: str) -> None:
    assert words in text_of(paper_of(case, "A4", "trade"))


def test_the_price_of_one_of_a_pair_stands_nowhere() -> None:
    quote = quoted("a pair", "A4")
    half = D(quote.estimate["price"]["retail"]) / 2
    for copy in ("client", "trade"):
        assert shown(quote, half) not in text_of(paper_of("a pair", "A4", copy))


def test_a_wide_piece_has_the_account_whole_too() -> None:
    quote = frozen_quote(form=BOWL, bands=BOWL_BANDS, **CASES["all at once"])
    pages = pages_of(quote_pdf(quote, copy="trade"))
    assert "Retail before tax" in pages[0]
    assert "Net to the studio" in pages[0]


def test_markup_in_the_tax_s_name_is_printed_as_it_was_typed_in_every_line() -> None:
    quote = frozen_quote(pricing=RATES, letterhead={"tax_name": "<b>T&"})
    said = text_of(quote_pdf(quote, copy="client"))
    assert "Freight (<b>T& 0 %)" in said
    assert "<b>T&, 5 % of $120.00 $6.00" in said
