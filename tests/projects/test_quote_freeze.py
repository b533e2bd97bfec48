"""An issued quote is a frozen copy: nothing that is changed afterwards reaches it."""

import hashlib
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client as Browser

from projects.models import Quote, Studio
from projects.services import commissions, designs, quotes, shop, studios
from tests.factories import (
    BandFactory,
    ClientFactory,
    CommissionFactory,
    DesignFactory,
    FormFactory,
    PartFactory,
)
from tests.projects.frozen import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def issued(studio: Studio) -> Quote:
    """A gallery's quote for a pot of maple and walnut."""
    shop.wood_update(wood=studio.woods.get(key="maple"), origin="Ohio")
    client = ClientFactory(studio=studio, name="Harbour Row", address="1 Quay Steps")
    commission = CommissionFactory(studio=studio, client=client, title="Pot for the window")
    return quotes.quote_issue(quote=quotes.quote_draft(commission=commission, message="As we said."))


def test_a_quote_holds_everything_it_shows(issued: Quote, studio: Studio) -> None:
    issued.refresh_from_db()
    assert issued.title == issued.estimate["title"] == issued.sheet["title"] == "Pot for the window"
    assert issued.letterhead["name"] == studio.name
    assert issued.letterhead["currency"] == "USD"
    assert (issued.addressee["name"], issued.addressee["address"]) == ("Harbour Row", "1 Quay Steps")
    assert issued.species == [
        {
            "key": "walnut",
            "name": "black walnut",
            "botanical": "Juglans nigra",
            "origin": "",
            "protected_note": "",
        },
        {
            "key": "maple",
            "name": "hard maple",
            "botanical": "Acer saccharum",
            "origin": "Ohio",
            "protected_note": "",
        },
    ]
    assert "hard maple (Acer saccharum) from Ohio" in text_of(bytes(issued.client_pdf))
    assert issued.drawing.lstrip().startswith("<svg")
    for pdf, kept in ((issued.trade_pdf, issued.trade_sha256), (issued.client_pdf, issued.client_sha256)):
        assert bytes(pdf).startswith(b"%PDF-")
        assert hashlib.sha256(pdf).hexdigest() == kept
    assert issued.trade_sha256 != issued.client_sha256


def _change_everything(quote: Quote) -> None:
    commission, studio = quote.commission, quote.studio
    designs.design_save(
        design=commission.design,
        expected_revision=commission.design.revision,
        title="Something else",
        parts=[
            {
                "allowance_top": 0,
                "allowance_bottom": 0,
                "form": {"outer": [[0, 30], [49.6, 30]], "inside": "wall", "wall": 5, "floor": 10},
                "bands": [{"layers": 5, "thickness": "9.93", "segments": 8, "woods": ["maple"]}],
            }
        ],
    )
    commissions.commission_update(commission=commission, title="Renamed", quantity=7, margin=Decimal("0.5"))
    studios.client_update(client=commission.client, name="Moved Gallery", address="Far away")
    studios.studio_update(studio=studio, name="New name", currency="EUR", terms="Cash only.")
    studios.pricing_update(studio=studio, labour_rate=Decimal(90))
    studios.shop_update(studio=studio, rip_kerf=Decimal(6))
    shop.wood_update(wood=studio.woods.get(key="maple"), name="plastic", price_per_m3=Decimal(1))


@pytest.mark.usefixtures("cheap_paper")
def test_no_later_change_of_design_shop_client_or_studio_reaches_an_issued_quote(issued: Quote) -> None:
    before = Quote.objects.filter(pk=issued.pk).values().get()
    _change_everything(Quote.objects.get(pk=issued.pk))
    assert Quote.objects.filter(pk=issued.pk).values().get() == before


@pytest.mark.usefixtures("cheap_paper")
def test_a_revision_shows_what_was_changed_and_leaves_the_first_as_it_was(issued: Quote) -> None:
    before = Quote.objects.filter(pk=issued.pk).values().get()
    _change_everything(Quote.objects.get(pk=issued.pk))
    commission = Quote.objects.get(pk=issued.pk).commission
    second = quotes.quote_issue(quote=quotes.quote_draft(commission=commission))
    assert second.reference == f"{issued.number} B"
    assert (second.title, second.estimate["quantity"]) == ("Renamed", 7)
    assert second.terms.startswith("Cash only.\n\nPayment. ")
    assert Quote.objects.filter(pk=issued.pk).values().get() == before


def test_a_commission_without_a_design_is_not_quoted(studio: Studio) -> None:
    draft = quotes.quote_draft(commission=CommissionFactory(studio=studio, design=None))
    with pytest.raises(ValidationError) as refusal:
        quotes.quote_issue(quote=draft)
    assert list(refusal.value.message_dict) == ["commission"]


def test_a_design_with_errors_is_not_quoted_and_says_why(studio: Studio) -> None:
    design = DesignFactory(studio=studio, shaped=False)
    part = PartFactory(design=design, shaped=False)
    FormFactory(part=part)
    BandFactory(part=part, layers=3)
    draft = quotes.quote_draft(commission=CommissionFactory(studio=studio, design=design))
    with pytest.raises(ValidationError, match="cannot be estimated yet") as refusal:
        quotes.quote_issue(quote=draft)
    assert any(message.startswith("bands: ") for message in refusal.value.messages)
    draft.refresh_from_db()
    assert (draft.state, draft.number) == ("draft", "")


def test_the_api_issues_a_quote_and_hands_out_its_papers(as_bob: Browser, studio: Studio) -> None:
    draft = quotes.quote_draft(commission=CommissionFactory(studio=studio))
    path = f"/api/v1/quotes/{draft.pk}/"
    answer: Any = as_bob.post(f"{path}issue/")
    assert answer.status_code == 200, answer.content
    assert answer.json()["state"] == "issued"
    assert as_bob.post(f"{path}issue/").status_code == 409
    for copy in ("client", "trade"):
        paper = as_bob.get(f"{path}paper/?copy={copy}")
        assert paper.headers["Content-Type"] == "application/pdf"
        assert hashlib.sha256(paper.content).hexdigest() == answer.json()[f"{copy}_sha256"]
    assert as_bob.get(f"{path}paper/?copy=spare").status_code == 404
