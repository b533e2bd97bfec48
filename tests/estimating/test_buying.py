"""Buying units against published tables and worked examples, against pint, and what must always hold."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from estimating.piece import UsualBoard
from estimating.wood.buying import (
    BOUGHT_BY,
    BoughtBy,
    nominal_thicknesses,
    price_of_one,
    price_of_share,
    units_in_board,
)

INCH, FOOT = 25.4, 304.8


def _feet(thick: float, wide: float, long: float) -> Fraction:
    """Board feet of a board in inches, its length in feet."""
    return units_in_board(
        bought_by="board_foot", length=long * FOOT, width=wide * INCH, thickness=thick * INCH
    )


# Source: hardwood sizes as tabled at engineeringtoolbox.com/hardwood-lumber-dimensions-chart-d_1462.html, columns rough
# and S2S, which renovation-headquarters.com/hardwood-boards.html gives alike; inches.
@pytest.mark.parametrize(
    ("name", "rough", "surfaced"),
    [
        ("4/4", "1", "13/16"),
        ("5/4", "5/4", "17/16"),
        ("6/4", "3/2", "21/16"),
        ("8/4", "2", "7/4"),
        ("12/4", "3", "11/4"),
        ("16/4", "4", "15/4"),
    ],
)
def test_nominal_thicknesses_are_the_published_ones(name: str, rough: str, surfaced: str) -> None:
    row = nominal_thicknesses()[name]
    assert row.rough == pytest.approx(float(Fraction(rough)) * INCH, abs=1e-9)
    assert row.surfaced == pytest.approx(float(Fraction(surfaced)) * INCH, abs=1e-9)
    assert row.from_memory == ""


def test_a_nominal_thickness_is_so_many_quarters_of_an_inch_and_loses_wood_when_surfaced() -> None:
    rows = list(nominal_thicknesses().values())
    assert [row.rough for row in rows] == sorted(row.rough for row in rows)
    for row in rows:
        quarters, four = row.name.split("/")
        assert four == "4"
        assert row.rough == pytest.approx(int(quarters) / 4 * INCH)
        assert 0 < row.surfaced < row.rough
        assert row.source


def test_what_the_shop_usually_buys_is_sold_by_these_thicknesses() -> None:
    """The usual board's series and this table say the same of 4/4 to 16/4."""
    assert UsualBoard().thicknesses == tuple(row.rough for row in nominal_thicknesses().values())


@pytest.mark.parametrize(
    ("thick", "wide", "long", "feet"),
    [
        (1, 9, 8, "6"),  # woodworkingtips.com/etips/etip04.html: 1 x 9 x 96 in
        (1.5, 9, 8, "9"),  # the same: 1 1/2 x 9 x 96 in
        (3, 8, 10, "20"),  # westcoastlands.net/SawmillBoardFoot.html
        (1, 8, 8, "16/3"),  # scottprussingpublishing.com/how-to-measure-board-feet: 5.33
        (1.25, 10, 8, "25/3"),  # boardfeetcalculator.com: 8.33
        (1, 12, 1, "1"),  # the unit itself: US Navy, Engineering Aid Basic, chapter 6
        (0.75, 12, 1, "1"),  # the same: under 1 in. counts as 1 in.
        (1, 6, 8, "4"),  # powershardwoods.com: 1 x 6 x 96 in
        (2, 4, 14, "28/3"),  # the Navy's 2 x 4 of 14 ft, 9 1/3
    ],
)
def test_board_feet_of_the_published_examples(thick: float, wide: float, long: float, feet: str) -> None:
    assert float(_feet(thick, wide, long)) == pytest.approx(float(Fraction(feet)), rel=1e-12)


def test_a_surfaced_board_is_paid_for_as_thick_as_it_was_bought() -> None:
    """Source: nominal rather than actual sizes (furnituremaking.us, ordering lumber by the board foot)."""
    row = nominal_thicknesses()["8/4"]
    sizes = {"bought_by": "board_foot", "length": 8 * FOOT, "width": 6 * INCH}
    bought = units_in_board(**sizes, thickness=row.surfaced, nominal="8/4")
    assert float(bought) == pytest.approx(8)
    assert float(units_in_board(**sizes, thickness=row.surfaced)) == pytest.approx(7)


@given(
    length=st.floats(1, 10_000),
    width=st.floats(1, 2000),
    thickness=st.floats(INCH, 1000),
)
def test_units_agree_with_pint(length: float, width: float, thickness: float) -> None:
    """A second method; the board foot there comes from the library's own table of units."""
    ask = _REGISTRY.Quantity
    sizes = {"length": length, "width": width, "thickness": thickness}
    volume = ask(length, "mm") * ask(width, "mm") * ask(thickness, "mm")
    for bought_by, theirs in (
        ("board_foot", volume.to("board_foot")),
        ("cubic_metre", volume.to("metre ** 3")),
        ("running_metre", ask(length, "mm").to("metre")),
        ("running_foot", ask(length, "mm").to("foot")),
    ):
        ours = units_in_board(bought_by=bought_by, **sizes)  # type: ignore[arg-type]
        assert float(ours) == pytest.approx(theirs.magnitude, rel=1e-9), bought_by
    assert units_in_board(bought_by="piece", **sizes) == 1


_REGISTRY = pint.UnitRegistry()
_MONEY = st.decimals(0, 100_000, places=4, allow_nan=False)
_SIZES = st.fixed_dictionaries(
    {
        "length": st.decimals("0.001", 10_000, places=3),
        "width": st.decimals("0.001", 10_000, places=3),
        "thickness": st.decimals("0.001", 1000, places=3),
        "nominal": st.sampled_from(["", *nominal_thicknesses()]),
    }
)


@given(bought_by=st.sampled_from(BOUGHT_BY), price=_MONEY, sizes=_SIZES, places=st.integers(0, 4))
def test_a_price_is_rounded_once_and_half_up(
    bought_by: BoughtBy, price: Decimal, sizes: dict, places: int
) -> None:
    """Within half a step of the exact price, and upwards where it stands in the middle."""
    one = price_of_one(bought_by=bought_by, price_per_unit=price, **sizes, places=places)
    exact = units_in_board(bought_by=bought_by, **sizes) * Fraction(price)
    step = Fraction(1, 10**places)
    assert -one.as_tuple().exponent == places
    assert -step / 2 < Fraction(one) - exact <= step / 2


@given(price=_MONEY, places=st.integers(0, 4))
def test_a_board_bought_by_the_piece_costs_what_it_costs(price: Decimal, places: int) -> None:
    one = price_of_one(bought_by="piece", price_per_unit=price, length=1, width=1, thickness=1, places=places)
    assert one == price.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)


def test_halves_go_up() -> None:
    """2.5 metres at 0.03 is 0.075, and at 0.01 is 0.025; half even would make 0.08 and 0.02."""
    by = {"bought_by": "running_metre", "length": 2500, "width": 100, "thickness": 25}
    assert price_of_one(price_per_unit=Decimal("0.03"), **by) == Decimal("0.08")
    assert price_of_one(price_per_unit=Decimal("0.01"), **by) == Decimal("0.03")


@given(
    price=_MONEY,
    of=st.decimals(1, 10**9, places=3),
    share=st.fractions(0, 1),
)
def test_a_piece_of_a_board_never_costs_more_than_the_board(
    price: Decimal, of: Decimal, share: Fraction
) -> None:
    part = of * share.numerator / share.denominator
    assume(part > 0)
    cost = price_of_share(price, volume=part, of=of, places=4)
    assert 0 <= cost <= price
    rest = of - part
    if rest > 0:
        assert abs(cost + price_of_share(price, volume=rest, of=of, places=4) - price) <= Decimal("0.0001")


@pytest.mark.parametrize("wrong", [{"length": 0}, {"width": -1}, {"thickness": 0.0}])
def test_a_board_without_a_size_is_refused(wrong: dict) -> None:
    with pytest.raises(ValueError, match="above 0"):
        units_in_board(**{"bought_by": "piece", "length": 1, "width": 1, "thickness": 1} | wrong)


def test_unknown_units_and_thicknesses_are_refused_by_name() -> None:
    sizes = {"length": 1, "width": 1, "thickness": 1}
    with pytest.raises(ValueError, match="'cord'"):
        units_in_board(bought_by="cord", **sizes)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"'7/4'.*known are 4/4, 5/4"):
        units_in_board(bought_by="board_foot", nominal="7/4", **sizes)
    with pytest.raises(ValueError, match="above 0"):
        price_of_share(Decimal(1), volume=0, of=1)
