"""How figures are printed."""

from decimal import Decimal
from typing import Any

import pytest

from projects.models import Studio
from projects.pages.fields import read_length, typed_length
from projects.templatetags import turnery as show


@pytest.mark.parametrize(
    ("amount", "currency", "printed"),
    [
        (Decimal("1182.5"), "USD", "$1,182.50"),
        (Decimal("0.05"), "EUR", "€0.05"),
        (Decimal("-3.10"), "GBP", "−£3.10"),
        (Decimal("1182.50"), "CHF", "CHF 1,182.50"),
        (Decimal("1182"), "JPY", "JPY 1,182"),
        (Decimal("1.2345"), "KWD", "KWD 1.235"),
        (None, "USD", "–"),
    ],
)
def test_money_is_printed_to_the_currencys_own_coin(amount: Any, currency: str, printed: str) -> None:
    assert show.money(amount, currency) == printed


@pytest.mark.parametrize(
    ("minutes", "printed"),
    [(2325, "38 ¾"), (60, "1"), (14, "¼"), (5, "0"), (67, "1"), (68, "1 ¼"), (90000, "1,500")],
)
def test_hours_are_printed_to_the_quarter(minutes: float, printed: str) -> None:
    assert show.hours(minutes) == printed


def test_lengths_are_printed_as_the_shop_writes_them() -> None:
    metric, inches = Studio(length_unit="mm"), Studio(length_unit="in", inch_style="fraction")
    assert (show.size(92.04, metric), show.size_unit(88.9, metric)) == ("92", "88.9 mm")
    assert (show.size(88.9, inches), show.size_unit(3.175, inches)) == ("3 1/2", "1/8 in")
    assert show.size(88.9, Studio(length_unit="in", inch_style="decimal")) == "3.5"


def test_lengths_in_a_column_line_up() -> None:
    metric = Studio(length_unit="mm")
    fractions, decimals = (Studio(length_unit="in", inch_style=style) for style in ("fraction", "decimal"))
    assert [show.lined_up(mm, metric) for mm in (28.0, 31.94, 0)] == ["28.0", "31.9", "0.0"]
    assert [show.lined_up(mm, decimals) for mm in (12.7, 31.75)] == ["0.500", "1.250"]
    assert [show.lined_up(mm, fractions) for mm in (12.7, 31.75)] == ["1/2", "1 1/4"]
    assert show.lined_up(None, metric) == "–"


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("style", ["fraction", "decimal"])
def test_a_length_in_a_field_reads_back_to_the_same_thousandth(unit: str, style: str) -> None:
    studio = Studio(length_unit=unit, inch_style=style)
    for mm in (0.001, 0.08, 1.5, 3.175, 9.525, 12.7, 25.399, 88.9, 123.457, 2438.4, 9999.999):
        assert read_length(typed_length(mm, studio), studio) == mm


def test_layer_numbers_are_printed_in_runs() -> None:
    assert show.runs([1, 2, 3, 7, 9, 10]) == "1–3, 7, 9–10"
    assert show.runs([]) == ""


def test_a_volume_of_wood_is_printed_as_the_shop_measures_it() -> None:
    # One board foot is 144 cubic inches: 2.359737e-3 m³ (NIST SP 811, appendix B.8).
    inches, metric = Studio(length_unit="in"), Studio(length_unit="mm")
    assert (show.timber(2.359737e6 * 11.4, inches), show.timber_unit(inches)) == ("11.40", "board feet")
    assert (show.timber(2.359737e6, metric), show.timber_unit(metric)) == ("2.36", "dm³")


def test_an_angle_is_printed_as_the_saw_is_set() -> None:
    assert show.as_degrees(0.1308996939) == "7.50°"  # π / 24
    assert show.percent(Decimal("0.425")) == "42.5 %"
    assert show.grams(1449.6) == "1.4 kg"
