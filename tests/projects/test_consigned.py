"""What galleries have on consignment, worked out from where pieces have been, printed and shown."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext

from projects.consigned import dues_of, part_of, stays_of
from projects.models import Client, PieceRecord, Studio
from projects.papers.consignment import consignment_pdf, groups, summary
from projects.services.freezing import frozen_letterhead
from projects.services.place_payments import place_payment_take
from projects.services.record_places import place_add, place_take_back
from projects.year_rows import open_of
from tests.factories import ClientFactory, CommissionFactory
from tests.factories_papers import PaymentFactory
from tests.factories_records import RecordFactory
from tests.projects.frozen import text_of
from tests.projects.owing import accepted
from tests.projects.test_papers_pieces import check_accessible

pytestmark = pytest.mark.django_db
EVIL = "<script>alert(1)</script>"
ON = datetime.date(2026, 6, 1)


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
        stay.record.title: (stay.since.month, stay.went, stay.price, stay.part.studios if stay.part else None)
        for stay in stays_of(studio, client=gallery)
    }
    # The studio's part at a share of 0.4, by hand: 0.6 of 550, of 280, of the record's 480 and of 90.
    assert found == {
        "Out bowl": (1, "", Decimal(550), Decimal(330)),
        "Sold bowl": (1, "sold", Decimal(280), Decimal(168)),
        "Back bowl": (2, "studio", Decimal(480), Decimal(288)),
        "Lent bowl": (2, "lent", Decimal(90), Decimal(54)),
    }
    whose = [stay.client.name for stay in stays_of(studio)]
    assert (whose.count("Other Gallery"), whose.count("Sill Gallery"), len(whose)) == (1, 4, 5)


def test_a_piece_that_comes_back_and_goes_out_again_stays_twice(studio: Studio, gallery: Client) -> None:
    times = (("consigned", 1, gallery, 500), ("studio", 2, None, None), ("consigned", 3, gallery, 450))
    piece(studio, "Twice bowl", *times)
    assert [(stay.since.month, stay.went, stay.price) for stay in stays_of(studio, client=gallery)] == [
        (1, "studio", Decimal(500)),
        (3, "", Decimal(450)),
    ]


def test_the_studios_part_goes_by_the_share_that_is_agreed_and_leaves_tax_out(
    studio: Studio, gallery: Client
) -> None:
    usual = studio.pricing
    usual.tax, usual.tax_inclusive, usual.gallery_share = Decimal("0.2"), True, Decimal("0.5")
    usual.save()

    def shared(record: PieceRecord, client: Client) -> tuple[Any, ...] | None:
        part = part_of(Decimal(600), record=record, client=client, studio=studio)
        return (part.studios, part.gallerys, part.tax) if part else None

    # 600 with a fifth of tax in it is 500 without: 0.6, 0.5, and 0.7 of that; and a fifth of tax on each part.
    record = RecordFactory(studio=studio)
    assert shared(record, gallery) == (300, 200, 60)
    plain = ClientFactory(studio=studio, kind="gallery", gallery_share=None)
    assert shared(record, plain) == (250, 250, 50)
    job = CommissionFactory(studio=studio, client=gallery, gallery_share=Decimal("0.3"))
    made = RecordFactory(studio=studio, commission=job)
    assert shared(made, gallery) == (350, 150, 70)
    # Made for one gallery and now with another: the other's share counts.
    assert shared(made, plain) == (250, 250, 50)
    private = ClientFactory(studio=studio, kind="private", gallery_share=None)
    assert shared(record, private) is None
    # A gallery that accounts for the tax itself pays the part alone; the price that its buyer pays holds it still.
    abroad = ClientFactory(studio=studio, kind="gallery", gallery_share=None, tax_status="reverse")
    assert shared(record, abroad) == (250, 250, 0)


def test_a_day_to_be_back_by_is_that_of_the_last_entry_that_says_one(studio: Studio, gallery: Client) -> None:
    record = RecordFactory(studio=studio)
    may, june, july = (datetime.date(2026, month, 1) for month in (5, 6, 7))
    place_add(record=record, kind="consigned", since=may, due_back=june, client=gallery)
    (stay,) = stays_of(studio)
    assert (stay.due_back, stay.is_late(june), stay.is_late(july)) == (june, False, True)
    place_add(record=record, kind="consigned", since=may, due_back=july, client=gallery)
    place_add(record=record, kind="consigned", since=june, price=Decimal(90), client=gallery)
    (stay,) = stays_of(studio)
    assert (stay.due_back, stay.is_late(july)) == (july, False)
    place_add(record=record, kind="studio", since=july)
    (stay,) = stays_of(studio)
    assert not stay.is_late(datetime.date(2026, 9, 1))


def test_what_is_sold_is_due_with_its_tax_until_it_is_paid(studio: Studio, gallery: Client) -> None:
    studio.pricing.tax = Decimal("0.1")
    studio.pricing.save()
    record = piece(studio, "Sold bowl", ("consigned", 1, gallery, 300), ("sold", 3, None, 280))
    sale = record.places.get(kind="sold")

    def account() -> tuple[Any, ...]:
        (stay,) = dues_of(studio, today=ON, client=gallery).stays
        return (stay.account.asked, stay.account.paid, stay.account.open) if stay.account else ()

    # 0.6 of 280 is 168, and a tenth of tax on it: 184.80.
    assert account() == (Decimal("184.80"), 0, Decimal("184.80"))
    place_payment_take(place=sale, amount=Decimal(100), paid_on=ON)
    assert account() == (Decimal("184.80"), 100, Decimal("84.80"))
    place_add(record=record, kind="studio", since=datetime.date(2026, 4, 1), note="its buyer brought it back")
    assert account() == (0, 100, -100)


def test_a_piece_made_for_the_gallery_is_due_by_its_commission(studio: Studio) -> None:
    studio.currency = "EUR"
    studio.save()
    job = accepted(studio).commission
    job.quantity = 2
    job.save()
    # 1,200 are agreed, 600 a piece; 700 were paid, 600 of them for what was sold first.
    PaymentFactory(commission=job, amount=700)
    for number, title in ((1, "Later bowl"), (2, "First bowl")):
        month = 5 - number
        went = (("consigned", 1, job.client, None), ("sold", month, None, None))
        piece(studio, title, *went, commission=job, piece=number, currency="EUR")
    found = {stay.record.title: stay for stay in dues_of(studio, today=ON, client=job.client).stays}
    accounts = {
        title: (stay.account.asked, stay.account.paid) for title, stay in found.items() if stay.account
    }
    assert accounts == {"First bowl": (600, 600), "Later bowl": (600, 100)}
    assert {stay.job for stay in found.values()} == {job}
    assert summary(list(found.values()), on=ON).due == "€500.00"
    # The year asks in the same place.
    (row,), _ = open_of(studio, today=ON)
    assert (row.sold, row.out) == (500, 0)


def test_a_commission_without_a_quote_is_due_by_what_the_log_says(studio: Studio, gallery: Client) -> None:
    job = CommissionFactory(studio=studio, client=gallery, gallery_share=None)
    went = (("consigned", 1, gallery, 300), ("sold", 3, None, 280))
    piece(studio, "Sold bowl", *went, commission=job)
    PaymentFactory(commission=job, amount=100)
    (stay,) = dues_of(studio, today=ON, client=gallery).stays
    assert stay.account is not None
    assert (stay.account.asked, stay.account.paid, stay.account.open) == (168, 100, 68)
    (row,), _ = open_of(studio, today=ON)
    assert (row.sold, row.out) == (68, 0)


def test_many_pieces_ask_no_more_of_the_database_than_one(studio: Studio, gallery: Client) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            shown = groups(dues_of(studio, today=ON, client=gallery).stays, on=ON)
        assert shown
        return len(found)

    def more(number: int) -> None:
        piece(studio, f"Bowl {number}", ("consigned", 1, gallery, 500), ("sold", 2, None, 450))
        job = CommissionFactory(studio=studio, client=gallery, freight_from="worked_out")
        piece(
            studio,
            f"Made bowl {number}",
            ("consigned", 1, gallery, 500),
            ("sold", 2, None, 450),
            commission=job,
        )

    more(0)
    one = queries()
    for number in range(1, 5):
        more(number)
    assert queries() == one


def test_the_list_is_printed_with_what_is_out_sold_and_back(studio: Studio, gallery: Client) -> None:
    several(studio, gallery)
    piece(studio, EVIL, ("consigned", 3, gallery, 1000))
    late = PieceRecord.objects.get(title="Out bowl")
    place_add(record=late, kind="consigned", since=ON, due_back=ON, client=gallery)
    sold = PieceRecord.objects.get(title="Sold bowl").places.get(kind="sold")
    place_payment_take(place=sold, amount=Decimal(100), paid_on=ON)
    letterhead, stays = frozen_letterhead(studio), dues_of(studio, today=ON, client=gallery).stays
    on = ON + datetime.timedelta(1)
    printed = consignment_pdf(stays, client=gallery, letterhead=letterhead, on=on)
    text = text_of(printed)
    for said in ("Sill Gallery", "2 June 2026", "$550.00 $330.00", EVIL, "1 June 2026, late"):
        assert said in text, said
    assert "Still due to the studio for pieces sold: $68.00." in text
    assert "Pieces with a day to be back by: 1, of them late: 1." in text
    # Out together: 550 + 1,000, and 330 + 600.
    assert "Together $1,550.00 $930.00" in text
    assert "1 March 2026 $280.00 $168.00 $100.00 $68.00" in text
    assert "Other bowl" not in text
    assert "Mistaken bowl" not in text
    check_accessible(printed, title="Consignment list: Sill Gallery", figures=0)
    assert consignment_pdf(stays, client=gallery, letterhead=letterhead, on=on) == printed


def test_what_is_to_be_paid_is_said_where_it_is_not_the_part(studio: Studio, gallery: Client) -> None:
    piece(studio, "Sold bowl", ("consigned", 1, gallery, 300), ("sold", 3, None, 280))
    (sold,) = groups(dues_of(studio, today=ON).stays, on=ON)
    assert [column.head for column in sold.columns] == [
        "sold",
        "price",
        "studio’s part",
        "paid",
        "still due",
    ]
    studio.pricing.tax = Decimal("0.1")
    studio.pricing.save()
    (sold,) = groups(dues_of(studio, today=ON).stays, on=ON)
    assert "to be paid" in [column.head for column in sold.columns]
    assert sold.sums == ["", "$280.00", "$168.00", "$184.80", "$0.00", "$184.80"]


def test_the_pages_show_galleries_and_what_is_with_one(
    as_alice: Browser, as_charlie: Browser, studio: Studio, gallery: Client
) -> None:
    piece(studio, EVIL, ("consigned", 1, gallery, 500))
    address = f"/log/consignment/{gallery.pk}/"
    text = as_alice.get("/log/consignment/").content.decode()
    assert address in text
    assert '<td class="n" data-head="pieces so far">1</td>' in text
    assert "<strong>1</strong> piece out." in text
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
