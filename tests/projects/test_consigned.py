"""What galleries have on consignment, worked out from where pieces have been, printed and shown."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client as Browser

from projects.models import Client, PieceRecord, Studio
from projects.papers.consignment import consignment_pdf
from projects.services.consigned import galleries, stays_with, studios_part
from projects.services.freezing import frozen_letterhead
from projects.services.record_places import place_add, place_take_back
from tests.factories import ClientFactory, CommissionFactory
from tests.factories_records import RecordFactory
from tests.projects.frozen import text_of
from tests.projects.test_papers_pieces import check_accessible

pytestmark = pytest.mark.django_db
EVIL = "<script>alert(1)</script>"


@pytest.fixture
def gallery(studio: Studio) -> Client:
    """A gallery with a share of its own."""
    client: Client = ClientFactory(
        studio=studio, kind="gallery", name="Sill Gallery", gallery_share=Decimal("0.4")
    )
    return client


def piece(studio: Studio, title: str, *went: tuple[str, int, Any, Any], **values: Any) -> PieceRecord:
    """A piece and where it went in 2026: kind, month, client, price."""
    record: PieceRecord = RecordFactory(studio=studio, title=title, **values)
    for kind, month, client, price in went:
        since = datetime.date(2026, month, 1)
        words = "" if client else "somebody"
        place_add(record=record, kind=kind, since=since, client=client, words=words, price=price)
    return record


def several(studio: Studio, gallery: Client) -> None:
    """One out, one sold, one back, one gone on, and two that were never there."""
    piece(studio, "Out bowl", ("consigned", 1, gallery, 500), ("consigned", 2, gallery, 550))
    piece(studio, "Sold bowl", ("consigned", 1, gallery, 300), ("sold", 3, None, 280))
    piece(studio, "Back bowl", ("consigned", 2, gallery, None), ("studio", 4, None, None))
    piece(studio, "Lent bowl", ("consigned", 2, gallery, 90), ("lent", 5, None, None))
    other = ClientFactory(studio=studio, kind="gallery", name="Other Gallery")
    piece(studio, "Other bowl", ("consigned", 1, other, 700))
    wrong = piece(studio, "Mistaken bowl", ("studio", 1, None, None), ("consigned", 2, gallery, 90))
    place_take_back(place=wrong.places.get(kind="consigned"))


def test_a_stay_begins_with_the_first_entry_and_ends_with_the_next_elsewhere(
    studio: Studio, gallery: Client
) -> None:
    several(studio, gallery)
    found = {
        stay.record.title: (stay.since.month, stay.went, stay.price, stay.part)
        for stay in stays_with(gallery)
    }
    # The studio's part at a share of 0.4, by hand: 0.6 of 550, of 280, of the record's 480 and of 90.
    assert found == {
        "Out bowl": (1, "", Decimal(550), Decimal(330)),
        "Sold bowl": (1, "sold", Decimal(280), Decimal(168)),
        "Back bowl": (2, "studio", Decimal(480), Decimal(288)),
        "Lent bowl": (2, "lent", Decimal(90), Decimal(54)),
    }
    assert [(client.name, client.pieces) for client in galleries(studio)] == [
        ("Other Gallery", 1),
        ("Sill Gallery", 4),
    ]


def test_a_piece_that_comes_back_and_goes_out_again_stays_twice(studio: Studio, gallery: Client) -> None:
    times = (("consigned", 1, gallery, 500), ("studio", 2, None, None), ("consigned", 3, gallery, 450))
    piece(studio, "Twice bowl", *times)
    assert [(stay.since.month, stay.went, stay.price) for stay in stays_with(gallery)] == [
        (1, "studio", Decimal(500)),
        (3, "", Decimal(450)),
    ]


def test_the_studios_part_goes_by_the_share_that_is_agreed_and_leaves_tax_out(
    studio: Studio, gallery: Client
) -> None:
    usual = studio.pricing
    usual.tax, usual.tax_inclusive, usual.gallery_share = Decimal("0.2"), True, Decimal("0.5")
    usual.save()
    # 600 with a fifth of tax in it is 500 without: 0.6, 0.5, and 0.7 of that.
    record = RecordFactory(studio=studio)
    assert studios_part(Decimal(600), record=record, client=gallery) == Decimal(300)
    plain = ClientFactory(studio=studio, kind="gallery", gallery_share=None)
    assert studios_part(Decimal(600), record=record, client=plain) == Decimal(250)
    job = CommissionFactory(studio=studio, client=gallery, gallery_share=Decimal("0.3"))
    made = RecordFactory(studio=studio, commission=job)
    assert studios_part(Decimal(600), record=made, client=gallery) == Decimal(350)
    # Made for one gallery and now with another: the other's share counts.
    assert studios_part(Decimal(600), record=made, client=plain) == Decimal(250)
    private = ClientFactory(studio=studio, kind="private", gallery_share=None)
    assert studios_part(Decimal(600), record=record, client=private) is None


def test_the_list_is_printed_with_what_is_out_sold_and_back(studio: Studio, gallery: Client) -> None:
    several(studio, gallery)
    piece(studio, EVIL, ("consigned", 3, gallery, 1000))
    on, letterhead = datetime.date(2026, 6, 1), frozen_letterhead(studio)
    printed = consignment_pdf(stays_with(gallery), client=gallery, letterhead=letterhead, on=on)
    text = text_of(printed)
    for said in ("Sill Gallery", "1 June 2026", "Out bowl 1 January 2026 $550.00 $330.00", EVIL):
        assert said in text, said
    # Out together: 550 + 1,000, and 330 + 600.
    assert "Together $1,550.00 $930.00" in text
    assert "Sold bowl 1 January 2026 1 March 2026 $280.00 $168.00" in text
    assert "Back bowl 1 February 2026 1 April 2026" in text
    assert "Other bowl" not in text
    assert "Mistaken bowl" not in text
    check_accessible(printed, title="Consignment list: Sill Gallery", figures=0)
    assert consignment_pdf(stays_with(gallery), client=gallery, letterhead=letterhead, on=on) == printed


def test_the_pages_show_galleries_and_what_is_with_one(
    as_alice: Browser, as_charlie: Browser, studio: Studio, gallery: Client
) -> None:
    piece(studio, EVIL, ("consigned", 1, gallery, 500))
    address = f"/log/consignment/{gallery.pk}/"
    text = as_alice.get("/log/consignment/").content.decode()
    assert address in text
    assert "1 piece so far" in text
    text = as_alice.get(address).content.decode()
    assert "&lt;script&gt;" in text
    assert EVIL not in text
    assert "$300.00" in text
    assert as_alice.get(f"{address}list.pdf")["Content-Type"] == "application/pdf"
    for one in (address, f"{address}list.pdf"):
        assert as_charlie.get(one).status_code == 404
    assert address not in as_charlie.get("/log/consignment/").content.decode()


def test_a_client_who_has_nothing_is_told_so(as_alice: Browser, studio: Studio, gallery: Client) -> None:
    assert "No client has had" in as_alice.get("/log/consignment/").content.decode()
    assert "Nothing is or was there" in as_alice.get(f"/log/consignment/{gallery.pk}/").content.decode()
    assert as_alice.get(f"/log/consignment/{gallery.pk}/list.pdf").status_code == 404
