"""What galleries paid for pieces of no commission of theirs: written down, refused, taken back, and the page for it."""

import datetime
import re
from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.utils import timezone

from projects.consigned import dues_of
from projects.models import Client, PieceRecord, Place, PlacePayment, Studio
from projects.services.place_payments import (
    place_payment_take,
    place_payment_take_back,
    place_payments_take,
)
from projects.services.record_places import place_add, place_take_back
from projects.services.records import record_update
from tests.factories import ClientFactory, CommissionFactory
from tests.factories_records import PlacePaymentFactory, RecordFactory

pytestmark = pytest.mark.django_db
EVIL = "<script>alert(1)</script>"
MAY, JUNE = datetime.date(2026, 5, 1), datetime.date(2026, 6, 1)


@pytest.fixture
def gallery(studio: Studio) -> Client:
    """A gallery that keeps two fifths."""
    found: Client = ClientFactory(studio=studio, kind="gallery", name="Sill", gallery_share=Decimal("0.4"))
    return found


def sold(studio: Studio, gallery: Client, price: int = 500, **values: Any) -> Place:
    """A piece that the gallery sold in June 2026; of 500 the studio's part is 300."""
    record = RecordFactory(studio=studio, **values)
    place_add(record=record, kind="consigned", since=MAY, client=gallery)
    return place_add(record=record, kind="sold", since=JUNE, price=Decimal(price))


def still(studio: Studio) -> list[Decimal | None]:
    return [
        stay.account.open if stay.account else None
        for stay in dues_of(studio, today=timezone.localdate()).stays
    ]


def test_a_sale_is_paid_in_parts_and_what_was_wrong_is_taken_back(studio: Studio, gallery: Client) -> None:
    sale = sold(studio, gallery)
    place_payment_take(place=sale, amount=Decimal(100), paid_on=JUNE)
    wrong = place_payment_take(place=sale, amount=Decimal(150), paid_on=JUNE)
    assert still(studio) == [50]
    back = place_payment_take_back(payment=wrong)
    assert (back.takes_back, PlacePayment.objects.count()) == (wrong, 3)
    assert still(studio) == [200]
    for gone in (wrong, back):
        with pytest.raises(ValidationError, match="taken back already"):
            place_payment_take_back(payment=gone)
    assert still(studio) == [200]


def test_what_was_paid_back_counts_against_what_came_in(studio: Studio, gallery: Client) -> None:
    sale = sold(studio, gallery)
    with pytest.raises(ValidationError, match="More would go back"):
        place_payment_take(place=sale, way="back", amount=Decimal(1), paid_on=JUNE)
    came = place_payment_take(place=sale, amount=Decimal(300), paid_on=JUNE)
    place_payment_take(place=sale, way="back", amount=Decimal(120), paid_on=JUNE)
    assert still(studio) == [120]
    with pytest.raises(ValidationError, match="More would have gone back"):
        place_payment_take_back(payment=came)
    assert still(studio) == [120]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"amount": Decimal(0)}, "amount"),
        ({"amount": Decimal(-5)}, "amount"),
        ({"amount": Decimal("0.005")}, "amount"),
        ({"amount": Decimal("NaN")}, "amount"),
        ({"paid_on": datetime.date(2999, 1, 1)}, "paid_on"),
        ({"way": "sideways"}, "way"),
        ({"note": "x" * 201}, "note"),
    ],
)
def test_what_is_no_payment_is_refused_at_its_field(
    studio: Studio, gallery: Client, wrong: dict[str, Any], field: str
) -> None:
    sale = sold(studio, gallery)
    with pytest.raises(ValidationError) as refusal:
        place_payment_take(place=sale, **{"amount": Decimal(5), "paid_on": JUNE, **wrong})
    assert list(refusal.value.error_dict) == [field]
    assert not PlacePayment.objects.exists()


def test_only_a_sale_out_of_consignment_that_stands_is_paid_for(studio: Studio, gallery: Client) -> None:
    direct = RecordFactory(studio=studio)
    by_hand = place_add(record=direct, kind="sold", since=JUNE)
    out = place_add(record=RecordFactory(studio=studio), kind="consigned", since=MAY, client=gallery)
    mistaken = sold(studio, gallery)
    place_take_back(place=mistaken)
    for place in (by_hand, out, mistaken):
        with pytest.raises(ValidationError, match="Only what a gallery sold"):
            place_payment_take(place=place, amount=Decimal(5), paid_on=JUNE)
    job = CommissionFactory(studio=studio, client=gallery)
    with pytest.raises(ValidationError, match="with its commission"):
        place_payment_take(place=sold(studio, gallery, commission=job), amount=Decimal(5), paid_on=JUNE)
    # One that another ordered, and this gallery sold, is paid for here.
    other = CommissionFactory(studio=studio)
    place_payment_take(place=sold(studio, gallery, commission=other), amount=Decimal(5), paid_on=JUNE)


def test_the_same_twice_is_asked_about(studio: Studio, gallery: Client) -> None:
    sale = sold(studio, gallery)
    first = place_payment_take(place=sale, amount=Decimal(50), paid_on=JUNE)
    with pytest.raises(ValidationError, match="already"):
        place_payment_take(place=sale, amount=Decimal(50), paid_on=JUNE)
    place_payment_take(place=sale, amount=Decimal(50), paid_on=JUNE, again=True)
    assert still(studio) == [200]
    place_payment_take_back(payment=first)
    assert still(studio) == [250]


def test_one_payment_for_several_pieces_is_written_down_whole_or_not_at_all(
    studio: Studio, other_studio: Studio, gallery: Client
) -> None:
    one, two = sold(studio, gallery), sold(studio, gallery)
    theirs = sold(other_studio, ClientFactory(studio=other_studio, kind="gallery"))
    another = sold(studio, ClientFactory(studio=studio, kind="gallery"))
    amounts = {one.pk: 5, two.pk: Decimal("0.001"), theirs.pk: 5, another.pk: 5}
    with pytest.raises(ValidationError) as refusal:
        place_payments_take(client=gallery, amounts={pk: Decimal(paid) for pk, paid in amounts.items()})
    assert set(refusal.value.message_dict) == {f"{row.pk}.amount" for row in (two, theirs, another)}
    with pytest.raises(ValidationError) as refusal:
        place_payments_take(client=gallery, amounts={})
    assert set(refusal.value.message_dict) == {"amounts"}
    assert not PlacePayment.objects.exists()
    place_payments_take(client=gallery, amounts={one.pk: Decimal(5), two.pk: Decimal(300)}, note="No. 7")
    assert sorted(PlacePayment.objects.values_list("place", "amount")) == [(one.pk, 5), (two.pk, 300)]


def test_a_paid_sale_is_not_taken_back_before_its_payments_are(studio: Studio, gallery: Client) -> None:
    sale = sold(studio, gallery)
    payment = place_payment_take(place=sale, amount=Decimal(5), paid_on=JUNE)
    with pytest.raises(ValidationError, match="Take that back first"):
        place_take_back(place=sale)
    place_payment_take_back(payment=payment)
    place_take_back(place=sale)
    assert still(studio) == [None]


def test_the_currency_of_a_paid_piece_stays(studio: Studio, gallery: Client) -> None:
    sale = sold(studio, gallery)
    place_payment_take(place=sale, amount=Decimal(5), paid_on=JUNE)
    record = PieceRecord.objects.get()
    with pytest.raises(ValidationError) as refusal:
        record_update(record=record, currency="EUR")
    assert set(refusal.value.error_dict) == {"currency"}
    record_update(record=record, title="Sill bowl")


def test_what_is_written_down_stays_and_the_database_holds_it_above_nothing() -> None:
    payment = PlacePaymentFactory()
    for change in (payment.save, payment.delete, lambda: PlacePayment.objects.update(amount=1)):
        with pytest.raises(ValidationError, match="only added to"):
            change()
    for wrong in ({"amount": 0}, {"way": "up"}):
        with pytest.raises(IntegrityError), transaction.atomic():
            PlacePaymentFactory(**wrong)


def paid(place: Place, amount: str, **more: str) -> dict[str, str]:
    return {"way": "in", "paid_on": "2026-06-20", "note": "July", f"amount-{place.pk}": amount, **more}


def test_a_payment_is_written_down_on_the_gallerys_page(
    as_alice: Browser, studio: Studio, gallery: Client
) -> None:
    one, two = sold(studio, gallery, title="Tide bowl"), sold(studio, gallery)
    address = f"/log/consignment/{gallery.pk}/"
    assert "Still due: $300.00." in as_alice.get(address).content.decode()
    page = as_alice.post(f"{address}paid/", paid(one, "$120.00"), follow=True).content.decode()
    assert "Written down for 1 piece." in page
    assert "$120.00 for Tide bowl (July)" in page
    assert "Still due for pieces sold: <strong>$480.00</strong>" in page
    assert "$120.00 paid to you" in as_alice.get(f"/log/{one.record_id}/").content.decode()
    payment = PlacePayment.objects.get()
    page = as_alice.post(f"/log/consignment/payments/{payment.pk}/take-back/", follow=True).content.decode()
    assert "Taken back: $120.00." in page
    assert "Still due for pieces sold: <strong>$600.00</strong>" in page
    as_alice.post(f"{address}paid/", paid(one, "300", **{f"amount-{two.pk}": "300"}))
    page = as_alice.get(address).content.decode()
    assert "$0.00" in page
    assert f"amount-{one.pk}" not in page


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"paid_on": "2999-01-01"}, "This day is still to come."),
        ({"paid_on": "soon"}, "Enter a valid date."),
        ({"amount": "much"}, "Enter a number."),
        ({"amount": "0"}, "Must be at least"),
        ({"amount": "0.005"}, "not in whole coins"),
        ({"amount": ""}, "Write what was paid beside a piece at least."),
        ({"way": "back"}, "More would go back than came in."),
        ({"way": "sideways"}, "not one of the available choices"),
    ],
)
def test_what_is_wrong_changes_nothing_and_stays_typed(
    as_alice: Browser, studio: Studio, gallery: Client, wrong: dict[str, str], says: str
) -> None:
    one, two = sold(studio, gallery), sold(studio, gallery)
    sent = paid(one, wrong.get("amount", "120"), note="Kept words")
    sent |= {name: text for name, text in wrong.items() if name != "amount"}
    if wrong.get("amount") != "":
        sent[f"amount-{two.pk}"] = "77.5"
    answer = as_alice.post(f"/log/consignment/{gallery.pk}/paid/", sent)
    page = answer.content.decode()
    assert answer.status_code == 400
    assert says in page
    assert "Kept words" in page
    assert 'value="77.5"' in page or wrong.get("amount") == ""
    assert page.count(says) == (2 if wrong.get("way") == "back" else 1)
    assert not PlacePayment.objects.exists()


def test_another_one_like_it_is_asked_about_on_the_page(
    as_alice: Browser, studio: Studio, gallery: Client
) -> None:
    sale, address = sold(studio, gallery), f"/log/consignment/{gallery.pk}/paid/"
    assert "another one like" not in as_alice.get(f"/log/consignment/{gallery.pk}/").content.decode()
    as_alice.post(address, paid(sale, "50"))
    page = as_alice.post(address, paid(sale, "50")).content.decode()
    assert "It is another one like the one that is there" in page
    as_alice.post(address, paid(sale, "50", again="on"))
    assert still(studio) == [200]


def test_an_outsider_finds_nothing_and_markup_is_escaped(
    as_alice: Browser, as_charlie: Browser, client: Browser, studio: Studio, gallery: Client
) -> None:
    sale = sold(studio, gallery, title=EVIL)
    payment = place_payment_take(place=sale, amount=Decimal(5), paid_on=JUNE, note=EVIL)
    address, back = (
        f"/log/consignment/{gallery.pk}/paid/",
        f"/log/consignment/payments/{payment.pk}/take-back/",
    )
    for browser, status in ((as_charlie, 404), (client, 302)):
        assert browser.post(address, paid(sale, "5")).status_code == status
        assert browser.post(back).status_code == status
    assert as_alice.get(back).status_code == 405
    assert PlacePayment.objects.count() == 1
    for path in (f"/log/consignment/{gallery.pk}/", f"/log/{sale.record_id}/"):
        page = as_alice.get(path).content.decode()
        assert EVIL not in page
        assert re.search(r"&lt;script&gt;", page)


def test_what_galleries_owe_for_pieces_of_no_commission_is_told_with_the_money(
    as_alice: Browser, as_charlie: Browser, studio: Studio, gallery: Client
) -> None:
    assert "On consignment" not in as_alice.get("/money/").content.decode()
    sale = sold(studio, gallery)
    place_payment_take(place=sale, amount=Decimal(100), paid_on=JUNE)
    # One that the gallery ordered is counted with its commission.
    sold(studio, gallery, commission=CommissionFactory(studio=studio, client=gallery))
    assert "<strong>$200.00</strong> still due" in as_alice.get("/money/").content.decode()
    assert "On consignment" not in as_charlie.get("/money/").content.decode()
    place_payment_take(place=sale, amount=Decimal(200), paid_on=JUNE)
    assert "still due" not in as_alice.get("/money/").content.decode()
