"""Papers read back out of their PDFs: figures equal to the database's, what must stand there, and what never may."""

import re
from decimal import Decimal
from typing import Any

import pytest

from projects.models import IssuedPaper, PricingDefaults, Studio
from projects.services import papers
from projects.services.paper_order import order_of, taxed_of
from projects.services.studios import studio_update
from projects.templatetags.turnery import money
from tests.projects.agreed_orders import DAY, accepted_order, change
from tests.projects.frozen import text_of

D = Decimal
pytestmark = pytest.mark.django_db

LETTERHEAD: dict[str, Any] = {
    "address": "4 Boatshed Lane\nQuillon Bay",
    "legal_name": "Quillon Bay Turning Ltd",
    "company_number": "0778112",
    "tax_number": "QB-77",
    "bank_details": "Quillon Savings Bank\nAccount 0042 7781",
}


@pytest.fixture
def named(studio: Studio) -> Studio:
    """A studio with all that papers print of it."""
    PricingDefaults.objects.filter(studio=studio).update(tax_name="VAT")
    return studio_update(studio=Studio.objects.get(pk=studio.pk), **LETTERHEAD)


def issue(commission: Any, kind: str, **values: Any) -> IssuedPaper:
    return papers.paper_issue(commission=commission, kind=kind, today=DAY, **values)


def said(paper: IssuedPaper, copy: str = "") -> str:
    return text_of(papers.client_copy(paper) if copy == "client" else bytes(paper.pdf))


def amounts(text: str, currency: str) -> list[Decimal]:
    """Every amount in a text, in the order of reading."""
    sign = re.escape({"USD": "$", "EUR": "€"}.get(currency, f"{currency} "))
    found = re.findall(rf"(−?){sign}(−?)([\d,]+(?:\.\d+)?)", text)
    return [
        D(figure.replace(",", "")) * (-1 if "−" in minus + after else 1) for minus, after, figure in found
    ]


def in_order(wanted: list[Decimal], found: list[Decimal]) -> bool:
    left = iter(found)
    return all(any(figure == one for one in left) for figure in wanted)


MONEY: list[tuple[dict[str, Any], dict[str, Any]]] = [
    ({"tax": 0.0825, "freight": "85.00", "deposit_share": 0.4}, {}),
    ({"tax": 0.2, "tax_inclusive": True, "freight": "85.00", "freight_tax": 0.05, "currency": "EUR"}, {}),
    ({"gallery_share": 0.45, "tax": 0.2, "stage_shares": [0.3, 0.3]}, {"kind": "gallery"}),
    ({"currency": "JPY", "tax": 0.1}, {}),
]


@pytest.mark.parametrize(("pricing", "client"), MONEY)
def test_every_figure_of_every_request_is_the_databases_to_the_cent(
    named: Studio, pricing: dict[str, Any], client: dict[str, Any]
) -> None:
    currency = pricing.get("currency", "USD")
    studio_update(studio=named, currency=currency)
    commission = accepted_order(named, pricing=pricing, client=client)
    change(commission, base="100", tax="20")
    whole = order_of(commission).whole
    rows = [issue(commission, kind, stage=stage) for kind, stage in list(order_of(commission).to_ask())]
    rows.append(issue(commission, "credit", corrects=rows[0], amount=D(7), reason="As agreed."))
    for paper in rows:
        paper.refresh_from_db()
        found = amounts(said(paper), currency)
        triple = [paper.base, paper.tax, paper.amount]
        assert in_order([*triple, paper.amount], found), paper
        assert said(paper).count(money(paper.amount, currency)) >= 2
        for row in taxed_of(paper).at_rates if len(taxed_of(paper).at_rates) > 1 else ():
            assert in_order([row.base, row.tax, row.base + row.tax], found), row
    balance = rows[-2]
    wanted = [D(line["base"]) for line in balance.content["lines"]] + [whole.base, whole.tax, whole.total]
    for paper in rows[:-2]:
        assert f"{paper.number} of 10 March 2027" in said(balance)
        wanted += [-paper.base, -paper.tax, -paper.amount]
    assert in_order([*wanted, balance.base, balance.tax, balance.amount], amounts(said(balance), currency))
    assert whole.total - sum(paper.amount for paper in rows[:-2]) == balance.amount


def test_a_confirmation_says_all_that_was_agreed(named: Studio) -> None:
    commission = accepted_order(
        named,
        pricing={"tax": 0.2},
        terms="Cash. Only cash.",
        client={"address": "3 Quince Yard\nNether Holm"},
    )
    paper = issue(commission, "confirmation")
    text, order = said(paper), order_of(commission)
    assert "Ready 7 to 9 weeks from the deposit" in text
    for words in (
        "Order confirmation C-2027-001",
        "10 March 2027",
        "Quillon Bay Turning Ltd, company number 0778112",
        "Tax number QB-77",
        f"{commission.client.name} 3 Quince Yard Nether Holm",
        "Quote 2027-001 of 3 March 2027",
        "Tall vase for the stair",
        "Built from 264 pieces of wood in 12 layers.",
        "black cherry (Prunus serotina)",
        "Wiping varnish, five coats",
        "VAT, 20 %",
        "Cash. Only cash.",
        "Not a tax invoice.",
        "All amounts in US dollars (USD), as of 10 March 2027.",
        f"Deposit, with the order {money(order.payments[0].amount, 'USD')}",
        f"Balance, before delivery {money(order.payments[1].amount, 'USD')}",
    ):
        assert words in text, words
    assert in_order([paper.base, paper.tax, paper.amount], amounts(text, "USD"))


def test_a_request_says_where_to_pay_by_when_and_that_it_is_no_invoice(named: Studio) -> None:
    paper = issue(accepted_order(named), "deposit")
    text = said(paper)
    for words in (
        "Deposit request D-2027-001",
        "To pay by 24 March 2027",
        "Due by 24 March 2027",
        "Quillon Savings Bank",
        "Account 0042 7781",
        "and name D-2027-001 with it.",
        "Not a tax invoice.",
    ):
        assert words in text, words


def test_an_invoice_is_titled_so_and_does_not_say_that_it_is_none(named: Studio) -> None:
    studio_update(studio=named, sends_invoices=True)
    commission = accepted_order(named, pricing={"tax": 0.2})
    deposit = issue(commission, "deposit")
    texts = [said(deposit), said(issue(commission, "balance"))]
    assert "Deposit invoice D-2027-001" in texts[0]
    assert "Final invoice B-2027-001" in texts[1]
    assert "Less deposit invoice D-2027-001 of 10 March 2027" in texts[1]
    assert not any("Not a tax invoice" in text for text in texts)


@pytest.mark.parametrize(
    ("studio_tax", "note", "client_tax", "wanted"),
    [
        ("none", "", "usual", "No VAT is charged: the studio is not registered for it."),
        ("none", "Small business, section 19.", "usual", "Small business, section 19."),
        ("charged", "", "reverse", "Reverse charge: the client accounts for the VAT."),
        ("charged", "", "export", "No VAT is charged: the piece leaves the country (export)."),
        ("charged", "", "exempt", "No VAT is charged: the client is exempt."),
    ],
)
def test_why_no_tax_is_charged_stands_on_the_paper(
    named: Studio, studio_tax: str, note: str, client_tax: str, wanted: str
) -> None:
    studio_update(studio=named, tax_status=studio_tax, tax_note=note)
    client = {"tax_status": client_tax, "tax_number": "IV-1"}
    text = said(issue(accepted_order(named, pricing={"tax": 0}, client=client), "deposit"))
    assert wanted in text
    assert "Tax number IV-1" in text


SHARED: dict[str, Any] = {"gallery_share": 0.45, "tax": 0.2, "freight": "85.00", "deposit_share": 0.4}
GALLERY = {"kind": "gallery", "contact": "Perpetua Lorn"}


def test_trade_and_client_copies_of_a_confirmation_are_kept_apart(named: Studio) -> None:
    delivery = {"deposit_via": "gallery_less", "insured_value": D("2100")}
    commission = accepted_order(named, pricing=SHARED, client=GALLERY, delivery=delivery)
    change(commission, base="-31", title="No stand")
    paper = issue(commission, "confirmation")
    price = commission.quotes.get().estimate["price"]
    trade, client = said(paper), said(paper, "client")
    for words in (
        "Trade copy",
        "The gallery invoices its client; the studio invoices the gallery for its part.",
        f"The buyer’s deposit, {money(price['deposit'], 'USD')}, is paid to the gallery, which passes on",
        "Insured for $2,100.00, before tax.",
        money(price["net"], "USD"),
        money(f"-{price['gallery_share']}", "USD"),
    ):
        assert words in trade, words
    assert money(price["retail"], "USD") in client
    assert f"Total {money(price['total'], 'USD')}" in client
    assert "1: No stand" in client
    for figure in (price["net"], price["gallery_share"], paper.amount, paper.base, "2100"):
        assert money(figure, "USD") not in client, figure
    assert not re.search(r"trade|share|studio’s part|insured for|invoices", client, re.IGNORECASE)


def test_a_delivery_note_has_no_price_and_its_trade_copy_the_insured_value(named: Studio) -> None:
    commission = accepted_order(named, pricing=SHARED, client=GALLERY, quantity=3)
    paper = issue(commission, "delivery")
    trade, client = said(paper), said(paper, "client")
    net = commission.quotes.get().estimate["price"]["net"]
    assert f"Insured for {money(net, 'USD')}, before tax" in trade
    assert amounts(trade, "USD") == [D(net)]
    assert amounts(client, "USD") == []
    for text in (trade, client):
        assert "Delivery note N-2027-001" in text
        assert "Three pieces alike, each built from 264 pieces of wood" in text
        assert "On receipt" in text
        assert "Received by, name and date" in text
    assert paper.amount is None
    private = issue(accepted_order(named), "delivery")
    assert amounts(said(private), "USD") == []
    assert "Insured" not in said(private)


def test_no_paper_says_what_the_studio_earns_or_spends(named: Studio) -> None:
    commission = accepted_order(named, pricing=SHARED, client=GALLERY)
    estimate = commission.quotes.get().estimate
    cost = {f"{D(value):,.2f}" for value in estimate["cost"].values() if D(value)}
    secret = cost | {estimate["price"]["per_hour"], *estimate["money"]["left_an_hour"].values(), "41.00"}
    rows = [issue(commission, kind) for kind in ("confirmation", "deposit", "balance", "delivery")]
    rows.append(issue(commission, "credit", corrects=rows[1], amount=D(1), reason="x"))
    for text in [said(paper) for paper in rows] + [said(paper, "client") for paper in rows]:
        for figure in secret:
            assert not re.search(rf"(?<![\d,.]){re.escape(figure)}(?![\d])", text), figure
        assert not re.search(r"an hour|left of|margin|labour|overhead|hourly", text, re.IGNORECASE)


def test_a_paper_printed_again_is_the_same_to_the_byte(named: Studio) -> None:
    from projects.papers.handed_out import paper_pdf

    paper = issue(accepted_order(named), "deposit")
    assert paper_pdf(IssuedPaper.objects.get(pk=paper.pk), copy="client") == bytes(paper.pdf)


def test_markup_on_a_paper_is_printed_as_it_was_typed(named: Studio) -> None:
    markup = "<b>x</b>{% now 'Y' %}"
    studio_update(studio=named, bank_details=markup, name=f"S {markup}", tax_note=markup, tax_status="none")
    commission = accepted_order(
        named, title=f"T {markup}", client={"name": f"C {markup}", "tax_number": markup}
    )
    deposit = issue(commission, "deposit")
    note = issue(commission, "credit", corrects=deposit, reason=f"R {markup}")
    for paper, least in ((deposit, 6), (note, 6)):
        assert said(paper).replace(" ", "").count(markup.replace(" ", "")) >= least, paper
