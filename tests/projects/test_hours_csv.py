"""The hours log as CSV: what goes out comes in the same, no cell is a formula, and each error has its place."""

import csv
import datetime
import io
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from projects.models import Commission, HoursEntry, Member, Studio
from projects.pages.csv_files import MOST_ROWS
from projects.pages.hours_csv import COLUMNS, ReadHours, names_of, read_hours, written_hours
from projects.pages.hours_typed import read_clock, read_span, said_span
from projects.services import hours
from tests.factories import CommissionFactory, RateFactory

pytestmark = pytest.mark.django_db

HEAD = "day,from,to,minutes,commission,operation,how many,note,who\n"


@pytest.fixture
def bowl(studio: Studio) -> Commission:
    """A commission of the studio, which sands."""
    RateFactory(studio=studio, operation="sand")
    return CommissionFactory(studio=studio, title="Bowl")


@pytest.fixture
def maker(bob: Any) -> Member:
    """Bob."""
    return bob.member


def _read(text: str, maker: Member, **more: Any) -> ReadHours:
    return read_hours(text, names_of(maker.studio, maker), **more)


def _errors(text: str, maker: Member) -> list[tuple[int, str]]:
    found = _read(text, maker, save=True)
    assert found.errors
    assert not HoursEntry.objects.exists(), "nothing is saved until all is right"
    return [(error.line, error.column) for error in found.errors]


# ---- out and in again

_TEXT = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=60)
_DAY = st.dates(datetime.date(2020, 1, 1), datetime.date(2026, 1, 1))


@hypothesis_settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    note=_TEXT,
    title=_TEXT,
    day=_DAY,
    span=st.tuples(st.integers(0, 1439), st.integers(0, 960)),
    quantity=st.none() | st.decimals(0, 1000, places=3),
    timed=st.booleans(),
)
@example("=1+1", "=cmd|' /C calc'!A0", datetime.date(2025, 1, 1), (1380, 120), Decimal("12.5"), True)
@example("'@x", "Bowl (no. 1)", datetime.date(2025, 1, 1), (0, 1), None, False)
def test_what_goes_out_comes_in_the_same(
    bowl: Commission, maker: Member, note: str, title: str, day: Any, span: Any, quantity: Any, timed: bool
) -> None:
    """Two commissions of the same title, as a studio that makes one bowl twice has them."""
    HoursEntry.objects.all().delete()
    note = note if note.strip() else ""
    jobs = [CommissionFactory(studio=maker.studio, title=title.strip() or "Bowl") for _ in range(2)]
    begins = datetime.datetime.combine(day, datetime.time(), datetime.UTC) + datetime.timedelta(
        minutes=span[0]
    )
    when: dict[str, Any] = {"worked_on": day, "minutes": Decimal(span[1])}
    if timed:
        when = {"started_at": begins, "ended_at": begins + datetime.timedelta(minutes=span[1])}
    for job, values in zip(
        [*jobs, bowl], [when, {"minutes": 1, "worked_on": day}, {"minutes": 2, "worked_on": day}], strict=True
    ):
        more = {"operation": "sand", "quantity": quantity, "note": note}
        hours.hours_log(commission=job, member=maker, **more, **values)
    before = _values()
    text = written_hours(HoursEntry.objects.order_by("pk"), maker.studio)
    for row in csv.reader(io.StringIO(text, newline="")):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n")) for cell in row)
    HoursEntry.objects.all().delete()
    found = _read("\ufeff" + text, maker, save=True)
    assert found.errors == []
    assert _values() == before


def _values() -> list[Any]:
    names = ("worked_on", "started_at", "ended_at", "minutes", "commission", "quantity", "note", "member")
    return list(HoursEntry.objects.order_by("pk").values_list("operation", *names))


def test_shares_of_a_stretch_go_out_as_minutes_and_what_runs_stays(bowl: Commission, maker: Member) -> None:
    from uuid import uuid4

    begins = datetime.datetime(2026, 2, 10, 9, tzinfo=datetime.UTC)
    shared = {"started_at": begins, "ended_at": begins + datetime.timedelta(minutes=30), "stretch": uuid4()}
    for minutes in (20, 10):
        HoursEntry.objects.create(
            commission=bowl,
            member=maker,
            operation="sand",
            worked_on=begins.date(),
            minutes=minutes,
            **shared,
        )
    hours.hours_start(commission=bowl, member=maker, operation="sand")
    rows = list(csv.DictReader(io.StringIO(written_hours(HoursEntry.objects.order_by("pk"), maker.studio))))
    assert [(row["from"], row["to"], row["minutes"]) for row in rows] == [("", "", "20"), ("", "", "10")]


# ---- what may be written


@pytest.mark.parametrize(
    ("typed", "minutes"),
    [
        ("95", 95),
        ("1:35", 95),
        ("1.5 h", 90),
        ("1,5 h", 90),
        ("90 min", 90),
        ("0.25", Decimal("0.25")),
        ("16:00", 960),
    ],
)
def test_a_span_is_read_as_people_write_it(typed: str, minutes: Any) -> None:
    assert read_span(typed) == minutes


@pytest.mark.parametrize("typed", ["", "soon", "-5", "1:75", "nan", "inf", "1e9", "1:", ":30", "1 2", "²"])
def test_what_is_no_span_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match="Write minutes such as 95"):
        read_span(typed)


@given(st.integers(0, 20_000))
def test_a_span_as_it_is_printed_is_read_the_same(minutes: int) -> None:
    assert read_span(said_span(Decimal(minutes))) == minutes


@pytest.mark.parametrize(
    ("typed", "at"),
    [("9", 540), ("9:15", 555), ("09.15", 555), ("2:30 pm", 870), ("12am", 0), ("23:59", 1439)],
)
def test_a_time_is_read_as_people_write_it(typed: str, at: int) -> None:
    assert read_clock(typed) == at
    assert read_clock("25:00", is_end=True) == 1500


@pytest.mark.parametrize("typed", ["", "noon", "24:00", "9:60", "13 pm", "-1", "41:00"])
def test_what_is_no_time_is_refused(typed: str) -> None:
    with pytest.raises(ValueError, match="Write a time of the day"):
        read_clock(typed)


def test_columns_in_any_order_parted_by_semicolons_are_read(bowl: Commission, maker: Member) -> None:
    text = f"Operation;Day;Minutes;Commission\r\nsand;2026-02-10;1,5 h;bowl\r\nsand;2026-02-11;7,5;no. {bowl.pk}\r\n"
    found = _read(text, maker, save=True)
    assert found.errors == []
    assert [row.minutes for row in HoursEntry.objects.order_by("worked_on")] == [90, Decimal("7.5")]
    assert {row.member for row in HoursEntry.objects.all()} == {maker}


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("10.2.2026,,,5,Bowl,sand,,,", "day"),
        ("0000-00-00,,,5,Bowl,sand,,,", "day"),
        ("9999-12-31,,,5,Bowl,sand,,,", "day"),
        (",,,5,Bowl,sand,,,", "day"),
        ("2026-02-10,,,,Bowl,sand,,,", "minutes"),
        ("2026-02-10,9:00,,,Bowl,sand,,,", "to"),
        ("2026-02-10,,9:00,5,Bowl,sand,,,", "from"),
        ("2026-02-10,9:00,8:00,,Bowl,sand,,,", "to"),
        ("2026-02-10,9:00,10:00,30,Bowl,sand,,,", "minutes"),
        ("2026-02-10,9:00,26:00,,Bowl,sand,,,", "to"),
        ("2026-02-10,,,-5,Bowl,sand,,,", "minutes"),
        ("2026-02-10,,,99999,Bowl,sand,,,", "minutes"),
        ('2026-02-10,,,"1,200",Bowl,sand,,,', "minutes"),
        ("2026-02-10,,,5,Vase,sand,,,", "commission"),
        ("2026-02-10,,,5,no. 99999999999999999999,sand,,,", "commission"),
        ("2026-02-10,,,5,Bowl,whittling,,,", "operation"),
        ("2026-02-10,,,5,Bowl,,,,", "operation"),
        ("2026-02-10,,,5,Bowl,sand,many,,", "how many"),
        ("2026-02-10,,,5,Bowl,sand,-1,,", "how many"),
        ("2026-02-10,,,5,Bowl,sand,1e999999,,", "how many"),
        ("2026-02-10,,,5,Bowl,sand,nan,,", "how many"),
        (f"2026-02-10,,,5,Bowl,sand,,{'x' * 201},", "note"),
        ("2026-02-10,,,5,Bowl,sand,,,charlie", "who"),
        ("2026-02-10,,,5,Bowl,sand,,,,,more", ""),
        ("2190-02-10,,,5,Bowl,sand,,,", "day"),
    ],
)
def test_each_error_has_its_line_and_column(
    bowl: Commission, maker: Member, charlie: Any, row: str, column: str
) -> None:
    good = "2026-02-09,,,5,Bowl,sand,,,\n"
    assert _errors(f"{HEAD}{good}{row}\n", maker) == [(3, column)]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "The file is empty"),
        ("day,operation\n2026-02-10,sand\n", "columns are missing: commission, minutes, or from and to"),
        ("day,day,commission,operation,minutes\n", "This column is there twice"),
        ("day,pay,commission,operation,minutes\n", "Not a column here"),
        (HEAD, "no row of hours"),
        (f'{HEAD}"2026-02-10', "cannot be read as CSV"),
        (HEAD + "2026-02-10,,,1,Bowl,sand,,,\n" * (MOST_ROWS + 1), f"bring in {MOST_ROWS} at a time"),
    ],
)
def test_a_file_that_cannot_be_read_says_so(bowl: Commission, maker: Member, text: str, told: str) -> None:
    assert any(told in error.words for error in _read(text, maker).errors)


def test_rows_that_overlap_with_one_another_or_with_the_log_are_refused_at_their_line(
    bowl: Commission, maker: Member
) -> None:
    text = f"{HEAD}2026-02-10,9:00,10:00,,Bowl,sand,,,\n2026-02-10,9:30,10:30,,Bowl,sand,,,\n"
    assert _errors(text, maker) == [(3, "from")]
    first = text.splitlines(keepends=True)
    assert _read("".join(first[:2]), maker, save=True).errors == []
    (error,) = _read("".join([first[0], first[2]]), maker, save=True).errors
    assert error.words == "This overlaps with “sand” for Bowl, 10 February 2026, 9:00 to 10:00."
    assert HoursEntry.objects.count() == 1


def test_two_commissions_of_one_title_are_told_apart_by_number(bowl: Commission, maker: Member) -> None:
    twin = CommissionFactory(studio=maker.studio, title="bowl")
    row = "2026-02-10,,,5,{},sand,,,\n"
    (error,) = _read(HEAD + row.format("Bowl"), maker).errors
    assert (error.column, f"no. {bowl.pk} or no. {twin.pk}" in error.words) == ("commission", True)
    assert _read(HEAD + row.format(f"no. {twin.pk}"), maker).entries[0].commission == twin


def test_another_studios_commission_is_not_found_by_title_or_number(
    bowl: Commission, maker: Member, other_studio: Studio
) -> None:
    theirs = CommissionFactory(studio=other_studio, title="Theirs")
    for cell in ("Theirs", f"no. {theirs.pk}", f"Theirs (no. {theirs.pk})"):
        assert _errors(f"{HEAD}2026-02-10,,,5,{cell},sand,,,\n", maker) == [(2, "commission")]


def test_every_column_is_a_field_of_the_log() -> None:
    fields = {field.name for field in HoursEntry._meta.get_fields()}
    assert set(COLUMNS.values()) <= fields
