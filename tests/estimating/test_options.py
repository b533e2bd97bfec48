"""Options side by side: a piece twice as large has eight times the wood, and what cannot be made says so."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.estimate import estimate
from estimating.options import Option, try_options, vary
from estimating.piece import Finish, Sheet
from estimating.sheet import read_sheet
from estimating.workshop import standing_workshop
from tests.estimating.sheets import bowl, modest


def read(**changes: Any) -> Sheet:
    return read_sheet(bowl(**changes))


@modest
@given(st.floats(0.5, 1.5))  # larger, a segment is wider than the usual board
def test_a_solid_scales_by_the_cube_of_its_size(factor: float) -> None:
    sheet = read()
    whole, other = estimate(sheet), estimate(vary(sheet, Option(size=factor)))
    assert other.shapes[0].form.volume == pytest.approx(whole.shapes[0].form.volume * factor**3, rel=1e-9)
    assert other.height == pytest.approx(whole.height * factor, rel=1e-12)
    assert other.layers == whole.layers


def test_wood_finish_and_number_are_changed_and_nothing_else() -> None:
    sheet, glossy = read(), Finish(coats=12)
    varied = vary(sheet, Option(wood="walnut", by="cherry", finish=glossy, quantity=3))
    assert (varied.finish, varied.quantity) == (glossy, 3)
    assert "walnut" not in {wood for band in varied.parts[0].bands for wood in band.all_woods}
    assert varied.pricing == sheet.pricing
    assert vary(sheet, Option()) == sheet


def test_one_option_that_cannot_be_made_leaves_the_others_be() -> None:
    """Two and a half times as large, a segment is wider than the usual board."""
    large, two = try_options(read(), standing_workshop(), [Option(size=2.5), Option(quantity=2)])
    assert large.estimate is None
    assert "no room for it" in large.refusals[0]
    assert two.estimate is not None
    assert two.refusals == ()


def test_a_size_at_which_layers_are_too_thin_is_one_that_cannot_be_made() -> None:
    """At a quarter the height is 10 mm of 40: a layer of 10 mm comes to 2.5; one of 3 mm to less than truing takes."""
    thin = [{**band, "layers": band["layers"] * 4, "thickness": 2.5} for band in bowl()["bands"]]
    small, whole = try_options(read(bands=thin), standing_workshop(), [Option(size=0.25), Option()])
    assert small.estimate is None
    assert "no more than the 1 mm that truing takes" in small.refusals[0]
    assert whole.estimate is not None


@pytest.mark.parametrize(
    ("option", "place"),
    [
        (Option(wood="yew", by="maple"), "wood"),
        (Option(wood="walnut"), "by"),
        (Option(size=5.0), "size"),
        (Option(size=float("nan")), "size"),
    ],
)
def test_what_is_no_option_is_refused(option: Option, place: str) -> None:
    with pytest.raises(InvalidInput) as refusal:
        vary(read(), option)
    assert refusal.value.place == place
