"""Handing papers out: what may be asked for when, what is left to the coin, and that nothing ever changes."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from projects.models import IssuedPaper, Letter, PricingDefaults, Studio
from projects.services import papers
from projects.services.paper_order import order_of, taxed_of
from projects.services.studios import client_update, studio_update
from tests.factories import CommissionFactory
from tests.projects.agreed_orders import DAY, accepted_order, change

D = Decimal
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("line_paper")]


def issue(commission: Any, kind: str, **values: Any) -> IssuedPaper:
    return papers.paper_issue(commission=commission, kind=kind, today=DAY, **values)


TERMS: list[dict[str, Any]] = [
    {"deposit_share": 0.4},
    {"deposit_share": 0.333, "tax": 0.2, "tax_inclusive": True, "freight": "80.00", "crate": "33.33"},
    {"stage_shares": [0.3, 0.3], "tax": 0.0825, "freight": "12.34"},
    {"gallery_share": 0.45, "deposit_share": 0.5},
    {"gallery_share": 0.5, "gallery_mode": "purchase", "freight": "80.00"},
    {
        "deposit_share": 0.4,
        "tax": 0.2,
        "freight": "80.00",
        "freight_tax": 0.05,
        "stand": "9.99",
        "stand_tax": 0,
    },
    {"currency": "JPY", "stage_shares": [0.333, 0.333], "tax": 0.1},
]


@pytest.mark.parametrize("pricing", TERMS)
def test_requests_add_up_to_the_order_and_the_last_is_the_last_payment_exactly(
    studio: Studio, pricing: dict[str, Any]
) -> None:
    studio_update(studio=studio, currency=pricing.get("currency", "USD"))
    commission = accepted_order(studio, pricing=pricing)
    order = order_of(commission)
    asked = [issue(commission, kind, stage=stage) for kind, stage in list(order.to_ask())]
    assert [paper.amount for paper in asked] == [payment.amount for payment in order.payments]
    assert [paper.stage for paper in asked] == list(range(1, len(asked) + 1))
    assert (asked[0].kind, asked[-1].kind) == ("deposit", "balance")
    last = asked[-1].content
    assert [row["number"] for row in last["taken_off"]] == [paper.number for paper in asked[:-1]]
    for at, row in enumerate(order.whole.at_rates):
        parts = [
            next((one for one in taxed_of(paper).at_rates if one.rate == row.rate), None) for paper in asked
        ]
        assert sum(part.base for part in parts if part) == row.base, at
        assert sum(part.tax for part in parts if part) == row.tax, at
    assert sum(D(line["base"]) for line in last["lines"]) == order.whole.base
    assert list(order_of(commission).to_ask()) == []


def test_a_payment_is_asked_for_once(studio: Studio) -> None:
    commission = accepted_order(studio)
    issue(commission, "deposit")
    with pytest.raises(ValidationError, match="asked for already"):
        issue(commission, "deposit")
    issue(commission, "balance")
    with pytest.raises(ValidationError, match="asked for already"):
        issue(commission, "balance")


def test_the_balance_asks_for_all_that_was_not_asked_for_before(studio: Studio) -> None:
    commission = accepted_order(studio)
    balance = issue(commission, "balance")
    assert balance.amount == order_of(commission).owed.amount
    assert balance.content["head"] == "Payment request"
    with pytest.raises(ValidationError, match="asked for already"):
        issue(commission, "deposit")


def test_changes_agreed_stand_on_the_balance_and_those_agreed_later_on_another(studio: Studio) -> None:
    commission = accepted_order(studio)
    deposit = issue(commission, "deposit")
    change(commission, base="100", tax="8.25")
    change(commission, base="-20", title="No stand")
    balance = issue(commission, "balance")
    order = order_of(commission)
    assert balance.amount == order.owed.amount + D("88.25") - deposit.amount
    assert [line["words"] for line in balance.content["lines"]][1:] == [
        "Change 1: A wider rim",
        "Change 2: No stand",
    ]
    change(commission, base="7.00")
    again = issue(commission, "balance")
    assert again.amount == D("7.00")
    assert [row["number"] for row in again.content["taken_off"]] == [deposit.number, balance.number]


def test_a_request_taken_back_whole_may_be_made_anew_and_a_part_is_not_asked_again(studio: Studio) -> None:
    commission = accepted_order(studio)
    first = issue(commission, "deposit")
    note = issue(commission, "credit", corrects=first, reason="Sent to the wrong address.")
    assert (note.base, note.tax, note.amount) == (first.base, first.tax, first.amount)
    assert note.corrects == first
    second = issue(commission, "deposit")
    assert (second.number, second.amount) == ("D-2027-002", first.amount)
    part = issue(commission, "credit", corrects=second, amount=D("50"), reason="As agreed.")
    assert part.base + part.tax == part.amount == D("50")
    rest = issue(commission, "credit", corrects=second, reason="All of it.")
    assert rest.amount == second.amount - 50
    assert rest.base + part.base == second.base
    issue(commission, "deposit")
    balance = issue(commission, "balance")
    assert balance.amount == order_of(commission).payments[-1].amount


@pytest.mark.parametrize(
    ("amount", "reason"), [("0", "x"), ("-1", "x"), ("1000000", "x"), ("1.001", "x"), ("5", " ")]
)
def test_a_credit_note_needs_a_reason_and_an_amount_within_the_request(
    studio: Studio, amount: str, reason: str
) -> None:
    deposit = issue(accepted_order(studio), "deposit")
    with pytest.raises(ValidationError) as refusal:
        issue(deposit.commission, "credit", corrects=deposit, amount=D(amount), reason=reason)
    assert list(refusal.value.message_dict) == (["amount"] if reason.strip() else ["reason"])
    assert IssuedPaper.objects.count() == 1


def test_only_a_request_of_the_same_commission_is_credited(studio: Studio) -> None:
    commission = accepted_order(studio)
    other = issue(accepted_order(studio), "deposit")
    confirmed = issue(commission, "confirmation")
    for wrong in (other, confirmed, None):
        with pytest.raises(ValidationError):
            issue(commission, "credit", corrects=wrong, reason="x")


@pytest.mark.parametrize("kind", ["confirmation", "deposit", "balance", "delivery"])
def test_nothing_is_made_out_for_what_was_not_agreed(studio: Studio, kind: str) -> None:
    with pytest.raises(ValidationError, match="stands accepted"):
        issue(CommissionFactory(studio=studio), kind)
    assert not IssuedPaper.objects.exists()


def test_each_kind_has_numbers_of_its_own_which_start_anew_with_the_year(studio: Studio) -> None:
    commission = accepted_order(studio)
    kinds = ("confirmation", "deposit", "balance", "delivery", "confirmation")
    assert [issue(commission, kind).number for kind in kinds] == [
        "C-2027-001",
        "D-2027-001",
        "B-2027-001",
        "N-2027-001",
        "C-2027-002",
    ]
    later = papers.paper_issue(commission=commission, kind="delivery", today=datetime.date(2028, 1, 2))
    assert later.number == "N-2028-001"
    assert issue(commission, "delivery").number == "N-2028-002"


def test_a_confirmation_says_which_it_takes_the_place_of(studio: Studio) -> None:
    commission = accepted_order(studio)
    issue(commission, "confirmation")
    assert issue(commission, "confirmation").content["replaces"] == "C-2027-001 of 10 March 2027"


def test_requests_are_due_as_the_client_is_given_or_the_studio_asks(studio: Studio) -> None:
    studio_update(studio=studio, payment_days=30)
    usual = issue(accepted_order(studio), "deposit")
    given = issue(accepted_order(studio, client={"payment_days": 7}), "deposit")
    named = issue(accepted_order(studio), "deposit", due_on=DAY)
    days = [(paper.due_on - DAY).days for paper in (usual, given, named) if paper.due_on]
    assert days == [30, 7, 0]
    with pytest.raises(ValidationError, match="passed"):
        issue(accepted_order(studio), "deposit", due_on=DAY - datetime.timedelta(1))


def test_requests_are_invoices_only_where_the_studio_sends_them_and_has_a_number(studio: Studio) -> None:
    heads = []
    for sends, number in ((False, "QB-77"), (True, ""), (True, "QB-77")):
        studio_update(studio=studio, sends_invoices=sends, tax_number=number)
        commission = accepted_order(studio, pricing={"stage_shares": [0.3, 0.3]})
        rows = [issue(commission, kind) for kind in ("deposit", "stage", "balance")]
        rows.append(issue(commission, "credit", corrects=rows[0], reason="x"))
        heads.append(([row.content["head"] for row in rows], {row.is_invoice for row in rows}))
    asked = (["Deposit request", "Payment request", "Balance request", "Credit note"], {False})
    assert heads[:2] == [asked, asked]
    assert heads[2] == (["Deposit invoice", "Part invoice", "Final invoice", "Credit note"], {True})


def test_a_reverse_charge_invoice_needs_the_clients_number(studio: Studio) -> None:
    studio_update(studio=studio, sends_invoices=True, tax_number="QB-77")
    commission = accepted_order(studio, pricing={"tax": 0}, client={"tax_status": "reverse"})
    with pytest.raises(ValidationError, match="client's tax number"):
        issue(commission, "deposit")
    client_update(client=commission.client, tax_number="IV-1")
    commission.refresh_from_db()
    paper = issue(commission, "deposit")
    assert paper.content["untaxed"] == "Reverse charge: the client accounts for the Tax."
    assert paper.content["client"]["tax_number"] == "IV-1"


def test_a_deposit_passed_on_whole_by_the_gallery_is_asked_for_whole(studio: Studio) -> None:
    commission = accepted_order(
        studio,
        pricing={"gallery_share": 0.45, "deposit_share": 0.4},
        client={"kind": "gallery"},
        delivery={"deposit_via": "gallery_whole"},
    )
    deposit, balance = issue(commission, "deposit"), issue(commission, "balance")
    assert deposit.amount == D(commission.quotes.get().estimate["price"]["deposit"])
    assert deposit.amount + balance.amount == order_of(commission).owed.amount


def test_a_paper_handed_out_is_a_copy_that_nothing_reaches(studio: Studio) -> None:
    commission = accepted_order(studio)
    paper = issue(commission, "deposit")
    before = IssuedPaper.objects.filter(pk=paper.pk).values().get()
    client_update(client=commission.client, name="Somebody else", address="Elsewhere")
    studio_update(studio=studio, name="Another", bank_details="Another bank")
    PricingDefaults.objects.update(tax_name="GST")
    for attempt in (paper.save, paper.delete, IssuedPaper.objects.all().delete):
        with pytest.raises(ValidationError, match="not changed"):
            attempt()
    assert IssuedPaper.objects.filter(pk=paper.pk).values().get() == before


def test_a_paper_is_mailed_where_it_is_asked_for_and_nothing_is_saved_for_a_wrong_address(
    studio: Studio, django_capture_on_commit_callbacks: Any
) -> None:
    commission = accepted_order(studio)
    with pytest.raises(ValidationError):
        issue(commission, "deposit", send_to="nobody")
    assert not IssuedPaper.objects.exists()
    with django_capture_on_commit_callbacks(execute=True):
        paper = issue(commission, "deposit", send_to="ilse@varrow.example")
    letter = Letter.objects.get()
    assert (letter.to, letter.state) == ("ilse@varrow.example", "sent")
    assert letter.attachments == [{"kind": "paper", "id": paper.pk}]
