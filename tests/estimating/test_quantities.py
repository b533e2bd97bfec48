"""Lengths as people write them, against scipy's constants and pint; the board foot against NIST."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from estimating.quantities import BOARD_FOOT, format_length, in_mm, parse_length, unit_in_mm
from tests.estimating.sheets import answer, bowl, modest


@pytest.mark.parametrize(
    ("unit", "metres"),
    [("inch", constants.inch), ("foot", constants.foot), ("centimetre", constants.centi), ("metre", 1.0)],
)
def test_a_unit_has_the_factor_of_scipy(unit: str, metres: float) -> None:
    assert in_mm(unit) == pytest.approx(metres * 1000, rel=1e-15)


@pytest.mark.parametrize(("unit", "mm"), [("mm", 1.0), ("cm", 10.0), ("in", 25.4)])
def test_units_of_the_sheet_are_exact(unit: str, mm: float) -> None:
    assert unit_in_mm(unit) == mm  # type: ignore[arg-type]


def test_a_board_foot_is_that_of_nist_and_of_pint() -> None:
    """2.359 737 E-03 m3 (NIST SP 811 appendix B.8; the row from memory); exactly 144 cubic inches."""
    assert pytest.approx(2.359737e-3 * 1e9, rel=0.5e-6 / 2.36) == BOARD_FOOT
    assert pint.UnitRegistry().convert(1, "board_foot", "mm**3") == pytest.approx(BOARD_FOOT, rel=1e-12)
    assert pytest.approx(144 * constants.inch**3 * 1e9, rel=1e-15) == BOARD_FOOT


# US Navy, Engineering Aid Basic, chapter 6 (2 x 4 in. by 14 ft); a trade page (1 x 6 in. by 96 in.); a cubic metre.
BOARDS = [((2, 4, 14 * 12), 9.333, 5e-4), ((1, 6, 96), 4.0, 1e-12)]


@pytest.mark.parametrize(("inches", "feet", "digit"), BOARDS)
def test_printed_boards_have_their_board_feet(
    inches: tuple[float, float, float], feet: float, digit: float
) -> None:
    assert math.prod(inches) * in_mm("inch") ** 3 / BOARD_FOOT == pytest.approx(feet, abs=digit)


def test_a_cubic_metre_is_424_board_feet_short_of_a_quarter() -> None:
    assert pytest.approx(423.776, abs=5e-4) == 1e9 / BOARD_FOOT


def test_board_feet_in_the_answer_are_of_the_rough_boards() -> None:
    found = answer(bowl())
    for wood, account in found["wood"].items():
        boards = [b for b in found["cutting"]["boards"] if b["wood"] == wood]
        volume = sum(b["length"] * b["width"] * b["thickness"] for b in boards)
        assert account["board_feet"] == pytest.approx(volume / 25.4**3 / 144, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("90 mm", 90.0), ("90mm", 90.0), ("9 cm", 90.0), ("0.09 m", 90.0), ("3 1/2 in", 88.9), ("3-1/2 in", 88.9),
        ('1/8"', 3.175), ("0.1in", 2.54), (".5 in.", 12.7), ("1' 6\"", 457.2), ("1 ft 6 in", 457.2), ("2 feet", 609.6),
        ("7/8 inch", 22.225), ("12. mm", 12.0), ("  5   mm ", 5.0), ("3 INCHES", 76.2), ("5″", 127.0), ("1′", 304.8),
        ("0 mm", 0.0), ("1 m 5 cm", 1050.0),
    ],
)  # fmt: skip
def test_a_length_reads_as_people_write_it(text: str, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, rel=1e-14)


def test_a_number_alone_is_in_the_unit_that_is_asked_for() -> None:
    assert parse_length("3 1/2", unit="in") == pytest.approx(88.9, rel=1e-14)
    assert parse_length("2.5", unit="cm") == 25.0
    with pytest.raises(ValueError, match="needs a unit, such as 3 mm or 3 in"):
        parse_length("3")
    with pytest.raises(ValueError, match="needs a unit"):
        parse_length("1 ft 6", unit="in")  # six of what?


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "is empty"), ("   ", "is empty"), ("wide", "is not a length"), ("-5 mm", "is not a length"),
        ("5 furlong", "not a length here"), ("1/0 in", "is not a number"), ("1e3 mm", "not a length"),
        ("5,5 mm", "is not a length"), ("nan mm", "is not a length"), ("inf mm", "is not a length"),
        ("9" * 400 + " mm", "is not a number"), ("3 1/2 1/2 in", "needs a unit"), ("mm", "is not a length"),
    ],
)  # fmt: skip
def test_what_is_no_length_says_what_would_be(text: str, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        parse_length(text)


@pytest.mark.parametrize(
    ("mm", "options", "text"),
    [
        (92.04, {}, "92"), (92.06, {}, "92.1"), (0.0, {}, "0"), (-0.01, {}, "0"), (100.0, {}, "100"),
        (88.9, {"unit": "in"}, "3 1/2"), (3.175, {"unit": "in"}, "1/8"), (25.4, {"unit": "in"}, "1"),
        (25.3, {"unit": "in"}, "1"), (25.0, {"unit": "in"}, "63/64"), (-88.9, {"unit": "in"}, "-3 1/2"),
        (88.9, {"unit": "in", "inches": "decimal"}, "3.5"), (91.4, {"unit": "cm"}, "9.14"),
        (3.175, {"unit": "in", "with_unit": True}, "1/8 in"), (5.0, {"with_unit": True}, "5 mm"),
    ],
)  # fmt: skip
def test_a_length_is_written_as_the_shop_writes_it(mm: float, options: dict[str, object], text: str) -> None:
    assert format_length(mm, **options) == text  # type: ignore[arg-type]


@modest
@given(st.floats(0.001, 10_000))
def test_what_is_written_reads_back_to_within_its_last_digit(mm: float) -> None:
    assert parse_length(format_length(mm, with_unit=True)) == pytest.approx(mm, abs=0.0501)
    assert parse_length(format_length(mm, unit="cm", with_unit=True)) == pytest.approx(mm, abs=0.0501)
    assert parse_length(format_length(mm, unit="in", with_unit=True)) == pytest.approx(
        mm, abs=25.4 / 128 + 1e-9
    )
    decimal = format_length(mm, unit="in", inches="decimal", with_unit=True)
    assert parse_length(decimal) == pytest.approx(mm, abs=0.0127 + 1e-9)


@modest
@given(st.integers(0, 300), st.integers(0, 63))
def test_inches_in_sixty_fourths_read_back_exactly(whole: int, part: int) -> None:
    mm = (whole + part / 64) * 25.4
    assert parse_length(format_length(mm, unit="in", with_unit=True)) == pytest.approx(
        mm, rel=1e-13, abs=1e-12
    )


@modest
@given(st.text(max_size=20))
def test_any_text_is_a_length_or_a_sentence_on_one_line(text: str) -> None:
    try:
        mm = parse_length(text, unit="mm")
    except ValueError as refusal:
        message = str(refusal)
        message.encode("utf-8")
    else:
        message = ""
        assert math.isfinite(mm)
    assert "\n" not in message
