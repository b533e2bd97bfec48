"""The picture of the money is read back: bars end to end are what is paid; and the parts of a price add up."""

import re
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.picture.money import Slice, draw_money
from estimating.piece import Pricing
from estimating.price.costs import Cost
from estimating.price.pricing import make_price
from estimating.price.split import split
from tests.estimating.sheets import modest
from tests.estimating.test_price_terms import TERMS

D = Decimal
RECT = re.compile(r"<rect [^>]*?>")


def drawn(amounts: list[float], *, upright: bool = False) -> str:
    slices = [Slice(f"part {at}", f"${amount:.2f}", amount) for at, amount in enumerate(amounts)]
    return draw_money(
        slices, begins=Slice("paid", "all", sum(amounts)), title="Money", description="words", upright=upright
    )


def bars(svg: str) -> list[dict[str, float]]:
    return [
        {name: float(value) for name, value in re.findall(r' (x|y|width|data-amount)="([-\d.e]+)"', rect)}
        for rect in RECT.findall(svg)
    ]


@modest
@given(st.lists(st.floats(5, 1000), min_size=2, max_size=9), st.booleans())
def test_bars_end_to_end_are_as_long_as_what_is_paid(amounts: list[float], upright: bool) -> None:
    first, *rest = bars(drawn(amounts, upright=upright))
    assert [bar["data-amount"] for bar in rest] == pytest.approx(amounts, abs=1e-5)
    scale = first["width"] / sum(amounts)
    # Coordinates are printed to a hundredth or finer.
    assert [bar["width"] for bar in rest] == pytest.approx([max(a * scale, 0.5) for a in amounts], abs=0.02)
    assert rest[-1]["x"] == pytest.approx(first["x"], abs=0.02)
    for above, below in pairwise(rest):
        assert below["y"] > above["y"]
        assert below["x"] + below["width"] == pytest.approx(above["x"], abs=0.6)


def test_a_part_of_nothing_is_not_drawn_but_what_is_left_is() -> None:
    assert len(bars(drawn([10.0, 0.0, 5.0]))) == 3
    assert len(bars(drawn([10.0, 0.0]))) == 3


@pytest.mark.parametrize("amounts", [[0.0, 0.0], [10.0, -1.0]])
def test_what_cannot_be_shared_out_is_refused(amounts: list[float]) -> None:
    with pytest.raises(ValueError, match="more than nothing"):
        drawn(amounts)


def test_parts_that_are_not_the_whole_are_refused() -> None:
    with pytest.raises(ValueError, match="what is paid"):
        draw_money([Slice("a", "1", 1.0)], begins=Slice("all", "2", 2.0), title="t", description="d")


def test_words_are_escaped() -> None:
    svg = draw_money([Slice("<b>", "&", 1.0)], begins=Slice("all", "1", 1.0), title="<t>", description="d")
    assert "<b>" not in svg
    assert "&lt;b&gt;" in svg


@modest
@given(st.lists(st.decimals(0, 900, places=2), min_size=6, max_size=6), TERMS)
def test_the_parts_of_a_price_are_all_that_is_paid(lines: list[Decimal], pricing: Pricing) -> None:
    cost = Cost(*lines)
    price = make_price(cost, mean_hours=10, pricing=pricing)
    paid = sum(part.amount for part in split(price, cost))
    assert paid == price.retail_before_tax + sum(price.pass_through) + price.tax
    if pricing.gallery_mode != "purchase":
        assert paid == price.total
