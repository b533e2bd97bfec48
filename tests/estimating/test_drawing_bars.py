"""Bars of amounts: of one scale, all there, with words that are escaped."""

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.picture.bars import Bar, draw_bars

SVG = "{http://www.w3.org/2000/svg}"
amounts = st.floats(-1e6, 1e6).map(lambda value: value if abs(value) > 1e4 else 0.0)


def bars_of(*bars: Bar, upright: bool = False) -> ET.Element:
    return ET.fromstring(draw_bars(bars, title="Earned", description="All of it.", upright=upright))


@given(st.lists(amounts, min_size=1, max_size=8), st.booleans())
def test_every_bar_is_as_long_as_its_amount_on_one_scale(found: list[float], upright: bool) -> None:
    if not any(found):
        return
    root = bars_of(*(Bar("x", "1", amount) for amount in found), upright=upright)
    drawn = root.findall(f"{SVG}rect")
    most = max(abs(amount) for amount in found)
    widest = max(float(bar.get("width", "0")) for bar in drawn)
    for amount, bar in zip(found, drawn, strict=True):
        # Drawn to 0.01; what is nothing is a hairline of 0.5.
        expected = max(abs(amount) / most * widest, 0.5)
        assert float(bar.get("width", "0")) == pytest.approx(expected, abs=0.02)
        assert ("url(" in bar.get("fill", "")) == (amount < 0)


def test_words_are_escaped_and_a_colour_is_a_wood_s_alone() -> None:
    root = bars_of(Bar("<b>oak", "2 & 3", 2.0, "#d8c7a0"), Bar("ash", "1", 1.0, "red;x"), Bar("a", "1", 1.0))
    assert "".join(root.itertext()).count("<b>oak") == 1
    assert [bar.get("fill") for bar in root.findall(f"{SVG}rect")] == ["#d8c7a0", "#c9c1b2", "currentColor"]


@pytest.mark.parametrize("bars", [[], [Bar("none", "0", 0.0)]])
def test_nothing_is_not_drawn(bars: list[Bar]) -> None:
    with pytest.raises(ValueError, match="not nothing"):
        draw_bars(bars, title="", description="")
