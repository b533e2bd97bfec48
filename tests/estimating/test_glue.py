"""Glued areas, millilitres, mixes and the plain order of glue-ups, worked by hand and from printed coverage."""

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from estimating.errors import InvalidInput
from estimating.glue.assembly import GlueUp, plan_assembly
from estimating.glue.joints import JointAreas, joint_areas
from estimating.glue.label import layers_at_once, pot_life, working_minutes
from estimating.glue.mixing import mix_for, spread_ml, whole_ratio
from estimating.piece import Allowance, Band, FormSheet, Label, ShopSettings
from estimating.shape.build import Shape, build_shape
from tests.estimating.sheets import answer, bowl, changed, modest

SHOP = ShopSettings()
LABEL = Label()


def cylinder(*, layers: int = 4, gap: float = 0.0, segments: int = 12, shop: ShopSettings = SHOP) -> Shape:
    """Layers 10 thick, 100 across, solid, not offset."""
    return build_shape(
        form=FormSheet(((0.0, 50.0), (10.0 * layers, 50.0))),
        allowance=Allowance(),
        bands=(Band("", layers, 10.0, segments, ("ash",), gap=gap),),
        shop=shop,
    )


# --- areas ----------------------------------------------------------------------------------------------------


def test_segment_ends_are_strip_width_over_the_cosine_times_the_height_as_glued() -> None:
    """Hexagon wedges meeting at the centre: an end is 50 / cos 30 long and 10 + 2 x 0.5 high; six a ring."""
    areas = joint_areas([cylinder(segments=6, layers=2)])
    assert areas.ends == pytest.approx([6 * 50 / math.cos(math.pi / 6) * 11.0] * 2, rel=1e-12)


def test_faces_of_like_layers_are_whole_polygons() -> None:
    areas = joint_areas([cylinder(layers=3)])
    assert areas.faces == pytest.approx([12 * math.tan(math.pi / 12) * 2500] * 2, rel=1e-12)


def test_an_open_ring_has_no_glued_ends_and_less_face() -> None:
    areas = joint_areas([cylinder(gap=0.25, layers=2)])
    assert areas.ends.tolist() == [0, 0]
    assert areas.faces == pytest.approx([12 * math.tan(0.75 * math.pi / 12) * 2500], rel=1e-12)


def test_areas_in_the_answer_are_of_one_piece_and_millilitres_of_all() -> None:
    one, three = answer(bowl())["adhesive"], answer(bowl(quantity=3))["adhesive"]
    assert (one["end_area"], one["face_area"]) == (three["end_area"], three["face_area"])
    assert three["volume_ml"] == pytest.approx(3 * one["volume_ml"], rel=1e-12)
    assert len(three["mixes"]) == 3 * len(one["mixes"])


# --- millilitres ------------------------------------------------------------------------------------------------

# Square feet a US gallon of adhesive covers at a film of so many mils: exact arithmetic of the gallon's 231 cubic
# inches, 231 / (144 t); resin makers' guides print about 1604 at one mil, 267 at six.
COVERAGE = {1: 1604.17, 6: 267.36, 15.625: 102.67, 31.25: 51.33}


@pytest.mark.parametrize(("mils", "square_feet"), COVERAGE.items())
def test_a_gallon_covers_what_the_arithmetic_of_the_gallon_says(mils: float, square_feet: float) -> None:
    film = mils * constants.mil * 1000
    shop = replace(SHOP, film=film, squeeze_out=0.0)
    # one coated face of that area: half of a joint, which has two
    area = square_feet * (constants.foot * 1000) ** 2 / 2
    gallon_ml = constants.gallon_US * 1e6
    assert spread_ml(faces=area, ends=0, shop=shop) == pytest.approx(
        gallon_ml, rel=0.005 / square_feet * 1.01
    )


def test_both_faces_are_coated_and_some_is_squeezed_out() -> None:
    """A square decimetre: 10,000 mm2 x 0.1 mm x 2 faces x 1.25 = 2,500 mm3."""
    assert spread_ml(faces=10_000, ends=0, shop=SHOP) == pytest.approx(2.5, rel=1e-14)


def test_end_grain_takes_half_as_much_again() -> None:
    assert spread_ml(faces=0, ends=10_000, shop=SHOP) == pytest.approx(3.75, rel=1e-14)


@pytest.mark.parametrize(
    ("ratio", "whole"),
    [((1, 1), (1, 1)), ((2, 1), (2, 1)), ((1, 0.5), (2, 1)), ((100, 44), (25, 11)), ((0.3, 0.1), (3, 1))],
)
def test_the_ratio_is_in_lowest_whole_terms(ratio: tuple[float, float], whole: tuple[int, int]) -> None:
    assert whole_ratio(ratio) == whole


def mixes_for(need_ml: float, **settings: Any) -> list[tuple[float, float]]:
    """The parts for one glue-up of one joint that takes so many millilitres."""
    shop = replace(SHOP, **settings)
    area = need_ml * 1000 / (shop.film * 2 * (1 + shop.squeeze_out))
    glue_up = GlueUp(number=1, kind="stack", layers=(1, 2))
    areas = JointAreas(ends=np.zeros(2), faces=np.array([area]), inside=np.zeros(2))
    adhesive = mix_for([glue_up], areas, quantity=1, shop=shop, label=LABEL)
    return [(mix.part_a_ml, mix.part_b_ml) for mix in adhesive.mixes]


def test_parts_are_whole_marks_at_the_ratio_with_the_loss_in_the_cup() -> None:
    """13 ml and 5 lost are 18; at 1 : 1 and marks of 2.5 that is q = 2.5 ceil(18 / 5) = 10."""
    assert mixes_for(13) == [(10, 10)]
    # at 2 : 1, q = 2.5 ceil(18 / 7.5) = 7.5: 15 and 7.5
    assert mixes_for(13, mix_ratio=(2, 1)) == [(15, 7.5)]


def test_an_adhesive_of_one_part_is_measured_in_whole_marks_of_it() -> None:
    """13 ml and 5 lost are 18: 20 ml at marks of 2.5."""
    assert mixes_for(13, mix_ratio=(1, 0)) == [(20, 0)]


def test_a_mix_that_fills_its_marks_exactly_takes_no_mark_more() -> None:
    assert mixes_for(15) == [(10, 10)]
    assert mixes_for(15.01) == [(12.5, 12.5)]


def test_what_the_cup_does_not_hold_is_split_and_each_mix_loses_its_own() -> None:
    """80 in the cup less 5: 75 ml of use; 76 needs two mixes of 38 + 5 = 43, so 22.5 and 22.5 each."""
    assert mixes_for(75) == [(40, 40)]
    assert mixes_for(76) == [(22.5, 22.5)] * 2


@modest
@given(
    st.floats(0.01, 900),
    st.sampled_from([(1, 1), (2, 1), (3, 1), (5, 2), (1, 0.8)]),
    st.floats(0, 6),
    st.sampled_from([1.0, 2.5, 5.0]),
)
def test_mixes_cover_the_need_at_the_exact_ratio_within_the_cup(
    need: float, ratio: tuple[float, float], loss: float, mark: float
) -> None:
    mixes = mixes_for(need, mix_ratio=ratio, mix_loss_ml=loss, cup_mark_ml=mark)
    assert sum(a + b - loss for a, b in mixes) >= need - 1e-6
    for a, b in mixes:
        assert a * ratio[1] == pytest.approx(b * ratio[0], rel=1e-12)
        assert a + b <= 80 + 1e-9
        assert a / mark == pytest.approx(round(a / mark), abs=1e-9)
        assert b / mark == pytest.approx(round(b / mark), abs=1e-9)


def test_a_cup_that_holds_no_mix_is_refused_with_the_least_that_would() -> None:
    with pytest.raises(InvalidInput, match=r"shop\.cup_ml: holds no mix: 2 : 1.*at least 7\.5 ml"):
        mixes_for(10, cup_ml=7, mix_ratio=(2, 1))


# --- pot life and the order of glue-ups -----------------------------------------------------------------------

# Pot life doubles for every 10 degrees C colder and halves for every 10 warmer: resin makers' guides, common practice.
POT_LIFE = {1: 120.0, 11: 60.0, 21: 30.0, 31: 15.0, 26: 30 / math.sqrt(2)}


@pytest.mark.parametrize(("temperature", "minutes"), POT_LIFE.items())
def test_pot_life_halves_with_every_ten_degrees(temperature: float, minutes: float) -> None:
    shop = replace(SHOP, temperature_c=temperature)
    assert pot_life(shop, LABEL) == pytest.approx(minutes, rel=1e-12)
    assert working_minutes(shop, LABEL) == pytest.approx(0.7 * minutes, rel=1e-12)


def test_ten_layers_go_into_one_glue_up_and_twelve_where_the_mix_lasts() -> None:
    """Ten to twelve thin layers at once are common practice, no source: 10 x 2 min < 0.7 x 30 min = 21."""
    assert layers_at_once(replace(SHOP, layers_per_glue_up=12), LABEL) == 10
    assert layers_at_once(replace(SHOP, layers_per_glue_up=12, pot_life_min=35), LABEL) == 12


def test_a_hot_bench_takes_fewer_layers_but_never_less_than_a_joint() -> None:
    assert layers_at_once(replace(SHOP, temperature_c=31), LABEL) == 5  # 10.5 minutes
    assert layers_at_once(replace(SHOP, temperature_c=61), LABEL) == 2


def test_exactly_as_many_layers_as_the_time_allows_are_taken() -> None:
    """0.7 x 30 / 2.1 is 10 but for rounding; floor(x + 1e-9)."""
    assert layers_at_once(replace(SHOP, coat_stack_min=2.1), LABEL) == 10


@pytest.mark.parametrize(("layers", "runs"), [(2, [2]), (10, [10]), (11, [6, 5]), (25, [8, 9, 8]), (1, [])])
def test_runs_are_even_and_none_is_longer_than_allowed(layers: int, runs: list[int]) -> None:
    shape = cylinder(layers=layers)
    stacks = [g for g in plan_assembly([shape], shop=SHOP, label=LABEL) if g.kind == "stack"]
    assert sorted(len(g.layers) for g in stacks) == sorted(runs)


@modest
@given(st.integers(1, 40), st.integers(2, 12), st.sampled_from([0.0, 0.2]))
def test_every_joint_is_glued_once_and_after_what_it_waits_for(layers: int, most: int, gap: float) -> None:
    shop = replace(SHOP, layers_per_glue_up=most)
    shape = cylinder(layers=layers, gap=gap, shop=shop)
    order = plan_assembly([shape], shop=shop, label=LABEL)
    assert [glue_up.number for glue_up in order] == list(range(1, len(order) + 1))
    joints = [pair for g in order if g.kind != "ring" for pair in pairwise(g.layers)]
    assert sorted(joints) == list(pairwise(range(1, layers + 1)))
    rings = sorted(ring for g in order if g.kind == "ring" for ring in g.rings)
    assert rings == ([] if gap else list(range(1, layers + 1)))
    assert all(before < g.number for g in order for before in (*g.after, *g.joins))


def test_outer_faces_stay_dry() -> None:
    """Four layers, three joints: the mixes' need is that of three faces, not of eight sides."""
    shape = cylinder(layers=4, gap=0.5)
    areas = joint_areas([shape])
    adhesive = mix_for(
        plan_assembly([shape], shop=SHOP, label=LABEL), areas, quantity=1, shop=SHOP, label=LABEL
    )
    needed = spread_ml(faces=float(areas.faces.sum()), ends=0, shop=SHOP)
    assert len(areas.faces) == 3
    assert adhesive.volume_ml == pytest.approx(needed + 5 * len(adhesive.mixes), rel=1e-12)


def test_a_hot_bench_is_a_caution() -> None:
    codes = [c["code"] for c in answer(changed(bowl(), ["shop", "temperature_c"], 61))["cautions"]]
    assert "working_time" in codes
