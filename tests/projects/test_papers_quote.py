"""What stands on a quote's two papers, read back out of the PDFs, and what must never stand there."""

import re
from decimal import Decimal
from typing import Any

import pytest

from projects.models import Quote
from projects.papers import words
from projects.papers.quote import quote_pdf
from projects.papers.terms import STANDARD_TERMS, clauses
from tests.projects.frozen import (
    BOWL,
    BOWL_BANDS,
    frozen_quote,
    pages_of,
    text_of,
    usual,
    usual_paper,
)

COPIES = ("client", "trade")


def amount(quote: Quote, *path: str) -> Decimal:
    found: Any = quote.estimate
    for key in path:
        found = found[key]
    return Decimal(found)


def dollars(value: Decimal) -> str:
    return f"${value:,.2f}"


@pytest.mark.parametrize("copy", COPIES)
def test_both_copies_say_what_is_quoted_to_whom_and_until_when(copy: Any) -> None:
    said = text_of(usual_paper(copy))
    for words_ in (
        "Quillon Bay Turning",
        "4 Boatshed Lane, Quillon Bay",
        "hello@quillonbay.example · 555 0199 · quillonbay.example · Tax number QB-77",
        "Quote 2027-014 B",
        "3 March 2027, open until 2 April 2027",
        "Tall vase for the stair",
        "As we said on the phone.",
        "Sill and Sash Gallery, Perpetua Lorn 2 Sash Street Over Sill",
        "Wiping varnish, five coats",
        "7 to 9 weeks from the deposit",
        "Signed and numbered.",
        "For Quillon Bay Turning, date",
        "Accepted by Sill and Sash Gallery, date",
        "1 of 1",
    ):
        assert words_ in said, words_


def test_the_piece_is_described_by_its_size_weight_woods_and_count() -> None:
    said = text_of(usual_paper("client"))
    # 2 layers of 12 and 10 of 24; 140 mm is the widest of the form, and 1.5 % of it 2.1, so 3 in whole millimetres.
    assert "Built from 264 pieces of wood in 12 layers." in said
    assert "120 mm high, 140 mm across, each ± 3 mm" in said
    assert re.search(r"about \d+ g", said)
    for wood in (
        "black cherry (Prunus serotina)",
        "sugar maple (Acer saccharum)",
        "black walnut (Juglans nigra)",
    ):
        assert wood in said
    assert "Left half as turned, right half in section. Dimensions in millimetres." in said


def test_the_weight_is_that_of_the_estimate_with_its_glue_lines() -> None:
    form = usual().estimate["form"]
    grams = form["mass_g"] + form["glue_lines_g"]
    said = re.search(r"about (\d+) g", text_of(usual_paper("client")))
    assert said is not None
    assert float(said[1]) == pytest.approx(grams, rel=0.05)


def test_the_client_sees_retail_tax_total_deposit_and_balance() -> None:
    quote, said = usual(), text_of(usual_paper("client"))
    retail, tax = amount(quote, "price", "retail"), amount(quote, "price", "tax")
    deposit = amount(quote, "price", "deposit")
    assert f"One piece, as drawn {dollars(retail)}" in said
    assert f"Sales tax, 8.25 % {dollars(tax)}" in said
    assert f"Total {dollars(retail + tax)}" in said
    assert f"Deposit with the order: {dollars(deposit)}, 40 % of the price before tax." in said
    assert f"The balance, {dollars(retail + tax - deposit)}, is due before delivery." in said


def test_the_trade_copy_adds_the_gallerys_share_its_base_and_the_net() -> None:
    quote, said = usual(), text_of(usual_paper("trade"))
    net, share = amount(quote, "price", "net"), amount(quote, "price", "gallery_share")
    assert "Trade copy" in said
    assert f"Retail before tax {dollars(net + share)}" in said
    assert f"Gallery’s share, 45 % of retail before tax −{dollars(share)}" in said
    assert f"Net to the studio {dollars(net)}" in said


def secrets(quote: Quote) -> set[str]:
    """Every figure of cost, margin and hours as it might be printed."""
    cost = {f"{Decimal(value):,.2f}" for value in quote.estimate["cost"].values() if Decimal(value)}
    labour = quote.estimate["labour"]
    hours = {
        f"{labour[name] / 60:.{places}f}" for name in ("mean", "median", "low", "high") for places in (1, 2)
    }
    return cost | hours | {quote.estimate["price"]["per_hour"], "41.00", "17 %", "3.10", "13.70"}


@pytest.mark.parametrize("copy", COPIES)
def test_cost_margin_and_hours_stand_on_neither_paper(copy: Any) -> None:
    said = text_of(usual_paper(copy))
    for figure in secrets(usual()):
        assert not re.search(rf"(?<![\d,.]){re.escape(figure)}(?![\d])", said), figure
    assert not re.search(r"\b(margin|labour|overhead|an hour|hours|cost of)\b", said, re.IGNORECASE)


def test_the_client_does_not_see_what_the_gallery_or_the_studio_gets() -> None:
    quote, said = usual(), text_of(usual_paper("client"))
    assert dollars(amount(quote, "price", "net")) not in said
    assert dollars(amount(quote, "price", "gallery_share")) not in said
    assert not re.search(r"share|net to|trade|45 %", said, re.IGNORECASE)


def test_a_price_that_holds_its_tax_is_printed_once_and_says_what_of_it_is_tax() -> None:
    pricing = {"tax": 0.2, "tax_inclusive": True, "currency": "EUR"}
    quote = frozen_quote(pricing=pricing, letterhead={"tax_name": "VAT"}, quantity=2)
    said = text_of(quote_pdf(quote, copy="client"))
    retail, tax = amount(quote, "price", "retail"), amount(quote, "price", "tax")
    assert f"Two pieces, as drawn, tax included €{retail:,.2f}" in said
    assert f"of which VAT, 20 % €{tax:,.2f}" in said
    assert f"Total €{retail:,.2f}" in said
    assert "Two pieces alike, each built from 264 pieces of wood" in said
    assert retail == amount(quote, "price", "retail_before_tax") + tax


def test_a_private_clients_papers_name_no_gallerys_account() -> None:
    quote = frozen_quote(
        pricing={"gallery_share": 0, "deposit_share": 0}, addressee={"kind": "private", "name": "Ilse Varrow"}
    )
    trade, client = (text_of(quote_pdf(quote, copy=copy)) for copy in ("trade", "client"))
    assert "No gallery has a share in this price." in trade
    assert "Gallery’s share" not in trade
    assert "Accepted by Ilse Varrow, date" in client
    assert "no deposit is asked for" in client


def test_a_currency_without_minor_units_is_printed_without_decimals() -> None:
    quote = frozen_quote(pricing={"currency": "JPY"})
    said = text_of(quote_pdf(quote, copy="client"))
    assert f"JPY {amount(quote, 'price', 'retail'):,.0f}" in said
    assert not re.search(r"JPY [\d,]+\.", said)


def test_a_studio_that_works_in_inches_is_quoted_in_inches() -> None:
    quote = frozen_quote(letterhead={"length_unit": "in"})
    said = text_of(quote_pdf(quote, copy="client"))
    # 120 mm are 4.724 in, 4 12/16; 140 mm are 5.512 in, 5 8/16; 1.5 % of that is 0.083 in, 2/16 going up.
    assert "4 3/4 in high, 5 1/2 in across, each ± 1/8 in" in said
    assert re.search(r"about [\d.]+ lb \(\d+ g\)", said)
    assert "Dimensions in inches." in said


def test_the_studios_own_terms_and_care_are_printed_and_ours_where_it_has_none() -> None:
    ours = text_of(usual_paper("client"))
    for clause in clauses(STANDARD_TERMS):
        assert clause.head in ours
        assert clause.body in ours
    quote = frozen_quote(
        terms="Cash. Only cash is taken.\n\nNo refunds once the wood is cut.", care="Dust it."
    )
    own = text_of(quote_pdf(quote, copy="client"))
    assert "Cash. Only cash is taken." in own
    assert "No refunds once the wood is cut." in own
    assert "Care. Dust it." in own
    assert "Wood is wood." not in own


def test_our_own_terms_cover_what_a_commission_needs() -> None:
    heads = [clause.head for clause in clauses(STANDARD_TERMS)]
    assert heads == [
        "Drawing and sample.",
        "Wood is wood.",
        "Time.",
        "Ours to show.",
        "If plans change.",
    ]
    assert "Rights that the law gives a buyer stay as they are." in STANDARD_TERMS


MARKUP = '<script>alert(1)</script><img src="file:///etc/hostname">{% now "Y" %}&amp;'


def test_markup_anywhere_in_a_quote_is_printed_as_it_was_typed() -> None:
    head = {
        "name": f"Studio {MARKUP}",
        "tagline": MARKUP,
        "address": MARKUP,
        "letterhead_note": MARKUP,
        "tax_name": "<b>T",
    }
    quote = frozen_quote(
        title=f"Vase {MARKUP}",
        letterhead=head,
        addressee={"name": MARKUP, "address": MARKUP},
        terms=MARKUP,
        care=MARKUP,
        message=MARKUP,
        lead_time="<i>soon</i>",
        finish={"name": "<u>oil</u>", "coats": 1},
        species=[{"key": "x", "name": "<b>oak</b>", "botanical": "<i>Quercus</i>"}],
    )
    said = text_of(quote_pdf(quote, copy="trade")).replace(" ", "")
    assert said.count(MARKUP.replace(" ", "")) >= 9
    for typed in ("<i>soon</i>", "<u>oil</u>,onecoat", "<b>oak</b>(<i>Quercus</i>)", "<b>T,"):
        assert typed in said


def test_a_usual_quote_fits_one_page_and_a_wordy_one_two_with_no_page_left_nearly_empty() -> None:
    assert len(pages_of(usual_paper("client"))) == len(pages_of(usual_paper("trade"))) == 1
    assert len(pages_of(quote_pdf(frozen_quote(form=BOWL, bands=BOWL_BANDS), copy="trade"))) == 1
    wordy = "\n".join(
        f"Clause {n}. " + "It matters a good deal to both of us and to the wood. " * 8 for n in range(12)
    )
    title = "A long title for a vessel that stands on the stair and is seen from above and from below by all"
    pages = pages_of(quote_pdf(frozen_quote(terms=wordy, title=title), copy="trade"))
    assert len(pages) == 2
    assert "Agreed between us" not in pages[0]
    assert "Clause 0." in pages[1]
    assert "Accepted by" in pages[1]
    assert "2 of 2" in pages[1]


@pytest.mark.parametrize(
    ("measures", "unit", "inches", "said"),
    [
        ((286.0, 184.0), "mm", "fraction", "286 mm high, 184 mm across, each ± 5 mm"),
        ((40.2, 99.6), "mm", "fraction", "40 mm high, 100 mm across, each ± 2 mm"),
        ((254.0, 127.0), "in", "fraction", "10 in high, 5 in across, each ± 3/16 in"),
        ((254.0, 127.0), "in", "decimal", "10 in high, 5 in across, each ± 0.2 in"),
    ],
)
def test_sizes_come_with_what_they_may_be_off_by(measures: Any, unit: str, inches: str, said: str) -> None:
    form = dict(zip(("height", "largest_diameter"), measures, strict=True))
    assert words.size(form, unit=unit, inches=inches).replace(words.NBSP, " ") == said


@pytest.mark.parametrize(
    ("grams", "unit", "said"),
    [
        (1437, "mm", "about 1.4 kg"),
        (614, "mm", "about 610 g"),
        (996, "mm", "about 1.0 kg"),
        (7.3, "mm", "about 7.3 g"),
        (12_650, "mm", "about 13 kg"),
        (453.59237, "in", "about 1.0 lb (450 g)"),
    ],
)
def test_weights_are_said_to_two_figures(grams: float, unit: str, said: str) -> None:
    assert words.mass(grams, unit=unit) == said
