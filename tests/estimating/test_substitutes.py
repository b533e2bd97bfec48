"""What if it were another wood: the same wood changes nothing, another is estimated as if drawn so, refusals."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.answer import finished_mass_of
from estimating.errors import InvalidInput, InvalidSheet
from estimating.estimate import estimate
from estimating.piece import Board
from estimating.sheet import read_sheet
from estimating.substitutes import A_YEAR_INDOORS, Comparison, Substitute, compare, replace_wood
from estimating.wood.climate import equilibrium_moisture
from estimating.wood.species import published_species
from estimating.workshop import standing_workshop
from tests.estimating.kinds import ZIGZAG, built, cut, disc, kinds
from tests.estimating.sheets import Json, bowl, modest
from tests.estimating.test_weather import DRIER, OPEN, WIDE

WOODS = published_species()
SHOP = standing_workshop()
RACK = [
    {"wood": wood, "length": 1200, "width": 150, "thickness": 50, "count": 2, "price": price}
    for wood, price in (("walnut", "40.00"), ("maple", "25.00"), ("cherry", "30.00"))
]


def compared(sheet: Json, wood: str, *others: str, boards: tuple[Board, ...] = ()) -> Comparison:
    return compare(read_sheet(sheet), SHOP, wood=wood, alternatives=others, boards=boards)


@modest
@given(kinds(), st.sampled_from(["maple", "walnut", "cherry"]), st.booleans())
def test_a_wood_in_its_own_place_changes_nothing(sheet: Json, wood: str, rack: bool) -> None:
    try:
        read = read_sheet({**sheet, "boards": RACK if rack else []})
        before = estimate(read)
    except InvalidSheet:
        return
    assert replace_wood(read, wood=wood, by=wood) == read
    if wood not in before.wood:
        return
    found = compare(read, SHOP, wood=wood, alternatives=[wood])
    assert found.present == found.others[0]
    assert found.present.price == before.price
    assert found.present.wood_cost == before.cost.wood
    assert found.present.mass_g == pytest.approx(finished_mass_of(before), rel=1e-9)


def swapped(value: Any, wood: str, by: str) -> Any:
    """A second way to replace a wood: in the sheet's JSON, wherever its name stands."""
    if isinstance(value, dict):
        return {key: swapped(one, wood, by) for key, one in value.items()}
    if isinstance(value, list):
        return [swapped(one, wood, by) for one in value]
    return by if value == wood else value


EVERYWHERE = built(
    disc(woods=["maple"], bore=20, plug="walnut"),
    cut(layers=2, chart={"legend": {"a": "maple", "b": "walnut"}, "rows": ["aab", "ab"]}),
    cut(woods=["zig", "walnut"], thickness=14),
    laminates={"zig": ZIGZAG},
    climate=DRIER,
)


@pytest.mark.parametrize("by", ["ash", "padauk", "cherry"])
def test_an_alternative_is_estimated_as_the_sheet_written_with_it(by: str) -> None:
    (found,) = compared(EVERYWHERE, "walnut", by).others
    drawn = estimate(read_sheet({**swapped(EVERYWHERE, "walnut", by), "title": EVERYWHERE["title"]}))
    assert "walnut" not in drawn.wood
    assert found.price == drawn.price
    assert found.wood_cost == drawn.cost.wood
    assert found.mass_g == pytest.approx(finished_mass_of(drawn), rel=1e-9)
    assert drawn.movement is not None
    assert found.mismatch == max(joint.held or 0 for joint in drawn.movement.joints)
    changes = [layer.width_change or 0 for layer in drawn.movement.layers]
    assert max(changes) < 0  # all of it dries
    assert found.ring_change == min(changes)


def only_ring(wood: str) -> Json:
    form = {"outer": [[0, 60], [40, 60]], "inside": OPEN}
    return built(cut(layers=4, woods=[wood]), form=form, climate=DRIER)


@pytest.mark.parametrize("by", ["beech", "ash", "padauk", "oak"])
def test_a_ring_moves_as_the_shrinkage_of_its_wood(by: str) -> None:
    """dD / D = dM / (3000 / S - 30 + M) (Wood Handbook eq. 13-3), written out again, of the larger, tangential, S."""
    found = compared(only_ring("maple"), "maple", by)
    start = equilibrium_moisture(**DRIER["shop"])
    ratios = []
    for one in (found.present, found.others[0]):
        shrink = WOODS[one.wood].shrink_tangential_pct
        assert shrink is not None
        ratios.append((one.ring_change or 0) * (3000 / shrink - 30 + start))
    assert ratios[0] == pytest.approx(ratios[1], rel=1e-9)
    assert ratios[0] < 0  # it dries


def test_mass_and_looks_are_those_of_the_wood() -> None:
    found = compared(only_ring("maple"), "maple", "cherry", "wenge")
    cherry, wenge = found.others
    density = {key: WOODS[key].density for key in ("maple", "cherry", "wenge")}
    assert cherry.mass_g / found.present.mass_g == pytest.approx(
        density["cherry"] / density["maple"], rel=1e-9
    )
    assert wenge.lightness < cherry.lightness < found.present.lightness
    assert (cherry.colour, wenge.hazard.kind) == (WOODS["cherry"].colour, "sensitizer")
    assert cherry.fades == WOODS["cherry"].fades


def test_boards_of_the_alternative_are_used_and_those_of_the_sheet_not_twice() -> None:
    cheap = Board("ash", 1200, 150, 50, 2, price_of("1.00"))
    bought, racked = (compared(bowl(), "walnut", "ash", boards=boards).others[0] for boards in ((), (cheap,)))
    assert bought.short
    assert not racked.short
    assert racked.wood_cost < bought.wood_cost


def test_boards_that_the_sheet_has_already_are_not_counted_twice() -> None:
    """One short board of maple is too little for a bowl all of maple, and two would be enough."""
    one = {"wood": "maple", "length": 400, "width": 150, "thickness": 50, "count": 1, "price": "5.00"}
    few, enough = bowl(boards=[one]), bowl(boards=[{**one, "count": 2}])
    again = tuple(read_sheet(few).boards)
    assert not compared(enough, "walnut", "maple").others[0].short
    assert compared(few, "walnut", "maple").others[0].short
    assert compared(few, "walnut", "maple", boards=again).others[0].short


def price_of(text: str) -> Any:
    return read_sheet(bowl(boards=[{**RACK[0], "price": text}])).boards[0].price


def test_without_a_climate_a_year_indoors_is_taken_and_said() -> None:
    found = compared(bowl(), "walnut", "ash")
    assert (found.assumed, found.climate) == (True, A_YEAR_INDOORS)
    assert found.present.mismatch is not None
    given_one = compared(bowl(climate=DRIER), "walnut", "ash")
    assert not given_one.assumed
    assert given_one.climate != A_YEAR_INDOORS
    assert found.present.price == given_one.present.price


def test_a_wood_of_unknown_shrinkage_leaves_its_movement_unsaid() -> None:
    (found,) = compared(only_ring("maple"), "maple", "mesquite").others
    assert (found.mismatch, found.ring_change) == (None, None)
    assert found.mass_g > 0


def test_a_solid_base_shows_which_wood_moves_least() -> None:
    sheet = built(
        disc(woods=["beech"]),
        cut(layers=2, woods=["maple"]),
        form={"outer": [[0, 60], [32, 60]], "inside": {"kind": "wall", "wall": 8, "floor": 12}},
        usual_board=WIDE,
        climate=DRIER,
    )
    found = compared(sheet, "beech", "padauk", "walnut")
    order: list[Substitute] = [*found.others, found.present]
    assert [one.wood for one in order] == ["padauk", "walnut", "beech"]
    assert sorted(one.mismatch or 0 for one in order) == [one.mismatch for one in order]


@pytest.mark.parametrize(
    ("wood", "others", "message"),
    [
        ("ash", ["oak"], r"wood: must be a wood of the piece \(walnut, maple, cherry\), not 'ash'"),
        ("walnut", [], "alternatives: name one to 4 woods"),
        ("walnut", ["oak", "pork"], r"alternatives\[1\]: is no wood of this shop: 'pork'"),
        ("walnut", ["oak", "oak"], r"alternatives\[1\]: white oak stands here twice"),
        (
            "walnut",
            ["oak", "ash", "beech", "padauk", "teak"],
            r"alternatives\[4\]: is one too many: at most 4",
        ),
    ],
)
def test_what_cannot_be_compared_is_refused(wood: str, others: list[str], message: str) -> None:
    with pytest.raises(InvalidInput, match=message):
        compared(bowl(), wood, *others)
