"""The statement and the papers agree: what is asked for in all is what was agreed, to the coin, whatever the terms."""

import datetime
from decimal import Decimal
from typing import Any

import pytest

from projects.models import Commission, IssuedPaper, Studio
from projects.services import papers
from projects.services.paper_order import order_of
from projects.services.papers import paper_issue
from projects.services.payments import payment_take
from projects.statement import Statement, statement
from tests.projects.agreed_orders import DAY, accepted_order, change

pytestmark = pytest.mark.django_db
GALLERY = {"kind": "gallery", "name": "Sill and Sash"}
TERMS: dict[str, dict[str, Any]] = {
    "private": {"tax": 0.0825},
    "with tax in it": {"tax": 0.2, "tax_inclusive": True},
    "no deposit": {"deposit_share": 0},
    "stages": {"stage_shares": [0.3, 0.3], "tax": 0.19},
    "consignment": {"gallery_share": 0.45, "tax": 0.2, "freight": "81.33", "payment_fee": 0.029},
    "consignment in stages": {"gallery_share": 0.4, "stage_shares": [0.25, 0.25], "tax": 0.081},
    "purchase": {"gallery_share": 0.5, "gallery_mode": "purchase", "tax": 0.2},
    "passed on": {"gallery_share": 0.4, "gallery_mode": "commission", "tax": 0.07},
    "by line at several rates": {
        "tax": 0.2, "tax_by": "line", "freight": "80.01", "freight_tax": 0.055, "crate": "12.34", "gallery_share": 0.4,
    },
}  # fmt: skip


@pytest.fixture(autouse=True)
def _unprinted(monkeypatch: Any) -> None:
    # What a paper looks like is looked at elsewhere.
    monkeypatch.setattr(papers, "_print", lambda paper: None)


def stated(job: Commission) -> Statement:
    return statement(job, today=DAY)


def ask_for_all(job: Commission) -> list[IssuedPaper]:
    asked = []
    while waiting := list(order_of(job).to_ask()):
        kind, stage = waiting[0]
        asked.append(paper_issue(commission=job, kind=kind, stage=stage, today=DAY))
        assert stated(job).unasked == order_of(job).left.total
    return asked


@pytest.mark.parametrize("terms", TERMS.values(), ids=TERMS)
def test_the_requests_ask_for_what_the_statement_says_is_owed(studio: Studio, terms: dict[str, Any]) -> None:
    client = GALLERY if terms.get("gallery_share") else {}
    job = accepted_order(studio, pricing=terms, client=client)
    assert stated(job).agreed == order_of(job).whole.total == stated(job).unasked
    asked = ask_for_all(job)
    found = stated(job)
    assert sum(paper.amount for paper in asked) == found.agreed == found.asked
    assert found.unasked == 0
    for paper in asked:
        payment_take(commission=job, amount=paper.amount, paper=paper)
    assert (stated(job).balance, stated(job).ahead) == (0, 0)


def test_changes_are_asked_for_with_the_balance(studio: Studio) -> None:
    job = accepted_order(studio, pricing={"tax": 0.2})
    before = stated(job).agreed
    change(job, base="150.00", tax="30.00")
    assert stated(job).agreed == before + 180
    asked = ask_for_all(job)
    assert sum(paper.amount for paper in asked) == before + 180
    assert stated(job).unasked == 0


@pytest.mark.parametrize(("part", "lowers"), [(Decimal("40.00"), 40), (None, 0)])
def test_a_credit_note_leaves_as_much_to_ask_for_as_the_papers_say(
    studio: Studio, part: Decimal | None, lowers: int
) -> None:
    """In part it lowers what is owed; as a whole it takes the request back, which may then be asked for again."""
    job = accepted_order(studio, pricing={"tax": 0.2})
    before = stated(job).agreed
    deposit = paper_issue(commission=job, kind="deposit", today=DAY)
    paper_issue(
        commission=job,
        kind="credit",
        corrects=deposit,
        amount=part,
        reason="a knot",
        today=DAY + datetime.timedelta(1),
    )
    assert stated(job).unasked == order_of(job).left.total
    ask_for_all(job)
    found = stated(job)
    assert (found.credited, found.due_in_all, found.asked) == (lowers, before - lowers, before - lowers)
