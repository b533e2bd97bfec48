"""The page of a year's figures and its files: they work, what is wrong is refused, outsiders see their own."""

import csv
import io
import re
from decimal import Decimal

import pytest
from django.test import Client as Browser
from django.utils import timezone

from projects.models import Commission, Studio
from projects.models.studio import GalleryShareAs
from projects.pages.year_figures import TABLES
from tests.factories import HoursEntryFactory, QuoteFactory
from tests.factories_papers import PaymentFactory, QuoteEventFactory
from tests.factories_records import RecordFactory, TakenLineFactory
from tests.projects.owing import ESTIMATE, SHEET, SIGNED, accepted

pytestmark = pytest.mark.django_db
EVIL = "<script>alert(1)</script>"
HARMFUL = "=SUM(A1)"


@pytest.fixture
def job(studio: Studio) -> Commission:
    """A gallery's bowl of this year: 600 of 1,200 euros came in, a sixth of it tax, and ten hours went into it."""
    studio.currency = "EUR"
    studio.save()
    found: Commission = accepted(studio).commission
    found.client.name = EVIL
    found.client.save()
    today = timezone.localdate()
    record = RecordFactory(studio=studio, commission=found, form=HARMFUL, made_on=today, year=today.year)
    TakenLineFactory(record=record)
    PaymentFactory(commission=found, amount=600)
    HoursEntryFactory(commission=found, minutes=600)
    return found


def page(browser: Browser, path: str, status: int = 200) -> str:
    answer = browser.get(path)
    assert answer.status_code == status, path
    return answer.content.decode()


def test_the_year_is_answered_first(as_bob: Browser, job: Commission) -> None:
    shown = page(as_bob, "/year/")
    assert (
        "You earned <strong>€500.00</strong> in <strong>10 h</strong>: <strong>€50.00 an hour</strong>"
        in shown
    )
    assert "€600.00 came in, less €100.00 of it tax." in shown
    assert "took 1.50\N{NO-BREAK SPACE}× its hours, 0 of 1 within 25 %" in shown
    cells = re.findall(r'<td class="n"[^>]*>(.*?)</td>', shown, re.DOTALL)
    assert cells
    assert all("<details" in cell for cell in cells if cell), "every figure opens to its working"
    assert shown.count("<svg") == shown.count('role="img"') > 0


def test_the_page_is_linked_from_money_and_the_log(as_bob: Browser, job: Commission) -> None:
    for path in ("/money/", "/log/"):
        assert 'href="/year/"' in page(as_bob, path)


def test_a_year_without_anything_says_so(as_bob: Browser) -> None:
    shown = page(as_bob, "/year/?year=2020")
    assert "Nothing came in and no hours were logged." in shown
    assert "No board was cut from the rack in this year." in shown


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ("year=1899", "Write a year from 1900"),
        ("year=9999", "Write a year from 1900"),
        ("year=soon", "Enter a whole number."),
        ("on=2999-01-01", "This day is yet to come."),
        ("on=0001-01-01", "Not before 1900."),
        ("on=yesterday", "Enter a valid date."),
    ],
)
def test_what_is_wrong_is_refused_and_stays(as_bob: Browser, job: Commission, asked: str, says: str) -> None:
    shown = page(as_bob, f"/year/?{asked}", 400)
    assert says in shown
    assert "€" not in shown
    assert f'value="{asked.partition("=")[2]}"' in shown
    assert says in page(as_bob, f"/year/kinds.csv?{asked}", 400)


def test_an_outsider_sees_only_their_own(as_charlie: Browser, job: Commission) -> None:
    shown = page(as_charlie, "/year/")
    assert "Nothing came in and no hours were logged yet." in shown
    assert "alert(1)" not in shown
    assert "alert(1)" not in page(as_charlie, "/year/galleries.csv")


def test_nobody_sees_it_without_logging_in(client: Browser, job: Commission) -> None:
    for path in ("/year/", "/year/kinds.csv"):
        answer = client.get(path)
        assert (answer.status_code, answer["Location"].partition("?")[0]) == (302, "/account/log-in/")


def test_markup_is_shown_escaped(as_bob: Browser, job: Commission) -> None:
    shown = page(as_bob, "/year/")
    assert EVIL not in shown
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in shown


@pytest.mark.parametrize("table", TABLES)
def test_each_table_is_a_file_with_no_formula_in_it(as_bob: Browser, job: Commission, table: str) -> None:
    answer = as_bob.get(f"/year/{table}.csv")
    assert answer.status_code == 200
    heads, *lines = csv.reader(io.StringIO(answer.content.decode("utf-8-sig")))
    assert lines
    assert {len(line) for line in lines} == {len(heads)}
    if table == "kinds":
        assert lines == [
            ["'=sum(a1)", "1", "1000", "600", "500", "10.00", "50"],
            ["in all", "1", "1000", "600", "500", "10.00", "50"],
        ]


def test_a_table_that_is_none_is_not_found(as_bob: Browser) -> None:
    page(as_bob, "/year/secrets.csv", 404)


def test_the_gallery_s_share_is_an_expense_or_left_out_and_the_earning_is_the_same(
    as_bob: Browser, job: Commission, studio: Studio
) -> None:
    # Of 1,000 before tax the gallery keeps 400 and pays the studio 600 and a fifth of tax.
    price = {**ESTIMATE["price"], "gallery_share": "400.00"}
    terms = {"pricing": {**SHEET["pricing"], "gallery_share": 0.4, "gallery_mode": "consignment"}}
    quote = QuoteFactory(
        commission__studio=studio, estimate={"price": price}, sheet=terms, state="issued", number="2027-009",
        revision="A", issued_at=timezone.now(), valid_until=timezone.localdate(),
    )  # fmt: skip
    QuoteEventFactory(quote=quote, what="accepted", **SIGNED)
    PaymentFactory(commission=quote.commission, amount=Decimal(720))
    shown = {}
    for way in GalleryShareAs:
        studio.gallery_share_as = way
        studio.save()
        shown[way] = page(as_bob, "/year/"), page(as_bob, "/year/galleries.csv")
    (sale, sale_file), (expense, expense_file) = shown["sale"], shown["expense"]
    # 500 and 600 were earned, and 400 of share goes with the 600.
    assert "€1,100.00" in sale
    assert "€1,100.00" in expense
    assert "€1,500.00" not in sale
    assert "€1,500.00" in expense
    assert "€1,500.00 earned" not in expense
    assert "galleries' share" not in sale_file.partition("\n")[0]
    assert "sales,galleries' share,earned" in expense_file.partition("\n")[0]
    # The sums of the files: 400 of share and what was earned, 1,100, are sales of 1,500.
    assert ",1500,400,1100," in expense_file
    assert "400" not in sale_file.rpartition("in all")[2]


def test_the_choice_is_a_setting_of_the_studio_and_only_its_owner_makes_it(
    as_alice: Browser, as_bob: Browser, studio: Studio
) -> None:
    given = {
        "name": "Fern",
        "currency": "EUR",
        "length_unit": "mm",
        "inch_style": "fraction",
        "quote_valid_days": 30,
    }
    assert 'name="gallery_share_as"' in page(as_alice, "/studio/")
    as_alice.post("/studio/", {**given, "gallery_share_as": "expense"})
    studio.refresh_from_db()
    assert studio.gallery_share_as == "expense"
    assert (
        as_alice.post("/studio/", {**given, "name": "Wrong", "gallery_share_as": "half"}).status_code == 400
    )
    as_bob.post("/studio/", {**given, "gallery_share_as": "sale"})
    as_alice.post("/studio/", given)
    studio.refresh_from_db()
    assert (studio.name, studio.gallery_share_as) == ("Fern", "expense")
    # An address kept from when it was a choice of the page changes nothing.
    assert "an expense" in page(as_bob, "/year/?share=sale")
