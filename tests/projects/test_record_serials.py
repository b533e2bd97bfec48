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
from projects.services.record_serials import Serials, scheme_update, serial_next
from projects.services.records import record_create, record_update
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
@pytest.mark.parametrize(
    ("there", "typed"), [("s-9", "S-9"), ("S-9", "s-9"), ("é-9b", "É-9B"), ("Ö 1", "ö 1")]
)
def test_capitals_make_no_other_number(studio: Studio, there: str, typed: str) -> None:
    RecordFactory(studio=studio, serial=there)
    RecordFactory(serial=typed)  # another studio's is no matter
    other = RecordFactory(studio=studio, serial="S-10")
    with pytest.raises(ValidationError) as refusal:
        record_create(studio=studio, title="Bowl", serial=typed)
    assert refusal.value.message_dict == {
        "serial": [f"The studio already has a piece {there}, and capitals make no other number."]
    }
    with pytest.raises(ValidationError):
        record_update(record=other, serial=typed)
    assert sorted(PieceRecord.objects.for_studio(studio).values_list("serial", flat=True)) == sorted(
        [there, "S-10"]
    )


@pytest.mark.django_db
@pytest.mark.parametrize("typed", ["S_9", "S%", "%", "S-9\\", "S-90"])
def test_a_number_is_like_no_other_by_signs_that_databases_search_with(studio: Studio, typed: str) -> None:
    RecordFactory(studio=studio, serial="s-9")
    assert record_create(studio=studio, title="Bowl", serial=typed).serial == typed


@pytest.mark.django_db
def test_two_that_differed_in_capitals_before_can_still_be_changed(studio: Studio) -> None:
    small, _capital = (RecordFactory(studio=studio, serial=serial) for serial in ("s-9", "S-9"))
    assert record_update(record=small, serial="s-9", title="Tall bowl").title == "Tall bowl"
    assert record_update(record=small, serial="s-11").serial == "s-11"
    assert record_update(record=small, serial="S-11").serial == "S-11", "its own is no other piece's"


@pytest.mark.django_db
def test_the_next_number_passes_over_one_in_other_capitals(studio: Studio) -> None:
    scheme_update(studio=studio, pattern="T{number}")
    RecordFactory(studio=studio, serial="t1")
    assert record_create(studio=studio, title="Bowl", year=2024).serial == "T2"
    many = Serials(studio)
    assert [many.take("t2"), many.take("x"), many.take("X")] == [False, True, False]


@pytest.mark.django_db(transaction=True)
def test_of_two_at_once_that_differ_in_capitals_one_is_refused() -> None:
    studio = StudioFactory()

    def write(serial: str) -> Any:
        return record_create(studio=Studio.objects.get(pk=studio.pk), title="Bowl", serial=serial).serial

    came = at_once(lambda: write("s-9"), lambda: write("S-9"))
    assert sorted(type(one).__name__ for one in came) == ["ValidationError", "str"], came
    assert PieceRecord.objects.count() == 1


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
