"""Serial numbers: a pattern of the studio's own, no number twice and none left out, whoever writes at once."""

import re
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from hypothesis import given
from hypothesis import strategies as st

from projects.models import PieceRecord, SerialScheme, Studio
from projects.models.serials import serial_of, validate_pattern
from projects.services.record_serials import scheme_update, serial_next
from projects.services.records import record_create
from tests.factories import StudioFactory
from tests.factories_records import RecordFactory
from tests.projects.threads import at_once

PLAIN = st.text(alphabet="ABz09 -./#_", max_size=4)
NUMBERS = st.sampled_from(["{number}", "{number:3}", "{number:03}", "{number:05}"])
YEARS = st.sampled_from(["", "{year}", "{yy}"])


@st.composite
def patterns(draw: Any) -> str:
    """Patterns that a studio may have, the year before the number, after it or nowhere."""
    parts = [draw(PLAIN), draw(YEARS), draw(PLAIN), draw(NUMBERS), draw(PLAIN)]
    if draw(st.booleans()):
        parts[1], parts[3] = parts[3], parts[1]
    return "".join(parts).strip()


@given(patterns(), st.integers(1900, 2200), st.integers(1, 10**6), st.integers(1, 10**6))
def test_no_two_numbers_of_a_year_read_alike(pattern: str, year: int, one: int, other: int) -> None:
    validate_pattern(pattern)
    alike = serial_of(pattern, year=year, number=one) == serial_of(pattern, year=year, number=other)
    assert alike == (one == other)


@given(st.integers(1900, 2200), st.integers(1, 10**5), st.integers(0, 6))
def test_a_serial_number_reads_back_as_its_year_and_number(year: int, number: int, figures: int) -> None:
    pattern = f"{{year}}-{{number:0{figures}}}" if figures else "{year}-{number}"
    serial = serial_of(pattern, year=year, number=number)
    read = re.fullmatch(r"(\d{4})-(\d+)", serial)
    assert read is not None
    assert (int(read[1]), int(read[2])) == (year, number)
    assert len(read[2]) == max(figures, len(str(number)))


def test_the_usual_pattern_is_written_as_the_page_says() -> None:
    assert serial_of("{year}-{number:03}", year=2026, number=7) == "2026-007"
    assert serial_of("KH {number:4}/{yy}", year=2019, number=31) == "KH 0031/19"
    assert serial_of("{number:02}", year=2026, number=1234) == "1234"


@pytest.mark.parametrize(
    "pattern",
    [
        "",
        "A",
        "{year}",
        "{number}{number}",
        "{number.real}",
        "{0}",
        "{number:>9}",
        "{number",
        "{number}<b>",
        " {number}",
    ],
)
def test_what_is_no_pattern_is_refused(pattern: str) -> None:
    with pytest.raises(ValidationError):
        validate_pattern(pattern)


@pytest.mark.django_db
def test_each_year_counts_by_itself_and_taken_numbers_are_passed_over(studio: Studio) -> None:
    RecordFactory(studio=studio, serial="2025-002")
    with transaction.atomic():
        given = [serial_next(studio=studio, year=year) for year in (2025, 2025, 2026, 2025)]
    assert given == ["2025-001", "2025-003", "2026-001", "2025-004"]
    scheme_update(studio=studio, pattern="T{number}")
    with transaction.atomic():
        assert [serial_next(studio=studio, year=year) for year in (2025, 2026)] == ["T1", "T2"]


@pytest.mark.django_db
def test_a_piece_that_is_refused_uses_no_number_up(studio: Studio) -> None:
    with pytest.raises(ValidationError):
        record_create(studio=studio, title="Bowl", year=2024, place={"kind": "lent"})
    assert record_create(studio=studio, title="Bowl", year=2024).serial == "2024-001"


@pytest.mark.django_db(transaction=True)
def test_two_at_once_leave_no_number_out_and_give_none_twice() -> None:
    studio = StudioFactory()

    def write() -> list[str]:
        whose = Studio.objects.get(pk=studio.pk)
        return [record_create(studio=whose, title="Bowl", year=2026).serial for _ in range(6)]

    came = at_once(write, write)
    assert not [one for one in came if isinstance(one, Exception)], came
    assert sorted(came[0] + came[1]) == [f"2026-{number:03}" for number in range(1, 13)]
    assert PieceRecord.objects.count() == 12
    assert SerialScheme.objects.get().counts == {"2026": 12}
