"""Mixes by the scales, heat in the cup, what to buy, and adhesive on the margin: by hand."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.glue.assembly import GlueUp
from estimating.glue.joints import JointAreas
from estimating.glue.mixing import Adhesive, mix_for, weighed
from estimating.piece import Label, ShopSettings
from tests.estimating.sheets import Json, answer, bowl, changed, modest

SHOP = ShopSettings()
EPOXY = Label()


def mixed(need_ml: float, *, label: Label = EPOXY, quantity: int = 1, **settings: Any) -> Adhesive:
    """One glue-up of one joint that takes so many millilitres."""
    shop = replace(SHOP, **settings)
    area = need_ml * 1000 / (shop.film * 2 * (1 + shop.squeeze_out))
    areas = JointAreas(ends=np.zeros(2), faces=np.array([area]), inside=np.zeros(2))
    glue_up = GlueUp(number=1, kind="stack", layers=(1, 2))
    return mix_for([glue_up], areas, quantity=quantity, shop=shop, label=label)


# --- by the scales -------------------------------------------------------------------------------------------


def test_parts_by_mass_are_worked_out_by_hand() -> None:
    """13 ml and 5 lost are 18, at 1.11 g/ml 19.98 g; of 100 : 44 that is 13.875 and 6.105: 13.9, and 44 % of it 6.1."""
    (mix,) = mixed(13, label=Label(mass_ratio=(100, 44))).mixes
    assert (mix.part_a_g, mix.part_b_g) == (13.9, 6.1)
    assert (mix.part_a_ml, mix.part_b_ml) == (10, 10)  # the ratio by volume is another figure


def test_two_parts_without_a_ratio_by_mass_are_not_weighed() -> None:
    (mix,) = mixed(13).mixes
    assert (mix.part_a_g, mix.part_b_g) == (None, None)


def test_an_adhesive_of_one_part_is_weighed_as_it_is() -> None:
    """18 ml at 1.08 g/ml are 19.44 g."""
    (mix,) = mixed(13, label=Label(density=1.08), mix_ratio=(1, 0)).mixes
    assert (mix.part_a_g, mix.part_b_g) == (19.5, 0)


@modest
@given(st.floats(1, 200), st.floats(0.1, 10), st.floats(0.1, 10), st.floats(0.8, 1.4))
def test_weighed_parts_suffice_and_keep_the_ratio_to_a_twentieth_of_a_gram(
    ml: float, a: float, b: float, density: float
) -> None:
    grams = weighed(ml, label=Label(mass_ratio=(a, b), density=density), parts=2)
    assert grams[0] is not None
    assert grams[1] is not None
    assert sum(grams) >= ml * density - 0.05 - 1e-9
    assert grams[1] == pytest.approx(grams[0] * b / a, abs=0.05 + 1e-9)
    assert sum(grams) <= ml * density + 0.1 * (a + b) / a + 0.05 + 1e-9


# --- heat in the cup -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("most", "heats"), [(0, False), (79, True), (80, False), (100, False)])
def test_a_mix_above_what_the_label_lets_stand_in_a_cup_heats_itself(most: float, heats: bool) -> None:
    """75 ml and 5 lost fill the cup of 80."""
    (mix,) = mixed(75, label=Label(exotherm_ml=most)).mixes
    assert mix.ml == 80
    assert mix.heats == heats


# --- what to buy ---------------------------------------------------------------------------------------------


def test_what_to_buy_is_every_mix_of_every_piece_as_it_is_measured() -> None:
    """18 ml at 2 : 1 and marks of 2.5 are 15 and 7.5; for three 45 and 22.5, 67.5 ml x 1.2 = 81 g, 2 : 1 by mass."""
    bought = mixed(13, label=Label(density=1.2, mass_ratio=(2, 1)), quantity=3, mix_ratio=(2, 1)).to_buy
    assert (bought.part_a_ml, bought.part_b_ml) == (45, 22.5)
    assert (bought.mass_g, bought.part_a_g, bought.part_b_g) == pytest.approx((81, 54, 27), rel=1e-12)


def test_parts_that_cannot_be_weighed_are_bought_by_volume() -> None:
    bought = mixed(13).to_buy
    assert (bought.part_a_ml, bought.part_b_ml) == (10, 10)
    assert bought.mass_g == pytest.approx(20 * 1.11)
    assert (bought.part_a_g, bought.part_b_g) == (None, None)


def test_the_answer_buys_what_its_mixes_are_measured_in() -> None:
    found = answer(bowl(quantity=2, adhesive={"mass_ratio": [100, 90]}))["adhesive"]
    for part in ("part_a_ml", "part_b_ml"):
        assert found["to_buy"][part] == pytest.approx(sum(mix[part] for mix in found["mixes"]), rel=1e-12)
    by_scales = sum(mix["part_a_g"] + mix["part_b_g"] for mix in found["mixes"])
    # Marks of the cup round up farther than the scales.
    assert (
        found["volume_ml"] * 1.11 - 0.2 * len(found["mixes"]) <= by_scales <= found["to_buy"]["mass_g"] + 1e-6
    )


# --- the margin ----------------------------------------------------------------------------------------------


def flaring(margin: float) -> Json:
    """A wall that widens by 10 a layer, its layers closed rings."""
    sheet = bowl(
        form={"outer": [[0, 40], [40, 80]], "inside": {"kind": "wall", "wall": 6, "floor": 10}},
        allowance={"outside": 2, "inside": 2, "top": 0, "bottom": 0},
    )
    return changed(sheet, ["shop", "coat_margin"], margin)


def test_millilitres_are_of_what_is_coated_and_faces_of_what_touches() -> None:
    plain, coated = (answer(flaring(margin))["adhesive"] for margin in (0, 3))
    assert plain["coated_area"] == plain["face_area"] == coated["face_area"]
    beyond = coated["coated_area"] - coated["face_area"]
    assert beyond > 100
    # area x 0.1 mm x 2 faces x 1.25
    more = beyond * 0.25 / 1000
    assert coated["volume_ml"] - plain["volume_ml"] == pytest.approx(
        more + 5 * (len(coated["mixes"]) - len(plain["mixes"])), rel=1e-9
    )


def test_a_glue_up_takes_what_its_own_joints_take() -> None:
    found = answer(flaring(3))
    spreads = found["adhesive"]["spreads"]
    assert [spread["glue_up"] for spread in spreads] == [g["number"] for g in found["glue_ups"]]
    for total in ("end_area", "face_area", "coated_area"):
        assert sum(s[total] for s in spreads) == pytest.approx(found["adhesive"][total], rel=1e-9)
    for spread in spreads:
        mixes = [mix for mix in found["adhesive"]["mixes"] if mix["glue_up"] == spread["glue_up"]]
        assert sum(mix["needed_ml"] - 5 for mix in mixes) == pytest.approx(spread["ml"], rel=1e-9)


def test_times_of_the_answer_are_those_of_the_bench() -> None:
    cold = answer(changed(bowl(adhesive={"set_min": 30}), ["shop", "temperature_c"], 11))["adhesive"]["times"]
    assert cold == pytest.approx(
        {"pot": 60, "working": 42, "open": 60, "set": 60, "set_most": 60, "press": 240, "cure": 1440},
        rel=1e-12,
    )
