"""What was measured against what was drawn: run-out judged by hand, drift carried up, and layers that refit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidInput
from estimating.estimate import Estimate, estimate
from estimating.glue.as_built import judge_height, judge_run_out, layers_in
from estimating.piece import ShopSettings
from estimating.sheet import read_sheet
from tests.estimating.kinds import built, cut
from tests.estimating.sheets import Json, modest
from tests.estimating.test_assembly import tube

SHOP = ShopSettings(ring_joining="whole")


def made(sheet: Json) -> Estimate:
    return estimate(read_sheet(sheet))


def two_bands() -> Estimate:
    """A solid cylinder of 100 mm: six layers of 10 and four of 5, joined at the sixth."""
    form = {"outer": [[0, 50], [80, 50]]}
    return made(built(cut(layers=6), cut(layers=4, thickness=5, woods=["walnut"]), form=form))


# --- run-out ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("run_out", "verdict"),
    [
        (0.0, "good"),
        (5.9, "good"),
        (6.0, "good"),
        (6.1, "shim"),
        (12.0, "shim"),
        (12.1, "remake"),
        (40, "remake"),
    ],
)
def test_a_cylinder_stands_off_by_half_the_dial_and_has_its_allowance_to_spare(
    run_out: float, verdict: str
) -> None:
    """Outside 3 mm are left on a straight wall, where drift of height takes nothing: a dial's 6 mm. Its other layers
    have as much to spare, by which the whole may be mounted off: 12 mm. Rings are closed whole, so nothing is lost."""
    (shape,) = two_bands().shapes
    found = judge_run_out(shape, range(1, 7), run_out=run_out, shop=SHOP)
    assert found.verdict == verdict
    assert (found.off, found.left) == (run_out / 2, pytest.approx(3.0, abs=1e-9))


def test_a_cone_that_has_nothing_left_once_its_height_drifts_is_trued_at_once() -> None:
    """Slope 1 in 2; layer 3 of 4 may stand 0.36 mm off, 0.18 mm of radius: of 3 mm 2.82 are left for run-out."""
    form = {"outer": [[0, 40], [40, 60]], "inside": {"kind": "solid"}}
    (shape,) = made(built(cut(layers=4), form=form)).shapes
    (third,) = (judge_run_out(shape, [3], run_out=run_out, shop=SHOP) for run_out in (5.8,))
    assert third.left == pytest.approx(2.82)
    assert third.bare == pytest.approx(3.0)
    assert third.verdict == "true"
    assert judge_run_out(shape, [3], run_out=5.64, shop=SHOP).verdict == "good"


def test_a_whole_part_has_no_other_layers_to_shim_by() -> None:
    (shape,) = two_bands().shapes
    assert judge_run_out(shape, shape.layers, run_out=6.1, shop=SHOP).verdict == "remake"


@modest
@given(st.floats(0, 20), st.floats(0, 20))
def test_more_run_out_is_never_judged_more_kindly(one: float, other: float) -> None:
    (shape,) = ESTIMATE.shapes
    order = ["good", "true", "shim", "remake"]
    judged = [
        order.index(judge_run_out(shape, [2, 3], run_out=run_out, shop=SHOP).verdict)
        for run_out in sorted((one, other))
    ]
    assert judged == sorted(judged)


ESTIMATE = two_bands()

# --- height -----------------------------------------------------------------------------------------------------------


def test_drift_is_carried_up_and_foreseen_at_the_rim() -> None:
    """Six layers came out 0.3 mm too tall, 0.05 each; four more like them are 0.5 mm at the rim."""
    (shape,) = ESTIMATE.shapes
    found = judge_height(shape, range(1, 7), height=60.3, shop=SHOP)
    assert (found.planned, found.drift) == (60.0, pytest.approx(0.3))
    assert found.at_rim == pytest.approx(0.5)
    assert found.misses
    assert found.allowed == pytest.approx(0.3 + 6 * 0.02)
    assert [(edge.band, edge.drawn, edge.off) for edge in found.edges] == [
        (0, 60.0, pytest.approx(0.3)),
        (1, 80.0, pytest.approx(0.3)),
    ]
    assert found.move == pytest.approx(0.15)


@pytest.mark.parametrize(("height", "misses"), [(60.17, False), (60.19, True), (59.83, False), (59.81, True)])
def test_the_maker_is_warned_before_the_pattern_misses_the_rim(height: float, misses: bool) -> None:
    """The shop's tolerance is 0.3 mm at the rim: 0.18 mm on six layers of ten."""
    (shape,) = ESTIMATE.shapes
    assert judge_height(shape, range(1, 7), height=height, shop=SHOP).misses == misses


@modest
@given(st.floats(50, 75))
def test_layers_that_are_refitted_meet_the_rim_again(height: float) -> None:
    (shape,) = ESTIMATE.shapes
    found = judge_height(shape, range(1, 7), height=height, shop=SHOP)
    assert len(found.refit) == 4
    assert height + sum(found.refit) == pytest.approx(80.0)
    assert min(found.refit) > 0
    assert found.edges[0].off == pytest.approx(found.drift)


def test_what_is_too_tall_for_the_rest_to_mend_has_no_refit() -> None:
    (shape,) = ESTIMATE.shapes
    assert judge_height(shape, range(1, 7), height=80.0, shop=SHOP).refit == ()
    assert judge_height(shape, shape.layers, height=80.2, shop=SHOP).refit == ()


def test_a_stack_in_the_middle_moves_what_is_above_it_and_nothing_below() -> None:
    (shape,) = ESTIMATE.shapes
    found = judge_height(shape, [7, 8], height=10.4, shop=SHOP)
    assert [edge.off for edge in found.edges] == [0, pytest.approx(0.4)]


def test_glue_lines_are_part_of_the_height() -> None:
    sheet = tube(layers=4, shop={"bond_line": 0.1})
    sheet["form"]["outer"][1][0] = 40.3
    (shape,) = made(sheet).shapes
    assert judge_height(shape, [1, 2, 3], height=30.2, shop=SHOP).drift == pytest.approx(0)


# --- which layers, and what is refused --------------------------------------------------------------------------------


def test_a_join_holds_what_it_joins() -> None:
    found = made(tube(layers=14))
    stacks = [one for one in found.glue_ups if one.kind == "stack"]
    join = found.glue_ups[-1]
    assert layers_in(stacks[0], found.glue_ups) == tuple(range(1, 8))
    assert layers_in(join, found.glue_ups) == tuple(range(1, 15))
    assert layers_in(found.glue_ups[0], found.glue_ups) == ()


@pytest.mark.parametrize(
    ("layers", "height", "reason"),
    [
        ([1, 2], 0.0, "must be more than 0"),
        ([1, 2], float("nan"), "must be more than 0"),
        ([1, 3], 20.0, "do not lie on one another"),
        ([10, 11], 20.0, "does not have"),
        ([], 20.0, "does not have"),
    ],
)
def test_a_height_that_cannot_be_is_refused(layers: list[int], height: float, reason: str) -> None:
    with pytest.raises(InvalidInput, match=reason):
        judge_height(ESTIMATE.shapes[0], layers, height=height, shop=SHOP)


def test_a_run_out_below_nothing_is_refused() -> None:
    with pytest.raises(InvalidInput, match="run_out: must be 0 or more"):
        judge_run_out(ESTIMATE.shapes[0], [1], run_out=-0.1, shop=SHOP)
