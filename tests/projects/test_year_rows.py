"""The rows of a year's figures as the database has them: whose they are, of which day, and what does not count."""

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.db.models import QuerySet
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from projects import year_rows as rows
from projects.models import BoardEvent, Commission, PieceRecord, Quote, Studio
from projects.pages.year_figures import Asked, figures
from projects.services import rack
from projects.services.payments import payment_strike
from projects.services.place_payments import place_payment_take
from projects.services.rack import Offcut
from projects.services.record_places import place_add, place_take_back
from projects.year import earned
from projects.year_stock import stock
from tests.factories import BoardFactory, ClientFactory, CommissionFactory, HoursEntryFactory, QuoteFactory
from tests.factories_papers import ChangeOrderFactory, PaymentFactory, QuoteEventFactory
from tests.factories_records import PlaceFactory, RecordFactory, TakenLineFactory
from tests.projects.owing import ESTIMATE, SHEET, SIGNED, accepted

pytestmark = pytest.mark.django_db
JUNE = datetime.date(2025, 6, 30)


def noon(day: datetime.date) -> datetime.datetime:
    return timezone.make_aware(datetime.datetime.combine(day, datetime.time(12)))


def happened(day: datetime.date, **which: Any) -> None:
    """Date history that is written as of now, which nothing but a test may do."""
    QuerySet.update(BoardEvent.objects.filter(**which), at=noon(day))


def consigned(studio: Studio, mode: str = "consignment") -> Quote:
    """A quote accepted in June 2025 of 1,000 before tax, of which a gallery has 400."""
    price = {**ESTIMATE["price"], "gallery_share": "400.00"}
    terms = {"pricing": {**SHEET["pricing"], "gallery_share": 0.4, "gallery_mode": mode}}
    quote: Quote = QuoteFactory(
        commission__studio=studio, estimate={"price": price}, sheet=terms, state="issued", number="2027-009",
        revision="A", issued_at=noon(JUNE), valid_until=JUNE,
    )  # fmt: skip
    QuoteEventFactory(quote=quote, what="accepted", at=noon(JUNE), **SIGNED)
    return quote


def sold_on_consignment(studio: Studio, number: int, *, price: int = 500, **values: Any) -> PieceRecord:
    """A vase of no commission that a gallery sold in June 2025: of 500 it keeps 200."""
    gallery = ClientFactory(
        studio=studio, kind="gallery", name=f"Sill {number}", gallery_share=Decimal("0.4")
    )
    record: PieceRecord = RecordFactory(studio=studio, form="vase", currency="EUR", **values)
    place_add(record=record, kind="consigned", since=datetime.date(2025, 5, 2), client=gallery)
    place_add(record=record, kind="sold", since=JUNE, price=Decimal(price))
    return record


@pytest.fixture
def euro(studio: Studio) -> Studio:
    studio.currency = "EUR"
    studio.save()
    return studio


@pytest.fixture
def job(euro: Studio) -> Commission:
    """A gallery's bowl over 1,200 euros, 200 of it tax, accepted in June 2025; 600 paid, ten hours worked."""
    found: Commission = accepted(euro, at=noon(JUNE)).commission
    RecordFactory(studio=euro, commission=found, form="bowl", made_on=JUNE, year=2025)
    PaymentFactory(commission=found, amount=700, paid_on=JUNE)
    PaymentFactory(commission=found, amount=100, paid_on=JUNE, way="back")
    HoursEntryFactory(commission=found, minutes=600, worked_on=JUNE)
    return found


def test_a_year_has_the_money_and_the_hours_of_its_days(euro: Studio, job: Commission) -> None:
    (row,) = rows.jobs_of(euro, 2025)
    assert (row.kind, row.gallery) == ("bowl", (job.client.pk, job.client.name))
    assert (row.received, row.minutes, row.agreed) == (600, 600, 1000)
    whole = earned([row], words="in all", currency="EUR")
    assert (whole.tax, whole.earned, whole.an_hour) == (100, 500, 50)
    assert rows.jobs_of(euro, 2024) == rows.jobs_of(euro, 2026) == []


def test_the_last_and_the_first_day_are_in_two_years(euro: Studio, job: Commission) -> None:
    PaymentFactory(commission=job, amount=7, paid_on=datetime.date(2025, 12, 31))
    PaymentFactory(commission=job, amount=11, paid_on=datetime.date(2026, 1, 1))
    assert [row.received for year in (2025, 2026) for row in rows.jobs_of(euro, year)] == [607, 11]


def test_struck_payments_and_running_clocks_do_not_count(euro: Studio, job: Commission) -> None:
    wrong = PaymentFactory(commission=job, amount=5000, paid_on=JUNE)
    payment_strike(payment=wrong, why="of another job", member=None)
    HoursEntryFactory(commission=job, minutes=None, started_at=noon(JUNE), worked_on=JUNE)
    (row,) = rows.jobs_of(euro, 2025)
    assert (row.received, row.minutes) == (600, 600)


def test_a_change_counts_in_the_year_it_was_agreed(euro: Studio, job: Commission) -> None:
    answer = {"answer": "agreed", "answered_at": noon(datetime.date(2026, 2, 1)), "answered_name": "P. Lorn"}
    ChangeOrderFactory(quote=job.quotes.get(), base=80, tax=16, amount=96, **answer)
    assert [row.agreed for year in (2025, 2026) for row in rows.jobs_of(euro, year)] == [1000, 80]


def test_another_studio_s_rows_do_not_count(euro: Studio, job: Commission, other_studio: Studio) -> None:
    RecordFactory(studio=other_studio, made_on=JUNE, year=2025)
    TakenLineFactory(record__studio=other_studio)
    board = BoardFactory(wood=other_studio.woods.get(key="maple"))
    rack.cut_logged(board=board)
    assert rows.jobs_of(other_studio, 2025) == []
    today = timezone.localdate()
    assert (
        rows.cuts_of(euro, today.year) == rows.piles_of(euro, day=today) == rows.compared_of(euro, 2026) == []
    )
    assert rows.spent_of(euro, day=today)[1] == []
    assert rows.open_of(other_studio, today=today) == ([], 0)


def test_a_gallery_owes_what_is_open_and_a_piece_that_is_out_is_not_sold(
    euro: Studio, job: Commission
) -> None:
    today = timezone.localdate()
    accepted(euro, number="2027-002")
    private = accepted(euro, number="2027-003").commission
    private.client.kind = "private"
    private.client.save()
    found, foreign = rows.open_of(euro, today=today)
    assert sorted((row.sold, row.out) for row in found) == [(600, 0), (1200, 0)]
    assert (foreign, {row.is_job for row in found}) == (0, {True})
    place_add(record=job.records.get(), kind="consigned", since=JUNE, client=job.client)
    found, _ = rows.open_of(euro, today=today)
    assert sorted((row.sold, row.out) for row in found) == [(0, 600), (1200, 0)]


def test_on_consignment_a_piece_is_sold_once_the_log_says_so(euro: Studio) -> None:
    # Of 1,000 the gallery keeps 400, and pays 600 and a fifth of tax once it sold the piece.
    quote = consigned(euro)
    today = timezone.localdate()
    (waits,), _ = rows.open_of(euro, today=today)
    assert (waits.sold, waits.out) == (0, 720)
    record = RecordFactory(studio=euro, commission=quote.commission)
    place_add(record=record, kind="sold", since=JUNE)
    (sold,), _ = rows.open_of(euro, today=today)
    assert (sold.sold, sold.out) == (720, 0)
    place_add(record=record, kind="studio", since=JUNE, note="brought back")
    (back,), _ = rows.open_of(euro, today=today)
    assert (back.sold, back.out) == (0, 720)


def test_of_a_commission_of_three_a_piece_sold_is_owed_by_itself(euro: Studio) -> None:
    quote = consigned(euro)
    job = quote.commission
    job.quantity = 3
    job.save()
    first, second = (RecordFactory(studio=euro, commission=job, piece=number) for number in (1, 2))
    place_add(record=second, kind="sold", since=JUNE)
    today = timezone.localdate()
    # 720 in thirds is 240 a piece.
    (row,), _ = rows.open_of(euro, today=today)
    assert (row.sold, row.out) == (240, 480)
    # What was paid before goes to what was sold first.
    PaymentFactory(commission=job, amount=300, paid_on=JUNE)
    (row,), _ = rows.open_of(euro, today=today)
    assert (row.sold, row.out) == (0, 420)
    place_add(record=first, kind="sold", since=JUNE)
    (row,), _ = rows.open_of(euro, today=today)
    assert (row.sold, row.out) == (180, 240)


@pytest.mark.parametrize(
    ("mode", "received", "kept", "share", "from_base"),
    [
        # 720 come in: 120 are tax, and the gallery kept the 400 that belong to 600.
        ("consignment", 720, 600, 400, False),
        # The whole of 1,200 comes in: 200 are tax, and 400 of the 1,000 go on to the gallery.
        ("commission", 1200, 600, 400, True),
        # It bought: what it paid is a sale, and no share is the studio's expense.
        ("purchase", 1200, 1000, 0, False),
    ],
)
def test_how_a_gallery_deals_says_whose_the_share_is(
    euro: Studio, mode: str, received: int, kept: int, share: int, from_base: bool
) -> None:
    quote = consigned(euro, mode=mode)
    PaymentFactory(commission=quote.commission, amount=received, paid_on=JUNE)
    (row,) = rows.jobs_of(euro, 2025)
    whole = earned([row], words="", currency="EUR")
    assert (whole.earned, whole.share, row.from_base) == (kept, share, from_base)


def test_woods_and_stock_follow_the_rack_s_history(euro: Studio, job: Commission) -> None:
    may, july = datetime.date(2025, 5, 1), datetime.date(2025, 7, 1)
    board = rack.board_create(
        studio=euro,
        wood=euro.woods.get(key="maple"),
        length=1000,
        width=100,
        thickness=25,
        count=3,
        price=Decimal(40),
    )
    happened(may, what="put")
    rack.cut_logged(
        board=board,
        count=2,
        offcuts=[Offcut(length=Decimal(500), width=Decimal(100), count=1)],
        commission=job,
    )
    happened(july, what__in=("cut", "offcut"))
    cut, back = rows.cuts_of(euro, 2025)
    assert (cut.count, cut.volume, cut.price, cut.came_back) == (2, 2_500_000, 40, False)
    assert (back.count, back.volume, back.price, back.came_back) == (1, 1_250_000, 20, True)
    assert rows.cuts_of(euro, 2026) == []
    assert _rack(euro, may - datetime.timedelta(1)) == (0, 0)
    assert _rack(euro, JUNE) == (120, 0)
    assert _rack(euro, july) == (40, 20)
    assert rows.spent_of(euro, day=JUNE)[0][0].wood == 0
    assert rows.spent_of(euro, day=july)[0][0].wood == 60


def _rack(studio: Studio, day: datetime.date) -> tuple[Decimal, Decimal]:
    found = stock(rows.piles_of(studio, day=day), [], day=day, currency="EUR")
    return found.boards.cost, found.offcuts.cost


def test_a_piece_is_in_progress_then_finished_then_out_then_gone(euro: Studio, job: Commission) -> None:
    record = job.records.get()
    job.labour_rate, job.quantity, job.stage = Decimal(30), 1, "delivered"
    job.save()
    days = {kind: JUNE + datetime.timedelta(at) for at, kind in enumerate(("studio", "consigned", "sold"))}
    for kind, day in days.items():
        PlaceFactory(record=record, kind=kind, since=day)
    mistaken = PlaceFactory(record=record, kind="lent", since=days["sold"])
    PlaceFactory(record=record, kind="lent", since=days["sold"], takes_back=mistaken)
    HoursEntryFactory(commission=job, minutes=60, worked_on=JUNE - datetime.timedelta(1))
    before = _at(euro, JUNE - datetime.timedelta(1))
    assert (before.in_progress.cost, before.finished.cost) == (30, 0)
    assert _at(euro, days["studio"]).finished.cost == 330
    assert _at(euro, days["consigned"]).consigned.cost == 330
    gone = _at(euro, days["sold"])
    assert (gone.gone.cost, gone.total, gone.lent.count) == (330, 0, 0)


def test_a_declined_commission_is_no_stock_and_a_piece_of_none_has_no_cost(euro: Studio) -> None:
    declined = CommissionFactory(studio=euro, stage="declined", labour_rate=Decimal(30))
    HoursEntryFactory(commission=declined, minutes=120, worked_on=JUNE)
    RecordFactory(studio=euro, made_on=JUNE, year=2025)
    found = _at(euro, JUNE)
    assert (found.total, found.over.cost, found.unknown) == (0, 60, 1)


def _at(studio: Studio, day: datetime.date) -> Any:
    spent, unknown = rows.spent_of(studio, day=day)
    return stock(rows.piles_of(studio, day=day), spent, unknown=unknown, day=day, currency="EUR")


def test_hours_taken_are_compared_piece_by_piece(euro: Studio) -> None:
    record = RecordFactory(studio=euro, year=2025)
    TakenLineFactory(record=record, estimated=60, taken=90)
    TakenLineFactory(record=record, key="sand", estimated=Decimal("12.5"), taken=None)
    TakenLineFactory(record=record, kind="wood", key="maple", estimated=1000, taken=2000)
    (found,) = rows.compared_of(euro, 2025)
    assert (found.year, found.estimated, found.taken) == (2025, Decimal("72.5"), 90)
    assert rows.compared_of(euro, 2024) == []


def test_six_commissions_ask_no_more_of_the_database_than_one(euro: Studio, job: Commission) -> None:
    asked = Asked(2025, JUNE)

    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            figures(euro, asked)
        return len(found)

    sold_on_consignment(euro, 9)
    for_one = queries()
    for number in range(5):
        more = accepted(euro, number=f"2027-1{number}", at=noon(JUNE)).commission
        RecordFactory(studio=euro, commission=more, made_on=JUNE, year=2025)
        PaymentFactory(commission=more, paid_on=JUNE)
        HoursEntryFactory(commission=more, worked_on=JUNE)
        sold_on_consignment(euro, number)
        rack.cut_logged(board=BoardFactory(wood=euro.woods.get(key="maple")), commission=more)
    assert queries() == for_one


def test_a_client_that_is_no_gallery_is_in_no_gallery_s_row(euro: Studio) -> None:
    at_home = CommissionFactory(studio=euro, client=ClientFactory(studio=euro, kind="private"))
    PaymentFactory(commission=at_home, paid_on=JUNE)
    (row,) = rows.jobs_of(euro, 2025)
    assert (row.gallery, row.kind, row.received) == (None, "not in the log", 500)


def test_a_piece_of_no_commission_counts_once_sold_and_once_paid(euro: Studio) -> None:
    usual = euro.pricing
    usual.tax = Decimal("0.2")
    usual.save()
    record = sold_on_consignment(euro, 1)
    sale = record.places.get(kind="sold")
    gallery = record.places.get(kind="consigned").client
    # 0.6 of 500 is 300, and a fifth of tax on it: 360 are to come.
    (row,) = rows.sales_of(euro, 2025)
    assert (row.kind, row.gallery, row.agreed, row.received) == ("vase", (gallery.pk, "Sill 1"), 300, 0)
    (still,), _ = rows.open_of(euro, today=timezone.localdate())
    assert (still.gallery, still.sold, still.is_job) == ((gallery.pk, "Sill 1"), 360, False)
    place_payment_take(place=sale, amount=Decimal(240), paid_on=datetime.date(2026, 1, 9))
    (still,), _ = rows.open_of(euro, today=timezone.localdate())
    assert still.sold == 120
    (paid,) = rows.sales_of(euro, 2026)
    whole = earned([paid], words="", currency="EUR")
    # Of 240 a sixth is tax, 40; with the 200 goes the gallery's share, 200 of 300 of it.
    assert (whole.agreed, whole.received, whole.tax, whole.earned) == (0, 240, 40, 200)
    assert (whole.share, whole.sales) == (Decimal("133.33"), Decimal("333.33"))
    assert rows.sales_of(euro, 2024) == []


def test_what_was_paid_for_a_stay_that_is_known_no_more_still_came_in(euro: Studio) -> None:
    record = sold_on_consignment(euro, 1)
    day = datetime.date(2025, 7, 1)
    place_payment_take(place=record.places.get(kind="sold"), amount=Decimal(100), paid_on=day)
    place_take_back(place=record.places.get(kind="consigned"))
    (row,) = rows.sales_of(euro, 2025)
    assert (row.kind, row.gallery, row.received, row.base) == ("vase", None, 100, 0)


def test_sales_in_another_currency_and_another_studio_s_are_left_out(
    euro: Studio, other_studio: Studio
) -> None:
    abroad = sold_on_consignment(euro, 1)
    PieceRecord.objects.filter(pk=abroad.pk).update(currency="USD")
    sold_on_consignment(other_studio, 2)
    assert rows.open_of(euro, today=timezone.localdate()) == ([], 1)
    assert [row.currency for row in rows.sales_of(euro, 2025)] == ["USD"]
